"""Schedules of running time: a first dose, how it grows, and the hour at which each run starts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix

WHOLE_DAY_MIN = 1440
FIRST_DOSES_MIN = (5, 10, 15, 30, 60, 120, 240, WHOLE_DAY_MIN)
GROWTHS = (1.5, 2.0, 3.0)
STEADY_DOSES_MIN = (30, 60, 120, 240, 480)
STEADY_DAYS = (2, 4, 7)
CLOCKS_H = (10.0, 15.0)


def on_grid(minutes: float) -> int:
    """Return a running time that a person can set: 5 min steps to an hour, 15 to four hours, then hours."""
    for limit, step in ((60.0, 5), (240.0, 15), (1380.0, 60)):
        if minutes <= limit:
            return max(5, round(minutes / step) * step)
    return WHOLE_DAY_MIN


@dataclass(frozen=True)
class Schedule:
    """Minutes of air on each day from the first run day, until it runs all day and stays on.

    Attributes:
        name: in plain words.
        start_hour_h: local clock hour at which each run starts.
        minutes: running minutes of each day; after the last one the air stays on, or off when that is 0.
    """

    name: str
    start_hour_h: float
    minutes: tuple[int, ...]

    @property
    def run_days(self) -> int:
        """Days with a timed run, before the air stays on: each wants somebody at the pond."""
        return sum(1 for minutes in self.minutes if 0 < minutes < WHOLE_DAY_MIN)


def growing(first_min: int, growth_number: float, start_hour_h: float, days: int) -> Schedule:
    """Return the schedule that starts with a dose and multiplies it each day until it is the whole day."""
    minutes: list[int] = []
    dose = float(first_min)
    while len(minutes) < days:
        minutes.append(on_grid(dose))
        if minutes[-1] == WHOLE_DAY_MIN:
            break
        dose *= growth_number
    name = (
        "24 h from day 1" if first_min >= WHOLE_DAY_MIN else f"{first_min} min, times {growth_number:g} a day"
    )
    return Schedule(name, start_hour_h, tuple(minutes))


def steady(minutes: int, run_days: int, start_hour_h: float) -> Schedule:
    """Return the schedule that runs as long each day, and after `run_days` stays on."""
    name = f"{minutes} min a day for {run_days} days, then all day"
    return Schedule(name, start_hour_h, (minutes,) * run_days + (WHOLE_DAY_MIN,))


def doubling(first_min: int, days: int) -> Schedule:
    """Return the trade's custom: a first run, doubled daily until it is continuous (no published source)."""
    minutes: list[int] = []
    dose = first_min
    while len(minutes) < days:
        minutes.append(min(dose, WHOLE_DAY_MIN))
        if dose >= WHOLE_DAY_MIN:
            break
        dose *= 2
    return Schedule(f"doubling from {first_min} min", 13.0, tuple(minutes))


NOTHING = Schedule("do nothing", 13.0, (0,))


def candidates(days: int) -> tuple[Schedule, ...]:
    """Return every schedule of the search, no two alike."""
    found: dict[tuple[float, tuple[int, ...]], Schedule] = {}
    for clock in CLOCKS_H:
        for first in FIRST_DOSES_MIN:
            for growth in GROWTHS:
                schedule = growing(first, growth, clock, days)
                found.setdefault((clock, schedule.minutes), schedule)
        for minutes in STEADY_DOSES_MIN:
            for run_days in STEADY_DAYS:
                schedule = steady(minutes, min(run_days, days), clock)
                found.setdefault((clock, schedule.minutes), schedule)
    return tuple(found.values())


def steps_on(
    schedule: Schedule, local_hour: NDArray[np.int64], first_hour: int, diffusers: int
) -> NDArray[np.uint8]:
    """Return which diffusers run in each five-minute step of the weather's hours (steps, diffusers).

    Args:
        schedule: the schedule.
        local_hour: local clock hour at the start of each hour of weather.
        first_hour: hour of the weather at or after which the first run may start.
        diffusers: number of diffusers; all of them run together.
    """
    on = np.zeros((len(local_hour) * ix.STEPS_EACH_HOUR, diffusers), dtype=np.uint8)
    starts = [h for h in range(first_hour, len(local_hour)) if local_hour[h] == int(schedule.start_hour_h)]
    for day, hour in enumerate(starts):
        minutes = schedule.minutes[min(day, len(schedule.minutes) - 1)]
        first = hour * ix.STEPS_EACH_HOUR
        if day >= len(schedule.minutes) - 1 and minutes == WHOLE_DAY_MIN:
            on[first:] = 1
            break
        on[first : first + minutes // 5] = 1
    return on
