"""Which backups stay: the last few, one of each of 14 days, one of each of 8 weeks."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime, tzinfo
from typing import Any

LAST = 3
DAYS = 14
WEEKS = 8


def to_keep(times: Iterable[datetime], zone: tzinfo | None = None) -> frozenset[datetime]:
    """Return the times of the backups that stay.

    The last three, the newest of each of the last 14 days that have one and of each of the last 8 weeks that have
    one. Days without a backup do not count, so that a shop that was closed for a winter loses none by coming back.

    Args:
        times: of all backups, with their offsets.
        zone: whose days are meant; this machine's when None.
    """
    newest_first = sorted(set(times), reverse=True)
    kept = set(newest_first[:LAST])
    kept |= _newest_of_each(newest_first, DAYS, lambda time: time.astimezone(zone).date())
    kept |= _newest_of_each(newest_first, WEEKS, lambda time: time.astimezone(zone).isocalendar()[:2])
    return frozenset(kept)


def _newest_of_each(
    newest_first: list[datetime], most: int, span: Callable[[datetime], Any]
) -> set[datetime]:
    newest: dict[Any, datetime] = {}
    for time in newest_first:
        key = span(time)
        if key not in newest and len(newest) < most:
            newest[key] = time
    return set(newest.values())
