"""What somebody at the pond wants first of a start-up page: today's run, what is due next, and the dangers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from markupsafe import Markup

from plumeline.files.calendar import NO_START
from plumeline.job.document import Job
from plumeline.paper.document import FIRST_PAGE_CODES
from plumeline.stages.site_facts import site_notices
from plumeline.store import Run
from plumeline.store.errors import NotThereError
from plumeline.units.showing import System
from plumeline.web.due import DUE, read_due
from plumeline.web.showing import notice_lines
from plumeline.web.site import Site

DAYS, STOPS = "Days: by visit", "Shut off when"
FIRST = ("First of all", "What changed")
AT_THE_POND = (DAYS, STOPS, "Stop readings", "How the stop rule", "What to read next")
"""Parts in the order in which they are wanted at the pond, by their beginnings; the figures come after them."""
SHOWN = {
    "start": "air on at", "run": "air for", "open": "valves open", "by": "by visit or by the card",
    "": "firm or provisional",
}  # fmt: skip
"""Columns of the day table that are wanted at the pond, and how they are called where they stand alone."""
NO_READING = "–"
NEXT_COUNT = 3

FIRST_CODES = (*FIRST_PAGE_CODES, "site-no-power", "site-permits-in-hand")
"""Notices over the days: those under the heading of the paper, and what its box of the site says of starting."""

Part = Mapping[str, Any]

__all__ = ["NO_START", "against_the_site", "day_shown", "due_next", "in_order", "split_notices"]


def _plain(text: Any) -> str:
    return Markup(text).striptags()


def in_order(parts: Sequence[Part]) -> dict[str, list[Part]]:
    """Return the parts of a plan: what comes before all, what is done at the pond, and the rest."""
    found: dict[str, list[Part]] = {"first": [], "pond": [], "rest": []}
    for part in parts:
        title = _plain(part["title"] or (part["rows"][0][0] if part["rows"] else ""))
        where = "first" if title.startswith(FIRST) else "pond" if title.startswith(AT_THE_POND) else "rest"
        found[where].append(part)
    return found


def split_notices(notices: Sequence[Mapping[str, Any]]) -> dict[str, list[Mapping[str, Any]]]:
    """Return the notices that decide whether to start at all, and the others."""
    first = [row for row in notices if row["code"] in FIRST_CODES]
    return {"first": first, "rest": [row for row in notices if row not in first]}


def against_the_site(job: Job, units: System) -> list[dict[str, str]]:
    """Return what stands against any start at a site, before a plan or a quote is made for it."""
    rows = notice_lines(site_notices(job), units)
    return [row for row in rows if row["severity"] == "danger" or row["code"] in FIRST_CODES]


def day_shown(parts: Sequence[Part], dates: Sequence[date], today: date) -> dict[str, Any] | None:
    """Return today's row of the day table and its stop readings; before the first day that one, after the last none.

    Args:
        parts: of the page, with numbers as links or without.
        dates: of the days of that table.
        today: on the pond's clock.
    """
    table = next((part for part in parts if _plain(part["title"]).startswith(DAYS)), None)
    if table is None or not dates or today > dates[-1]:
        return None
    at = dates.index(today) if today in dates else 0
    if today > dates[0] and not at:
        return None
    row, day = table["rows"][at], dates[at]
    heads = [_plain(head) for head in table["heads"]]
    shown = [(SHOWN[heads[place]], cell) for place, cell in enumerate(row) if heads[place] in SHOWN and cell]
    when = "Today" if day == today else "The first day"
    return {
        "title": f"{when}, {day:%a %b} {day.day}: day {_plain(row[0])}",
        "rows": [*shown, *_stops(parts, _plain(row[0]))],
    }


def _stops(parts: Sequence[Part], number: str) -> list[tuple[Any, Any]]:
    """Return the stop readings of a day by the hour, and when its low is expected."""
    table = next((part for part in parts if _plain(part["title"]).startswith(STOPS)), None)
    row = next((row for row in (table["rows"] if table else ()) if _plain(row[0]) == number), None)
    if table is None or row is None:
        return []
    found: list[tuple[Any, Any]] = []
    for head, cell in zip(table["heads"][1:], row[1:], strict=True):
        name = _plain(head)
        if _plain(cell) == NO_READING:
            continue
        if name.startswith("after"):
            found.append((Markup("off under, mg/L, {}").format(head), cell))
        else:
            found.append(("lowest about" if name == "at" else Markup("{}, mg/L").format(head), cell))
    return found


def due_next(site: Site, run: Run, job: Job) -> list[tuple[str, str]]:
    """Return the next things that a plan asks for, with their day and hour on the pond's clock."""
    try:
        rows = read_due(site.store.runs.file(run.id, DUE))
    except (NotThereError, ValueError):
        # a plan of an older program has no such file
        return []
    now, zone = site.store.clock(), ZoneInfo(job.site.time_zone)
    ahead = [item for item in rows if item.begins_at >= now][:NEXT_COUNT]
    return [
        (
            f"{item.begins_at.astimezone(zone):%a %d %b %H:%M}",
            item.summary.removeprefix(f"{job.name}: "),
        )
        for item in ahead
    ]
