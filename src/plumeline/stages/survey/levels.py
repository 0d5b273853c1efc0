"""Soundings of days with other water, brought to one level by the staff gauge.

A depth is read from the water of its day. With the water 0.4 m higher, the same bottom reads 0.4 m more: each sounding
is put to one level, that of most of them. A row without a reading takes that of its day; where there is none either, it
stays as it was read, and what that may cost is said.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date

import numpy as np

from plumeline.job.document import Job, Sounding
from plumeline.notices import Notice, caution, note
from plumeline.stages.survey.result import LevelDay
from plumeline.units import both

SAME_LEVEL_M = 0.01
"""Readings of one staff closer than this are one level: it is read no better."""
USUAL_CHANGE_M = 0.1524
"""What a pond's level may well do between two days of work, 6 in: common practice, no published source."""


def reference_m(soundings: Sequence[Sounding]) -> float | None:
    """Return the level of most soundings, of two alike the first in the file; None where nobody read one."""
    read = Counter(item.level_m for item in soundings if item.level_m is not None)
    return max(read, key=lambda level: read[level]) if read else None


def rises_m(soundings: Sequence[Sounding]) -> np.ndarray:
    """Return how far the water stood over the one level at each sounding, (n); NaN where nobody can tell."""
    base = reference_m(soundings)
    found = np.full(len(soundings), np.nan)
    if base is None:
        return found
    by_day = _by_day(soundings)
    for n, item in enumerate(soundings):
        level = item.level_m if item.level_m is not None else by_day.get(item.day) if item.day else None
        if level is not None:
            found[n] = level - base
    return found


def _by_day(soundings: Sequence[Sounding]) -> dict[date | None, float]:
    """Return the mean of each day's readings."""
    read: dict[date | None, list[float]] = {}
    for item in soundings:
        if item.day is not None and item.level_m is not None:
            read.setdefault(item.day, []).append(item.level_m)
    return {day: float(np.mean(values)) for day, values in read.items()}


def level_days(soundings: Sequence[Sounding]) -> tuple[LevelDay, ...]:
    """Return what was taken off by day and level, in the order of the file; empty where nothing tells of levels.

    Args:
        soundings: of the job.
    """
    if reference_m(soundings) is None and len({item.day for item in soundings} - {None}) < 2:
        return ()
    rise = rises_m(soundings)
    found: dict[tuple[date | None, float | None], int] = {}
    for item, up in zip(soundings, rise, strict=True):
        key = (item.day, None if np.isnan(up) else round(float(up), 4))
        found[key] = found.get(key, 0) + 1
    return tuple(LevelDay(day, count, up) for (day, up), count in found.items())


def level_notices(job: Job, days: tuple[LevelDay, ...]) -> tuple[Notice, ...]:
    """Return what was brought to one level, and which days nobody read a staff on.

    Args:
        job: with its soundings.
        days: those by day and level.
    """
    soundings = job.pond.soundings
    if not days:
        return ()
    found: list[Notice] = []
    known = [item.rise_m for item in days if item.rise_m is not None]
    if known and max(known) - min(known) > SAME_LEVEL_M:
        moved = sum(
            item.count for item in days if item.rise_m is not None and abs(item.rise_m) > SAME_LEVEL_M
        )
        text = (
            f"{moved} of {len(soundings)} soundings were taken at other levels on the staff gauge, from "
            f"{both(min(known), 'm')} to {both(max(known), 'm')} over that of most; they were brought to that one."
        )
        found.append(note("soundings-leveled", text))
    without = sum(item.count for item in days if item.rise_m is None)
    if without:
        span_m = max(max(known) - min(known), USUAL_CHANGE_M) if known else USUAL_CHANGE_M
        found.append(_without(without, len(soundings), span_m, bool(known)))
    return tuple(found)


def _without(count: int, total: int, span_m: float, some_known: bool) -> Notice:
    if some_known:
        why = f"{count} of {total} soundings have no reading of the staff gauge, themselves or by their day"
        size = (
            f"if the water stood {both(span_m, 'm')} elsewhere, as far as the days that were read lie apart"
        )
    else:
        why = f"The {total} soundings are of several days, and nobody read a staff gauge"
        size = f"if the water moved {both(span_m, 'm')} between them (common practice, no published source)"
    part_m = span_m * count / total if some_known else span_m / 2
    text = (
        f"{why}: they stay as read. {size[0].upper()}{size[1:]}, the mean depth is off by about {both(part_m, 'm')}, "
        "which the band does not hold. Give level_ft in soundings.csv for those days."
    )
    return caution("soundings-level-unknown", text)
