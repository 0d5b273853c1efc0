"""What is wrong with an air line, from its gauges: causes and places by probability, and what to check next.

Each fault of `fault_cases` is put into the solved network in several severities; what the gauges would then show is
held against what was read. What is not known of a sound line (bores, membranes, the compressor's curve) moves all
gauges together: its share of the error is that of the sound network's own response.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from difflib import get_close_matches

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

from plumeline.errors import InputError, ModelError
from plumeline.stages.air import tree
from plumeline.stages.air.fault_cases import (
    ALL,
    COMPRESSOR_GAUGE,
    NONE_OF_THESE,
    Case,
    at_level,
    cases,
    check_of,
    fouled_by,
    full_open,
    prior_of,
    shut_valves,
    with_branch,
    with_flow,
    with_parts,
)
from plumeline.stages.air.network import COMPRESSOR, AirNetwork, Part, Pipe
from plumeline.stages.air.results import MANIFOLD

Array = NDArray[np.float64]

PSI_PA = 6894.757
GAUGE_SD_PA = 0.25 * PSI_PA  # a dial gauge of the trade, read by eye: judgement
LEVEL_SD_M = 0.05  # 2 in
WRONG_SD_PA = 3.0 * PSI_PA  # how far a wrong gauge is off: judgement
OTHER_SD_PA = 4.0 * PSI_PA  # what is on no list may read anything
BOIL_RIGHT = 0.95  # a boil is seen as it is: judgement
FLOWING_KG_S = 1e-6
SHOWN_PROBABILITY = 0.02
GRID_COUNT = 240
LEVEL_UNREAD_SD_M = 0.15  # of a pond whose level nobody read
# what is not known of a sound line, one standard deviation: bore, curve's flow, membrane
BORE_FRACTION, CURVE_FRACTION, MEMBRANE_PA = 0.02, 0.05, 700.0


@dataclass(frozen=True)
class GaugeReading:
    """One gauge, read once.

    Attributes:
        time: when.
        place: "compressor" or the name of a port.
        pressure_pa: gauge pressure.
        water_level_m: over the level at which the diffusers' depths hold; None where it was not read.
        open_ports: names of the ports whose valves stood as set, the others shut; None for all as set.
        boil: diffusers over which bubbles were seen; None where nobody looked.
        row: of the file.
        full_open: the valves that were not shut stood full open, not as set.
    """

    time: datetime
    place: str
    pressure_pa: float
    water_level_m: float | None = None
    open_ports: tuple[str, ...] | None = None
    boil: tuple[str, ...] | None = None
    row: int = 0
    full_open: bool = False


@dataclass(frozen=True)
class Ranked:
    """One cause at one place.

    Attributes:
        cause: its name.
        place: where; empty where it has none.
        probability: after the gauges.
        severity: the likeliest, in words.
        picture_pa: what each gauge that was read would show, in the order of the readings.
        check: what proves it on the spot.
    """

    cause: str
    place: str
    probability: float
    severity: str
    picture_pa: tuple[float, ...]
    check: str


@dataclass(frozen=True)
class NextCheck:
    """A reading that could be taken next, and how much it would tell of the cause [bits]."""

    what: str
    open_ports: tuple[str, ...]
    place: str
    information_number: float


@dataclass(frozen=True)
class FaultsFound:
    """What the gauges say.

    Attributes:
        cause_probability: by cause alone, the likeliest first (name, probability).
        ranked: by cause and place.
        sound_pa: what each gauge would show on a sound line.
        off_pa: what was read less that.
        checks: what to read next, the most telling first.
        alike: causes that these readings can't tell apart from the likeliest.
    """

    cause_probability: tuple[tuple[str, float], ...]
    ranked: tuple[Ranked, ...]
    sound_pa: tuple[float, ...]
    off_pa: tuple[float, ...]
    checks: tuple[NextCheck, ...]
    alike: tuple[str, ...]


@dataclass(frozen=True)
class _State:
    """One setting of the valves and one level of the water."""

    open_ports: tuple[str, ...] | None
    level_m: float
    full_open: bool = False


def _state(item: GaugeReading) -> _State:
    """Return how valves and water stood at a reading."""
    return _State(item.open_ports, item.water_level_m or 0.0, item.full_open)


def _shut(network: AirNetwork, open_ports: tuple[str, ...] | None) -> AirNetwork:
    """Return the network with every diffuser's valve shut but those named."""
    if open_ports is None:
        return network
    for name in network.outlet_names:
        if name not in open_ports:
            network = with_branch(name, shut_valves)(network)
    return network


