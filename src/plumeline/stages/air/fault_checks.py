"""The next reading of an air line: how much each that could be taken would tell of the cause."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from plumeline.stages.air.fault_bench import Bench, Look, State
from plumeline.stages.air.network import COMPRESSOR
from plumeline.stages.air.results import MANIFOLD

Array = NDArray[np.float64]

GRID_COUNT = 240


@dataclass(frozen=True)
class NextCheck:
    """A reading that could be taken next, and how much it would tell of the cause [bits]."""

    what: str
    open_ports: tuple[str, ...]
    place: str
    information_number: float


def next_checks(
    bench: Bench, weight: Array, looks: list[Look], read_pa: Array, level_m: float
) -> tuple[NextCheck, ...]:
    """Return the readings that could come next by what they would tell of the cause, the most telling first.

    What was read already counts twice: in the weights, and in where the new gauge must then stand under each row.

    Args:
        bench: the line and its faults.
        weight: of each row, after what was read.
        looks: what was read.
        read_pa: what it showed.
        level_m: of the water now.
    """
    names = bench.network.outlet_names
    wanted: list[tuple[str, tuple[str, ...] | None, str]] = [
        ("the compressor's gauge, valves as set", None, COMPRESSOR),
        ("the manifold's gauge, valves as set", None, MANIFOLD),
    ]
    wanted += [(f"the gauge of port {name}, valves as set", None, name) for name in names]
    if len(names) > 1:
        wanted += [(f"the compressor's gauge with {name} alone open", (name,), COMPRESSOR) for name in names]
    found = []
    for words, ports, place in wanted:
        means, sd = _foreseen(bench, looks, read_pa, Look(State(ports, level_m), place))
        bits = information_bits(weight, bench.member, means, sd)
        found.append(NextCheck(words, ports or names, place, bits))
    return tuple(sorted(found, key=lambda item: -item.information_number))


def _foreseen(bench: Bench, looks: list[Look], read_pa: Array, new: Look) -> tuple[Array, Array]:
    """Return mean and standard deviation of a new reading under each row, given those taken (rows) [Pa]."""
    means = bench.means([*looks, new])
    found, sd = means[:, -1].copy(), np.empty(len(means))
    for kind, whole in enumerate(bench.covariances([*looks, new])):
        mine = bench.kind == kind
        gain = np.linalg.solve(whole[:-1, :-1], whole[:-1, -1])
        found[mine] += (read_pa - means[mine, :-1]) @ gain
        sd[mine] = np.sqrt(whole[-1, -1] - gain @ whole[:-1, -1])
    return found, sd


def information_bits(weight: Array, member: NDArray[np.int64], means_pa: Array, sd_pa: Array) -> float:
    """Return the mutual information of cause and reading, by quadrature over the reading [bits].

    Args:
        weight: of each row.
        member: number of the cause of each row.
        means_pa: of the reading under each row.
        sd_pa: its standard deviation.
    """
    kept = weight > 1e-6 * weight.max()
    weight, member, means_pa, sd_pa = weight[kept], member[kept], means_pa[kept], sd_pa[kept]
    grid = np.linspace(
        float((means_pa - 4.0 * sd_pa).min()), float((means_pa + 4.0 * sd_pa).max()), GRID_COUNT
    )
    step = grid[1] - grid[0]
    density = (
        np.exp(-0.5 * ((grid[:, None] - means_pa) / sd_pa) ** 2) / (sd_pa * np.sqrt(2.0 * np.pi)) * weight
    )
    by_cause = np.stack([density[:, member == k].sum(axis=1) for k in np.unique(member)], axis=1)
    share = by_cause.sum(axis=0) * step
    whole = by_cause.sum(axis=1, keepdims=True)
    with np.errstate(divide="ignore", invalid="ignore"):
        terms = by_cause * np.log2(by_cause / (whole * share))
    return max(float(np.nansum(terms) * step), 0.0)
