"""A pond and its revisions as they are read, and the rows that they are read from."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from plumeline.job.document import Job
from plumeline.notices import Notice, Severity


@dataclass(frozen=True)
class Revision:
    """One state of a pond.

    Attributes:
        pond_id: the pond.
        number: from 1 up.
        saved_at: when it was saved, by the server's clock.
        author: who saved it.
        reason: why.
        job: what is known of the pond.
        notices: what reading its folder gave to think about.
        echoes: how its values with units were understood.
    """

    pond_id: str
    number: int
    saved_at: datetime
    author: str
    reason: str
    job: Job
    notices: tuple[Notice, ...]
    echoes: tuple[str, ...]


@dataclass(frozen=True)
class RevisionRow:
    """A revision in the list of a pond's."""

    number: int
    saved_at: datetime
    author: str
    reason: str


SITE = ("latitude_deg", "longitude_deg", "time_zone")
"""What the list of ponds says of a site."""


@dataclass(frozen=True)
class PondRow:
    """A pond in the list of all.

    Attributes:
        id: its id.
        name: its name.
        number: its latest revision.
        saved_at: when that was saved.
        last_reading_at: time of its latest reading; None without one.
        warnings: what stands against it, gravest first; None where nobody has looked yet.
        latitude_deg, longitude_deg: where it lies.
        time_zone: the name of its clock.
    """

    id: str
    name: str
    number: int
    saved_at: datetime
    last_reading_at: datetime | None
    warnings: tuple[Notice, ...] | None
    latitude_deg: float
    longitude_deg: float
    time_zone: str


def pond_row(row: Any) -> PondRow:
    """Return a pond of the list from its row."""
    read_at = None if row.last_reading_at is None else time_of(row.last_reading_at)
    warnings = None if row.warnings is None else tuple(notice_of(item) for item in json.loads(row.warnings))
    place = float(row.latitude_deg), float(row.longitude_deg), str(row.time_zone)
    return PondRow(row.id, row.name, row.number, time_of(row.saved_at), read_at, warnings, *place)


def notice_row(notice: Notice) -> dict[str, str]:
    """Return a notice as it is kept."""
    return {key: str(value) for key, value in asdict(notice).items()}


def notice_of(row: Mapping[str, str]) -> Notice:
    """Return a notice that was kept."""
    return Notice(row["code"], Severity(row["severity"]), row["text"])


def time_of(text: str) -> datetime:
    """Return a time that was kept."""
    return datetime.fromisoformat(text)