def _gauges(network: AirNetwork, state: _State) -> tuple[dict[str, float], frozenset[str]]:
    """Return the gauge at each place and the diffusers that bubble."""
    compiled = tree.compile_tree(_shut(at_level(network, state.level_m), state.open_ports))
    raw = tree.run(compiled.arrays)
    if not np.isfinite(raw.pressure_pa[0]):
        raise ModelError("the air line has no operating point.", remedy="Check the compressor's curve.")
    gauge = raw.pressure_pa - compiled.arrays.ambient_pressure_pa
    places = {place: float(gauge[node]) for place, node in compiled.places.items()}
    flows = {name: float(raw.outlet_kg_s[k]) > FLOWING_KG_S for name, k in compiled.outlets.items()}
    return places, frozenset(name for name, flowing in flows.items() if flowing)


def _at(places: dict[str, float], place: str) -> float:
    if place in (COMPRESSOR, MANIFOLD):
        return places[place]
    return places[f"port {place}"]


class _Bench:
    """The sound network, its faults, and what gauges would show under each."""

    def __init__(self, network: AirNetwork, *, level_read: bool) -> None:
        self.network = network
        self.cases = cases(network, level_read=level_read)
        # a valve that is blocked stays so when it is opened in full: first the setting, then the fault
        self.grounds = {False: network, True: full_open(network)}
        self._faulty: dict[bool, list[AirNetwork]] = {}
        self.level_sd_m = LEVEL_SD_M if level_read else LEVEL_UNREAD_SD_M
        self._known: dict[_State, list[tuple[dict[str, float], frozenset[str]]]] = {}
        self._moved: dict[_State, list[dict[str, float]]] = {}
        priors = np.array([prior_of(case.cause) * case.weight for case in self.cases])
        self.log_prior = np.log(priors / priors.sum())

    def shown(self, state: _State) -> list[tuple[dict[str, float], frozenset[str]]]:
        """Return gauges and boils of every case in one setting."""
        if state not in self._known:
            if state.full_open not in self._faulty:
                ground = self.grounds[state.full_open]
                self._faulty[state.full_open] = [case.change(ground) for case in self.cases]
            self._known[state] = [_gauges(network, state) for network in self._faulty[state.full_open]]
        return self._known[state]

    def moved(self, state: _State) -> list[dict[str, float]]:
        """Return the sound network's gauges when each thing not known of it is off by one standard deviation."""
        if state not in self._moved:
            ground = self.grounds[state.full_open]
            off = [_gauges(network, state)[0] for network in _off(ground)]
            off.append(_gauges(ground, replace(state, level_m=state.level_m + self.level_sd_m))[0])
            self._moved[state] = off
        return self._moved[state]

    def means(self, looks: list[tuple[_State, str]]) -> Array:
        """Return what each look would read under each case (cases, looks) [Pa]."""
        return np.array([[_at(shown[0], place) for shown in self.shown(state)] for state, place in looks]).T

    def covariance(self, looks: list[tuple[_State, str]]) -> Array:
        """Return the error of the looks on a sound line (looks, looks) [Pa²]."""
        sound = np.array([_at(self.shown(state)[0][0], place) for state, place in looks])
        moves = np.array(
            [
                [_at(self.moved(state)[k], place) for state, place in looks]
                for k in range(len(self.moved(looks[0][0])))
            ]
        )
        moves = moves - sound
        return np.asarray(moves.T @ moves + GAUGE_SD_PA**2 * np.eye(len(looks)))

    def extra(self, case: Case, looks: list[tuple[_State, str]]) -> Array:
        """Return what a case adds to that error: a wrong gauge is off alike in all its readings."""
        if case.cause == NONE_OF_THESE:
            return OTHER_SD_PA**2 * np.eye(len(looks))
        if not case.gauge:
            return np.zeros((len(looks), len(looks)))
        mine = np.array(
            [float((place == COMPRESSOR) == (case.gauge == COMPRESSOR_GAUGE)) for _, place in looks]
        )
        return np.asarray(WRONG_SD_PA**2 * np.outer(mine, mine))


