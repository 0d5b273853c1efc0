"""The ensemble: ponds run through the ten days before the first reading and through all readings since.

Ponds are moved toward the readings by passes of an ensemble smoother (`learning`), weighed by what it can't use
(fish, nose, numbers that errors don't explain: `evidence`), resampled, and brought to the last reading within the
model's and the meter's error (`settle`). Every member counts the same; how many independent ponds they are worth is
`effective_members`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Job
from plumeline.notices import Notice, caution
from plumeline.stages.column.case import Case, case_of
from plumeline.stages.column.evidence import Ran, never_seen
from plumeline.stages.column.grid import Grid
from plumeline.stages.column.lead import lasting_of, run_lead
from plumeline.stages.column.learning import (
    Learned,
    chosen,
    effective_members,
    law_of,
    moved,
    tempered,
)
from plumeline.stages.column.march import Columns, march, still
from plumeline.stages.column.parameters import parameters_of
from plumeline.stages.column.past_air import PastAir
from plumeline.stages.column.priors import draw_scores
from plumeline.stages.column.settle import Settling, settle
from plumeline.stages.column.told import Told, quantities_of, told_by
from plumeline.stages.column.water import WaterRead
from plumeline.stages.column.weather import member_weather

__all__ = ["LEAD_HOURS", "Ensemble", "draw_ensemble", "parameters_of"]

Array = NDArray[np.float64]

LEAD_HOURS = 240
PILOTS = 200
PASSES = 3
LEAST_FRACTION = 0.35  # of effective members: the last weights are tempered to keep them
UNLIKELY_SQUARES_NUMBER = 4.0  # squared distance a number of the nearest ponds, where errors explain one


@dataclass(frozen=True)
class Before:
    """Ponds of the priors, run through the same days, and where the readings point from there.

    Attributes:
        learned: the law that ensembles of these readings are drawn by.
        members: ponds of the priors.
        failures: those of them that lose the refuge without air in the weather ahead.
        quantities: what told.py names, of each (quantities, members).
        seen: what each would have read (numbers, members).
        noise: covariance of what unknown weather does to all numbers (numbers, numbers).
        out: numbers that no pond of the priors came near, left out (numbers).
        doubts: the same in words.
        runs_count: runs through the lead that it took to find the law.
    """

    learned: Learned
    members: int
    failures: int
    quantities: Array
    seen: Array
    noise: Array
    out: NDArray[np.bool_]
    doubts: tuple[Notice, ...]
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
    case = case_of(job, grid, limits, horizon_hours, air, lead_hours)
    pilots = max(8, min(PILOTS, most_tries // 4))
    known = like.before if like is not None else None
    before = known or _learn(case, pilots, seed)
    case = replace(case, evidence=case.evidence.without(before.out).with_noise(before.noise))
    columns, ran = _last_pass(case, before.learned, members, seed + 31)
    tried = 2 * members + (0 if known is not None else before.runs_count)
    weight, power = tempered(case.evidence.log_weight(ran), LEAST_FRACTION * members)
    effective = effective_members(weight)
    index = chosen(weight, members, seed + 5)
    ready = _ahead(case, columns.take(index), ran, index, before, seed + 17)
    notices = [*case.notices, *_unlikely(case, ran)]
    told = told_by(case.evidence, before.quantities, before.seen, quantities_of(ready))
    return Ensemble(
        ready, case.lead.start, case.lead.base.local_hour, case.latest, tried, tuple(notices),
        tuple(case.lead.water.assumed), effective, power, before, told, (*case.doubts, *before.doubts),
    )  # fmt: skip


def _unlikely(case: Case, ran: Ran) -> list[Notice]:
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


def prior_members(case: Case, members: int, seed: int) -> tuple[Columns, Ran]:
    """Return ponds of the priors, run through the same days and held against nothing, with weather ahead."""
    scores = draw_scores(members, seed)
    columns, ran = run_lead(case.lead, scores, seed + 7)
    return _with_weather(case, columns, scores, seed + 3), ran


def _learn(case: Case, pilots: int, seed: int) -> Before:
    """Move pilots from the priors toward the readings, and keep what they were before."""
    generator = np.random.default_rng(seed + 41)
    columns, prior = prior_members(case, pilots, seed)
    hours = columns.weather.shape[1]
    failures = int((march(columns, still(hours), hours).after.failed_step >= 0).sum())
    # the same ponds under other weather: what nobody can know of it is error of the readings
    twins = prior.scores[:, : pilots // 2]
    _, other = run_lead(case.lead, twins, seed + 11)
    apart = other.seen - prior.seen[:, : pilots // 2]
    noise = 0.5 * apart @ apart.T / apart.shape[1]
    out, doubts = never_seen(case.evidence, prior.seen, noise)
    evidence = case.evidence.without(out).with_noise(noise)
    ran, scores = prior, prior.scores
    for turn in range(PASSES - 1):
        if turn > 0:
            _, ran = run_lead(case.lead, scores, seed + 7)
        scores = moved(scores, evidence.pull(ran), float(PASSES), generator)
    runs = pilots * (PASSES - 1) + pilots // 2
    law = law_of(prior.scores, scores)
    return Before(law, pilots, failures, quantities_of(columns), prior.seen, noise, out, doubts, runs)


def _last_pass(case: Case, learned: Learned, members: int, seed: int) -> tuple[Columns, Ran]:
    """Return fresh ponds, drawn by the law and moved once more by what they read themselves."""
    scores = learned.draw(draw_scores(members, seed))
    _, ran = run_lead(case.lead, scores, seed + 13)
    scores = moved(scores, case.evidence.pull(ran), float(PASSES), np.random.default_rng(seed + 19))
    return run_lead(case.lead, scores, seed + 13)


def _ahead(
    case: Case, columns: Columns, ran: Ran, index: NDArray[np.int64], before: Before, seed: int
) -> Columns:
    """Return the chosen members settled at the last reading, with weather of their own ahead of it."""
    looks = case.lead.looks
    kept = ~before.out
    off = (looks.read[:, None] - ran.seen[:, index])[kept]
    by_weather = np.diag(before.noise)[kept]
    latest = Settling(case.latest, case.lead.profile_hour, ran.layers[:, :, index], by_weather)
    settled = settle(columns, looks.only(kept), off, latest, seed)
    return _with_weather(case, settled, ran.scores[:, index], seed + 1)


def _with_weather(case: Case, columns: Columns, scores: Array, seed: int) -> Columns:
    """Return members with weather to the end: their own up to now, what lasts of it kept, and drawn ahead."""
    weather = member_weather(case.lead.base, columns.members, seed, case.lead.end_hour, lasting_of(scores))
    weather[:, : columns.hour] = columns.weather
    return replace(columns, weather=weather)
