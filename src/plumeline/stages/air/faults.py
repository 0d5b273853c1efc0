"""What is wrong with an air line, from its gauges: causes and places by probability, and what to check next.

Each fault of `fault_cases` is put into the solved network in several severities; what the gauges would then show is
held against what was read. What is not known of a sound line (bores, membranes, the compressor's curve) moves all
gauges together: its share of the error is that of the sound network's own response.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from difflib import get_close_matches

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

from plumeline.errors import InputError
from plumeline.stages.air.fault_bench import (
    BORE_FRACTION,
    CURVE_FRACTION,
    GAUGE_SD_PA,
    LEVEL_SD_M,
    LEVEL_UNREAD_SD_M,
    MEMBRANE_PA,
    PSI_PA,
    Bench,
    Look,
    State,
)
from plumeline.stages.air.fault_cases import NOTHING, check_of
from plumeline.stages.air.fault_checks import NextCheck, next_checks
from plumeline.stages.air.network import COMPRESSOR, AirNetwork
from plumeline.stages.air.results import MANIFOLD

__all__ = [
    "BORE_FRACTION",
    "CURVE_FRACTION",
    "GAUGE_SD_PA",
    "LEVEL_SD_M",
    "LEVEL_UNREAD_SD_M",
    "MEMBRANE_PA",
    "PSI_PA",
    "FaultsFound",
    "GaugeReading",
    "NextCheck",
    "Ranked",
    "by_cause",
    "check_reading",
    "check_readings",
    "faults",
    "weights",
]

Array = NDArray[np.float64]

# a boil is as it would be: seen rightly, and under what is on no list (judgement)
BOIL_RIGHT, BOIL_UNLISTED_RIGHT = 0.95, 0.8
SHOWN_PROBABILITY = 0.02


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


def _state(item: GaugeReading) -> State:
    """Return how valves and water stood at a reading."""
    return State(item.open_ports, item.water_level_m or 0.0, item.full_open)


def faults(
    network: AirNetwork, readings: tuple[GaugeReading, ...], bench: Bench | None = None
) -> FaultsFound:
    """Say what is wrong with an air line, from gauges read on one visit.

    Args:
        network: the line as it was set, sound; the branch named as the manifold is its trunk.
        readings: what was read.
        bench: of the same network and with its level read or not as here, kept from an earlier call.

    Returns:
        Causes and places by probability, what a sound line would show, and what to read next.

    Raises:
        InputError: no reading, a port that is not there, or a gauge behind a shut valve.
        ModelError: the line has no operating point.
    """
    check_readings(network, readings)
    bench = bench or bench_of(network, readings)
    looks = [Look(_state(item), item.place) for item in readings]
    read_pa = np.array([item.pressure_pa for item in readings])
    means = bench.means(looks)
    weight = weights(bench, readings)
    causes = by_cause(bench, weight)
    return FaultsFound(
        cause_probability=causes,
        ranked=_ranked(bench, weight, means),
        sound_pa=tuple(means[0].tolist()),
        off_pa=tuple((read_pa - means[0]).tolist()),
        checks=next_checks(bench, weight, looks, read_pa, looks[-1].state.level_m),
        alike=_alike(bench, causes),
    )


def bench_of(network: AirNetwork, readings: tuple[GaugeReading, ...]) -> Bench:
    """Return the bench of a network for readings of one visit."""
    return Bench(network, level_read=all(item.water_level_m is not None for item in readings))


def weights(bench: Bench, readings: tuple[GaugeReading, ...]) -> Array:
    """Return the probability of each row of a bench after readings that were checked (rows)."""
    looks = [Look(_state(item), item.place) for item in readings]
    read_pa = np.array([item.pressure_pa for item in readings])
    log_weight = bench.log_prior + _log_likelihood(bench, looks, bench.means(looks), read_pa)
    log_weight += _log_boil(bench, readings)
    return np.asarray(np.exp(log_weight - logsumexp(log_weight)))


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
        check_reading(names, item)


def fit_readings(
    names: tuple[str, ...], readings: tuple[GaugeReading, ...]
) -> tuple[tuple[GaugeReading, ...], tuple[tuple[GaugeReading, InputError], ...]]:
    """Return the readings that a line of these ports can have, and the others, each with what is wrong."""
    fit, unfit = list[GaugeReading](), list[tuple[GaugeReading, InputError]]()
    for item in readings:
        try:
            check_reading(names, item)
            fit.append(item)
        except InputError as error:
            unfit.append((item, error))
    return tuple(fit), tuple(unfit)


def check_reading(names: tuple[str, ...], item: GaugeReading) -> None:
    """Refuse a gauge that can't be read on a line of these ports.

    Raises:
        InputError: a port that is not there, a gauge under zero or behind a shut valve.
    """
    where = f"row {item.row}"
    for name in (*(item.open_ports or ()), *(item.boil or ())):
        _known(name, names, where)
    _known(item.place, (COMPRESSOR, MANIFOLD, *names), where)
    if item.pressure_pa < 0.0:
        raise InputError("a gauge can't read under zero.", remedy="Write it as '5.8'.", place=where)
    if item.open_ports is not None and item.place in names and item.place not in item.open_ports:
        raise InputError(
            f"the gauge of {item.place} stands behind a shut valve: it tells nothing of the line.",
            remedy="Read the compressor's gauge, or open that port.",
            place=where,
        )


def _known(name: str, allowed: tuple[str, ...], where: str) -> None:
    """Refuse a name that can't stand there.

    Raises:
        InputError: it is none of those allowed.
    """
    if name not in allowed:
        alike = get_close_matches(name, allowed, n=1)
        hint = f"Did you mean {alike[0]}? " if alike else ""
        raise InputError(
            f"{name!r} is no port of this line.", remedy=f"{hint}Write {_one_of(allowed)}.", place=where
        )


def _one_of(names: tuple[str, ...]) -> str:
    """Return names as a choice."""
    return f"one of {', '.join(names)}" if len(names) > 1 else names[0]


def _log_likelihood(bench: Bench, looks: list[Look], means: Array, read_pa: Array) -> Array:
    """Return the logarithm of how likely the readings are under each row (rows)."""
    found = np.empty(len(means))
    off = read_pa - means
    for kind, whole in enumerate(bench.covariances(looks)):
        mine = bench.kind == kind
        squares = np.einsum("ij,ij->i", off[mine], np.linalg.solve(whole, off[mine].T).T)
        found[mine] = -0.5 * (squares + np.linalg.slogdet(whole)[1])
    return found


def _log_boil(bench: Bench, readings: tuple[GaugeReading, ...]) -> Array:
    """Return the logarithm of how likely the boils seen are under each row (rows)."""
    found = np.zeros(len(bench.rows))
    names = bench.network.outlet_names
    unlisted = np.array([row.case.blur_pa > 0.0 for row in bench.rows])
    right = np.where(unlisted, BOIL_UNLISTED_RIGHT, BOIL_RIGHT)[:, None]
    for item in readings:
        if item.boil is None:
            continue
        seen = np.array([name in item.boil for name in names])
        flowing = bench.flowing(_state(item))
        as_seen = np.where(seen, flowing, 1.0 - flowing)
        found += np.log(right * as_seen + (1.0 - right) * (1.0 - as_seen)).sum(axis=1)
    return found


def by_cause(bench: Bench, weight: Array) -> tuple[tuple[str, float], ...]:
    """Return each cause with its probability, the likeliest first."""
    total = np.bincount(bench.member, weights=weight, minlength=len(bench.causes))
    return tuple(sorted(zip(bench.causes, total.tolist(), strict=True), key=lambda item: -item[1]))


def _ranked(bench: Bench, weight: Array, means: Array) -> tuple[Ranked, ...]:
    """Return causes by place that are likely enough to show, the likeliest first."""
    groups: dict[tuple[str, str], list[int]] = {}
    for k, row in enumerate(bench.rows):
        groups.setdefault((row.case.cause, row.case.place), []).append(k)
    found = []
    for (cause, place), rows in groups.items():
        share = weight[rows]
        total = float(share.sum())
        if total < SHOWN_PROBABILITY:
            continue
        picture = tuple((share @ means[rows] / total).tolist())
        words = _severity(bench, rows, share)
        found.append(Ranked(cause, place, total, words, picture, check_of(cause)))
    return tuple(sorted(found, key=lambda item: -item.probability))


def _severity(bench: Bench, rows: list[int], share: Array) -> str:
    """Return the words of the likeliest solved severity: a point between two counts for the nearer.

    What is on no list has none, but may be much like something that is.
    """
    near = np.where(bench.share_fraction[rows] > 0.5, bench.high[rows], bench.low[rows])
    case = bench.cases[int(np.argmax(np.bincount(near, weights=share)))]
    if not bench.rows[rows[0]].case.blur_pa:
        return case.severity
    return "" if case.blur_pa or case.cause == NOTHING else f"much like {case.cause} {case.place}".rstrip()


def _alike(bench: Bench, cause_probability: tuple[tuple[str, float], ...]) -> tuple[str, ...]:
    """Return causes that the readings speak for as well as for the likeliest: the prior alone parts them."""
    prior = dict(by_cause(bench, np.exp(bench.log_prior)))
    lift = {cause: value / prior[cause] for cause, value in cause_probability}
    first = cause_probability[0][0]
    return tuple(
        c
        for c, p in cause_probability
        if c != first and lift[c] > 0.5 * lift[first] and p > SHOWN_PROBABILITY
    )
