"""Waiting as an option: the same schedule begun later, in the same ponds and their own later weather."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.stages.startup.promise import Outcome, comparison, joined, risk_of
from plumeline.stages.startup.result import Waiting
from plumeline.stages.startup.scene import Scene, StopTable, lead_in
from plumeline.stages.startup.schedule import NOTHING, Schedule
from plumeline.stages.startup.tree import Tally, run_all

Ints = NDArray[np.int64]

WAITS_D = (3, 7, 14)
FRONT_DROP_K = 4.0
"""A day whose mean air temperature is so far under that of the three days before it brings a front (judgement)."""
FRONT_LONGEST_D = 10
LEAST_FRONTS = 20
"""Members with a front under which a count of losses says nothing."""


def front_day(scene: Scene, member: Ints) -> Ints:
    """Return for each member the first day after the earliest start that begins after a front; -1 for none."""
    air = scene.ensemble.columns.weather[ix.AIR_TEMPERATURE][:, member]
    first = scene.earliest_hour
    found = np.full(len(member), -1)
    for day in range(1, FRONT_LONGEST_D + 1):
        now = first + 24 * day
        if now > len(air) or now - 96 < 0:
            continue
        cooler = air[now - 96 : now - 24].mean(axis=0) - air[now - 24 : now].mean(axis=0)
        found[(found < 0) & (cooler >= FRONT_DROP_K)] = day
    return found


def waiting(
    scene: Scene, best: Schedule, member: Ints, table: StopTable, tally: Tally
) -> tuple[Waiting, ...]:
    """Return the schedule begun 3, 7 and 14 days later, and after the first front.

    Args:
        scene: the search ensemble, with weather enough.
        best: the chosen schedule.
        member: which members judge it.
        table: its stop readings, by day from its first run.
        tally: counts what was marched.
    """
    found = [_later(scene, best, member, days, table, tally) for days in WAITS_D]
    front = _after_front(scene, best, member, table, tally)
    return tuple(item for item in (*found, front) if item is not None)


def _pair(
    scene: Scene, best: Schedule, member: Ints, wait_d: int, table: StopTable, tally: Tally
) -> tuple[Outcome, Outcome, int]:
    """Return the schedule and no air from the same later day on, and how many were lost while waiting."""
    later = replace(best, wait_d=wait_d)
    still = replace(NOTHING, start_hour_h=best.start_hour_h, wait_d=wait_d)
    outcome, nothing = run_all(scene, member, [later, still], promise=None, tally=tally, table=table)
    _, run = lead_in(scene, member, best.start_hour_h, wait_d)
    tally.member_days += 2 * wait_d * len(member)
    lost = 0
    if run is not None:
        at_once = scene.next_start(scene.earliest_hour, best.start_hour_h)
        begun = (at_once - scene.ensemble.columns.hour) * ix.STEPS_EACH_HOUR
        lost = int((run.after.failed_step >= begun).sum())
    return outcome, nothing, lost


def _later(
    scene: Scene, best: Schedule, member: Ints, days: int, table: StopTable, tally: Tally
) -> Waiting | None:
    if scene.earliest_hour + 24 * (days + 5) > scene.hours:
        return None
    outcome, nothing, lost = _pair(scene, best, member, days, table, tally)
    line = comparison(outcome, nothing)
    return Waiting(f"start {days} days later", float(days), lost, line.risk, line.days_to_complete, 1.0)


def _after_front(
    scene: Scene, best: Schedule, member: Ints, table: StopTable, tally: Tally
) -> Waiting | None:
    """Return the schedule begun in each member on the day after its own first front; None where few have one."""
    day = front_day(scene, member)
    if (day >= 0).sum() < LEAST_FRONTS:
        return None
    outcomes: list[Outcome] = []
    stills: list[Outcome] = []
    lost, first = 0, 0
    for wait in np.unique(day[day >= 0]):
        some = member[day == wait]
        outcome, nothing, gone = _pair(scene, best, some, int(wait), table, tally)
        # hours are counted from each member's own first run
        shift = outcome.first_hour
        outcomes.append(_shifted(outcome, shift))
        stills.append(_shifted(nothing, shift))
        lost += gone
        first = 0
    if not outcomes:
        return None
    whole, still = replace(joined(outcomes), first_hour=first), replace(joined(stills), first_hour=first)
    return Waiting(
        "wait for the first front, at most 10 days",
        float(np.median(day[day >= 0])),
        lost,
        risk_of(whole, still),
        whole.days_to_complete,
        float((day >= 0).mean()),
    )


def _shifted(outcome: Outcome, hours: int) -> Outcome:
    """Return an outcome whose hours count from its first run."""
    lost, done = outcome.lost_hour, outcome.complete_hour
    return replace(
        outcome,
        first_hour=0,
        lost_hour=np.where(lost >= 0, lost - hours, -1),
        complete_hour=np.where(done >= 0, done - hours, -1),
    )


__all__ = ["front_day", "waiting"]
