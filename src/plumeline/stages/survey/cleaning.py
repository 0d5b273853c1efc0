"""Readings of a sonar track that are not the bottom: zeros, spikes, and runs in which the bottom was lost.

Each reading is held against the middle of those before and after it on its line. What is left out is listed with
its row and reason; a row named in `pond.keep_rows` stays, whatever it looks like.
"""

from __future__ import annotations

import numpy as np
from scipy.ndimage import median_filter

from plumeline.notices import Notice, caution
from plumeline.stages.survey.result import LeftOut
from plumeline.stages.survey.soundings import Sorted
from plumeline.stages.survey.tracks import is_track, lines_of
from plumeline.units import both

WINDOW = 25
"""Readings about one, itself among them: more than twice a run of lost bottom."""
ZERO_M = 0.05
SHALLOW_M = 0.4
"""Where the neighbours say less than this, a zero may be the shore."""
SPIKE_M = 0.5
SPIKE_SCATTERS = 6.0
SAME_RUN = 4
NEAR = 7
"""Readings beside one that must tell it for a spike too: the foot of a bank is far from the middle of 25."""
STUCK_M = 0.25
"""Jump at an end of a run of equal readings: a flat bottom has none, but for the bank beyond it."""
STUCK_STEPS = 2.0
"""A bank goes on beyond its foot; where the bottom is found again, the next step is no half of the jump."""


def without_faults(found: Sorted, keep_rows: tuple[int, ...]) -> Sorted:
    """Return a track without the readings that are not the bottom; single soundings as they are.

    Args:
        found: soundings in the water, in the order of the file.
        keep_rows: rows that stay.
    """
    if not is_track(found.xy):
        return found
    line = lines_of(found.xy)
    of_line = [found.depth_m[line == n] for n in np.unique(line)]
    middle = np.concatenate([_middle(depth, WINDOW) for depth in of_line])
    near = np.concatenate([_middle(depth, NEAR) for depth in of_line])
    reasons = _reasons(found.depth_m, middle, near, line)
    reasons[np.isin(found.row, [row for row in keep_rows if row > 0])] = ""
    gone = np.flatnonzero(reasons != "")
    if not len(gone):
        return found
    left = tuple(
        LeftOut(
            int(found.row[i]),
            float(found.depth_m[i]),
            f"{reasons[i]}, where its neighbours say about {both(middle[i], 'm')}",
            float(found.xy[i, 0]),
            float(found.xy[i, 1]),
            bool(found.row[i] > 0),
        )
        for i in gone
    )
    keep = reasons == ""
    return found.kept(keep, left, (_said(reasons, len(keep)),))


def _said(reasons: np.ndarray, count: int) -> Notice:
    names, counts = np.unique(reasons[reasons != ""], return_counts=True)
    parts = ", ".join(f"{name}: {number}" for name, number in zip(names, counts, strict=True))
    text = (
        f"{int(counts.sum())} of {count} readings of the sonar are not the bottom and were left out ({parts}). "
        "To put one back, name its row in pond.keep_rows."
    )
    return caution("sonar-cleaned", text)


def _middle(depth_m: np.ndarray, window_count: int) -> np.ndarray:
    """Return the running middle of so many readings of one line that are not zero, (n)."""
    sound = depth_m > ZERO_M
    if sound.sum() < 3:
        return depth_m
    at = np.arange(len(depth_m))
    filled = np.interp(at, at[sound], depth_m[sound])
    return np.asarray(median_filter(filled, size=window_count, mode="nearest"))


def _reasons(
    depth_m: np.ndarray, middle_m: np.ndarray, near_m: np.ndarray, line_index: np.ndarray
) -> np.ndarray:
    """Return why each reading is left out, (n), empty where it is not."""
    reasons = np.full(len(depth_m), "", dtype="U16")
    off = np.abs(depth_m - middle_m)
    zero = (depth_m <= ZERO_M) & (middle_m > SHALLOW_M)
    scatter = 1.4826 * median_filter(off, size=2 * WINDOW + 1, mode="nearest")
    limit = np.maximum(np.maximum(SPIKE_M, SPIKE_SCATTERS * scatter), 0.2 * middle_m)
    spike = (off > limit) & (np.abs(depth_m - near_m) > limit)
    reasons[spike] = "spike"
    change = np.flatnonzero((np.diff(depth_m) != 0) | (np.diff(line_index) != 0)) + 1
    starts, ends = np.append(0, change), np.append(change, len(depth_m))
    for a, b in zip(starts, ends, strict=True):
        if b - a >= SAME_RUN and not zero[a] and _stuck(depth_m, line_index, int(a), int(b)):
            reasons[a:b] = "bottom lost"
    reasons[zero] = "zero"
    return reasons


def _stuck(depth_m: np.ndarray, line_index: np.ndarray, start: int, stop: int) -> bool:
    """Return whether a run of equal readings ends in a jump on its line."""
    for other, next_one in ((start - 1, start - 2), (stop, stop + 1)):
        if not (min(other, next_one) >= 0 and max(other, next_one) < len(depth_m)):
            continue
        if not line_index[start] == line_index[other] == line_index[next_one] or depth_m[other] <= ZERO_M:
            continue
        step = abs(float(depth_m[next_one] - depth_m[other]))
        if abs(float(depth_m[other] - depth_m[start])) > max(STUCK_M, STUCK_STEPS * step):
            return True
    return False
