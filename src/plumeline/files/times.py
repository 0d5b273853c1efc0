"""Times of the files: ISO 8601, in the time zone of the site where they carry no offset."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo

from plumeline.errors import InputError

REMEDY = "Write ISO 8601: 2026-08-11T10:30, or with an offset 2026-08-11T10:30-04:00."


def known_zone(name: str) -> ZoneInfo | None:
    """Return the time zone of that name, or None when the time-zone data has none."""
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return None


@dataclass
class Clock:
    """Reads stamps; each becomes a time with the fixed offset that held at that moment at the site.

    A fixed offset, for arithmetic with a zone's own clock goes wrong over a change of summer time.
    """

    zone: tzinfo
    ambiguous: list[str] = field(default_factory=list)
    """Stamps that came twice in the night when the clocks went back; taken as the first of the two."""

    def read(self, text: str, after: datetime | None = None) -> datetime:
        """Return the time that ``text`` says; where an hour came twice, the one after ``after``.

        Raises:
            InputError: when it is no ISO 8601 time, has no time of day, or an hour that was skipped.
        """
        try:
            stamp = datetime.fromisoformat(text.strip())
        except ValueError:
            raise InputError(f"{text!r} is not a time.", remedy=REMEDY) from None
        if len(text.strip()) <= 10:
            raise InputError(f"{text!r} has no time of day.", remedy=REMEDY)
        if stamp.tzinfo is not None:
            return _fixed(stamp, stamp.tzinfo)
        return self._local(stamp, text, after)

    def _local(self, stamp: datetime, text: str, after: datetime | None) -> datetime:
        first = stamp.replace(tzinfo=self.zone, fold=0)
        back = first.astimezone(UTC).astimezone(self.zone)
        if back.replace(tzinfo=None, fold=0) != stamp:
            raise InputError(
                f"{text!r} did not happen: the clocks were put forward over it.",
                remedy="Give the time with its offset, or the hour after.",
            )
        second = stamp.replace(tzinfo=self.zone, fold=1)
        if second.utcoffset() != first.utcoffset():
            if after is not None and first <= after:
                return _fixed(second, self.zone)
            self.ambiguous.append(text)
        return _fixed(first, self.zone)


def _fixed(stamp: datetime, zone: tzinfo) -> datetime:
    offset = stamp.replace(tzinfo=zone).utcoffset() or timedelta(0)
    return stamp.replace(tzinfo=timezone(offset), fold=0)
