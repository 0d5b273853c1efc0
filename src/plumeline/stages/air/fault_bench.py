"""The sound line and each of its faults on the bench: what every gauge would show, and how far off it may be.

A fault is solved at a few severities; in between its gauges are taken as straight, so that a fault half way between
two of them is not taken for something else.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from plumeline.errors import ModelError
from plumeline.stages.air import tree
from plumeline.stages.air.fault_cases import (
    BLED,
    BURNS_NUMBER,
    COMPRESSOR_GAUGE,
    Case,
    at_level,
    burned_number,
    cases,
    fouled_by,
    full_open,
    prior_of,
    shut_valves,
    with_branch,
    with_flow,
    with_parts,
)
from plumeline.stages.air.network import COMPRESSOR, AirNetwork, Branch, Part, Pipe, Valve
from plumeline.stages.air.results import MANIFOLD

if TYPE_CHECKING:
    from plumeline.stages.air.fault_start import Start

Array = NDArray[np.float64]

PSI_PA = 6894.757
GAUGE_SD_PA = 0.25 * PSI_PA  # a dial gauge of the trade, read by eye: judgement
LEVEL_SD_M = 0.05  # 2 in
LEVEL_UNREAD_SD_M = 0.15  # of a pond whose level nobody read
WRONG_SD_PA = 3.0 * PSI_PA  # how far a wrong gauge is off: judgement
# what is not known of a sound line, one standard deviation: bores, curve's flow, each membrane, each valve's heads
BORE_FRACTION, CURVE_FRACTION, MEMBRANE_PA, VALVE_FRACTION = 0.02, 0.05, 700.0, 0.10
FLOWING_KG_S = 1e-6
STEPS_COUNT = 6  # between two severities that are solved

Change = Callable[[AirNetwork], AirNetwork]


@dataclass(frozen=True)
class State:
    """One setting of the valves and one level of the water."""

    open_ports: tuple[str, ...] | None
    level_m: float
    full_open: bool = False


@dataclass(frozen=True)
class Look:
    """A gauge to be read in one state."""

    state: State
    place: str


@dataclass(frozen=True)
class Row:
    """One cause at one place in one severity: a case, or a point between two cases of one family.

    Attributes:
        case: what it counts for.
        low, high: numbers of the cases between which its gauges lie.
        share_fraction: how far from the one to the other.
    """

    case: Case
    low: int
    high: int
    share_fraction: float


def gauges(network: AirNetwork, state: State) -> tuple[dict[str, float], frozenset[str]]:
    """Return the gauge at each place and the diffusers that bubble.

    Raises:
        ModelError: no operating point.
    """
    compiled = tree.compile_tree(_shut(at_level(network, state.level_m), state.open_ports))
    raw = tree.run(compiled.arrays)
    if not np.isfinite(raw.pressure_pa[0]):
        raise ModelError("the air line has no operating point.", remedy="Check the compressor's curve.")
    gauge = raw.pressure_pa - compiled.arrays.ambient_pressure_pa
    places = {place: float(gauge[node]) for place, node in compiled.places.items()}
    flows = {name: float(raw.outlet_kg_s[k]) > FLOWING_KG_S for name, k in compiled.outlets.items()}
    return places, frozenset(name for name, flowing in flows.items() if flowing)


def at(places: dict[str, float], place: str) -> float:
    """Return the gauge of a place as a visit names it."""
    return places[place if place in (COMPRESSOR, MANIFOLD) else f"port {place}"]


def _shut(network: AirNetwork, open_ports: tuple[str, ...] | None) -> AirNetwork:
    """Return the network with every diffuser's valve shut but those named."""
    if open_ports is None:
        return network
    for name in network.outlet_names:
        if name not in open_ports:
            network = with_branch(name, shut_valves)(network)
    return network


def _bled(
    case: Case, shown: tuple[dict[str, float], frozenset[str]]
) -> tuple[dict[str, float], frozenset[str]]:
    """Return what is shown with no air left behind a shut valve: a membrane holds it for days, or not at all."""
    places, flows = shown
    return ({**places, f"port {case.place}": 0.0} if case.severity == BLED else places), flows


def _rows(found: tuple[Case, ...]) -> tuple[tuple[Row, ...], Array]:
    """Return every case and the points between those of one family, and how likely each is before any gauge."""
    rows: list[Row] = []
    odds: list[float] = []
    for k, case in enumerate(found):
        if case.guise:
            continue
        size = sum(1 for item in found if _family(item) == _family(case)) if case.family else 1
        following = case.family and k + 1 < len(found) and _family(found[k + 1]) == _family(case)
        steps = STEPS_COUNT if following else 1
        points = STEPS_COUNT * (size - 1) + 1
        for step in range(steps):
            rows.append(Row(case, k, k + 1 if following else k, step / STEPS_COUNT))
            odds.append(prior_of(case.cause) * case.weight * size / points)
    # what is on no list in the guise of each that is
    listed = [k for k, row in enumerate(rows) if not row.case.blur_pa and not row.case.gauge]
    whole = sum(odds[k] for k in listed)
    for case in found:
        if case.guise:
            rows += [replace(rows[k], case=case) for k in listed]
            odds += [prior_of(case.cause) * case.weight * odds[k] / whole for k in listed]
    return tuple(rows), np.array(odds) / sum(odds)


def _family(case: Case) -> tuple[str, str]:
    return case.cause, case.family


class Bench:
    """A sound network, its faults, and what gauges would show under each. Kept, it remembers what it has solved."""

    def __init__(self, network: AirNetwork, *, level_read: bool, start: Start | None = None) -> None:
        """Put it there; with a start, what is not known of the line begins from its accepted gauges."""
        self.network = network
