"""Alternatives of one pond: what each number of diffusers serves, mixes, draws and costs."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from plumeline.errors import PlumelineError
from plumeline.job.document import Job
from plumeline.notices import Notice, caution, note
from plumeline.stages.choice.numbers import numbers_of, with_diffusers
from plumeline.stages.choice.terms import Terms, terms_of
from plumeline.stages.mixed import (
    DAYS,
    MEMBERS,
    MIXED_WORDS,
    OFTEN_PROBABILITY,
    SimulatedPonds,
    mixed_at_dawns,
    simulated_ponds,
)
from plumeline.stages.plume import water_flow_by_depth
from plumeline.stages.sizing import FIRST_AIR_M3_S, Agreed, agreed
from plumeline.stages.startup.search import Progress
from plumeline.stages.startup.stage import quiet
from plumeline.stages.survey import Survey

MET_FRACTION = 0.995


@dataclass(frozen=True)
class Alternative:
    """One number of diffusers, placed, with its air line, in the simulated water.

    Attributes:
        diffuser_count: how many.
        found: layout and air line that agree; None where `trouble` says why there is none.
        served_fraction: part of the pond that its own nearest diffuser turns over at the wanted rate.
        turnover_per_day: how often the plumes lift the pond, in the layers as read.
        mixed_members: simulated ponds whose top and bottom differ by under 1 K at the last dawn.
        members: simulated ponds.
        mixed_days: the middle of those ponds' days until the first such dawn that lasts; None where none comes to it.
        power_w: from the wall.
        material_money: diffusers and branch lines.
        cost_money: those, and energy over the years of the comparison.
        on_front: no other alternative is as good in everything and better in something.
        enough: turnover and mixing are both met.
        trouble: why there is no such alternative, else empty.
    """

    diffuser_count: int
    found: Agreed | None
    served_fraction: float = 0.0
    turnover_per_day: float = 0.0
    mixed_members: int = 0
    members: int = MEMBERS
    mixed_days: float | None = None
    power_w: float = 0.0
    material_money: float = 0.0
    cost_money: float = 0.0
    on_front: bool = False
    enough: bool = False
    trouble: str = ""


@dataclass(frozen=True)
class Front:
    """The alternatives of a pond, by rising number of diffusers.

    Attributes:
        alternatives: each number that was tried.
        listed_count: diffusers that the job names; 0 where it leaves the number open.
        least_count: least number that meets turnover and mixing; None where none of them does.
        wanted_turnover_per_day: as wished.
        currency: of all money.
        years: over which energy is counted.
        notices: what to think about.
        assumptions: what is taken for granted.
    """

    alternatives: tuple[Alternative, ...]
    listed_count: int
    least_count: int | None
    wanted_turnover_per_day: float
    currency: str
    years: int
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]

    @property
    def works(self) -> tuple[Alternative, ...]:
        """Return the alternatives that there are."""
        return tuple(item for item in self.alternatives if item.found is not None)


def front(job: Job, basin: Survey, *, seed: int, members: int = MEMBERS, progress: Progress = quiet) -> Front:
    """Try numbers of diffusers, each placed, piped and run in the simulated column.

    Args:
        job: the job, with a profile.
        basin: the surveyed pond.
        seed: seed of the simulated ponds; all alternatives run the same ponds in the same weather.
        members: simulated ponds.
        progress: told which number is tried and how far that is, as a fraction.

    Raises:
        InputError: from the stages.
    """
    progress("drawing simulated ponds", 0.0)
    flow_at = water_flow_by_depth(job, job.air.air_per_diffuser_m3_s or FIRST_AIR_M3_S)
    ponds = simulated_ponds(job, basin, seed, members)
    terms = terms_of(job)
    tried: list[Alternative] = []
    counts = numbers_of(job, basin, flow_at)
    for done, count in enumerate(counts):
        progress(f"trying {count} diffuser{'s' if count > 1 else ''}", done / len(counts))
        item = _alternative(with_diffusers(job, count), basin, count, ponds, terms)
        tried.append(item)
        if item.found is None and count > 1:
            break
    marked = _marked(tried)
    given = len(job.listed_diffusers)
    least = next((item.diffuser_count for item in marked if item.enough), None)
    return Front(
        marked, given, least, job.wishes.turnover_per_day, terms.currency, terms.years,
        _notices(given, least), _assumptions(terms, members),
    )  # fmt: skip


def _alternative(job: Job, basin: Survey, count: int, ponds: SimulatedPonds, terms: Terms) -> Alternative:
    try:
        found = agreed(job, basin)
    except PlumelineError as error:
        return Alternative(count, None, trouble=error.message)
    if count > 1 and any(notice.code == "diffusers-crowded" for notice in found.layout.notices):
        return Alternative(count, None, trouble="the pond has no room for as many")
    layers = mixed_at_dawns(found.layout, found.air, ponds)
    mixed = layers[-1]
    # a dawn that lasts: mixed there and at each dawn after it
    lasting = np.flip(np.logical_and.accumulate(np.flip(layers, axis=0), axis=0), axis=0)
    first = np.argmax(lasting, axis=0)[mixed] + 1
    # with slack, as the quote counts them: what is cut is rounded up beyond that
    branches_m = sum(item.branch_length_m for item in found.layout.diffusers)
    money = count * terms.price_money["diffuser"] + branches_m * terms.price_money["branch"]
    power_w = found.air.wire_power_w
    turnover = found.layout.turnover_per_day
    enough = turnover >= MET_FRACTION * job.wishes.turnover_per_day and mixed.mean() >= OFTEN_PROBABILITY
    return Alternative(
        diffuser_count=count,
        found=found,
        served_fraction=found.layout.served_fraction,
        turnover_per_day=turnover,
        mixed_members=int(mixed.sum()),
        members=len(mixed),
        mixed_days=float(np.median(first)) if len(first) else None,
        power_w=power_w,
        material_money=money,
        cost_money=money + _energy_money(power_w, terms),
        enough=bool(enough),
    )


def _energy_money(power_w: float, terms: Terms) -> float:
    """Return the present value of the energy, paid at each year's end."""
    yearly = power_w / 1000.0 * terms.hours_per_year * terms.energy_per_kwh
    rate = terms.discount_rate_fraction
    return yearly * (terms.years if rate == 0.0 else (1.0 - (1.0 + rate) ** -terms.years) / rate)


