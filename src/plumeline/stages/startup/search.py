"""Find the shortest schedule that keeps the promise: all candidates on few members, the best on all.

What is guaranteed: the chosen schedule had no more failures on the search ensemble than the promise allows,
and its printed risk comes from a fresh ensemble it was not chosen on. Not guaranteed: that no schedule
outside the searched families is shorter.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from plumeline.stages.column import Ensemble, Refuge
from plumeline.stages.startup.schedule import Schedule
from plumeline.stages.startup.score import Running, Scored, score, upper95

FEW_MEMBERS = 64
DAYS_AFTER_D = 5  # a candidate is followed this long after its air stays on; the chosen plan to the end
Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class Found:
    """The outcome of the search."""

    best: Scored
    candidate_count: int


def _effort(scored: Scored) -> tuple[float, float, float]:
    """Return what the plan costs: visits first, then days, then the hour at which somebody must be there."""
    days = scored.days_to_complete
    late = 1.0 - scored.completed_fraction
    return (scored.schedule.run_days + 100.0 * (late > 0.5), days if days is not None else 99.0, late)


def few(ensemble: Ensemble, members: int) -> Ensemble:
    """Return the first members of an ensemble."""
    chosen = np.arange(min(members, ensemble.columns.members))
    return replace(ensemble, columns=ensemble.columns.take(chosen))


def search(
    ensemble: Ensemble,
    running: Running,
    refuge: Refuge,
    schedules: tuple[Schedule, ...],
    earliest_hour: int,
    accepted_risk: float,
    progress: Progress,
) -> Found:
    """Search the schedules by halving.

    Args:
        ensemble: the search ensemble.
        running: the diffusers.
        refuge: the fish's limits.
        schedules: the candidates.
        earliest_hour: hour of weather before which no run starts.
        accepted_risk: accepted risk of the job; a schedule is kept by its upper 95 % bound.
        progress: told what is done and how far.
    """
    small = few(ensemble, FEW_MEMBERS)
    first: list[Scored] = []
    for i, schedule in enumerate(schedules):
        progress("searching schedules", i / len(schedules))
        first.append(score(small, running, refuge, schedule, earliest_hour, days_after_d=DAYS_AFTER_D))
    # on few members a schedule within the promise may show one failure more by chance
    allowed = _allowed(len(ensemble.columns.failed_step), accepted_risk)
    few_allowed = round(allowed * FEW_MEMBERS / ensemble.columns.members) + 1
    hopeful = [s for s in first if s.failures <= few_allowed]
    hopeful.sort(key=_effort)
    quarter = max(4, len(schedules) // 4)
    safest = sorted(first, key=lambda s: (s.failures, _effort(s)))
    shortlist = (hopeful or safest)[:quarter]
    best_failing: Scored | None = None
    tried: set[str] = set()
    for i, hope in enumerate([*shortlist, *safest[:4]]):
        key = f"{hope.schedule.start_hour_h}{hope.schedule.minutes}"
        if key in tried:
            continue
        tried.add(key)
        progress("checking the best of them", i / (quarter + 4))
        whole = score(ensemble, running, refuge, hope.schedule, earliest_hour, days_after_d=DAYS_AFTER_D)
        if whole.failures <= allowed and whole.completed_fraction >= 0.5:
            return Found(whole, len(schedules))
        if best_failing is None or (whole.failures, _effort(whole)) < (
            best_failing.failures,
            _effort(best_failing),
        ):
            best_failing = whole
    assert best_failing is not None, "the shortlist is never empty"
    return Found(best_failing, len(schedules))


def _allowed(members: int, accepted_risk: float) -> int:
    """Return the most failures whose upper 95 % bound is within the accepted risk: 4 of 200 at 5 %."""
    most = 0
    while most < members and upper95(most + 1, members) <= accepted_risk:
        most += 1
    return most