def _off(network: AirNetwork) -> list[AirNetwork]:
    """Return the sound network with each thing not known of it off by one standard deviation."""

    def narrower(part: Part) -> Part:
        return replace(part, bore_m=part.bore_m * (1.0 - BORE_FRACTION)) if isinstance(part, Pipe) else part

    narrow = with_parts(narrower)
    return [
        replace(network, branches=tuple(narrow(branch) for branch in network.branches)),
        with_flow(1.0 + CURVE_FRACTION)(network),
        with_branch(ALL, fouled_by(MEMBRANE_PA))(network),
    ]


def faults(network: AirNetwork, readings: tuple[GaugeReading, ...]) -> FaultsFound:
    """Say what is wrong with an air line, from gauges read on one visit.

    Args:
        network: the line as it was set, sound; the branch named as the manifold is its trunk.
        readings: what was read.

    Returns:
        Causes and places by probability, what a sound line would show, and what to read next.

    Raises:
        InputError: no reading, a port that is not there, or a gauge behind a shut valve.
        ModelError: the line has no operating point.
    """
    check_readings(network, readings)
    level_read = all(item.water_level_m is not None for item in readings)
    bench = _Bench(network, level_read=level_read)
    looks = [(_state(item), item.place) for item in readings]
    read_pa = np.array([item.pressure_pa for item in readings])
    means = bench.means(looks)
    log_weight = bench.log_prior + _log_likelihood(bench, looks, means, read_pa) + _log_boil(bench, readings)
    weight = np.exp(log_weight - logsumexp(log_weight))
    causes = _by_cause(bench, weight)
    return FaultsFound(
        cause_probability=causes,
        ranked=_ranked(bench, weight, means),
        sound_pa=tuple(means[0].tolist()),
        off_pa=tuple((read_pa - means[0]).tolist()),
        checks=_next_checks(bench, weight, looks[-1][0].level_m),
        alike=_alike(bench, causes, weight),
    )


def check_readings(network: AirNetwork, readings: tuple[GaugeReading, ...]) -> None:
    """Refuse what can't be read.

    Raises:
        InputError: no reading, a port that is not there, a gauge under zero or behind a shut valve.
    """
    names = network.outlet_names
    if not readings:
        raise InputError(
            "no gauge was read.", remedy="Give at least the gauge at the compressor.", place="gauges"
        )
    for item in readings:
        where = f"row {item.row}"
        unknown = [
            name
            for name in (*(item.open_ports or ()), *(item.boil or ()), item.place)
            if name not in names and not (name == item.place and name in (COMPRESSOR, MANIFOLD))
        ]
        if unknown:
            alike = get_close_matches(unknown[0], (*names, COMPRESSOR, MANIFOLD), n=1)
            hint = f"Did you mean {alike[0]}? " if alike else ""
            raise InputError(
                f"{unknown[0]!r} is no port of this line.",
                remedy=f"{hint}Write {COMPRESSOR}, {MANIFOLD}, or one of {', '.join(names)}.",
                place=where,
            )
        if item.pressure_pa < 0.0:
            raise InputError("a gauge can't read under zero.", remedy="Write it as '5.8'.", place=where)
        if item.open_ports is not None and item.place in names and item.place not in item.open_ports:
            raise InputError(
                f"the gauge of {item.place} stands behind a shut valve: it tells nothing of the line.",
                remedy="Read the compressor's gauge, or open that port.",
                place=where,
            )


def _log_likelihood(bench: _Bench, looks: list[tuple[_State, str]], means: Array, read_pa: Array) -> Array:
    """Return the logarithm of how likely the readings are under each case (cases)."""
    common = bench.covariance(looks)
    found = np.empty(len(bench.cases))
    for k, case in enumerate(bench.cases):
        whole = common + bench.extra(case, looks)
        off = read_pa - means[k]
        found[k] = -0.5 * (off @ np.linalg.solve(whole, off) + np.linalg.slogdet(whole)[1])
    return found


def _log_boil(bench: _Bench, readings: tuple[GaugeReading, ...]) -> Array:
    """Return the logarithm of how likely the boils seen are under each case (cases)."""
    found = np.zeros(len(bench.cases))
    names = bench.network.outlet_names
    for item in readings:
        if item.boil is None:
            continue
        shown = bench.shown(_state(item))
        for k, (_, flowing) in enumerate(shown):
            right = sum((name in flowing) == (name in item.boil) for name in names)
            if bench.cases[k].cause == NONE_OF_THESE:
                found[k] += len(names) * np.log(0.5)
            else:
                found[k] += right * np.log(BOIL_RIGHT) + (len(names) - right) * np.log(1.0 - BOIL_RIGHT)
    return found


