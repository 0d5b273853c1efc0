"""The stage: every compressor with every trunk and number of diffusers, ranked by what it costs over the years."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache

from plumeline.errors import ModelError
from plumeline.job.document import Job
from plumeline.notices import Notice, caution, note
from plumeline.pairs import pair
from plumeline.stages.air.choosing import DEFAULT_FLOW_STANDARD_M3_S, check_branches, typed_branches
from plumeline.stages.choice.catalogue import Entry, catalogue_of
from plumeline.stages.choice.combos import Field, Lifted, combine
from plumeline.stages.choice.numbers import numbers_of, with_diffusers
from plumeline.stages.choice.planned import OwnDesign, planned
from plumeline.stages.choice.result import ChoiceResult, Combination, ServiceOrLine
from plumeline.stages.choice.service import SHORT_LINE_M, service_or_line
from plumeline.stages.choice.terms import Terms, assumption_words, terms_of
from plumeline.stages.choice.trunks import TrunkOption, trunk_options
from plumeline.stages.choice.verdicts import (
    SAME_MONEY,
    alternatives_of,
    groups_of,
    money,
    ranked,
    verdicts_of,
)
from plumeline.stages.layout import layout
from plumeline.stages.plume import water_flow_by_depth
from plumeline.stages.sizing import branches_of
from plumeline.stages.survey import Survey

LEAST_AIR_M3_S, AIR_STEP_NUMBER = 1e-5, 1.02
"""Plumes are solved for air in steps of 2 %, rounded down."""


def choose(job: Job, basin: Survey | None = None, design: OwnDesign | None = None) -> ChoiceResult:
    """Try every compressor, trunk and number of diffusers, and rank what works by life-cycle cost.

    Args:
        job: the job; its own prices and years, else assumed ones that are said.
        basin: the surveyed pond; without it the number and the depths of the diffusers are those typed in.
        design: the job's own design; all others are told against it, for it is what a plan simulates and a quote
            offers, be it the cheapest or not.

    Raises:
        InputError: diffusers, trunk or route that can't be used.
        ModelError: no number of diffusers has room.
    """
    terms = terms_of(job)
    catalogue, notices = catalogue_of(job, terms)
    trunks = trunk_options(job)
    fields, more = _fields(job, basin)
    tried = [(entry, option, field) for entry in catalogue for option in trunks for field in fields]
    found = [combine(job, entry, option, field, terms) for entry, option, field in tried]
    order = ranked(found)
    service, own = None, None
    if design is not None:
        field = _own_field(job, basin, design, fields[0])
        own, entry, option = planned(job, design, catalogue, field, terms)
        more = (*more, *field.notices, *_own_words(own, order, terms), *_old_pipe_words(job, option))
        service = _service(job, entry, option, field, terms)
    elif order:
        chosen = tried[found.index(order[0])]
        more = (*more, *chosen[2].notices, *_old_pipe_words(job, chosen[1]))
        service = _service(job, *chosen, terms)
    return ChoiceResult(
        currency=terms.currency,
        years=terms.years,
        discount_rate_fraction=terms.discount_rate_fraction,
        yearly_running_h=terms.hours_per_year,
        energy_per_kwh=terms.energy_per_kwh,
        wanted_turnover_per_day=job.wishes.turnover_per_day if basin is not None else None,
        wanted_air_per_diffuser_m3_s=None if basin is not None else fields[0].wanted_air_m3_s,
        tried_count=len(found),
        works_count=len(order),
        winner=order[0] if order else None,
        alternatives=alternatives_of(order, terms.currency, own),
        verdicts=verdicts_of(found, order, terms.currency, own),
        groups=groups_of(found),
        service=service,
        notices=(*notices, *more, *_notices(order, found), *_at_pond(job, service)),
        assumptions=_assumptions(terms, basin is not None),
        planned=own,
    )


def _own_field(job: Job, basin: Survey | None, design: OwnDesign, like: Field) -> Field:
    """Return what stands at the pond in the job's own design."""
    if basin is None:
        return replace(like, branches=design.air.branches, notices=design.notices)
    return Field(
        design.air.branches, _lifted(job), basin.volume_m3, job.wishes.turnover_per_day, like.wanted_air_m3_s,
        design.served_fraction, design.notices,
    )  # fmt: skip


def _own_words(own: Combination, order: list[Combination], terms: Terms) -> tuple[Notice, ...]:
    """Return what is said of the job's own design: limits that it is over, and that others cost less."""
    found = [caution("choice-own-limit", f"This design, {own.words}: {one.words}.") for one in own.failures]
    cheaper = [one for one in order if one.total_money < own.total_money - SAME_MONEY]
    if cheaper:
        least = money(own.total_money - cheaper[0].total_money, terms.currency)
        words = (
            f"{len(cheaper)} of the {len(order)} combinations that work cost less over {terms.years} years than this "
            f"design; the cheapest, {cheaper[0].words}, {least} less. No plan was made for any of them: to take one, "
            "put it into the job, make the plan anew, then this page."
        )
        found.append(note("choice-own-cheaper", words))
    return tuple(found)


def _service(job: Job, entry: Entry, option: TrunkOption, field: Field, terms: Terms) -> ServiceOrLine | None:
    """Return power at the pond against the line, unless the line lies there already."""
    if not option.new:
        return None
    return service_or_line(job, entry, field, terms, sum(piece.length_m for piece in option.pieces))


