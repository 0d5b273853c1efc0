"""Soft muck from probe pairs: how thick it lies, how much it is, and how sure that is.

The thickness is a smooth random field t(x) = φ(x) · f(x): f a Gaussian process with an unknown mean, and φ either 1,
the root of the water's depth or the depth itself, each of its greatest, for muck gathers in the deep (Håkanson &
Jansson 1983, Principles of Lake Sedimentology, ch. 7). Which φ, over what length it changes, how much, and how far one
probe errs is not fixed: every combination is weighed by its marginal likelihood and prior, and all take part, as with
the depths (depths.py).

Source: Rasmussen & Williams 2006, eq. 2.30, 4.17 and section 2.7; O'Hagan 1991 (integral of a process).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial.distance import cdist

from plumeline.job.document import Job
from plumeline.notices import Notice, caution, note
from plumeline.stages.survey.basin import Basin
from plumeline.stages.survey.depths import mixture_quantile
from plumeline.stages.survey.result import Muck, MuckGrid
from plumeline.stages.survey.soundings import Sorted
from plumeline.stages.survey.weighing import block_sums, matern
from plumeline.units import both

FEWEST_PROBES = 3
GOOD_PROBES = 10
MOST_PROBES = 250
DEPTH_POWERS = (0.0, 0.5, 1.0)
LENGTHS = np.array([0.15, 0.3, 0.6, 1.2])
"""Of the root of the pond's area."""
SPREADS = np.array([0.2, 0.4, 0.8, 1.6])
"""Of the muck's mean."""
PROBE_ERROR_M = 0.08
"""Standard error of one pair: two readings of a rod or a disc, the upper into what gives way. Judgement."""
ERRORS = PROBE_ERROR_M * np.array([0.4, 0.7, 1.0, 1.5, 2.5])
PUSH_FRACTION = 0.05
"""Error of all probes alike: how hard the hand pushes until it calls the bottom firm. Judgement."""
SURFACES = 24
"""Likeliest combinations that the surface is drawn from."""
LEAST_DEPTH_FRACTION = 0.02


@dataclass(frozen=True, eq=False)
class _Case:
    """One combination, weighed."""

    power: int
    length_m: float
    variance_m2: float
    mean_variance_m2: float
    error_m: float
    log_weight: float
    volume_m3: float
    left_m6: float


def muck_of(
    job: Job, found: Sorted, basin: Basin, depth_m: np.ndarray
) -> tuple[Muck | None, tuple[Notice, ...]]:
    """Return the muck of a pond with what there is to say; None without probes enough.

    Args:
        job: with its soundings.
        found: those that are used.
        basin: the grid.
        depth_m: the surface at the soundings' level, on the grid.
    """
    thick = np.array([_or_nan(job.pond.soundings[i].muck_m) for i in found.index], dtype=float)
    probed = np.isfinite(thick)
    if not probed.any():
        return None, ()
    count = int(probed.sum())
    if count < FEWEST_PROBES:
        text = (
            f"Muck was probed at {count} of {len(thick)} soundings: too few to say how it lies. Three probes draw it, "
            f"{GOOD_PROBES} and more make its volume worth something."
        )
        return None, (note("muck-few", text),)
    xy, muck_m = _thinned(found.xy[probed], thick[probed])
    own_depth = _depth_at(basin, depth_m, xy)
    drawn = _drawn(xy, muck_m, own_depth, basin, depth_m, count)
    notices: tuple[Notice, ...] = ()
    if count < GOOD_PROBES:
        text = (
            f"The muck is drawn from {count} probes: its volume may be anything from {both(drawn.volume_p05_m3, 'm3')} "
            f"to {both(drawn.volume_p95_m3, 'm3')}. {GOOD_PROBES} probes over the pond narrow it most."
        )
        notices = (caution("muck-few", text),)
    return drawn, notices


def _or_nan(value: float | None) -> float:
    return float("nan") if value is None else value


