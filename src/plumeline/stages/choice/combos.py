"""One combination solved on the air line: its operating point, its margins, and what it fails on."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from plumeline.errors import ModelError
from plumeline.job.document import Job
from plumeline.notices import Notice
from plumeline.stages.air.cautions import RELIEF_MARGIN_PA
from plumeline.stages.air.choosing import CONTINUOUS_NUMBER, fits_power, line_of
from plumeline.stages.air.heat import HotDay, hot_day
from plumeline.stages.air.results import BranchSpec, OperatingPoint
from plumeline.stages.air.solving import Line, settled, shutoff_pressure_pa, solve_balanced, unreachable
from plumeline.stages.air.words import degf, psi, psi_difference, scfm
from plumeline.stages.choice.catalogue import Entry
from plumeline.stages.choice.life_cost import LifeCost, Recurring, Spending, Taken, life_cost
from plumeline.stages.choice.result import Combination, Failure
from plumeline.stages.choice.terms import Terms
from plumeline.stages.choice.trunks import TrunkOption, trunk_taken

DAY_S = 86400.0
Lifted = Callable[[float, float], float]
"""Depth of a membrane [m] and its air [m³/s] → water that its plume lifts [m³/s]."""


@dataclass(frozen=True)
class Field:
    """What stands at the pond for one number of diffusers: branches, and what they are to achieve.

    Attributes:
        branches: the branches from the manifold.
        lifted: what a plume lifts; None without a pond.
        volume_m3: of the pond; None without one.
        wanted_turnover_per_day: of the pond.
        wanted_air_m3_s: a diffuser, where there is no pond to turn over.
        served_fraction: part of the pond that its own nearest diffuser turns over, by the layout.
        notices: of the layout.
    """

    branches: tuple[BranchSpec, ...]
    lifted: Lifted | None = None
    volume_m3: float | None = None
    wanted_turnover_per_day: float = 1.0
    wanted_air_m3_s: float = 6e-4
    served_fraction: float | None = None
    notices: tuple[Notice, ...] = ()


@dataclass(frozen=True)
class Solved:
    """The balanced point of a line at its temperatures, and its hot day."""

    point: OperatingPoint
    hot: HotDay


def combine(job: Job, entry: Entry, option: TrunkOption, field: Field, terms: Terms) -> Combination:
    """Return one combination, solved, with its cost where nothing stands against it."""
    failures = power_failures(job, entry)
    solved: Solved | None = None
    if not failures:
        line = line_of(job, entry.machine, option.pieces, field.branches)
        failures = _reach_failures(line)
        if not failures:
            try:
                line = settled(line)
                point, _losses = solve_balanced(line, "valves set")
                solved = Solved(point, hot_day(line, point))
            except ModelError as error:
                failures = [Failure("reach", error.message, 1.0)]
    turnover = None
    if solved is not None:
        turnover = _turnover_per_day(field, solved.point)
        failures = failures_of(entry, field, solved, turnover, terms)
    cost = cost_of(entry, option, field, solved, terms) if solved is not None and not failures else None
    return combination_of(entry, option, field, solved, turnover, cost, tuple(failures), terms)


def _turnover_per_day(field: Field, point: OperatingPoint) -> float | None:
    """Return how often a day the plumes lift the pond, None without a pond."""
    if field.lifted is None or field.volume_m3 is None:
        return None
    flows = [
        field.lifted(spec.depth_m, branch.flow_standard_m3_s)
        for spec, branch in zip(field.branches, point.branches, strict=True)
    ]
    return sum(flows) * DAY_S / field.volume_m3


def combination_of(
    entry: Entry,
    option: TrunkOption,
    field: Field,
    solved: Solved | None,
    turnover_per_day: float | None,
    cost: LifeCost | None,
    failures: tuple[Failure, ...],
    terms: Terms,
) -> Combination:
    """Put the figures of a combination together."""
    gauge_pa = None if solved is None else solved.point.compressor_pressure_pa
    limit_pa, relief_pa = _limit_pa(entry), entry.machine.relief_pressure_pa
    return Combination(
        machine=entry.machine.words,
        compressor_count=entry.count,
        trunk=option.name,
        diffuser_count=len(field.branches),
        compressor_pressure_pa=gauge_pa,
        air_per_diffuser_m3_s=None if solved is None else _least_air_m3_s(solved.point),
        turnover_per_day=turnover_per_day,
        served_fraction=field.served_fraction,
        power_w=None if gauge_pa is None else entry.power_at_w(gauge_pa),
        pressure_margin_pa=None if gauge_pa is None else limit_pa - gauge_pa,
        relief_margin_pa=None if gauge_pa is None or relief_pa is None else relief_pa - gauge_pa,
        hot_outlet_degc=None if solved is None else solved.hot.outlet_degc,
        outlet_margin_degc=None if solved is None else entry.outlet_limit_degc - solved.hot.outlet_degc,
        duty_margin_fraction=entry.duty_fraction - terms.running_hours / 24.0,
        metal_length_m=None if solved is None else solved.hot.metal_length_m,
        noise_dba=entry.noise_dba,
        cost=cost,
        failures=failures,
    )


def _least_air_m3_s(point: OperatingPoint) -> float:
    return min(branch.flow_standard_m3_s for branch in point.branches)


def _limit_pa(entry: Entry) -> float:
    return entry.machine.max_pressure_pa or entry.machine.curve[-1].pressure_pa


def power_failures(job: Job, entry: Entry) -> list[Failure]:
    """Return what the power at hand can't do."""
    machine = entry.machine
    if fits_power(job, machine):
        return []
    volts, amps = job.power.volts, job.power.amps
    if volts is not None and machine.volts_v is not None and abs(volts / machine.volts_v - 1.0) > 0.15:
        words = f"it needs {machine.volts_v:.0f} V, the power named is {volts:.0f} V"
        return [Failure("voltage", words, abs(math.log(machine.volts_v / volts)))]
    draws_a = (machine.running_current_a or 0.0) * machine.count
    need_a = CONTINUOUS_NUMBER * draws_a
    have_a = amps or math.inf
    words = f"it draws {draws_a:.1f} A, {need_a:.1f} A with the 125 % rule; the circuit named carries {have_a:g} A"
    return [Failure("current", words, need_a / have_a - 1.0)]