def _marked(tried: list[Alternative]) -> tuple[Alternative, ...]:
    """Return the alternatives with those marked that no other one beats in everything."""
    return tuple(
        replace(item, on_front=item.found is not None and not any(beats(other, item) for other in tried))
        for item in tried
    )


def beats(other: Alternative, item: Alternative) -> bool:
    """Return whether one alternative is as good in everything as another, and better in something."""
    if other.found is None:
        return False
    pairs = list(zip(_goods(other), _goods(item), strict=True))
    return all(a >= b for a, b in pairs) and any(a > b for a, b in pairs)


def _goods(item: Alternative) -> tuple[float, ...]:
    """Return what is wanted of an alternative, more of each being better."""
    return (
        -item.diffuser_count,
        round(item.served_fraction, 3),
        round(item.turnover_per_day, 2),
        item.mixed_members,
        -round(item.power_w),
        -round(item.cost_money),
    )


def _notices(listed_count: int, least_count: int | None) -> tuple[Notice, ...]:
    if least_count is None:
        text = (
            "No number of diffusers that was tried meets both the wanted turnover and mixing in the simulated water: "
            "more air, deeper places or a smaller wish would be the ways out."
        )
        return (caution("front-none", text),)
    if listed_count and listed_count < least_count:
        text = (
            f"The job names {listed_count} diffusers; the least number that meets turnover and mixing in the simulated "
            f"water is {least_count}."
        )
        return (caution("front-more-needed", text),)
    if listed_count > least_count:
        text = (
            f"The job names {listed_count} diffusers; {least_count} would meet turnover and mixing in the simulated "
            "water, which knows no bays: look at the share served and at the longest way too."
        )
        return (note("front-fewer-do", text),)
    return ()


def _assumptions(terms: Terms, members: int) -> tuple[str, ...]:
    assumed = sorted({"diffuser", "branch", "energy"} & set(terms.assumed))
    found = [
        f"mixed: {MIXED_WORDS} at the last of {DAYS} dawns with the air on all day, in "
        f"{OFTEN_PROBABILITY:.0%} of {members} simulated ponds (judgement); all numbers run the same ponds and weather",
        "the simulated water is one column: it knows no bays, which the share served stands for",
        "turnover is of the layers as read; compressor and trunk are the job's, or chosen for each number",
        f"cost is of diffusers, branches with slack and energy over {terms.years} years; compressor, trunk and service "
        "are left to the comparison for the quote",
        "a number that the job lists keeps its places; more are added to them, fewer are placed afresh",
    ]
    if assumed:
        found.append(f"assumed, for the job gives none: price of {', '.join(assumed)}")
    return tuple(found)
