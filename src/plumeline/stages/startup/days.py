"""The day table: what each run brings, when the low comes, and the readings at which to stop."""

from __future__ import annotations

from datetime import date, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from plumeline.job.document import Job
from plumeline.stages.column import runs_of
from plumeline.stages.startup.dissolved import early_stop_mg_l
from plumeline.stages.startup.final import Final, lost_on, shown_days
from plumeline.stages.startup.promise import upper95
from plumeline.stages.startup.result import Band, LaterLosses, RunDay, StopReading
from plumeline.stages.startup.scene import Scene, StopTable
from plumeline.stages.startup.schedule import WHOLE_DAY_MIN, Schedule, readings_in

FIRM_D = 2
"""Oxygen forecasts beat persistence for about two days (design §6), so the plan is firm for so long."""


def calendar(scene: Scene, schedule: Schedule, begin_hours: list[int]) -> list[int]:
    """Return the rung of each day of the plan, -1 where nobody can come and no air runs on."""
    rungs: list[int] = []
    rung = 0
    for begin in begin_hours:
        on_already = rung >= len(schedule.minutes) and schedule.minutes[-1] == WHOLE_DAY_MIN
        if not scene.attended[begin] and not on_already:
            rungs.append(-1)
            continue
        rungs.append(rung)
        rung += 1
    return rungs


def first_run(job: Job) -> date | None:
    """Return the local date of the first run that was made; None before it."""
    runs = runs_of(job)[0]
    if not runs:
        return None
    return min(run.start for run in runs).astimezone(ZoneInfo(job.site.time_zone)).date()


def days_gone(job: Job, scene: Scene, first_hour: int) -> int:
    """Return the days between the first run that was made and the plan's first run; 0 where none was."""
    began = first_run(job)
    if began is None:
        return 0
    start = (scene.ensemble.start + timedelta(hours=first_hour)).astimezone(ZoneInfo(job.site.time_zone))
    return max(0, (start.date() - began).days)


def run_days(
    job: Job,
    scene: Scene,
    final: Final,
    table: StopTable,
    names: tuple[str, ...],
    volume_m3: float,
    gone_d: int = 0,
) -> tuple[RunDay, ...]:
    """Return one entry a day from the first run to two days after the median completion.

    Args:
        job: the job.
        scene: the fresh ensemble.
        final: the plan in it.
        table: the plan's stop readings.
        names: names of the diffusers that carry air.
        volume_m3: the pond's volume [m³].
        gone_d: days of the start-up that lie behind the plan's first run [d].
    """
    outcome = final.outcome
    schedule = outcome.schedule
    zone = ZoneInfo(job.site.time_zone)
    shown = final.days[: shown_days(final)]
    rungs = calendar(scene, schedule, [day.begin for day in shown])
    found: list[RunDay] = []
    for day, rung in zip(shown, rungs, strict=True):
        minutes = 0 if rung < 0 else schedule.step(rung)
        whole = rung >= len(schedule.minutes) or (
            rung > 0 and minutes == WHOLE_DAY_MIN and schedule.step(rung - 1) == WHOLE_DAY_MIN
        )
        lost = lost_on(outcome, day)
        stops = stops_of(scene, schedule, day.number, minutes, table)
        lifted = day.lifted_m3
        found.append(
            RunDay(
                day.number + gone_d,
                (scene.ensemble.start + timedelta(hours=day.begin)).astimezone(zone).date(),
                None if whole else schedule.start_hour_h,
                minutes,
                day.dawn_do_mg_l,
                day.least_do_mg_l,
                day.least_hour_h,
                day.bottom_do_mg_l,
                day.difference_k,
                day.refuge_fraction,
                Band(lifted.median / volume_m3, lifted.p05 / volume_m3, lifted.p95 / volume_m3),
                lost,
                upper95(lost, outcome.members),
                stops[-1].do_mg_l if stops else None,
                stops,
                rung >= 0 and schedule.visited(day.number),
                day.number <= FIRM_D,
                tuple(names[d] for d in schedule.open_diffusers(rung)) if rung >= 0 else (),
                day.held_members,
            )
        )
    return tuple(found)


def later_losses(scene: Scene, final: Final, gone_d: int = 0) -> LaterLosses | None:
    """Return the losses after the last day of the day table, so that table and rest come to the plan's own count.

    Args:
        scene: the fresh ensemble.
        final: the plan in it.
        gone_d: days of the start-up that lie behind the plan's first run [d].

    Returns:
        None where no day is left and nothing is lost after them.
    """
    shown, outcome = shown_days(final), final.outcome
    end = final.days[shown - 1].end if shown else outcome.first_hour
    hours = outcome.lost_hour[outcome.lost]
    by_day = np.bincount((hours[hours >= end] - end) // 24)
    last = max(scene.horizon_d, shown + len(by_day))
    if last <= shown:
        return None
    worst = int(by_day.max(initial=0))
    return LaterLosses(
        shown + 1 + gone_d, last + gone_d, int(by_day.sum()), worst, upper95(worst, outcome.members)
    )


def stops_of(
    scene: Scene, schedule: Schedule, number: int, minutes: int, table: StopTable
) -> tuple[StopReading, ...]:
    """Return the stop readings of one day, hour by hour."""
    hours = readings_in(minutes, scene.crew.watched_hours(schedule.start_hour_h))
    found: list[StopReading] = []
    for hour in range(1, hours + 1):
        if (number, hour) not in table and schedule.stop_above_mg_l is None:
            continue
        reading = table.get((number, hour), float("nan"))
        if schedule.stop_above_mg_l is not None:
            limit_mg_l = scene.refuge.limits.oxygen_mg_l
            reading = early_stop_mg_l(limit_mg_l, schedule.stop_above_mg_l, scene.most_mg_l)
        clock = (int(schedule.start_hour_h) + hour) % 24
        found.append(StopReading(hour, clock, None if reading != reading else reading))
    return tuple(found)
