"""Power at the pond against a long air line: what each costs by distance, and where they change places."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from plumeline.job.document import Job
from plumeline.pairs import pair
from plumeline.science.money import uniform_present_value_fuller_1996
from plumeline.science.wire import motor_current, voltage_drop_nec_2023
from plumeline.sources import read_table
from plumeline.stages.air.choosing import CONTINUOUS_NUMBER
from plumeline.stages.air.electrical import DEFAULT_VOLTS, POWER_FACTOR_NUMBER
from plumeline.stages.air.line import designed_trunk
from plumeline.stages.choice.catalogue import Entry
from plumeline.stages.choice.combos import Field, combine
from plumeline.stages.choice.result import CostAtDistance, ServiceOrLine
from plumeline.stages.choice.terms import Terms
from plumeline.stages.choice.trunks import PIPES, TrunkOption
from plumeline.stages.choice.verdicts import money
from plumeline.units import plain

SHORT_LINE_M = 15.0
"""Line from a compressor that stands at the pond: room to cool in metal, 50 ft."""
SHORTEST_M, LONGEST_M, STEPS_COUNT = 15.0, 2000.0, 28
CLOSE_M = 0.05


@dataclass(frozen=True)
class Wire:
    """A conductor for a run: its gauge, what it loses, what a metre costs."""

    gauge: str
    voltage_drop_v: float
    loss_w: float
    price_per_m: float


@dataclass(frozen=True)
class Load:
    """The motor at the end of the wire."""

    volts: float
    current_a: float


def load_of(job: Job, entry: Entry, power_w: float) -> Load:
    """Return the load of the chosen machine: its own figures, else by its power."""
    volts = entry.machine.volts_v or job.power.volts or DEFAULT_VOLTS
    own_a = entry.machine.running_current_a
    return Load(volts, own_a * entry.count if own_a else motor_current(power_w, volts, POWER_FACTOR_NUMBER))


def wire_for(distance_m: float, load: Load, terms: Terms) -> Wire | None:
    """Return the thinnest conductor that keeps the drop and carries 125 % of the current; None where none does."""
    rows = sorted(read_table("conductors"), key=lambda row: float(row["circular_mils"]))
    for row in rows:
        if float(row["ampacity_a"]) < CONTINUOUS_NUMBER * load.current_a:
            continue
        drop_v = voltage_drop_nec_2023(load.current_a, distance_m, float(row["resistance_ohm_per_m"]))
        if drop_v <= terms.most_voltage_drop_fraction * load.volts:
            return Wire(row["gauge"], drop_v, drop_v * load.current_a, terms.wire_per_m(row["gauge"]))
    return None


def break_even_m(extra_money: Callable[[float], float], distances_m: Sequence[float]) -> tuple[float, ...]:
    """Return the distances at which one cost passes another, by halving every change of sign.

    Args:
        extra_money: first cost less second at a distance; may be infinite.
        distances_m: rising distances between which changes of sign are looked for.
    """
    found = []
    signs = [(distance_m, extra_money(distance_m) > 0.0) for distance_m in distances_m]
    for (low_m, below), (high_m, beyond) in pairwise(signs):
        if below == beyond:
            continue
        while high_m - low_m > CLOSE_M:
            middle_m = 0.5 * (low_m + high_m)
            if (extra_money(middle_m) > 0.0) == below:
                low_m = middle_m
            else:
                high_m = middle_m
        found.append(0.5 * (low_m + high_m))
    return tuple(found)


class _Costs:
    """The three costs by distance, each distance worked out once."""

    def __init__(self, job: Job, entry: Entry, field: Field, terms: Terms) -> None:
        self.job, self.entry, self.field, self.terms = job, entry, field, terms
        self.known: dict[float, CostAtDistance] = {}
        short, _pipe = self._line(SHORT_LINE_M)
        self.short_money = math.inf if short is None else short
        power_w = entry.power_at_w(max(field_head_pa(field), 0.0))
        self.load = load_of(job, entry, power_w)

    def _line(self, distance_m: float) -> tuple[float | None, str]:
        """Return the least cost of a line of this length over the sizes of pipe, and which."""
        air = self.job.air.model_copy(update={"route_length_m": distance_m, "trunk": ()})
        job = self.job.model_copy(update={"air": air, "as_built": None})
        best: tuple[float | None, str] = (None, "")
        for pipe in PIPES:
            option = TrunkOption(pipe, designed_trunk(job, pipe))
            one = combine(job, self.entry, option, self.field, self.terms)
            if one.cost is not None and (best[0] is None or one.total_money < best[0]):
                best = (one.total_money, pipe)
        return best

    def at(self, distance_m: float) -> CostAtDistance:
        """Return the costs at one distance."""
        if distance_m not in self.known:
            line, pipe = self._line(distance_m)
            wire = wire_for(distance_m, self.load, self.terms)
            self.known[distance_m] = CostAtDistance(
                distance_m=distance_m,
                line_money=line,
                line_pipe=pipe,
                wire_money=None
                if wire is None
                else self.short_money + wire_money(distance_m, wire, self.terms),
                wire_gauge="" if wire is None else wire.gauge,
                service_money=self.short_money + service_money(self.terms),
            )
        return self.known[distance_m]

    def extra_money(self, distance_m: float) -> float:
        """Return what the air line costs over the cheaper of wire and new service."""
        costs = self.at(distance_m)
        return bounded(costs.line_money) - min(bounded(costs.wire_money), costs.service_money)


def field_head_pa(field: Field) -> float:
    """Return the pressure of the deepest water [Pa], for the power of a machine beside the pond."""
    return 9806.65 * max(branch.depth_m for branch in field.branches)


def bounded(value_money: float | None) -> float:
    """Return a cost, without bound where there is none."""
    return math.inf if value_money is None else value_money


def wire_money(distance_m: float, wire: Wire, terms: Terms) -> float:
    """Return what a wire from the power at hand costs over the years, its loss of energy with it."""
    factor = uniform_present_value_fuller_1996(terms.discount_rate_fraction, terms.years)
    lost_kwh = wire.loss_w / 1000.0 * terms.hours_per_year
    per_m = terms.price_money["power_trench"] + wire.price_per_m
    return distance_m * per_m + terms.price_money["pond_outlet"] + lost_kwh * terms.energy_per_kwh * factor


def service_money(terms: Terms) -> float:
    """Return what a new service at the pond costs over the years, its meter's standing fee with it."""
    factor = uniform_present_value_fuller_1996(terms.discount_rate_fraction, terms.years)
    price = terms.price_money
    return price["service_connection"] + price["pond_outlet"] + 12.0 * price["meter_fee"] * factor


