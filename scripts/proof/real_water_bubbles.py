"""Falling Creek's bubble-mixing days, with and without a plume: an illustration, not a score.

The dates are in the data; air flow, depth of release, hour and number of outlets are not. What is taken for them
stands in the constants here and in the report.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
from scripts.proof.real_water_records import Record
from scripts.proof.real_water_windows import MEAN_WIND_RATIO, Tuned, grid_of, job_of, starting_time

from plumeline.stages.column.march import march
from plumeline.stages.column.refuge import refuge_for
from plumeline.stages.column.run import Draws, at_depths, standing
from plumeline.stages.column.run_air import Blow, RunAir, air_plan

DEPTH_M, OUTLETS, START_HOUR_H = 5.0, 20, 9
FLOWS_STANDARD_M3_S = (0.005, 0.02, 0.08)
MOL_M3 = 101325.0 / (8.314462618 * 293.15)
EVENTS: tuple[tuple[date, int, float], ...] = (
    # first day, days, hours of air a day (from the data's notes; "intermittent" taken as 8)
    (date(2016, 5, 30), 1, 6.0),
    (date(2016, 6, 27), 1, 24.0),
    (date(2016, 7, 25), 3, 8.0),
    (date(2017, 5, 29), 1, 24.0),
    (date(2017, 7, 10), 3, 9.0),
)
SHOWN_M = (1.0, 3.0, 5.0)
MEMBERS = 16


def neighbours(record: Record, first: date, days: int) -> tuple[date, date] | None:
    """Return the last day read before an event and the first after it, within ten days of it."""
    zone = ZoneInfo(record.site.time_zone)
    read = [stamp.date() for stamp in record.warmth.dropna(subset=[1.0, 5.0]).index]
    del zone
    before = [day for day in read if day < first and (first - day).days <= 10]
    end = first + timedelta(days=days)
    after = [day for day in read if day >= end and (day - end).days <= 10]
    return (before[-1], after[0]) if before and after else None


def event(record: Record, tuned: Tuned, first: date, days: int, hours: float) -> dict[str, Any] | None:
    """Return temperatures after an event, as read and as computed without and with each air flow."""
    found = neighbours(record, first, days)
    if found is None:
        return None
    before, after = found
    length = (after - before).days
    job = job_of(record, before, length, tuned)
    if job is None:
        return None
    grid = grid_of(record)

    def hold(draws: Draws) -> None:
        draws["wind_ratio"] *= tuned.shelter / MEAN_WIND_RATIO

    limits = refuge_for(job.fish, float(grid.area_m2[0]), ()).as_array()
    stand = standing(job, grid, limits, MEMBERS, 3, 24 * length, hold)
    zone = ZoneInfo(record.site.time_zone)
    starts = [datetime.combine(first + timedelta(days=n), time(START_HOUR_H), zone) for n in range(days)]
    blows = tuple(Blow(start, start + timedelta(hours=hours)) for start in starts)
    row: dict[str, Any] = {
        "first": first.isoformat(),
        "before": before.isoformat(),
        "after": after.isoformat(),
    }
    for name, day in (("read_before", before), ("read_after", after)):
        stamp = starting_time(record, day)
        row[name] = [round(float(record.warmth.at[stamp, depth]), 2) for depth in SHOWN_M]
    for flow in (0.0, *FLOWS_STANDARD_M3_S):
        each = flow * MOL_M3 / OUTLETS
        air = RunAir((DEPTH_M,) * OUTLETS, (each,) * OUTLETS, blows) if flow else RunAir()
        run = march(stand.columns, air_plan(air, stand.start, 24 * length), 24 * length, keep_profiles=True)
        last = at_depths(run.snapshots[0, -1:], grid, SHOWN_M)[0]
        row[f"computed_{flow:g}"] = [round(float(value), 2) for value in np.median(last, axis=1)]
    return row