def _by_cause(bench: _Bench, weight: Array) -> tuple[tuple[str, float], ...]:
    """Return each cause with its probability, the likeliest first."""
    total: dict[str, float] = {}
    for case, value in zip(bench.cases, weight, strict=True):
        total[case.cause] = total.get(case.cause, 0.0) + float(value)
    return tuple(sorted(total.items(), key=lambda item: -item[1]))


def _ranked(bench: _Bench, weight: Array, means: Array) -> tuple[Ranked, ...]:
    """Return causes by place that are likely enough to show, the likeliest first."""
    groups: dict[tuple[str, str], list[int]] = {}
    for k, case in enumerate(bench.cases):
        groups.setdefault((case.cause, case.place), []).append(k)
    found = []
    for (cause, place), rows in groups.items():
        share = weight[rows]
        total = float(share.sum())
        if total < SHOWN_PROBABILITY:
            continue
        picture = tuple((share @ means[rows] / total).tolist())
        words = bench.cases[rows[int(np.argmax(share))]].severity
        found.append(Ranked(cause, place, total, words, picture, check_of(cause)))
    return tuple(sorted(found, key=lambda item: -item.probability))


def _alike(bench: _Bench, cause_probability: tuple[tuple[str, float], ...], weight: Array) -> tuple[str, ...]:
    """Return causes that the readings speak for as well as for the likeliest: the prior alone parts them."""
    prior = np.exp(bench.log_prior)
    lift: dict[str, float] = {}
    for cause, _ in cause_probability:
        rows = [k for k, case in enumerate(bench.cases) if case.cause == cause]
        lift[cause] = float(weight[rows].sum() / prior[rows].sum())
    first = cause_probability[0][0]
    return tuple(
        c
        for c, p in cause_probability
        if c != first and lift[c] > 0.5 * lift[first] and p > SHOWN_PROBABILITY
    )


def _next_checks(bench: _Bench, weight: Array, level_m: float) -> tuple[NextCheck, ...]:
    """Return the readings that could come next by what they would tell of the cause, the most telling first."""
    names = bench.network.outlet_names
    wanted: list[tuple[str, tuple[str, ...] | None, str]] = [
        ("the compressor's gauge, valves as set", None, COMPRESSOR)
    ]
    wanted += [(f"the gauge of port {name}, valves as set", None, name) for name in names]
    if len(names) > 1:
        wanted += [(f"the compressor's gauge with {name} alone open", (name,), COMPRESSOR) for name in names]
    causes = sorted({case.cause for case in bench.cases})
    member = np.array([causes.index(case.cause) for case in bench.cases])
    found = []
    for words, ports, place in wanted:
        look = [(_State(ports, level_m), place)]
        means = bench.means(look)[:, 0]
        error = float(bench.covariance(look)[0, 0])
        sd = np.sqrt([error + float(bench.extra(case, look)[0, 0]) for case in bench.cases])
        bits = _information_bits(weight, member, means, sd)
        found.append(NextCheck(words, ports or names, place, bits))
    return tuple(sorted(found, key=lambda item: -item.information_number))


def _information_bits(weight: Array, member: NDArray[np.int64], means: Array, sd: Array) -> float:
    """Return the mutual information of cause and reading, by quadrature over the reading [bits]."""
    grid = np.linspace(float((means - 4.0 * sd).min()), float((means + 4.0 * sd).max()), GRID_COUNT)
    step = grid[1] - grid[0]
    density = np.exp(-0.5 * ((grid[:, None] - means) / sd) ** 2) / (sd * np.sqrt(2.0 * np.pi)) * weight
    by_cause = np.stack([density[:, member == k].sum(axis=1) for k in range(int(member.max()) + 1)], axis=1)
    share = by_cause.sum(axis=0) * step
    whole = by_cause.sum(axis=1, keepdims=True)
    with np.errstate(divide="ignore", invalid="ignore"):
        terms = by_cause * np.log2(by_cause / (whole * share))
    return max(float(np.nansum(terms) * step), 0.0)