def _thinned(xy: np.ndarray, muck_m: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return at most 250 probes, evenly out of the file."""
    if len(muck_m) <= MOST_PROBES:
        return xy, muck_m
    every = np.linspace(0, len(muck_m) - 1, MOST_PROBES).astype(int)
    return xy[every], muck_m[every]


def _depth_at(basin: Basin, depth_m: np.ndarray, xy: np.ndarray) -> np.ndarray:
    """Return the surface's depth at places, (n): that of the nearest cell."""
    column = np.clip(np.rint((xy[:, 0] - basin.x_m[0]) / basin.cell_m), 0, len(basin.x_m) - 1).astype(int)
    row = np.clip(np.rint((xy[:, 1] - basin.y_m[0]) / basin.cell_m), 0, len(basin.y_m) - 1).astype(int)
    return np.asarray(depth_m[row, column])


def _drawn(
    xy: np.ndarray, muck_m: np.ndarray, own_depth_m: np.ndarray, basin: Basin, depth_m: np.ndarray, count: int
) -> Muck:
    wet, deepest = basin.wet, float(depth_m.max())
    share = np.clip(depth_m[wet] / deepest, LEAST_DEPTH_FRACTION, 1.0)
    own_share = np.clip(own_depth_m / deepest, LEAST_DEPTH_FRACTION, 1.0)
    cell_phi = np.array([share**power for power in DEPTH_POWERS])
    own_phi = np.array([own_share**power for power in DEPTH_POWERS])
    cases = _weigh(xy, muck_m, own_phi, cell_phi, basin)
    log_weight = np.array([case.log_weight for case in cases])
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    grid = _surface(xy, muck_m, own_phi, cell_phi, basin, cases, weight)
    area = basin.area_m2
    volume = float((np.nan_to_num(grid.thickness_m) * area).sum())
    mean = np.array([case.volume_m3 for case in cases])
    variance = np.array([case.left_m6 for case in cases]) + (PUSH_FRACTION * volume) ** 2
    centre = float(weight @ mean)
    se = float(np.sqrt(weight @ (variance + (mean - centre) ** 2)))
    low, high = (mixture_quantile(mean, np.sqrt(variance), weight, part) for part in (0.05, 0.95))
    row, column = np.unravel_index(int(np.nanargmax(grid.thickness_m)), area.shape)
    by_power = [float(sum(w for w, c in zip(weight, cases, strict=True) if c.power == p)) for p in range(3)]
    return Muck(
        volume_m3=volume,
        volume_se_m3=se,
        volume_p05_m3=max(volume + low - centre, 0.0),
        volume_p95_m3=volume + high - centre,
        mean_m=volume / float(area.sum()),
        thickest_m=float(grid.thickness_m[row, column]),
        thickest_xy=(float(basin.x_m[column]), float(basin.y_m[row])),
        probe_count=count,
        probe_error_m=float(sum(w * case.error_m for w, case in zip(weight, cases, strict=True))),
        deep_fraction=1.0 - by_power[0],
        centre_m3=centre,
        grid=grid,
    )


def _weigh(
    xy: np.ndarray, muck_m: np.ndarray, own_phi: np.ndarray, cell_phi: np.ndarray, basin: Basin
) -> list[_Case]:
    """Return every combination with its log weight and its volume."""
    span, scale = float(np.sqrt(basin.polygon.area)), max(float(muck_m.mean()), 0.02)
    centres, weights = block_sums(basin, cell_phi)
    own, across, within = cdist(xy, xy), cdist(xy, centres), cdist(centres, centres)
    found: list[_Case] = []
    for length in LENGTHS * span:
        k_own, k_across, k_within = (matern(part, length) for part in (own, across, within))
        for power, (phi, b) in enumerate(zip(own_phi, weights, strict=True)):
            level = scale / max(float(phi.mean()), 1e-6)
            outer, mean_variance = np.outer(phi, phi), (3.0 * level) ** 2
            for variance in (SPREADS * level) ** 2:
                link = phi * (variance * (k_across @ b) + mean_variance * b.sum())
                prior = variance * (b @ k_within @ b) + mean_variance * b.sum() ** 2
                for error in ERRORS:
                    c = (variance * k_own + mean_variance) * outer + np.diag(np.full(len(muck_m), error**2))
                    factor = np.linalg.cholesky(c)
                    half = np.linalg.solve(factor, np.column_stack([muck_m, link]))
                    weight = -0.5 * float(half[:, 0] @ half[:, 0]) - float(np.log(np.diag(factor)).sum())
                    weight -= 0.5 * (float(np.log(error / PROBE_ERROR_M)) / 0.5) ** 2
                    volume, left = float(half[:, 0] @ half[:, 1]), float(prior - half[:, 1] @ half[:, 1])
                    found.append(
                        _Case(power, length, variance, mean_variance, error, weight, volume, max(left, 0.0))
                    )
    return found


def _surface(
    xy: np.ndarray, muck_m: np.ndarray, own_phi: np.ndarray, cell_phi: np.ndarray, basin: Basin,
    cases: list[_Case], weight: np.ndarray,
) -> MuckGrid:  # fmt: skip
    """Return thickness and its standard error on the wet cells, of the likeliest combinations; never below zero."""
    mesh_x, mesh_y = np.meshgrid(basin.x_m, basin.y_m)
    cells = np.column_stack([mesh_x[basin.wet], mesh_y[basin.wet]])
    chosen = np.argsort(weight)[::-1][:SURFACES]
    own, across = cdist(xy, xy), cdist(cells, xy)
    first, second = np.zeros(len(cells)), np.zeros(len(cells))
    total = float(weight[chosen].sum())
    for k in chosen:
        case, share = cases[k], float(weight[k]) / total
        phi, at = own_phi[case.power], cell_phi[case.power]
        c = (case.variance_m2 * matern(own, case.length_m) + case.mean_variance_m2) * np.outer(phi, phi)
        c[np.diag_indices_from(c)] += case.error_m**2
        link = (case.variance_m2 * matern(across, case.length_m) + case.mean_variance_m2) * np.outer(at, phi)
        solved = np.linalg.solve(c, np.column_stack([muck_m, link.T]))
        mean = link @ solved[:, 0]
        left = (case.variance_m2 + case.mean_variance_m2) * at**2 - np.einsum("ij,ji->i", link, solved[:, 1:])
        first += share * mean
        second += share * (np.maximum(left, 0.0) + mean**2)
    found = np.full((2, *basin.area_m2.shape), np.nan)
    found[0][basin.wet] = np.maximum(first, 0.0)
    found[1][basin.wet] = np.sqrt(np.maximum(second - first**2, 0.0))
    return MuckGrid(basin.x_m, basin.y_m, found[0], found[1])
