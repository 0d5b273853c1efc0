"""The day table: what each run brings, when the low comes, and the reading at which to stop."""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Job
from plumeline.kernels import column_index as ix
from plumeline.stages.column import AirPlan, Ensemble, Refuge, Run, march
from plumeline.stages.startup.result import ProfileBand, RunDay
from plumeline.stages.startup.schedule import WHOLE_DAY_MIN
from plumeline.stages.startup.score import DAWN_HOUR, Running, Scored, band, upper95
from plumeline.stages.startup.search import few

Array = NDArray[np.float64]

WATCHED_HOURS = 6
"""A run of the whole day is watched for this long, then read at dawn."""
SHUT_OFF_MEMBERS = 200


def run_days(
    job: Job, ensemble: Ensemble, scored: Scored, running: Running, refuge: Refuge, volume_m3: float
) -> tuple[RunDay, ...]:
    """Return one entry a day from the first run to two days after the median completion."""
    records = scored.run.records
    last_day = int(np.ceil(scored.days_to_complete or 99.0)) + 1
    shut_off = _shut_off_runs(ensemble, scored, running, last_day)
    zone = ZoneInfo(job.site.time_zone)
    days: list[RunDay] = []
    failed_hour = scored.run.after.failed_step // ix.STEPS_EACH_HOUR
    for number in range(1, last_day + 1):
        begin = scored.first_hour + 24 * (number - 1)
        end = min(begin + 24, scored.run.after.hour)
        if end - begin < 24:
            break
        minutes = scored.schedule.minutes[min(number, len(scored.schedule.minutes)) - 1]
        steps = scored.on[begin * ix.STEPS_EACH_HOUR : end * ix.STEPS_EACH_HOUR]
        hours = np.arange(begin, end)
        dawn = int(hours[np.flatnonzero(ensemble.local_hour[begin:end] == DAWN_HOUR - 1)[0]])
        near = records[ix.LEAST_O2, begin:end]
        low_hours = ensemble.local_hour[begin:end][np.argmin(near, axis=0)]
        flow = records[ix.PLUME_FLOW, begin:end]
        share_on = steps.reshape(24, -1).mean(axis=1)
        lifted = (flow * share_on[:, None]).sum(axis=0) * 3600.0 / volume_m3
        lost = int((scored.lost & (failed_hour >= begin) & (failed_hour < end)).sum())
        whole = number > len(scored.schedule.minutes) or (
            minutes == WHOLE_DAY_MIN and number > 1 and scored.schedule.minutes[number - 2] == WHOLE_DAY_MIN
        )
        days.append(
            RunDay(
                number,
                (ensemble.start + timedelta(hours=begin)).astimezone(zone).date(),
                None if whole else scored.schedule.start_hour_h,
                minutes,
                band(records[ix.NEAR_SURFACE_O2, dawn]),
                band(near.min(axis=0)),
                int(np.bincount(low_hours, minlength=24).argmax()),
                band(records[ix.BOTTOM_O2, dawn]),
                band(records[ix.DIFFERENCE, dawn]),
                band(records[ix.REFUGE, begin:end].min(axis=0)),
                band(lifted),
                lost,
                upper95(lost, scored.run.after.members),
                _stop_reading(shut_off.get(number, scored.run), refuge, begin, minutes),
            )
        )
    return tuple(days)


def _stop_reading(run: Run, refuge: Refuge, begin: int, minutes: int) -> float | None:
    """Return the reading at 0.6 m under which to shut off: the limit and what still falls after it.

    Oxygen goes on falling after shut-off. The fall from the end of the run to the next run is taken at the
    95 % of the simulated ponds, so that at this reading 95 in 100 of them stay over the limit. A run of the
    whole day is shut off after `WATCHED_HOURS`.
    """
    end_hour = begin + min(max(1, round(minutes / 60.0)), WATCHED_HOURS) - 1
    until = min(begin + 24, run.after.hour)
    if end_hour + 1 >= until:
        return None
    at_end = run.records[ix.NEAR_SURFACE_O2, end_hour]
    least = run.records[ix.LEAST_O2, end_hour + 1 : until].min(axis=0)
    fall = float(np.quantile(at_end - least, 0.95))
    return round(refuge.limits.oxygen_mg_l + max(fall, 0.5), 1)


def _shut_off_runs(ensemble: Ensemble, scored: Scored, running: Running, last_day: int) -> dict[int, Run]:
    """Return, for each day whose run goes on past the watched hours, that day with the air shut off after them."""
    small = few(ensemble, SHUT_OFF_MEMBERS)
    on = np.repeat(scored.on[:, None], len(running.depth_m), axis=1).astype(np.uint8)
    columns = small.columns
    runs: dict[int, Run] = {}
    for number in range(1, last_day + 1):
        begin = scored.first_hour + 24 * (number - 1)
        if begin + 24 > scored.run.after.hour:
            break
        watched = begin + WATCHED_HOURS
        if not scored.on[watched * ix.STEPS_EACH_HOUR]:
            continue
        columns = march(columns, AirPlan(running.depth_m, running.air_mol_s, on), begin).after
        shut = on.copy()
        shut[watched * ix.STEPS_EACH_HOUR :] = 0
        runs[number] = march(columns, AirPlan(running.depth_m, running.air_mol_s, shut), begin + 24)
    return runs


def profile_bands(ensemble: Ensemble, scored: Scored) -> tuple[ProfileBand, ...]:
    """Return the profile at the reading, before the second and third runs, and at completion."""
    start = ensemble.columns.hour
    hours = [scored.first_hour + 23, scored.first_hour + 47]
    if scored.days_to_complete is not None:
        hours.append(scored.first_hour + int(24 * scored.days_to_complete))
    found = [_bands(ensemble.columns.state[[ix.TEMPERATURE, ix.OXYGEN]], ensemble, 0.0)]
    for hour in sorted(set(hours)):
        if hour < scored.run.snapshots.shape[1]:
            found.append(_bands(scored.run.snapshots[:, hour], ensemble, float(hour + 1 - start)))
    return tuple(found)


def _bands(values: Array, ensemble: Ensemble, hours_h: float) -> ProfileBand:
    quantiles = np.quantile(values, [0.5, 0.05, 0.95], axis=2)

    def rows(variable: int) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
        middle, low, high = (tuple(float(v) for v in quantiles[q, variable]) for q in range(3))
        return middle, low, high

    depth = tuple(float(z) for z in ensemble.columns.grid.centre_m)
    return ProfileBand(hours_h, depth, rows(0), rows(1))
