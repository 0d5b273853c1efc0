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
        self.start = start
        self.level_sd_m = LEVEL_SD_M if level_read else LEVEL_UNREAD_SD_M
        self.cases = cases(network, level_read=level_read)
        self.rows, odds = _rows(self.cases)
        self.log_prior = np.log(odds)
        # a valve that is blocked stays so when it is opened in full: first the setting, then the fault
        self._burning = _burning(network)
        self._grounds = {False: network, True: full_open(network)}
        self._faulty: dict[bool, list[AirNetwork]] = {}
        self._known: dict[State, list[tuple[dict[str, float], frozenset[str]]]] = {}
        self._moved: dict[State, list[dict[str, float]]] = {}
        self.low = np.array([row.low for row in self.rows])
        self.high = np.array([row.high for row in self.rows])
        self.share_fraction = np.array([row.share_fraction for row in self.rows])
        self.causes = tuple(dict.fromkeys(case.cause for case in self.cases))
        self.member = np.array([self.causes.index(row.case.cause) for row in self.rows])
        # rows whose error is alike: those of the line, and those of each wrong gauge and each blur
        self.kinds = tuple(dict.fromkeys((row.case.gauge, row.case.blur_pa) for row in self.rows))
        self.kind = np.array([self.kinds.index((row.case.gauge, row.case.blur_pa)) for row in self.rows])

    def shown(self, state: State) -> list[tuple[dict[str, float], frozenset[str]]]:
        """Return gauges and boils of every case in one setting."""
        if state not in self._known:
            if state.full_open not in self._faulty:
                ground = self._grounds[state.full_open]
                self._faulty[state.full_open] = [case.change(ground) for case in self.cases]
            faulty = self._faulty[state.full_open]
            sound = gauges(faulty[0], state)
            # a wrong gauge, and what is on no list, leave the line as it is
            self._known[state] = [
                sound if case.gauge or case.blur_pa else _bled(case, gauges(network, state))
                for case, network in zip(self.cases, faulty, strict=True)
            ]
        return self._known[state]

    def _off(self, state: State) -> list[dict[str, float]]:
        """Return the sound network's gauges, then those with each thing not known off by one standard deviation."""
        if state not in self._moved:
            ground = self._grounds[state.full_open]
            off = [gauges(network, state)[0] for network in _off_networks(ground, self._burning)]
            off.append(gauges(ground, replace(state, level_m=state.level_m + self.level_sd_m))[0])
            self._moved[state] = [gauges(ground, state)[0], *off]
        return self._moved[state]

    def sound(self, looks: list[Look]) -> Array:
        """Return what each look reads on the line as it is drawn (looks) [Pa]."""
        return np.array([at(self._off(look.state)[0], look.place) for look in looks])

    def moves(self, looks: list[Look]) -> Array:
        """Return what each thing not known moves each look by, the level last (unknowns, looks) [Pa]."""
        off = np.array([[at(places, look.place) for places in self._off(look.state)[1:]] for look in looks])
        return np.asarray(off.T - self.sound(looks))

    def _between(self, of_cases: Array) -> Array:
        """Return values of the cases at each row (rows, …)."""
        share = self.share_fraction.reshape(-1, *([1] * (of_cases.ndim - 1)))
        return np.asarray((1.0 - share) * of_cases[self.low] + share * of_cases[self.high])

    def means(self, looks: list[Look]) -> Array:
        """Return what each look would read under each row (rows, looks) [Pa]."""
        of_cases = [[at(shown[0], look.place) for shown in self.shown(look.state)] for look in looks]
        found = self._between(np.array(of_cases).T)
        return found if self.start is None else found + self.start.mean @ self.moves(looks)[:-1]

    def flowing(self, state: State) -> Array:
        """Return how surely each diffuser bubbles under each row (rows, diffusers)."""
        names = self.network.outlet_names
        return self._between(np.array([[float(n in shown[1]) for n in names] for shown in self.shown(state)]))

    def covariances(self, looks: list[Look]) -> list[Array]:
        """Return the error of the looks (looks, looks) [Pa²] for each kind of row.

        A wrong gauge is off alike in all its readings; what is on no list throws each reading for itself.
        """
        moves = self.moves(looks)
        if self.start is not None:
            moves = np.vstack((self.start.root @ moves[:-1], moves[-1:]))
        common = moves.T @ moves + GAUGE_SD_PA**2 * np.eye(len(looks))
        found = []
        for gauge, blur_pa in self.kinds:
            more = blur_pa**2 * np.eye(len(looks))
            if gauge:
                mine = np.array(
                    [float((x.place == COMPRESSOR) == (gauge == COMPRESSOR_GAUGE)) for x in looks]
                )
                more = WRONG_SD_PA**2 * np.outer(mine, mine)
            found.append(np.asarray(common + more))
        return found


def _burning(network: AirNetwork) -> tuple[str, ...]:
    """Return the branches whose valve, as set, burns so much that its setting is felt."""
    names = network.outlet_names
    return tuple(sorted(name for name in names if burned_number(network.branch(name)) > BURNS_NUMBER))


def _off_networks(network: AirNetwork, burning: tuple[str, ...]) -> list[AirNetwork]:
    """Return the sound network with each thing not known of it off by one standard deviation."""

    def narrower(part: Part) -> Part:
        return replace(part, bore_m=part.bore_m * (1.0 - BORE_FRACTION)) if isinstance(part, Pipe) else part

    def tighter(part: Part) -> Part:
        if not isinstance(part, Valve) or part.is_shut:
            return part
        return replace(part, loss_number=part.heads_number * (1.0 + VALVE_FRACTION))

    def with_some(change: Callable[[Branch], Branch], names: set[str]) -> AirNetwork:
        branches = tuple(change(item) if item.name in names else item for item in network.branches)
        return replace(network, branches=branches)

    ends = set(network.outlet_names)
    lines = {branch.name for branch in network.branches} - ends
    return [
        with_some(with_parts(narrower), lines),
        with_some(with_parts(narrower), ends),
        with_flow(1.0 + CURVE_FRACTION)(network),
        *(with_some(fouled_by(MEMBRANE_PA), {name}) for name in network.outlet_names),
        *(with_some(with_parts(tighter), {name}) for name in burning),
    ]
