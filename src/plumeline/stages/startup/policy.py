"""The chosen plan as plain data: what somebody at the pond does on each day, and what makes them do otherwise."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from plumeline.stages.mixed import MIXED_K
from plumeline.stages.startup.dissolved import early_stop_mg_l
from plumeline.stages.startup.rollout import FALLEN_MG_L
from plumeline.stages.startup.schedule import WHOLE_DAY_MIN, Schedule, readings_in


@dataclass(frozen=True)
class PolicyDay:
    """One day of a policy.

    Attributes:
        number: 1 for the first run day.
        start_hour_h: local clock hour at which the air is switched on; None where it runs on.
        minutes: minutes of air unless a reading stops it.
        diffusers: places of the open diffusers among those that carry air; all where empty.
        visit: whether somebody reads on this day; without a visit the run is carried out blindly.
        stop_do_mg_l: by whole hours since the start, the reading at 0.6 m under which the air is shut off.
    """

    number: int
    start_hour_h: float | None
    minutes: int
    diffusers: tuple[int, ...]
    visit: bool
    stop_do_mg_l: tuple[tuple[int, float], ...]


@dataclass(frozen=True)
class Policy:
    """A plan that can be carried out day by day.

    A day whose run a reading stopped is followed by a day with a visit and the same dose; a day that the gate
    holds has no air (or the last dose again), and the same step is due the next day, by a visit as well. Visits
    go on for as long as the steps listed last. After the last day listed that day is repeated.

    Attributes:
        name: in plain words.
        start_hour_h: local clock hour of the runs.
        wait_d: days without air before the first run.
        days: one entry for each step.
        gate_do_mg_l: on a day with a visit, least oxygen at 0.6 m at dawn for the next step; None for no gate.
        gate_repeats: held, the last dose is given again; else no air runs.
        smell_holds: whether a smell of rotten eggs holds as low oxygen does.
        mixed_k: top less bottom temperature under which no reading stops the run, and our gate holds nothing.
        fallen_mg_l: a reading stops the run only where it is so much lower than before the start.
    """

    name: str
    start_hour_h: float
    wait_d: int
    days: tuple[PolicyDay, ...]
    gate_do_mg_l: float | None
    gate_repeats: bool
    smell_holds: bool
    mixed_k: float
    fallen_mg_l: float


def policy_of(
    schedule: Schedule, stops: Mapping[tuple[int, int], float], *, limit_mg_l: float, most_mg_l: float,
    watched_hours: int,
) -> Policy:  # fmt: skip
    """Return a schedule with its stop readings as plain data.

    Args:
        schedule: the schedule.
        stops: stop readings by day and hour of the run; NaN for none.
        limit_mg_l: the fish's oxygen limit.
        most_mg_l: what the water dissolves.
        watched_hours: hours of a run that can be watched.
    """
    days: list[PolicyDay] = []
    for rung in range(len(schedule.minutes)):
        number = rung + 1
        minutes = schedule.step(rung)
        checks = readings_in(minutes, watched_hours)
        readings: list[tuple[int, float]] = []
        for hour in range(1, checks + 1):
            reading = stops.get((number, hour), float("nan"))
            if schedule.stop_above_mg_l is not None:
                reading = early_stop_mg_l(limit_mg_l, schedule.stop_above_mg_l, most_mg_l)
            if reading == reading:
                readings.append((hour, reading))
        runs_on = rung > 0 and minutes == WHOLE_DAY_MIN and schedule.step(rung - 1) == WHOLE_DAY_MIN
        days.append(
            PolicyDay(
                number,
                None if runs_on else schedule.start_hour_h,
                minutes,
                schedule.open_diffusers(rung),
                schedule.visited(number),
                tuple(readings) if schedule.watched else (),
            )
        )
    gate = schedule.gate
    return Policy(
        schedule.name,
        schedule.start_hour_h,
        schedule.wait_d,
        tuple(days),
        None if gate is None else gate.least_do_mg_l,
        gate is not None and gate.repeat,
        gate is not None,
        MIXED_K,
        FALLEN_MG_L,
    )
