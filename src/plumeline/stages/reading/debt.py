"""The oxygen debt: what the bottom water takes out of oxygen once it meets it.

Three pools, for they are paid at different speeds: iron (minutes to hours), sulphide (hours to days) and slow
(methane, ammonia, labile carbon: days to weeks). What is not measured comes from sources/priors.csv; the low
and high ends of the pools are added, for the pools rise and fall together with the time under a thermocline.

A bottle read after 24 h says what all pools together take within a day. The pools that were not measured yield
to it, so that the pools always add up to the whole: iron that the 15 min bottle saw and tested sulphide stay,
and what the bottle took beyond them is shared out among the others as their priors stand to each other.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from plumeline.job.document import Bottle, SmellStrength
from plumeline.notices import Notice
from plumeline.sources.priors import prior
from plumeline.stages.reading.bottle import BottleResult, Demand, bottle_demand
from plumeline.stages.reading.profile import Lines
from plumeline.stages.reading.slices import Array, Slices

OXYGEN_PER_SULPHIDE_FRACTION = 2.0 * 31.9988 / 32.06
"""Grams of oxygen by gram of sulphide-S taken to sulphate: HS⁻ + 2 O₂ → SO₄²⁻ + H⁺."""

OXYGEN_PER_SULPHIDE_LOW_FRACTION = 0.5 * 31.9988 / 32.06
"""The same to elemental sulphur: HS⁻ + ½ O₂."""

OXYGEN_PER_AMMONIA_FRACTION = 4.57
"""Grams of oxygen by gram of ammonia-N taken to nitrate: NH₄⁺ + 2 O₂ → NO₃⁻ + H₂O + 2 H⁺."""

SULPHIDE_TEST = "sulphide test"

UNTESTED_M = 0.5
"""How far under the deepest sulphide test the water may be taken to hold as much (judgement)."""

NORMAL_90 = 1.645
"""The 5 and 95 % points of a normal distribution, in standard deviations."""


@dataclass(frozen=True)
class Mass:
    """A mass of oxygen with its 90 % band."""

    central_kg: float
    low_kg: float
    high_kg: float

    def __add__(self, other: Mass) -> Mass:
        """Return the sum of two that rise and fall together: ends are added."""
        return Mass(
            self.central_kg + other.central_kg, self.low_kg + other.low_kg, self.high_kg + other.high_kg
        )


@dataclass(frozen=True)
class Pool:
    """One pool of the debt: its name, the mass of oxygen it takes and what that rests on."""

    name: str
    mass: Mass
    basis: str


@dataclass(frozen=True)
class Debt:
    """The pond's oxygen debt.

    Attributes:
        pools: iron, sulphide, slow, fitted to a 24 h bottle where there is one; they add up to ``total``.
        believed: the same pools before the bottle.
        slow_first_day: what of the slow pool before the bottle is paid within a day.
        first_day: what is called in within a day of meeting oxygen: iron, sulphide and a day's part of
            the slow pool; from the 24 h bottle where there is one.
        total: all of it, the sum of the pools.
        owing_volume_m3: water that owes oxygen.
        basis: what the first day's figure rests on.
        censored: True where a bottle ran short: the figures are lower bounds.
    """

    pools: tuple[Pool, ...]
    believed: tuple[Pool, ...]
    slow_first_day: Mass
    first_day: Mass
    total: Mass
    owing_volume_m3: float
    basis: str
    censored: bool


def oxygen_debt(
    lines: Lines, slices: Slices, bottles: Sequence[Bottle], mixed_temperature_degc: float
) -> tuple[Debt, tuple[Notice, ...]]:
    """Return the oxygen debt of the pond, from what was measured and priors for the rest.

    Args:
        lines: the latest profile
        slices: the basin, with corners at the profile's
        bottles: bottle tests of the last days, any order
        mixed_temperature_degc: temperature at which the slow pool is paid

    Returns:
        the debt, and notices of the bottles
    """
    results = tuple(bottle_demand(bottle) for bottle in sorted(bottles, key=lambda one: one.depth_m))
    owing = slices.integral(lines.owing_fraction)
    iron = _iron(lines, slices, results, owing)
    sulphide = _sulphide(lines, slices, owing)
    slow = _slow(lines, slices, owing)
    day = _slow_day_fractions(mixed_temperature_degc)
    slow_first = Mass(slow.mass.central_kg * day[1], slow.mass.low_kg * day[0], slow.mass.high_kg * day[2])
    first, basis, censored = iron.mass + sulphide.mass + slow_first, _basis((iron, sulphide, slow)), False
    fast = [(result.depth_m, result.fast) for result in results if result.fast is not None]
    if fast:
        measured = _spread(lines, slices, fast)
        censored = any(demand.censored for _, demand in fast)
        if censored:
            first = Mass(*(max(a, b) for a, b in zip(parts_of(measured), parts_of(first), strict=True)))
            basis = "bottle that ran short: at least this"
        else:
            first, basis = measured, "24 h bottle"
    pools = _fitted((iron, sulphide, slow), slow_first, first) if fast else (iron, sulphide, slow)
    total = pools[0].mass + pools[1].mass + pools[2].mass
    notices = tuple(notice for result in results for notice in result.notices)
    return Debt(pools, (iron, sulphide, slow), slow_first, first, total, owing, basis, censored), notices


def _fitted(pools: tuple[Pool, ...], slow_first: Mass, first_day: Mass) -> tuple[Pool, ...]:
    """Return the pools fitted to what the bottle took within a day.

    Args:
        pools: iron, sulphide, slow, as measured or as their priors say
        slow_first: what of the slow pool is paid within a day
        first_day: what the 24 h bottle says, or the greater of it and the pools where it ran short

    Returns:
        the pools; what the bottle leaves beyond the measured ones is shared among the others in proportion to
        their parts of a day (judgement: one factor on every prior). None falls below zero.
    """
    parts = tuple(
        replace(pool, mass=slow_first) if pool.name == "slow" else pool for pool in pools
    )  # what is paid within a day
    known = [pool.mass for pool in parts if not yields(pool)]
    free = [pool for pool in parts if yields(pool)]
    left = _left_over(known, first_day)
    weight = math.fsum(pool.mass.central_kg for pool in free)
    found: list[Pool] = []
    for pool, part in zip(pools, parts, strict=True):
        if not yields(pool):
            found.append(pool)
            continue
        # nothing owes by the profile, but the bottle did: what it saw counts as slow
        share = part.mass.central_kg / weight if weight > 0.0 else float(pool.name == "slow")
        beyond = _less(pool.mass, part.mass)
        fitted = Mass(*(share * kg for kg in parts_of(left))) + beyond
        found.append(Pool(pool.name, fitted, f"{pool.basis}, fitted to the 24 h bottle"))
    return tuple(found)


def yields(pool: Pool) -> bool:
    """Return whether a pool rests on a prior alone, and so yields to a 24 h bottle."""
    return "bottle" not in pool.basis and not pool.basis.startswith(SULPHIDE_TEST)


def _left_over(known: Sequence[Mass], first_day: Mass) -> Mass:
    """Return what a day takes beyond the measured pools, never below zero, its ends about its middle."""
    central, low, high = (
        (
            max(day - math.fsum(one), 0.0)
            for day, one in zip(
                parts_of(first_day), zip(*(parts_of(mass) for mass in known), strict=True), strict=True
            )
        )
        if known
        else parts_of(first_day)
    )
    return Mass(central, min(low, central), max(high, central))


def _less(whole: Mass, part: Mass) -> Mass:
    """Return what is left of a pool, end by end."""
    return Mass(*(a - b for a, b in zip(parts_of(whole), parts_of(part), strict=True)))


def parts_of(mass: Mass) -> tuple[float, float, float]:
    """Return middle, low and high end [kg]."""
    return mass.central_kg, mass.low_kg, mass.high_kg


def _basis(pools: tuple[Pool, ...]) -> str:
    """Return what the sum of the pools rests on."""
    bases = dict.fromkeys(pool.basis for pool in pools)
    return "; ".join(f"{', '.join(p.name for p in pools if p.basis == basis)}: {basis}" for basis in bases)


def _spread(lines: Lines, slices: Slices, demands: Sequence[tuple[float, Demand]]) -> Mass:
    """Return the mass behind demands at some depths: straight between them, fading above the highest one."""
    at = [depth for depth, _ in demands]

    def mass_kg(values_mg_l: Sequence[float]) -> float:
        return slices.integral(_below_the_edge(lines, at, values_mg_l)) / 1000.0

    central = [demand.demand_mg_l for _, demand in demands]
    error = [NORMAL_90 * demand.standard_error_mg_l for _, demand in demands]
    low = [max(value - e, 0.0) for value, e in zip(central, error, strict=True)]
    high = [value + e for value, e in zip(central, error, strict=True)]
    return Mass(mass_kg(central), mass_kg(low), mass_kg(high))


def _below_the_edge(lines: Lines, at_m: Sequence[float], values: Sequence[float]) -> Callable[[Array], Array]:
    """Return values over depth: interpolated, and above the highest one only in water that owes oxygen."""

    def over_depth(depth_m: Array) -> Array:
        share = np.where(depth_m < at_m[0], lines.owing_fraction(depth_m), 1.0)
        return np.asarray(np.interp(depth_m, at_m, values) * share, dtype=np.float64)

    return over_depth


def _prior_mass(name: str, owing_m3: float) -> Mass:
    """Return the mass of a prior in the water that owes oxygen."""
    row = prior(name)
    low, central, high = row.low, row.mode, row.high
    return Mass(central * owing_m3 / 1000.0, low * owing_m3 / 1000.0, high * owing_m3 / 1000.0)


def _iron(lines: Lines, slices: Slices, results: Sequence[BottleResult], owing_m3: float) -> Pool:
    """Return what the 15-minute bottle sees, or the prior."""
    read = [(result.depth_m, result.immediate) for result in results if result.immediate is not None]
    if not read:
        return Pool("iron", _prior_mass("debt_a", owing_m3), "prior")
    measured = _spread(lines, slices, read)
    if any(demand.censored for _, demand in read):
        believed = _prior_mass("debt_a", owing_m3)
        most = (max(a, b) for a, b in zip(parts_of(measured), parts_of(believed), strict=True))
        return Pool("iron", Mass(*most), "15 min bottle that ran short: at least this")
    return Pool("iron", measured, "15 min bottle")


def _sulphide(lines: Lines, slices: Slices, owing_m3: float) -> Pool:
    """Return the oxygen that measured sulphide takes, or a prior that the smell has moved."""
    read = sulphide_anchors(lines)
    if not read:
        low, central, high = sulphide_prior_mg_l(lines)
        scale = owing_m3 / 1000.0
        basis = "prior" if strongest_smell(lines) is None else "prior moved by the smell"
        return Pool("sulphide", Mass(central * scale, low * scale, high * scale), basis)
    at, values, guessed = zip(*read, strict=True)
    sulphide_kg = slices.integral(_below_the_edge(lines, at, values)) / 1000.0
    central = OXYGEN_PER_SULPHIDE_FRACTION * sulphide_kg
    # iron sulphide and organic sulphur stay unseen by a test of dissolved sulphide: half as much again
    return Pool(
        "sulphide",
        Mass(central, OXYGEN_PER_SULPHIDE_LOW_FRACTION * sulphide_kg, 1.5 * central),
        f"{SULPHIDE_TEST}, a prior under the deepest" if any(guessed) else SULPHIDE_TEST,
    )


def sulphide_anchors(lines: Lines) -> tuple[tuple[float, float, bool], ...]:
    """Return the points between which sulphide is straight: depth [m], mg/L as S, whether it is a prior's.

    Args:
        lines: the profile

    Returns:
        the tests; where the deepest stands over `UNTESTED_M` above the last reading and the water there owes oxygen,
        the middle of the prior at that reading, if it is more: no test above says that there is none below. Empty
        where sulphide was never read.
    """
    read = [(p.depth_m, p.sulphide_mg_l, False) for p in lines.points if p.sulphide_mg_l is not None]
    last_m = lines.depth_m[-1]
    if read and last_m - read[-1][0] > UNTESTED_M:
        owing = float(lines.owing_fraction(np.array([last_m]))[0])
        believed = sulphide_prior_mg_l(lines)[1] / OXYGEN_PER_SULPHIDE_FRACTION * owing
        if believed > read[-1][1]:
            read.append((last_m, believed, True))
    return tuple(read)


def strongest_smell(lines: Lines) -> SmellStrength | None:
    """Return the strongest smell of any reading; None where nobody noted it."""
    noted = [point.smell for point in lines.points if point.smell is not None]
    order = list(SmellStrength)
    return max(noted, key=order.index) if noted else None


def sulphide_prior_mg_l(lines: Lines) -> tuple[float, float, float]:
    """Return low, central and high oxygen demand of sulphide in owing water, moved by the smell (judgement).

    A strong smell moves the prior up half-way to its high end in the logarithm, no smell half-way to its low
    end. It is never zero: the nose goes numb, and noses differ.
    """
    row = prior("debt_b")
    low, central, high = row.low, row.mode, row.high
    smell = strongest_smell(lines)
    if smell is SmellStrength.STRONG:
        return math.sqrt(low * central), math.sqrt(central * high), high
    if smell is SmellStrength.NONE:
        return low / 3.0, math.sqrt(low * central), central
    return low, central, high


def _slow(lines: Lines, slices: Slices, owing_m3: float) -> Pool:
    """Return the slow pool: the prior, but never less than measured ammonia takes."""
    believed = _prior_mass("debt_c", owing_m3)
    read = [(p.depth_m, p.ammonia_mg_l) for p in lines.points if p.ammonia_mg_l is not None]
    if not read or owing_m3 <= 0.0:
        return Pool("slow", believed, "prior")
    ammonia = slices.integral(
        lambda z: np.interp(z, [d for d, _ in read], [v for _, v in read]) * lines.owing_fraction(z)
    )
    least = OXYGEN_PER_AMMONIA_FRACTION * ammonia / 1000.0
    floor = Mass(*(max(part, least) for part in parts_of(believed)))
    return Pool("slow", floor, "prior, at least the measured ammonia")


def _slow_day_fractions(temperature_degc: float) -> tuple[float, float, float]:
    """Return the part of the slow pool that is paid in a day: low, central, high."""
    theta, rate = prior("respiration_theta").mode, prior("rate_c")
    warmth = theta ** (temperature_degc - 20.0)
    low, central, high = (1.0 - math.exp(-k * warmth) for k in (rate.low, rate.mode, rate.high))
    return low, central, high
