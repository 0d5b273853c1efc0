"""What changed since the last plan, and why: the plan with the newest readings beside the one without them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from plumeline.job.document import Job, OxygenReading, Profile
from plumeline.stages.column import Ensemble
from plumeline.stages.startup.promise import Outcome, Promise, effort
from plumeline.stages.startup.scene import Scene
from plumeline.stages.startup.search import Found, Progress, search
from plumeline.stages.startup.tree import Tally

MOST_CANDIDATES = 12
TOLD_MOST = 4


def job_before(job: Job) -> tuple[Job, date] | None:
    """Return the job without the readings of its latest day, and that day; None where nothing would be left."""
    latest = job.latest_profile
    if latest is None:
        return None
    zone = ZoneInfo(job.site.time_zone)
    last_day = max(
        item.time.astimezone(zone).date()
        for item in job.observations
        if isinstance(item, (Profile, OxygenReading))
    )
    older = tuple(item for item in job.observations if not _of_day(item, last_day, zone))
    before = job.model_copy(update={"observations": older})
    if before.latest_profile is None or len(before.latest_profile.points) < 2:
        return None
    stand = max(item.time for item in older if isinstance(item, (Profile, OxygenReading)))
    runs = tuple(run for run in job.runs if run.start < stand)
    return before.model_copy(update={"runs": runs}), last_day


def _of_day(item: Any, day: date, zone: ZoneInfo) -> bool:
    return isinstance(item, (Profile, OxygenReading)) and item.time.astimezone(zone).date() >= day


def what_changed(
    job: Job, scene: Scene, found: Found, promise: Promise, *, draw: Callable[[Job], Ensemble],
    scene_of: Callable[[Ensemble], Scene], progress: Progress,
) -> tuple[str, ...]:  # fmt: skip
    """Return in words what the newest readings changed; empty where there was no plan before them.

    Both plans are searched with the same seed, and the older one among few schedules and in few ponds: it
    tells the direction, not a risk.

    Args:
        job: the job.
        scene: the search ensemble with all readings.
        found: what the search found in it.
        promise: what is accepted.
        draw: draws an ensemble of a job.
        scene_of: puts everything else around it.
        progress: told what is done.
    """
    earlier = job_before(job)
    if earlier is None:
        return ()
    older_job, day = earlier
    progress("comparing with the plan before the newest readings", 0.0)
    old = scene_of(draw(older_job))
    # both plans begin at the same hour of the same day
    begin = scene.ensemble.start.timestamp() / 3600.0 + scene.earliest_hour
    hour = int(begin - old.ensemble.start.timestamp() / 3600.0)
    old = _starting(old, hour, scene)
    some = tuple(dict.fromkeys([found.best.schedule, *(o.schedule for o in _spread(found))]))[
        :MOST_CANDIDATES
    ]
    was = search(old, some, promise, progress, seed=1, tally=Tally(), refine=False)
    return tuple(_words(day, found, was, scene))


def _starting(old: Scene, hour: int, scene: Scene) -> Scene:
    return replace(
        old, earliest_hour=min(max(hour, old.ensemble.columns.hour + 1), old.hours - 48),
        clock_stop_mg_l=scene.clock_stop_mg_l,
    )  # fmt: skip


def _spread(found: Found) -> list[Outcome]:
    """Return judged schedules from the least effort to the most, spread over all of them."""
    ranked = sorted(found.judged, key=effort)
    if len(ranked) <= MOST_CANDIDATES:
        return ranked
    return [ranked[int(i)] for i in np.linspace(0, len(ranked) - 1, MOST_CANDIDATES)]


def _words(day: date, found: Found, was: Found, scene: Scene) -> list[str]:
    now, then = found.best, was.best
    head = f"Readings of {day:%a %d %b}"
    texts: list[str] = []
    if (
        now.schedule.minutes == then.schedule.minutes
        and now.schedule.start_hour_h == then.schedule.start_hour_h
    ):
        texts.append(f"{head}: the schedule stays ({now.schedule.name}).")
    else:
        texts.append(
            f"{head}: without them the plan was {then.schedule.name} ({_days(then)}); with them it is "
            f"{now.schedule.name} ({_days(now)})."
        )
    texts.append(
        f"That schedule lost {then.failures} of {then.members} simulated ponds before the readings; the schedule now "
        f"chosen loses {now.failures} of {now.members} with them."
    )
    for told in tuple(getattr(scene.ensemble, "told", ()))[:TOLD_MOST]:
        texts.append(f"Why: {_told_words(told)}.")
    for doubt in tuple(getattr(scene.ensemble, "doubts", ())):
        texts.append(f"Left out: {doubt.text}")
    return texts


def _days(outcome: Outcome) -> str:
    days = outcome.days_to_complete
    return (
        "not complete in time" if days is None else f"{days:.1f} days, {outcome.expected_visits:.1f} visits"
    )


def _told_words(told: Any) -> str:
    """Return one quantity's narrowing in words."""
    words = getattr(told, "words", None)
    if isinstance(words, str):
        return words
    return str(told)
