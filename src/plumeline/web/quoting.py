"""Quotes: made on purpose, numbered, kept as they were made, so that what a customer saw can be shown again."""

from __future__ import annotations

from collections.abc import Sequence

from plumeline.errors import PlumelineError
from plumeline.store import Revision
from plumeline.store.quotes import NumberTakenError, Quote
from plumeline.store.runs import Run
from plumeline.units.showing import System
from plumeline.web.plan_state import check_same_line, job_age, newest_plan, state_of
from plumeline.web.site import Site
from plumeline.web.work import Design

MOST_TRIES = 3
SYSTEMS: tuple[System, ...] = ("us", "si")
DRAFT = "Draft: no quote of this revision is made yet."


def render_draft(design: Design, units: System) -> bytes:
    """Return a quote that is none yet as PDF: the job's own design, the others beside it."""
    return _rendered(design, [units], DRAFT, ())[units]


def _rendered(design: Design, systems: Sequence[System], head: str, said: Sequence[str]) -> dict[str, bytes]:
    # slow to load, and not wanted before the first paper
    from plumeline.paper.quote import render_choice
    from plumeline.stages.choice import choose, design_of

    found = choose(design.job, design.survey, design_of(design.sized))
    return {
        units: render_choice(found, design.job, design.asked.day, units, head=head, said=said)
        for units in systems
    }


def make_quote(site: Site, pond: Revision, by: str) -> Quote:
    """Make and keep the quote of a revision; the one that goes with its newest plan is returned where it is there.

    Raises:
        PlumelineError: it can't be made for this pond, or its plan simulates another line.
    """
    plan = newest_plan(site, pond.pond_id, pond.number)
    before = site.store.quotes.latest(pond.pond_id, pond.number)
    if before is not None and before.run_id == (plan.id if plan else None):
        return before
    design = site.designs.of(pond)
    check_same_line(site, pond, design)
    age = state_of(site, pond, plan, design).age if plan else tuple(job_age(site, pond.job))
    for _ in range(MOST_TRIES):
        quote_number = site.store.quotes.next_number(pond.pond_id)
        head = _head(site, pond, quote_number, plan)
        files = _rendered(design, SYSTEMS, head, age)
        try:
            return site.store.quotes.keep(
                pond.pond_id, quote_number, pond.number, plan.id if plan else None, by, files
            )
        except NumberTakenError:
            continue
    raise NumberTakenError(
        "quotes of this pond are being made by others.", remedy="Look at the page of the papers again."
    )


def _head(site: Site, pond: Revision, quote_number: int, plan: Run | None) -> str:
    """Return which quote it is."""
    goes_with = "no start-up plan of this revision was made by then"
    if plan is not None and plan.ended_at is not None:
        goes_with = f"goes with the start-up plan made {plan.ended_at:%Y-%m-%d %H:%M} UTC"
    made = f"made {site.store.clock():%Y-%m-%d %H:%M} UTC"
    return f"Quote {quote_number} · revision {pond.number} · {made} · {goes_with}."


def quote_or_why(site: Site, pond: Revision, by: str) -> tuple[Quote | None, str]:
    """Return the quote of a revision, made where it is missing; or why it can't be made."""
    try:
        return make_quote(site, pond, by), ""
    except PlumelineError as error:
        return None, str(error)
