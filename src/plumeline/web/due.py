"""What is due next at a pond, from the calendar of its start-up plan; kept with the run, read for the list of ponds."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from plumeline.web.site import Site

if TYPE_CHECKING:
    from plumeline.stages.plan import Plan

DUE = "due.json"


@dataclass(frozen=True)
class Due:
    """One thing to do at a pond: start, stop, reading or visit, when, and in one line."""

    kind: str
    begins_at: datetime
    summary: str


def due_of(plan: Plan) -> bytes:
    """Return the file of what a plan asks for, in order of time."""
    from plumeline.files.calendar import calendar_events

    events = calendar_events(plan.job, plan.startup)
    rows = [[event.kind, event.begin.isoformat(), event.summary] for event in events]
    return json.dumps(rows, ensure_ascii=False).encode()


def read_due(data: bytes) -> list[Due]:
    """Return what such a file says."""
    return [
        Due(kind, datetime.fromisoformat(begins_at), summary) for kind, begins_at, summary in json.loads(data)
    ]


def on_its_clock(due: Due | None, zone: str) -> Due | None:
    """Return what is due at the hour of the pond's own clock."""
    return None if due is None else replace(due, begins_at=due.begins_at.astimezone(ZoneInfo(zone)))


def next_due(site: Site, pond_ids: Sequence[str]) -> dict[str, Due]:
    """Return the first thing still to come of each pond whose last plan has one."""
    now = site.store.clock()
    found: dict[str, Due] = {}
    for pond_id, data in site.store.runs.of_many(pond_ids, DUE).items():
        ahead = next((item for item in read_due(data) if item.begins_at >= now), None)
        if ahead is not None:
            found[pond_id] = ahead
    return found