def _reach_failures(line: Line) -> list[Failure]:
    """Return what the machine can't reach."""
    never = unreachable(line)
    if not never:
        return []
    deepest = max(line.branches, key=line.needed_pa)
    need_pa, end_pa = line.needed_pa(deepest), shutoff_pressure_pa(line)
    words = f"{deepest.name} needs {psi(need_pa)} before it bubbles, and it gives no air past {psi(end_pa)}"
    return [Failure("reach", words, need_pa / end_pa - 1.0)]


def failures_of(
    entry: Entry, field: Field, solved: Solved, turnover_per_day: float | None, terms: Terms
) -> list[Failure]:
    """Return everything a solved combination fails on, the gravest first."""
    found: list[Failure | None] = [
        _short_of_air(field, solved.point, turnover_per_day),
        *_pressure_failures(entry, solved.point),
        _heat_failure(entry, solved.hot),
        _plastic_failure(solved.hot),
        _duty_failure(entry, terms),
        *_disc_failures(solved.point, terms),
    ]
    return [failure for failure in found if failure is not None]


def _short_of_air(field: Field, point: OperatingPoint, turnover_per_day: float | None) -> Failure | None:
    if turnover_per_day is not None:
        wanted = field.wanted_turnover_per_day
        if turnover_per_day >= wanted:
            return None
        words = f"it turns the pond over {turnover_per_day:.2f} times a day, {wanted:g} is wanted"
        return Failure("turnover", words, wanted / max(turnover_per_day, 1e-9) - 1.0)
    have_m3_s, wanted_m3_s = _least_air_m3_s(point), field.wanted_air_m3_s
    if have_m3_s >= 0.999 * wanted_m3_s:
        return None
    words = f"it gives a diffuser {scfm(have_m3_s)}, {scfm(wanted_m3_s)} is wanted"
    return Failure("air", words, wanted_m3_s / max(have_m3_s, 1e-9) - 1.0)


def _pressure_failures(entry: Entry, point: OperatingPoint) -> list[Failure]:
    gauge_pa, limit_pa = point.compressor_pressure_pa, _limit_pa(entry)
    found = []
    if gauge_pa > limit_pa:
        words = f"it works at {psi(gauge_pa)}, its limit for all day is {psi(limit_pa)}"
        found.append(Failure("pressure", words, gauge_pa / limit_pa - 1.0))
    relief_pa = entry.machine.relief_pressure_pa
    if relief_pa is not None and relief_pa - gauge_pa < RELIEF_MARGIN_PA:
        words = (
            f"it works at {psi(gauge_pa)} and its relief valve opens at {psi(relief_pa)}; "
            f"{psi_difference(RELIEF_MARGIN_PA)} between them is the least"
        )
        found.append(Failure("relief", words, (gauge_pa + RELIEF_MARGIN_PA) / relief_pa - 1.0))
    return found


