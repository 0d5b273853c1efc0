"""How the oxygen debt and the bottles come about."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property

import numpy as np

from plumeline.job.document import Bottle
from plumeline.sources.priors import Prior, prior
from plumeline.stages.reading.bottle import READING_ERROR_MG_L, BottleResult, Demand
from plumeline.stages.reading.debt import (
    NORMAL_90,
    OXYGEN_PER_AMMONIA_FRACTION,
    OXYGEN_PER_SULPHIDE_FRACTION,
    OXYGEN_PER_SULPHIDE_LOW_FRACTION,
    SULPHIDE_TEST,
    Pool,
    parts_of,
    sulphide_anchors,
    yields,
)  # fmt: skip
from plumeline.stages.reading.slices import Array, slices_of
from plumeline.units import show
from plumeline.workings.bands import Bands
from plumeline.workings.reading_profile import ProfileValues
from plumeline.workings.survey import SurveyValues
from plumeline.workings.value import Value, given, measured, plain_constant, relation

TWO_PARTS = "stoichiometry of a two-part mixture; common practice of bottle tests, no published source"
Triple = tuple[Value, Value, Value]


class DebtValues:
    """The values of the debt: each pool as middle, low and high.

    Attributes:
        profile: the profile.
        basin: the survey's values.
        bands: the basin in bands between readings and bottles.
    """

    def __init__(self, profile: ProfileValues, basin: SurveyValues, temperature: Value) -> None:
        self.profile, self.temperature = profile, temperature
        lines = profile.lines
        bottles = [result.depth_m for result in profile.found.bottles]
        edges = (*lines.corners_m(), *bottles)
        self.bands = Bands(slices_of(basin.found.hypsograph, edges), edges, profile.units)
        self.debt = profile.found.debt
        self._kept: dict[str, Triple] = {}
        self.owing = self.bands.total(
            "water that owes oxygen", self.debt.owing_volume_m3, "m3", "part that owes", ("", lines.owing_fraction),
            words="wholly under 0.5 mg/L of oxygen or where it smells strongly, none from 2 mg/L (judgement)",
        )  # fmt: skip

    def pool(self, name: str) -> Triple:
        """Return a pool as the page shows it: fitted to the 24 h bottle where there is one; middle, low, high."""
        if not self.bottled or not yields(self._believed(name)):
            return self.believed(name)
        return self._fitted(name)

    @property
    def bottled(self) -> bool:
        """True where a 24 h bottle was read."""
        return any(result.fast is not None for result in self.profile.found.bottles)

    def _believed(self, name: str) -> Pool:
        return next(one for one in self.debt.believed if one.name == name)

    def believed(self, name: str) -> Triple:
        """Return a pool before any 24 h bottle: middle, low, high."""
        if name not in self._kept:
            self._kept[name] = self._make_believed(name)
        return self._kept[name]

    def _make_believed(self, name: str) -> Triple:
        found = self._believed(name)
        name = f"{name} before the 24 h bottle" if self.bottled and yields(found) else name
        numbers = (found.mass.central_kg, found.mass.low_kg, found.mass.high_kg)
        if found.basis == "15 min bottle":
            return self._spread(name, numbers, "immediate")
        if found.basis.startswith(SULPHIDE_TEST):
            return self._sulphide(numbers)
        row = prior({"iron": "debt_a", "sulphide": "debt_b", "slow": "debt_c"}[found.name])
        return self._prior(name, numbers, row, self._least() if "ammonia" in found.basis else None)

    def _fitted(self, name: str) -> Triple:
        """Return a pool that rests on a prior alone, fitted to the 24 h bottle."""
        shown = next(one for one in self.debt.pools if one.name == name).mass
        free = {one.name: one for one in self.debt.believed if yields(one)}
        parts = {one: (self._slow_first if one == "slow" else self.believed(one))[0] for one in free}
        weight = sum(part.number for part in parts.values())
        terms = {f"p{k}": part for k, part in enumerate(parts.values(), start=1)}
        own = f"p{list(parts).index(name) + 1}"
        share = f"{own} / ({' + '.join(terms)})" if weight > 0.0 else str(int(name == "slow"))
        found = []
        for k, (end, number) in enumerate(zip(ENDS, parts_of(shown), strict=True)):
            formula, own_terms = f"r * {share}", {"r": self._left[k], **(terms if weight > 0.0 else {})}
            if name == "slow":
                formula = f"{formula} + S - d"
                own_terms |= {"S": self.believed("slow")[k], "d": self._slow_first[k]}
            found.append(
                relation(_named(f"oxygen debt, {name}", end), number, "kg", formula, own_terms, words=YIELDS)
            )
        return (found[0], found[1], found[2])

    @cached_property
    def _left(self) -> Triple:
        """What the bottles took within a day beyond the pools that were measured."""
        known = [self.believed(one.name) for one in self.debt.believed if not yields(one)]
        first, found = self.first_day, list[Value]()
        for k, end in enumerate(ENDS):
            terms = {"f": first[k], **{f"m{n}": pool[k] for n, pool in enumerate(known, start=1)}}
            beyond = max(first[k].number - sum(pool[k].number for pool in known), 0.0)
            formula = f"max({' - '.join(terms)}, 0)"
            if end:
                keep = {"low": min, "high": max}[end]
                beyond, terms["c"] = keep(beyond, found[0].number), found[0]
                formula = f"{keep.__name__}({formula}, c)"
            name = _named("debt within a day beyond the measured pools", end)
            found.append(relation(name, beyond, "kg", formula, terms))
        return (found[0], found[1], found[2])

    def _prior(
        self, name: str, numbers: tuple[float, float, float], row: Prior, least: Value | None
    ) -> Triple:
        """Return a prior's mass in the water that owes oxygen; at least what measured ammonia takes."""
        found = []
        for end, number in zip(ENDS, numbers, strict=True):
            demand_mg_l = 1000.0 * number / self.owing.number if self.owing.number else 0.0
            if least is not None:
                demand_mg_l = {"": row.mode, "low": row.low, "high": row.high}[end]
            words = f"sources/priors.csv, {row.name}: {row.source}; moved by a smell that was noted"
            terms = {
                "W": self.owing,
                "d": given(f"demand of {name} water, {end or 'middle'}", demand_mg_l, "mg_l", words),
            }
            formula = "W * d"
            if least is not None:
                terms["m"] = least
                formula = "max(W * d, m)"
            found.append(relation(_named(f"oxygen debt, {name}", end), number, "kg", formula, terms))
        return (found[0], found[1], found[2])

    def _least(self) -> Value:
        """Return what measured ammonia takes."""
        lines = self.profile.lines
        read = [(p.depth_m, p.ammonia_mg_l) for p in lines.points if p.ammonia_mg_l is not None]
        at, values = [depth for depth, _ in read], [value for _, value in read]

        def owed(depth_m: Array) -> Array:
            return np.asarray(np.interp(depth_m, at, values) * lines.owing_fraction(depth_m))

        number = self.bands.slices.integral(owed) / 1000.0
        mass = self.bands.total(
            "ammonia in the water that owes oxygen", number, "kg", "ammonia that owes", ("mg_l", owed)
        )
        factor = plain_constant(
            "oxygen by ammonia-N", OXYGEN_PER_AMMONIA_FRACTION, "", "NH₄⁺ + 2 O₂ → NO₃⁻ + H₂O + 2 H⁺"
        )
        return relation(
            "oxygen that measured ammonia takes",
            OXYGEN_PER_AMMONIA_FRACTION * number,
            "kg",
            "f * m",
            {"f": factor, "m": mass},
        )

    def _sulphide(self, numbers: tuple[float, float, float]) -> Triple:
        """Return what measured sulphide takes."""
        at, values, _ = zip(*sulphide_anchors(self.profile.lines), strict=True)
        quantity = self._below_the_edge(at, values)
        mass = self.bands.total(
            "sulphide in the pond",
            self.bands.slices.integral(quantity) / 1000.0,
            "kg",
            "sulphide",
            ("mg_l", quantity),
        )
        full = plain_constant(
            "oxygen by sulphide-S, to sulphate", OXYGEN_PER_SULPHIDE_FRACTION, "", "HS⁻ + 2 O₂ → SO₄²⁻ + H⁺"
        )
        low = plain_constant(
            "oxygen by sulphide-S, to sulphur", OXYGEN_PER_SULPHIDE_LOW_FRACTION, "", "HS⁻ + ½ O₂"
        )
        unseen = "iron sulphide and organic sulphur stay unseen by the test: half as much again (judgement)"
        return (
            relation("oxygen debt, sulphide", numbers[0], "kg", "f * m", {"f": full, "m": mass}),
            relation(
                _named("oxygen debt, sulphide", "low"), numbers[1], "kg", "f * m", {"f": low, "m": mass}
            ),
            relation(
                _named("oxygen debt, sulphide", "high"),
                numbers[2],
                "kg",
                "1.5 * f * m",
                {"f": full, "m": mass},
                words=unseen,
            ),
        )

    def _below_the_edge(self, at_m: Sequence[float], values: Sequence[float]) -> Callable[[Array], Array]:
        lines = self.profile.lines

        def over_depth(depth_m: Array) -> Array:
            share = np.where(depth_m < at_m[0], lines.owing_fraction(depth_m), 1.0)
            return np.asarray(np.interp(depth_m, at_m, values) * share)

        return over_depth

    def _spread(self, name: str, numbers: tuple[float, float, float], part: str) -> Triple:
        """Return the mass behind the bottles' demands: straight between them, fading above the highest one."""
        results = sorted(self.profile.found.bottles, key=lambda one: one.depth_m)
        read = [
            (result.depth_m, demand) for result in results if (demand := getattr(result, part)) is not None
        ]
        at = [depth for depth, _ in read]
        found = []
        for end, number in zip(ENDS, numbers, strict=True):
            sign = {"": 0.0, "low": -1.0, "high": 1.0}[end]
            values = [max(d.demand_mg_l + sign * NORMAL_90 * d.standard_error_mg_l, 0.0) for _, d in read]
            words = "demand of the bottles" + (
                f", {'less' if end == 'low' else 'plus'} 1.645 standard errors" if end else ""
            )
            found.append(
                self.bands.total(
                    _named(f"oxygen debt, {name}", end),
                    number,
                    "kg",
                    "demand",
                    ("mg_l", self._below_the_edge(at, values)),
                    words=f"{words}; straight between the bottles, above the highest only in water that owes oxygen",
                )
            )
        return (found[0], found[1], found[2])

    @cached_property
    def slow(self) -> Triple:
        """The slow pool before any 24 h bottle."""
        return self.believed("slow")

    @cached_property
    def _slow_first(self) -> Triple:
        """What of the slow pool is paid within a day."""
        row, theta = prior("rate_c"), prior("respiration_theta")
        warmth = plain_constant(
            "growth of the rate by °C",
            theta.mode,
            "",
            f"sources/priors.csv, respiration_theta: {theta.source}",
        )
        reference = plain_constant("temperature of the rate", 20.0, "degc", "sources/priors.csv")
        day = plain_constant("a day", 1.0, "d", "definition")
        found = []
        for end, pool, rate in zip(ENDS, self.slow, (row.mode, row.low, row.high), strict=True):
            terms = {
                "S": pool,
                "k": plain_constant(
                    f"rate of the slow pool, {end or 'middle'}",
                    rate,
                    "per_d",
                    f"sources/priors.csv, rate_c: {row.source}",
                ),
                "t": day,
                "q": warmth,
                "T": self.temperature,
                "T0": reference,
            }
            exact = pool.number * (
                1.0 - float(np.exp(-rate * theta.mode ** (self.temperature.number - 20.0)))
            )
            found.append(
                relation(
                    _named("slow debt paid within a day", end),
                    exact,
                    "kg",
                    "S * (1 - exp(0 - k * t * q^(T - T0)))",
                    terms,
                )
            )
        return (found[0], found[1], found[2])

    @cached_property
    def first_day(self) -> Triple:
        """What is called in within a day."""
        mass = self.debt.first_day
        numbers = (mass.central_kg, mass.low_kg, mass.high_kg)
        if self.debt.basis == "24 h bottle":
            return self._spread("within a day", numbers, "fast")
        parts = [
            (self.believed("iron")[k], self.believed("sulphide")[k], self._slow_first[k]) for k in range(3)
        ]
        found = []
        for k, (end, number) in enumerate(zip(ENDS, numbers, strict=True)):
            terms = dict(zip("isd", parts[k], strict=True))
            formula = "i + s + d"
            if self.debt.censored:
                formula, terms["b"] = "max(i + s + d, b)", self._bottled(k)
            found.append(relation(_named("oxygen debt within a day", end), number, "kg", formula, terms))
        return (found[0], found[1], found[2])

    def _bottled(self, index: int) -> Value:
        results = sorted(self.profile.found.bottles, key=lambda one: one.depth_m)
        read = [(one.depth_m, one.fast) for one in results if one.fast is not None]
        sign = (0.0, -1.0, 1.0)[index]
        values = [max(d.demand_mg_l + sign * NORMAL_90 * d.standard_error_mg_l, 0.0) for _, d in read]
        quantity = self._below_the_edge([depth for depth, _ in read], values)
        number = self.bands.slices.integral(quantity) / 1000.0
        return self.bands.total(
            _named("debt by the 24 h bottles", ENDS[index]), number, "kg", "demand", ("mg_l", quantity)
        )

    @cached_property
    def total(self) -> Triple:
        """All of it: the sum of the pools."""
        pools, found = [self.pool(name) for name in POOLS], list[Value]()
        for k, (end, number) in enumerate(zip(ENDS, parts_of(self.debt.total), strict=True)):
            terms = {name[0]: pool[k] for name, pool in zip(("iron", "sulphide", "d"), pools, strict=True)}
            name = _named("oxygen debt in all", end)
            found.append(relation(name, number, "kg", "i + s + d", terms, words="the sum of the pools"))
        return (found[0], found[1], found[2])


