"""A job made ready for conditioning: its readings sifted and laid on hours, its air, weather and evidence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import AirRun, Bottle, Job, OxygenReading, Profile, ProfilePoint
from plumeline.notices import Notice, note
from plumeline.stages.column.climate import lasting_degc
from plumeline.stages.column.doubts import LAYERED_DEGC, Doubts, doubts_of
from plumeline.stages.column.evidence import Evidence, evidence_of
from plumeline.stages.column.grid import Grid
from plumeline.stages.column.lead import Lead
from plumeline.stages.column.looks import Kind, Looks, looks_of
from plumeline.stages.column.past_air import PastAir, air_plan, last_end, runs_of
from plumeline.stages.column.sun import hour_before
from plumeline.stages.column.water import WaterRead, water_read
from plumeline.stages.column.weather import weather_base
from plumeline.stages.reading import latest_profile

Array = NDArray[np.float64]
Reading = Profile | OxygenReading

OLDEST_D = 21.0  # before the latest reading; what was read earlier tells little of today
SAME_WATER_D = 2.0  # within which profiles before any air tell of one water: judgement
OVER_MG_L, UNDER_MG_L = 7.0, 0.3


@dataclass(frozen=True)
class Case:
    """A job made ready to be held against ponds.

    Attributes:
        lead: how ponds are run.
        evidence: what they are held against.
        latest: the latest profile, by layer.
        doubts: readings that were left out, or that leave something open.
        notices: what had to be assumed.
    """

    lead: Lead
    evidence: Evidence
    latest: WaterRead
    doubts: tuple[Notice, ...]
    notices: tuple[Notice, ...]


def case_of(
    job: Job, grid: Grid, limits: Array, horizon_hours: int, air: PastAir | None, lead_hours: int
) -> Case:
    """Return the case of a job.

    Args:
        job: the job.
        grid: the layers.
        limits: limits of the refuge (LIMITS).
        horizon_hours: hours of weather after the last reading.
        air: the diffusers through which air has run, where any has.
        lead_hours: hours before the first reading from which ponds are run.

    Raises:
        InputError: the job has no profile.
        ModelError: air has run through diffusers that nobody named.
    """
    latest = latest_profile(job)
    every: list[Reading] = sorted([*job.profiles, *job.oxygen_readings], key=lambda item: item.time)
    oldest = every[-1].time - timedelta(days=OLDEST_D)
    readings = tuple(item for item in every if item.time >= oldest or item is latest)
    notices: list[Notice] = []
    if len(readings) < len(every):
        text = f"{len(every) - len(readings)} readings more than {OLDEST_D:.0f} d before the latest are left out."
        notices.append(note("readings-old", text))
    runs, assumed = runs_of(job)
    bottles, left_out = _bottles(job, readings)
    doubts = doubts_of(job, readings, runs)
    layered = [item for item in readings if isinstance(item, Profile) and len(item.points) > 1] or [latest]
    start = hour_before(readings[0].time, job.site.time_zone) - timedelta(hours=lead_hours)

    def hour_of(time: datetime) -> int:
        return round((time.astimezone(UTC) - start).total_seconds() / 3600.0)

    ends = [readings[-1].time, *([end] if (end := last_end(runs)) is not None else [])]
    end_hour = max(hour_of(end) for end in ends)
    looks = _kept(looks_of(job, readings, bottles, start), doubts)
    looks = replace(looks, hour=np.minimum(looks.hour, end_hour))
    still = _still(layered, runs)
    water = water_read(
        _mended(layered[0], doubts, layered), grid, [_mended(item, doubts, layered) for item in still[1:]]
    )
    surface_degc = lasting_degc(job, layered[0].time, grid.centre_m, water.temperature_degc)
    base = weather_base(job, start, end_hour + horizon_hours, surface_degc, float(grid.area_m2[0]))
    plan = air_plan(runs, air, start, end_hour + horizon_hours)
    profile_hour = min(hour_of(latest.time), end_hour)
    lead = Lead(job, grid, limits, water, base, plan, looks, start, profile_hour, end_hour)
    water_now = water_read(_mended(latest, doubts, layered), grid)
    smell = water_now.smell if not looks.of(Kind.SULPHIDE).any() else None
    said = (*base.notices, *notices, *assumed, *left_out)
    return Case(lead, evidence_of(looks, job.fish, smell, limits), water_now, tuple(doubts.notices), said)


def _still(layered: Sequence[Profile], runs: Sequence[AirRun]) -> list[Profile]:
    """Return the first profile and those read soon after it, before any air has run: they are of the same water."""
    first = layered[0].time
    until = min((run.start for run in runs), default=first + timedelta(days=SAME_WATER_D))
    last = min(until, first + timedelta(days=SAME_WATER_D))
    return [layered[0], *(item for item in layered[1:] if item.time <= last)]


def believed(job: Job) -> Job:
    """Return the job without the profiles whose oxygen is left out, while one that is believed remains.

    What tells of the water as it stands must not rest on a meter that the ponds were not held against.
    """
    return screened(job)[0]


def screened(job: Job) -> tuple[Job, tuple[Notice, ...]]:
    """Return the believed job, and what is said of the profiles left out of it."""
    every: list[Reading] = sorted([*job.profiles, *job.oxygen_readings], key=lambda item: item.time)
    if not every:
        return job, ()
    doubts = doubts_of(job, every, runs_of(job)[0])
    skipped = [item for item in job.profiles if doubts.skips(item, Kind.OXYGEN)]
    if not skipped or len(skipped) == len(job.profiles):
        return job, ()
    kept = tuple(item for item in job.observations if not any(item is bad for bad in skipped))
    return job.model_copy(update={"observations": kept}), tuple(doubts.notices)


def _kept(looks: Looks, doubts: Doubts) -> Looks:
    """Return the numbers that are not left out."""
    wanted = np.ones(looks.count, dtype=bool)
    for row in range(looks.count):
        name, kind = looks.names[int(looks.item_index[row])], Kind(int(looks.kind_index[row]))
        depth = float(looks.depth_m[row])
        wanted[row] = (name, kind, None) not in doubts.skipped and (name, kind, depth) not in doubts.skipped
    return looks.only(wanted)


def _mended(profile: Profile, doubts: Doubts, layered: list[Profile]) -> Profile:
    """Return a profile to begin from, without what is left out: no number of it counts as read.

    Oxygen that is left out at every depth is that of the next profile in time, else seven mg/L over the
    thermocline and hardly any below it.
    """
    points = [
        point
        for point in profile.points
        if not any(
            (profile.id, kind, point.depth_m) in doubts.skipped for kind in (Kind.OXYGEN, Kind.TEMPERATURE)
        )
    ]
    if doubts.skips(profile, Kind.OXYGEN):
        points = _with_oxygen(
            points, profile, [item for item in layered if not doubts.skips(item, Kind.OXYGEN)]
        )
    return profile.model_copy(update={"points": tuple(points)})


def _with_oxygen(
    points: list[ProfilePoint], profile: Profile, others: list[Profile]
) -> list[ProfilePoint]:  # fmt: skip
    if others:
        near = min(others, key=lambda item: abs((item.time - profile.time).total_seconds()))
        depths, values = zip(*((p.depth_m, p.do_mg_l) for p in near.points), strict=True)
        oxygen = [float(np.interp(point.depth_m, depths, values)) for point in points]
    else:
        warm = [point.temperature_degc for point in points]
        middle = 0.5 * (max(warm) + min(warm)) if max(warm) - min(warm) > LAYERED_DEGC else min(warm)
        oxygen = [OVER_MG_L if degc >= middle else UNDER_MG_L for degc in warm]
    return [point.model_copy(update={"do_mg_l": value}) for point, value in zip(points, oxygen, strict=True)]


def _bottles(job: Job, readings: tuple[Reading, ...]) -> tuple[tuple[Bottle, ...], tuple[Notice, ...]]:
    """Return the bottles of the days of the readings."""
    first, last = readings[0].time - timedelta(days=2), readings[-1].time + timedelta(days=2)
    near = tuple(bottle for bottle in job.bottles if first <= bottle.time <= last)
    left = len(job.bottles) - len(near)
    said = (note("bottle-left-out", f"{left} bottle tests of other days than the readings are left out."),)
    return near, said if left else ()
