"""The ensemble: ponds run through the ten days before the first reading and through all readings since.

Ponds are drawn where the readings point (`learning`), run, weighed by their true likelihood (`evidence`), and
resampled; each is then brought to the last reading within the model's and the meter's error (`settle`). Every
member counts the same; how many independent ponds they are worth is `effective_members`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Bottle, Job, OxygenReading, Profile
from plumeline.notices import Notice, caution, note
from plumeline.stages.column.evidence import Evidence, Ran, evidence_of
from plumeline.stages.column.grid import Grid
from plumeline.stages.column.lead import Lead, lasting_of, run_lead
from plumeline.stages.column.learning import (
    Learned,
    chosen,
    effective_members,
    law_of,
    moved,
    tempered,
)
from plumeline.stages.column.looks import Kind, looks_of
from plumeline.stages.column.march import Columns, march, still
from plumeline.stages.column.parameters import parameters_of
from plumeline.stages.column.past_air import PastAir, air_plan, last_end, runs_of
from plumeline.stages.column.priors import draw_scores
from plumeline.stages.column.settle import Settling, settle
from plumeline.stages.column.sun import hour_before
from plumeline.stages.column.told import Told, quantities_of, told_by
from plumeline.stages.column.water import WaterRead, water_read
from plumeline.stages.column.weather import member_weather, weather_base
from plumeline.stages.reading import latest_profile

__all__ = ["LEAD_HOURS", "Ensemble", "draw_ensemble", "parameters_of"]

Array = NDArray[np.float64]
Reading = Profile | OxygenReading

LEAD_HOURS = 240
OLDEST_D = 21.0  # before the latest reading; what was read earlier tells little of today
PILOTS = 200
PASSES = 3
LEAST_FRACTION = 0.35  # of effective members: the last weights are tempered to keep them
UNLIKELY_SQUARES_NUMBER = (
    4.0  # of the middle pond's squared distance a number, where one is what errors explain
)


@dataclass(frozen=True)
class Before:
    """Ponds of the priors, run through the same days, and where the readings point from there.

    Attributes:
        learned: the law that ensembles of these readings are drawn by.
        members: ponds of the priors.
        failures: those of them that lose the refuge without air in the weather ahead.
        quantities: what told.py names, of each (quantities, members).
        seen: what each would have read (numbers, members).
        noise: covariance of what unknown weather does to the numbers (numbers, numbers).
        runs_count: runs through the lead that it took to find the law.
    """

    learned: Learned
    members: int
    failures: int
    quantities: Array
    seen: Array
    noise: Array
    runs_count: int


@dataclass(frozen=True)
class Ensemble:
    """Members that agree with the readings, standing at the hour of the last reading or the last run of air.

    Attributes:
        columns: the ensemble; its weather starts the lead before the first reading.
        start: time of hour 0 of the weather, UTC.
        local_hour: local clock hour at the start of each hour of weather.
        water: the latest profile by layer.
        tried: ponds that were run.
        notices: what had to be assumed.
        assumptions: in plain words.
        effective_members: how many independent ponds the members are worth (Kish 1965).
        weight_power_fraction: power of the last weights, 1 where they are the whole likelihood.
        before: the ponds of the priors, before the readings, and the law that the members were drawn by.
        told: what the readings told, all together and each by itself.
        doubts: readings that contradict each other or no pond could have given, and were left out or widened.
    """

    columns: Columns
    start: datetime
    local_hour: NDArray[np.int64]
    water: WaterRead
    tried: int
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]
    effective_members: float = 0.0
    weight_power_fraction: float = 1.0
    before: Before | None = None
    told: tuple[Told, ...] = ()
    doubts: tuple[Notice, ...] = ()


def draw_ensemble(
    job: Job,
    grid: Grid,
    limits: Array,
    members: int,
    seed: int,
    horizon_hours: int,
    air: PastAir | None = None,
    most_tries: int = 200_000,
    lead_hours: int = LEAD_HOURS,
    like: Ensemble | None = None,
) -> Ensemble:
    """Return `members` members that agree with what was read, smelt and seen.

    Args:
        job: the job; its profiles, oxygen readings, bottles, runs and fish are the evidence.
        grid: the layers.
        limits: limits of the refuge (LIMITS).
        members: members wanted.
        seed: a fresh seed gives a fresh ensemble.
        horizon_hours: hours of weather after the last reading.
        air: the diffusers through which air has run, where any has.
        most_tries: most ponds that are run.
        lead_hours: hours before the first reading from which ponds are run.
        like: another ensemble of this job and these readings, by whose law the members are drawn: fresh ponds,
            with a fresh seed, without the runs that found the law. Found anew when None.

    Raises:
        InputError: the job has no profile.
        ModelError: air has run through diffusers that nobody named.
    """
    case = _case_of(job, grid, limits, horizon_hours, air, lead_hours)
    pilots = max(8, min(PILOTS, most_tries // 4))
    known = like.before if like is not None else None
    before = known or _learn(case, pilots, seed, horizon_hours)
    case = replace(case, evidence=case.evidence.with_noise(before.noise))
    columns, ran, ratio = _draw(case, before.learned, members, seed + 31)
    tried = members + (0 if known is not None else before.runs_count)
    log_weight = case.evidence.log_likelihood(ran) + ratio
    weight, power = tempered(log_weight, LEAST_FRACTION * members)
    effective = effective_members(weight)
    index = chosen(weight, members, seed + 5)
    ready = _ahead(case, columns.take(index), ran, index, before.noise, seed + 17)
    notices = [*case.notices, *_unlikely(case, ran)]
    told = told_by(case.evidence, before.quantities, before.seen, quantities_of(ready))
    return Ensemble(
        ready, case.lead.start, case.lead.base.local_hour, case.latest, tried, tuple(notices),
        tuple(case.lead.water.assumed), effective, power, before, told, case.doubts,
    )  # fmt: skip


def _unlikely(case: _Case, ran: Ran) -> list[Notice]:
    """Say where the ponds drawn by the readings still lie far from them."""
    count = case.evidence.looks.count
    if not count:
        return []
    squares = (case.evidence.distance(ran.seen) ** 2).sum(axis=0) / count
    if float(np.quantile(squares, 0.25)) < UNLIKELY_SQUARES_NUMBER:
        return []
    text = (
        "Hardly a simulated pond agrees with all that was read; the nearest ones are taken. Read the water again, "
        "and check the meter, the area and the depths."
    )
    return [caution("reading-unlikely", text)]


@dataclass(frozen=True)
class _Case:
    """A job made ready to be held against ponds."""

    lead: Lead
    evidence: Evidence
    latest: WaterRead
    doubts: tuple[Notice, ...]
    notices: tuple[Notice, ...]


def _case_of(
    job: Job, grid: Grid, limits: Array, horizon_hours: int, air: PastAir | None, lead_hours: int
) -> _Case:
    latest = latest_profile(job)
    every: list[Reading] = sorted([*job.profiles, *job.oxygen_readings], key=lambda item: item.time)
    oldest = every[-1].time - timedelta(days=OLDEST_D)
    readings = tuple(item for item in every if item.time >= oldest or item is latest)
    runs, notices = runs_of(job)
    bottles, left_out = _bottles(job, readings)
    if len(readings) < len(every):
        text = f"{len(every) - len(readings)} readings more than {OLDEST_D:.0f} d before the latest are left out."
        notices = (*notices, note("readings-old", text))
    layered = [item for item in readings if isinstance(item, Profile) and len(item.points) > 1]
    first = layered[0] if layered else latest
    begun = hour_before(readings[0].time, job.site.time_zone)
    start = begun - timedelta(hours=lead_hours)
    ends = [readings[-1].time, *([end] if (end := last_end(runs)) is not None else [])]
    end_hour = max(round((end.astimezone(UTC) - start).total_seconds() / 3600.0) for end in ends)
    looks = looks_of(job, readings, bottles, start)
    looks = replace(looks, hour=np.minimum(looks.hour, end_hour))
    water = water_read(first, grid)
    surface_degc, area_m2 = float(water.temperature_degc[0]), float(grid.area_m2[0])
    base = weather_base(job, start, end_hour + horizon_hours, surface_degc, area_m2)
    plan = air_plan(runs, air, start, end_hour + horizon_hours)
    profile_hour = min(round((latest.time.astimezone(UTC) - start).total_seconds() / 3600.0), end_hour)
    lead = Lead(job, grid, limits, water, base, plan, looks, start, profile_hour, end_hour)
    water_now = water_read(latest, grid)
    smell = water_now.smell if not looks.of(Kind.SULPHIDE).any() else None
    evidence = evidence_of(looks, job.fish, smell, limits)
    return _Case(lead, evidence, water_now, (), (*base.notices, *notices, *left_out))


def _bottles(job: Job, readings: tuple[Reading, ...]) -> tuple[tuple[Bottle, ...], tuple[Notice, ...]]:
    """Return the bottles of the days of the readings."""
    first, last = readings[0].time - timedelta(days=2), readings[-1].time + timedelta(days=2)
    near = tuple(bottle for bottle in job.bottles if first <= bottle.time <= last)
    left = len(job.bottles) - len(near)
    said = (note("bottle-left-out", f"{left} bottle tests of other days than the readings are left out."),)
    return near, said if left else ()


def _learn(case: _Case, pilots: int, seed: int, horizon_hours: int) -> Before:
    """Move pilots from the priors toward the readings, and keep what they were before."""
    generator = np.random.default_rng(seed + 41)
    first = draw_scores(pilots, seed)
    columns, prior = run_lead(case.lead, first, seed + 7)
    failures = _lost_ahead(case, columns, first, horizon_hours, seed + 3)
    # the same ponds under other weather: what nobody can know of it is error of the readings
    twins = first[:, : pilots // 2]
    _, other = run_lead(case.lead, twins, seed + 11)
    apart = (other.seen - prior.seen[:, : pilots // 2])[case.evidence.row]
    noise = 0.5 * apart @ apart.T / apart.shape[1]
    evidence = case.evidence.with_noise(noise)
    ran, scores = prior, first
    for turn in range(PASSES):
        if turn > 0:
            _, ran = run_lead(case.lead, scores, seed + 7)
        scores = moved(scores, evidence.pull(ran), float(PASSES), generator)
    runs = pilots * PASSES + pilots // 2
    return Before(law_of(first, scores), pilots, failures, quantities_of(columns), prior.seen, noise, runs)


def _draw(case: _Case, learned: Learned, members: int, seed: int) -> tuple[Columns, Ran, Array]:
    scores, ratio = learned.draw(draw_scores(members, seed))
    columns, ran = run_lead(case.lead, scores, seed + 13)
    return columns, ran, ratio


def _ahead(
    case: _Case, columns: Columns, ran: Ran, index: NDArray[np.int64], noise: Array, seed: int
) -> Columns:
    """Return the chosen members settled at the last reading, with weather of their own ahead of it."""
    looks = case.lead.looks
    by_weather = np.zeros(looks.count)
    by_weather[case.evidence.row] = np.diag(noise)
    off = looks.read[:, None] - ran.seen[:, index]
    latest = Settling(case.latest, case.lead.profile_hour, ran.layers[:, :, index], by_weather)
    settled = settle(columns, looks, off, latest, seed)
    return _with_weather(case, settled, ran.scores[:, index], seed + 1)


def _with_weather(case: _Case, columns: Columns, scores: Array, seed: int) -> Columns:
    """Return members with weather to the end: their own up to now, what lasts of it kept, and drawn ahead."""
    weather = member_weather(case.lead.base, columns.members, seed, case.lead.end_hour, lasting_of(scores))
    weather[:, : columns.hour] = columns.weather
    return replace(columns, weather=weather)


def _lost_ahead(case: _Case, columns: Columns, scores: Array, horizon_hours: int, seed: int) -> int:
    """Return how many ponds of the priors lose the refuge without air in the weather ahead."""
    if horizon_hours <= 0:
        return 0
    ready = _with_weather(case, columns, scores, seed)
    hours = ready.weather.shape[1]
    return int((march(ready, still(hours), hours).after.failed_step >= 0).sum())