ENDS = ("", "low", "high")
POOLS = ("iron", "sulphide", "slow")
YIELDS = "what the 24 h bottle leaves, shared among the pools that were not measured as their priors stand (judgement)"


def _named(name: str, end: str) -> str:
    return f"{name}, {end} end" if end else name


def bottle_values(bottle: Bottle, result: BottleResult, profile: ProfileValues) -> list[Value]:
    """Return depth, demands and their errors of one bottle, in the order of its row."""
    at = show(bottle.depth_m, "m", profile.units)
    file = f"bottle.csv, {bottle.time:%Y-%m-%d %H:%M}"
    depth = measured(f"depth of the bottle at {at}", bottle.depth_m, "m", file)
    share = given(f"part of bottom water, bottle at {at}", bottle.bottom_share, "", f"{file}, dilution")

    def read(name: str, number: float | None) -> Value:
        return measured(f"{name}, bottle at {at}", number or 0.0, "mg_l", file)

    terms = {
        "s": share,
        "b": read("bottom water", bottle.bottom_do_mg_l),
        "w": read("surface water", bottle.surface_do_mg_l),
    }
    found = [depth]
    start = "s * b + (1 - s) * w"
    if result.immediate is not None:
        more = {**terms, "m": read("mixture after 15 min", bottle.after_15min_mg_l)}
        found += _demand(f"demand within 15 min at {at}", result.immediate, f"({start} - m)", more, "0")
    if result.fast is not None:
        more = {**terms, "m": read("mixture after 24 h", bottle.after_24h_mg_l)}
        control = "0"
        if bottle.surface_after_24h_mg_l is not None:
            more["c"] = read("surface water after 24 h", bottle.surface_after_24h_mg_l)
            control = "max((1 - s) * (w - c), 0)"
        found += _demand(
            f"demand within 24 h at {at}", result.fast, f"({start} - m - {control})", more, "2 * (1 - s)^2"
        )
    return found


def _demand(name: str, demand: Demand, drop: str, terms: dict[str, Value], control: str) -> list[Value]:
    error = plain_constant(
        "error of one reading",
        READING_ERROR_MG_L,
        "mg_l",
        "optical meters state ±0.1 to 0.2 mg/L; the meter's bias cancels",
    )
    return [
        relation(name, demand.demand_mg_l, "mg_l", f"max({drop} / s, 0)", terms, source=TWO_PARTS),
        relation(
            f"standard error of the {name}",
            demand.standard_error_mg_l,
            "mg_l",
            f"e * sqrt(s^2 + (1 - s)^2 + 1 + {control}) / s",
            {"e": error, "s": terms["s"]},
            source="sum of independent errors",
        ),
    ]