def service_or_line(
    job: Job, entry: Entry, field: Field, terms: Terms, distance_m: float
) -> ServiceOrLine | None:
    """Return power at the pond against a long line for the chosen machine; None where it can't stand at the pond.

    Args:
        job: the job.
        entry: the chosen compressor.
        field: its diffusers.
        terms: prices.
        distance_m: from the power at hand to the pond.
    """
    costs = _Costs(job, entry, field, terms)
    if not math.isfinite(costs.short_money):
        return None
    ratio = (LONGEST_M / SHORTEST_M) ** (1.0 / (STEPS_COUNT - 1))
    distances_m = [SHORTEST_M * ratio**step for step in range(STEPS_COUNT)]
    even_m = break_even_m(costs.extra_money, distances_m)
    here = costs.at(distance_m)
    wire = wire_for(distance_m, costs.load, terms)
    ways = {"line": here.line_money, "wire": here.wire_money, "service": here.service_money}
    cheaper = min(ways, key=lambda way: bounded(ways[way]))
    return ServiceOrLine(
        distance_m=distance_m,
        here=here,
        voltage_drop_v=None if wire is None else wire.voltage_drop_v,
        voltage_drop_fraction=None if wire is None else wire.voltage_drop_v / costs.load.volts,
        break_even_m=even_m,
        cheaper=cheaper,
        longest_tried_m=LONGEST_M,
        curve=tuple(costs.at(distance_m) for distance_m in distances_m),
        sentence=_sentence(here, cheaper, even_m, costs.extra_money(distances_m[0]) > 0.0, terms),
    )


WAYS = {
    "line": "a long air line from the power at hand",
    "wire": "a wire in a trench to a compressor at the pond",
    "service": "a new service of the utility at the pond",
}


def _distance(value_m: float) -> str:
    return pair(f"{plain(value_m / 0.3048, 0)} ft", f"{plain(value_m, 0)} m")


def _sentence(
    here: CostAtDistance, cheaper: str, even_m: tuple[float, ...], pond_first: bool, terms: Terms
) -> str:
    """Return what the comparison means for this job."""
    ways = {"line": here.line_money, "wire": here.wire_money, "service": here.service_money}
    others = {way: bounded(value) for way, value in ways.items() if way != cheaper}
    second = min(others, key=lambda way: others[way])
    saved = others[second] - bounded(ways[cheaper])
    start = f"At {_distance(here.distance_m)} the cheapest is {WAYS[cheaper]}"
    if math.isfinite(saved):
        start += f", {money(saved, terms.currency)} under {WAYS[second]} over {terms.years} years"
    if not even_m:
        who = "power at the pond" if pond_first else "the air line"
        return f"{start}; up to {_distance(LONGEST_M)} {who} is the cheaper at every distance."
    first = "power at the pond" if pond_first else "the air line"
    then = "the air line" if pond_first else "power at the pond"
    more = f", with {len(even_m) - 1} more changes beyond" if len(even_m) > 1 else ""
    return f"{start}; {first} is the cheaper up to {_distance(even_m[0])}, {then} beyond{more}."