def _heat_failure(entry: Entry, hot: HotDay) -> Failure | None:
    if hot.outlet_degc <= entry.outlet_limit_degc:
        return None
    limit = degf(entry.outlet_limit_degc)
    words = f"discharge {degf(hot.outlet_degc)} on the hot day with a dirty filter, its limit is {limit}"
    return Failure("heat", words, hot.outlet_degc / entry.outlet_limit_degc - 1.0)


def _plastic_failure(hot: HotDay) -> Failure | None:
    if hot.metal_length_m is not None:
        return None
    leaves = degf(hot.outlet_degc)
    words = f"the air leaves at {leaves} and no length of metal in the open cools it for the plastic behind"
    return Failure("plastic", words, 1.0)


def _duty_failure(entry: Entry, terms: Terms) -> Failure | None:
    may_hours = 24.0 * entry.duty_fraction
    if may_hours >= terms.running_hours - 1e-9:
        return None
    words = f"it may run {may_hours:.0f} h a day, {terms.running_hours:g} h are asked"
    return Failure("duty", words, terms.running_hours / may_hours - 1.0)


def _disc_failures(point: OperatingPoint, terms: Terms) -> list[Failure]:
    most_m3_s = max(branch.flow_standard_m3_s for branch in point.branches)
    least_m3_s = _least_air_m3_s(point)
    if most_m3_s > terms.most_air_m3_s:
        words = f"{scfm(most_m3_s)} a diffuser, over the {scfm(terms.most_air_m3_s)} that a disc takes"
        return [Failure("too much air", words, most_m3_s / terms.most_air_m3_s - 1.0)]
    if least_m3_s < terms.least_air_m3_s:
        words = f"{scfm(least_m3_s)} a diffuser, under the {scfm(terms.least_air_m3_s)} at which a disc bubbles evenly"
        return [Failure("too little air", words, terms.least_air_m3_s / max(least_m3_s, 1e-9) - 1.0)]
    return []


def cost_of(entry: Entry, option: TrunkOption, field: Field, solved: Solved, terms: Terms) -> LifeCost:
    """Return the life-cycle cost of a combination that was solved."""
    price, count = terms.price_money, len(field.branches)
    trunk = trunk_taken(option, terms, solved.hot.metal_length_m or 0.0)
    taken = Taken(
        compressor_each=entry.purchase_money,
        install_each=entry.install_money,
        service_each=entry.service_money,
        rebuild_each=entry.rebuild_money,
        service_interval_h=entry.service_interval_h,
        rebuild_interval_h=entry.rebuild_interval_h,
        metal_m=trunk.metal_m,
        plastic_m=trunk.plastic_m,
        plastic_per_m=trunk.plastic_per_m,
        dug_m=trunk.dug_m,
        branches_m=sum(branch.length_m for branch in field.branches),
    )
    pipe = taken.metal_m * price["metal_pipe"] + taken.plastic_m * taken.plastic_per_m
    tubing = taken.branches_m * price["branch"]
    return life_cost(
        Spending(
            purchase_money=entry.purchase_money * entry.count + pipe + tubing + price["diffuser"] * count,
            installation_money=entry.install_money * entry.count + taken.dug_m * price["trench"],
            power_w=entry.power_at_w(solved.point.compressor_pressure_pa),
            recurring=upkeep(entry, count, terms),
        ),
        terms,
        taken,
    )


def upkeep(entry: Entry, diffuser_count: int, terms: Terms) -> tuple[Recurring, ...]:
    """Return what comes again: filters, rebuilds and membranes, a visit with each."""
    visit = terms.price_money["visit"]
    membranes = terms.price_money["membrane"] * diffuser_count
    return (
        Recurring("service", entry.service_money * entry.count + visit, entry.service_interval_h),
        Recurring("replacement", entry.rebuild_money * entry.count + visit, entry.rebuild_interval_h),
        Recurring("replacement", membranes + visit, terms.membrane_interval_h),
    )
