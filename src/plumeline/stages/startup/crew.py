"""The crew: when somebody can be at the pond, and how well they read the water."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Attendance

Array = NDArray[np.float64]

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
METER_BIAS_MG_L = 0.5  # shared by the readings of one day
PLACE_ERROR_MG_L = 0.7  # from place to place and reading to reading
WATCHED_HOURS = 6
"""Longest that a run is watched on one visit, with a reading every hour."""
BEFORE = WATCHED_HOURS + 1  # row of the reading before the start among a day's readings


@dataclass(frozen=True)
class Crew:
    """When somebody can be at the pond.

    Attributes:
        first_hour_h, last_hour_h: local clock hours between which somebody can be there.
        weekdays: days of the week, 0 for Monday.
    """

    first_hour_h: float = 7.0
    last_hour_h: float = 19.0
    weekdays: frozenset[int] = frozenset(range(7))

    def nearest_start_h(self, wanted_h: float) -> int:
        """Return the whole hour nearest to a wanted one at which a run can be started with an hour to spare."""
        first = int(np.ceil(self.first_hour_h))
        last = max(first, int(np.floor(self.last_hour_h)) - 1)
        return min(int(min(max(wanted_h, first), last)), 23)

    def watched_hours(self, start_hour_h: float) -> int:
        """Return for how many hours a run that starts then can be watched."""
        return int(max(0, min(WATCHED_HOURS, np.floor(self.last_hour_h) - start_hour_h)))


def crew_of(attendance: Attendance) -> Crew:
    """Return the crew of a job."""
    days = frozenset(WEEKDAYS.index(day) for day in attendance.weekdays) or frozenset(range(7))
    return Crew(attendance.first_hour_h, attendance.last_hour_h, days)


def attended_hours(crew: Crew, start: datetime, hour_count: int, time_zone: str) -> NDArray[np.bool_]:
    """Return for each hour of the weather whether its local day is one on which somebody can come."""
    zone = ZoneInfo(time_zone)
    return np.array(
        [(start + timedelta(hours=h)).astimezone(zone).weekday() in crew.weekdays for h in range(hour_count)]
    )


@dataclass(frozen=True)
class Errors:
    """Errors of the readings that a crew would take, the same for every schedule.

    Attributes:
        bias_mg_l: of the meter on each day (days, members).
        place_mg_l: of each reading of a day (days, readings, members): at dawn, after each hour, before the start.
    """

    bias_mg_l: Array
    place_mg_l: Array

    def at(self, number: int, row: int, member: NDArray[np.int64]) -> Array:
        """Return the error of one reading of one day of the plan for some members."""
        day = min(number, len(self.bias_mg_l)) - 1
        return np.asarray(self.bias_mg_l[day, member] + self.place_mg_l[day, row, member])


def draw_errors(members: int, days: int, seed: int) -> Errors:
    """Return the errors of the readings of every day."""
    generator = np.random.default_rng(seed + 77_003)
    bias = METER_BIAS_MG_L * generator.standard_normal((days, members))
    place = PLACE_ERROR_MG_L * generator.standard_normal((days, WATCHED_HOURS + 2, members))
    return Errors(bias, place)
