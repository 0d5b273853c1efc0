"""The chosen plan scored on fresh ponds; and, where a start-up that is under way does harm, its dated pause."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Job
from plumeline.stages.startup.families import softened
from plumeline.stages.startup.final import Final, final_run
from plumeline.stages.startup.near_equal import no_worse
from plumeline.stages.startup.promise import Outcome, Promise, risk_of
from plumeline.stages.startup.result import Risk
from plumeline.stages.startup.scene import Scene, StopTable
from plumeline.stages.startup.schedule import NOTHING, Gate, Schedule
from plumeline.stages.startup.stop import stop_table
from plumeline.stages.startup.tree import Tally, run_all

Ints = NDArray[np.int64]

REFUSED_TIMES = 4.0
"""A start-up that adds more than so many times the accepted risk is refused outright (judgement): one pond in five
where one in twenty is accepted. Between the two it is the owner's to decide, with the counts before him."""
PAUSE_D = 2
"""Days of a pause: as far as an oxygen forecast says more than persistence does (design §6)."""


@dataclass(frozen=True)
class Scored:
    """The plan on fresh ponds.

    Attributes:
        schedule: the plan.
        table: its stop readings.
        final: what it comes to; of a pond that is failing already its outcome answers for what it adds.
        nothing: the same ponds without air.
        risk: the one beside the other.
        failing: whether the pond is failing already.
        at_once: risk of going on at once, where the plan is a pause; None where it is none.
        missed: the first choice's outcome, where it missed the promise on the fresh ponds and this is the same
            with its riskiest day in two steps.
        refused: whether no start-up is to begin by it: it adds far more than is accepted, or a pause would help.
    """

    schedule: Schedule
    table: StopTable
    final: Final
    nothing: Outcome
    risk: Risk
    failing: bool
    at_once: Risk | None = None
    missed: Outcome | None = None
    refused: bool = False


def paused(schedule: Schedule) -> Schedule:
    """Return the schedule after a pause, begun only by somebody who finds a good dawn."""
    return replace(
        schedule,
        name=f"a pause of {PAUSE_D} days, then {schedule.name}",
        wait_d=schedule.wait_d + PAUSE_D,
        gate=schedule.gate or Gate(),
        visits=tuple(sorted({1, *schedule.visits})),
    )


def scored(
    scene: Scene, fresh: Scene, schedule: Schedule, member: Ints, promise: Promise, *, under_way: bool,
    second_try: bool, tally: Tally, told: Callable[[float], None],
) -> Scored:  # fmt: skip
    """Return the plan scored on fresh ponds, or its pause where air has run and a pause loses fewer ponds.

    Args:
        scene: the search ensemble, for the stop readings.
        fresh: the fresh ensemble.
        schedule: the chosen schedule.
        member: members of the search ensemble that give the stop readings.
        promise: what is accepted.
        under_way: whether air has run before: there is something to pause.
        second_try: whether a plan that just misses may be tried again with its riskiest day in two steps.
        tally: counts what was marched.
        told: how far it is.
    """
    found = _score(scene, fresh, schedule, member, promise, tally, told)
    first = found.final.outcome
    if second_try and promise.within(first) and not promise.kept(first):
        # chosen among many on the search ponds it had luck with them: its riskiest day is halved, once
        soft = softened(schedule, first.riskiest_day, scene.horizon_d)
        if soft is not None:
            gentler = _score(scene, fresh, soft, member, promise, tally, told)
            if promise.kept(gentler.final.outcome) and gentler.final.outcome.finishes:
                return replace(gentler, missed=first)
    if found.risk.added_risk <= promise.job_risk:
        return found
    far = found.risk.added_risk > REFUSED_TIMES * promise.job_risk
    if far and not under_way:
        return replace(found, refused=True)
    later = _score(scene, fresh, paused(schedule), member, promise, tally, told)
    stay = far or pause_helps(first, later.final.outcome, promise)
    if under_way:
        return replace(later, at_once=found.risk) if stay else found
    return replace(found, refused=stay)


def pause_helps(at_once: Outcome, later: Outcome, promise: Promise) -> bool:
    """Return whether fewer ponds are lost after a pause, by more than chance and than what counts as alike.

    A pause that changes nothing only puts the same risk off, and the next plan would say so again.
    """
    return not no_worse(at_once, later, promise.slight_fraction)


def _score(
    scene: Scene, fresh: Scene, schedule: Schedule, member: Ints, promise: Promise, tally: Tally,
    told: Callable[[float], None],
) -> Scored:  # fmt: skip
    table = stop_table(scene, member, schedule, tally)
    final = final_run(fresh, schedule, table, told)
    still = replace(NOTHING, start_hour_h=schedule.start_hour_h, wait_d=schedule.wait_d)
    nothing = run_all(fresh, np.arange(fresh.members), [still], promise=None, tally=tally)[0]
    failing = promise.fails_still(nothing)
    if failing:
        final = replace(final, outcome=replace(final.outcome, still_lost_hour=nothing.lost_hour))
    return Scored(schedule, table, final, nothing, risk_of(final.outcome, nothing), failing)


def begins_on(job: Job, fresh: Scene, found: Scored) -> date:
    """Return the local date of the plan's first run."""
    start = fresh.ensemble.start + timedelta(hours=found.final.outcome.first_hour)
    return start.astimezone(ZoneInfo(job.site.time_zone)).date()