def _old_pipe_words(job: Job, option: TrunkOption) -> tuple[Notice, ...]:
    """Return what goes with an old pipe that wins for costing nothing."""
    if option.new or (job.as_built is not None and job.as_built.trunk):
        return ()
    words = (
        "The pipe that lies there wins for it costs nothing, counted with the middle of the bores that it may have and "
        "without its leak: use it only as far as its tests and their verdict allow (plumeline air)."
    )
    return (caution("choice-old-pipe", words),)


def _fields(job: Job, basin: Survey | None) -> tuple[list[Field], tuple[Notice, ...]]:
    """Return what stands at the pond for each number of diffusers that is tried."""
    wanted_m3_s = job.air.air_per_diffuser_m3_s or DEFAULT_FLOW_STANDARD_M3_S
    if basin is None:
        branches = typed_branches(job)
        check_branches(branches)
        words = "No pond: the number of diffusers is the one typed in, and each is to get its wanted air."
        return [Field(branches, wanted_air_m3_s=wanted_m3_s)], (note("choice-number-typed", words),)
    lifted, flow_at = _lifted(job), water_flow_by_depth(job, wanted_m3_s)
    found: list[Field] = []
    notices: list[Notice] = []
    numbers = numbers_of(job, basin, flow_at)
    for count in numbers:
        placed = layout(with_diffusers(job, count), basin, flow_per_diffuser_water_m3_s=flow_at)
        crowded = any(notice.code == "diffusers-crowded" for notice in placed.notices)
        if crowded and count > 1:
            words = f"The pond has no room for {count} diffusers or more."
            notices.append(note("choice-no-room", words))
            break
        branches = branches_of(placed, job)
        found.append(
            Field(
                branches,
                lifted,
                basin.volume_m3,
                job.wishes.turnover_per_day,
                wanted_m3_s,
                placed.served_fraction,
                placed.notices,
            )
        )
    if not found:
        raise ModelError(
            "no number of diffusers has room in the pond.", remedy="Check outline and soundings."
        )
    return found, (*notices, *_placing_words(job, numbers))


def _lifted(job: Job) -> Lifted:
    """Return what a plume lifts by depth and air, each solved once in the water of the last profile."""

    @cache
    def by_depth(step_count: int) -> Callable[[float], float]:
        return water_flow_by_depth(job, LEAST_AIR_M3_S * AIR_STEP_NUMBER**step_count)

    def lifted(depth_m: float, air_m3_s: float) -> float:
        if air_m3_s <= LEAST_AIR_M3_S:
            return 0.0
        return by_depth(math.floor(math.log(air_m3_s / LEAST_AIR_M3_S) / math.log(AIR_STEP_NUMBER)))(depth_m)

    return lifted


def _placing_words(job: Job, numbers: range) -> tuple[Notice, ...]:
    given = job.listed_diffusers
    if not given or len(numbers) == 1:
        return ()
    words = (
        f"With {len(given)} diffusers they stand where the job puts them; with more, the others are placed, with "
        "fewer all of them are placed afresh."
    )
    return (note("choice-placed", words),)


def _notices(order: list[Combination], found: list[Combination]) -> tuple[Notice, ...]:
    """Return what is said of the outcome itself."""
    if order:
        return ()
    words = (
        f"None of the {len(found)} combinations works; the groups below name what each fails on and the one that comes "
        "nearest. More pressure, more power, shallower diffusers or a smaller wish would be the ways out."
    )
    return (caution("choice-none", words),)


def _at_pond(job: Job, service: ServiceOrLine | None) -> tuple[Notice, ...]:
    """Return the cautions that go with power at a pond and with any trench."""
    found = []
    if not job.power.available:
        words = (
            "The job says that there is no power: the way to the pond is counted from the nearest power there is, and "
            "voltage and current keep nothing out. The service, a generator, or panels and batteries come on top and "
            "are not priced here; without one of them nothing of this runs."
        )
        found.append(caution("choice-no-power", words))
    if service is None:
        return tuple(found)
    words = (
        "Power at the pond brings mains to the water: a licensed electrician, NEC 682 (electrical datum plane, ground-"
        "fault protection, a disconnect in sight, bonding) and the local code decide; a tripped outlet kills fish, so "
        "give it an alarm. A compressor far off with air alone in the water has no such hazard. Before any trench, for "
        "pipe or wire: the public utility-locate call and a private locator; none in an earthen dam."
    )
    return (*found, caution("choice-power-at-pond", words))


def _assumptions(terms: Terms, with_pond: bool) -> tuple[str, ...]:
    """Return what the ranking rests on."""
    aim = (
        "A combination works when its plumes turn the pond over as often as wished (solved plumes, not a rule of "
        "thumb), its valves set for equal air"
        if with_pond
        else "A combination works when each diffuser gets its wanted air"
    )
    return (
        f"{aim}, and its gauge, relief valve, discharge on the hot day, duty, voltage and current stay within limits.",
        "Turnover is of the layered water of the last profile; the simulated column is not run for each combination.",
        f"Life-cycle cost: present value over {terms.years} years (Fuller & Petersen 1996); energy at the year's end, "
        "service and parts at their intervals with a visit each. Energy of this design is its power on the page of the "
        "air line, at the gauge at which it works.",
        f"Power at the pond: the same compressor with {pair('50 ft', f'{SHORT_LINE_M:.0f} m')} of line; the wire is "
        "the thinnest that keeps the stated drop and carries 125 % of the running current (NEC chapter 9 table 8); "
        "starting current and code are for the licensed electrician.",
        *assumption_words(terms),
    )
