"""How a start-up plan that was made stands to the pond of today: the same line, and days not too far back."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from plumeline.errors import InputError
from plumeline.job.document import Job
from plumeline.store import Revision, Run, RunState
from plumeline.store.errors import NotThereError
from plumeline.web.site import Site
from plumeline.web.work import Design

OLDEST_READING_D = 14
"""Two weeks between a reading and the start: after that the water may be another (judgement, no published source)."""
PLAN_FILE = "si/plan.json"


@dataclass(frozen=True)
class Built:
    """What a line is built of, in words."""

    compressor: str
    trunk: str
    diffusers: str

    def differences(self, now: Built) -> list[str]:
        """Return what is another now, each as words."""
        names = ("compressor", "trunk", "diffusers")
        pairs = [(name, getattr(self, name), getattr(now, name)) for name in names]
        return [f"{name}: {was} in the plan, {new} in the job" for name, was, new in pairs if was != new]


@dataclass(frozen=True)
class PlanState:
    """A plan that was made, and what is to be said of it today.

    Attributes:
        run: its run.
        differences: what is another in the job of today; empty where nothing is, or nothing can be worked out.
        cautions: why it should not be worked by, and what to do, in sentences.
        age: those of them that say that it lies too far back.
    """

    run: Run
    differences: tuple[str, ...]
    cautions: tuple[str, ...]
    age: tuple[str, ...] = ()


def built_of(design: Design) -> Built:
    """Return what the line of a design is built of."""
    air = design.air
    return _built(
        air.compressor_words,
        air.compressor.count,
        [piece.pipe for piece in air.trunk],
        [item.name for item in design.layout.diffusers],
    )


def _built(words: str, count: int, pipes: list[str], diffusers: list[str]) -> Built:
    compressor = f"{count} × {words}" if count > 1 else words
    return Built(compressor, " and ".join(dict.fromkeys(pipes)), ", ".join(diffusers))


def _built_of_plan(document: dict[str, Any]) -> Built:
    air = document["air"]
    pipes = [piece["pipe"] for piece in air["trunk"]]
    names = [item["name"] for item in document["layout"]["diffusers"]]
    return _built(air["compressor_words"], air["compressor"].get("count", 1), pipes, names)


def newest_plan(site: Site, pond_id: str, number: int | None = None) -> Run | None:
    """Return the plan made last, of one revision where it is named."""
    runs = site.store.runs.of_pond(pond_id)
    done = (run for run in runs if run.state == RunState.DONE)
    return next((run for run in done if number is None or run.number == number), None)


def state_of(site: Site, pond: Revision, run: Run, design: Design | None) -> PlanState:
    """Return what is to be said of a plan today.

    Args:
        site: the site.
        pond: the revision that stands.
        run: the plan's run.
        design: what that revision comes to; None where no design can be worked out.
    """
    document = _document(site, run)
    cautions: list[str] = []
    age: list[str] = []
    differences: tuple[str, ...] = ()
    if document is not None and design is not None:
        differences = tuple(_built_of_plan(document).differences(built_of(design)))
    if run.number != pond.number:
        cautions.append(f"This plan was made of revision {run.number}; revision {pond.number} stands now.")
    if differences:
        cautions.append(
            f"This plan simulates another line than the job has now ({'; '.join(differences)}): make the plan anew."
        )
    if document is not None:
        of = pond if run.number == pond.number else site.store.ponds.revision(pond.pond_id, run.number)
        age = age_words(of.job, site_day(site, of.job), *_days_of(document, of.job))
    return PlanState(run, differences, (*cautions, *age), tuple(age))


def _document(site: Site, run: Run) -> dict[str, Any] | None:
    try:
        found: dict[str, Any] = json.loads(site.store.runs.file(run.id, PLAN_FILE))
    except (NotThereError, ValueError):
        # a plan of an older program has other files: nothing can be said of what it holds
        return None
    return found if found.keys() >= {"air", "layout", "startup"} else None


def _days_of(document: dict[str, Any], job: Job) -> tuple[date, date]:
    days = [date.fromisoformat(row["date"]) for row in document["startup"]["days"]]
    if not days:
        return planned_days(job)
    return min(days), max(days)


def plan_dates(site: Site, run: Run) -> list[date]:
    """Return the days of a plan's day table in order; none of a plan whose data can't be read."""
    document = _document(site, run)
    return (
        [] if document is None else [date.fromisoformat(row["date"]) for row in document["startup"]["days"]]
    )


def planned_days(job: Job) -> tuple[date, date]:
    """Return the first and the last day on which the air may be started, by the job alone."""
    start = job.wishes.start_date or job.date
    return start, start + timedelta(days=job.wishes.longest_start_up_d)


def site_day(site: Site, job: Job) -> date:
    """Return today on the pond's own clock."""
    return site.store.clock().astimezone(ZoneInfo(job.site.time_zone)).date()


def age_words(job: Job, today: date, first: date, last: date, *, whose: str = "The plan's") -> list[str]:
    """Return why days of a plan lie too far back, or its reading before them, and what to do.

    Args:
        job: the job that the plan was made of, or is to be.
        today: on the pond's clock.
        first: day of the first run.
        last: day of the last one.
        whose: what begins the sentences: the plan's, or the job's where no plan is made.
    """
    read = reading_day(job)
    if today > last:
        of = f", and its latest reading is of {read}" if read is not None else ""
        return [
            f"{whose} days are over: from {first} to {last}, today is {today}{of}. The water is another by now: take a "
            "new reading and make a new plan."
        ]
    if read is not None and (first - read).days > OLDEST_READING_D:
        return [
            f"{whose} latest reading is of {read}, more than two weeks before the start, {first}: take a new reading "
            "and make a new plan."
        ]
    return []


def reading_day(job: Job) -> date | None:
    """Return the day of the latest profile, on the pond's clock; None without one."""
    if not job.profiles:
        return None
    return max(item.time for item in job.profiles).astimezone(ZoneInfo(job.site.time_zone)).date()


def job_age(site: Site, job: Job) -> list[str]:
    """Return why the days of a job without a plan lie too far back, and what to do."""
    return age_words(job, site_day(site, job), *planned_days(job), whose="The job's")


def check_same_line(site: Site, pond: Revision, design: Design) -> None:
    """Refuse a quote of another line than the start-up plan of the same revision simulates.

    Raises:
        InputError: it would be one; each difference is named.
    """
    run = newest_plan(site, pond.pond_id, pond.number)
    state = None if run is None else state_of(site, pond, run, design)
    if state is not None and state.differences:
        raise InputError(
            f"the start-up plan of revision {pond.number} simulates another line than this quote would offer: "
            f"{'; '.join(state.differences)}.",
            remedy="Make the start-up plan anew, then the quote.",
        )
