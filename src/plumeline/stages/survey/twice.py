"""Soundings that are in the file twice: they would count as two readings, and make the band too narrow.

Single ones: the same depth within a handheld's repeatability of the same place, and no two different times. Of a
track: the very same place and depth once more, not right after (a boat that lies still reads the same): a file that
was put in twice. Each is listed with the row that it repeats; `pond.keep_rows` puts it back.
"""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from plumeline.job.document import Job
from plumeline.notices import Notice, caution
from plumeline.stages.survey.result import LeftOut
from plumeline.stages.survey.soundings import Sorted
from plumeline.stages.survey.tracks import is_track

SAME_SPOT_M = 1.0
"""How near a handheld puts the same spot again on the same day. Judgement."""
SAME_DEPTH_M = 0.005
SAME_PING_M = 0.02
"""A file keeps places to a centimetre or two; a second pass does not come so near."""
MOST_SINGLE = 2000
"""More soundings than that are a log, whatever their order: nobody lowers a line so often, and places lie so dense
that near ones of one depth are no twins."""
KEY_FACTORS = np.array([1, 2_654_435_761, 805_459_861_337])
FEWEST_BETWEEN = 25
"""Rows between a track's reading and its twin: fewer, and the boat lay still."""


def without_twins(found: Sorted, job: Job) -> Sorted:
    """Return the soundings without those that are there already.

    Args:
        found: soundings in the water, in the order of the file.
        job: its rows to keep, and the days of its soundings.
    """
    if len(found.depth_m) < 2:
        return found
    logged = is_track(found.xy) or len(found.depth_m) > MOST_SINGLE
    first = _track_twins(found) if logged else _single_twins(found, job)
    first[np.isin(found.row, [row for row in job.pond.keep_rows if row > 0])] = -1
    gone = np.flatnonzero(first >= 0)
    if not len(gone):
        return found
    left = tuple(
        LeftOut(
            int(found.row[i]), float(found.depth_m[i]), _reason(int(found.row[first[i]])),
            float(found.xy[i, 0]), float(found.xy[i, 1]), bool(found.row[i] > 0),
        )
        for i in gone
    )  # fmt: skip
    return found.kept(first < 0, left, (_said(len(gone), len(first)),))


def _reason(row: int) -> str:
    return f"the same place and depth as row {row}" if row > 0 else "the same place and depth as one before"


def _said(count: int, total: int) -> Notice:
    text = (
        f"{count} of {total} soundings stand in the file twice (same place, same depth) and count once. To count one "
        "as a reading of its own, put it back."
    )
    return caution("soundings-twice", text)


def _single_twins(found: Sorted, job: Job) -> np.ndarray:
    """Return the index of the sounding that each repeats, (n); −1 where it repeats none."""
    first = np.full(len(found.depth_m), -1)
    days = [job.pond.soundings[i].day for i in found.index]
    for low, high in sorted(cKDTree(found.xy).query_pairs(SAME_SPOT_M)):
        one, two = days[low], days[high]
        if first[low] >= 0 or first[high] >= 0 or (one is not None and two is not None and one != two):
            continue
        if abs(float(found.depth_m[high] - found.depth_m[low])) <= SAME_DEPTH_M:
            first[high] = low
    return first


def _track_twins(found: Sorted) -> np.ndarray:
    """Return the index of the reading that each repeats, (n); −1 where it repeats none."""
    cell = np.column_stack(
        [np.round(found.xy / SAME_PING_M), np.round(found.depth_m / SAME_DEPTH_M)[:, None]]
    ).astype(np.int64)
    # one number for three, so that 200,000 readings are sorted at once; what meets by chance is looked at again
    key = cell @ KEY_FACTORS
    _, start, label = np.unique(key, return_index=True, return_inverse=True)
    before = start[label.ravel()]
    at = np.arange(len(before))
    twin = (at - before > FEWEST_BETWEEN) & (cell[before] == cell).all(axis=1)
    return np.where(twin, before, -1)
