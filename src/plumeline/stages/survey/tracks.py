"""Soundings taken under way: told from single ones, cut into lines, thinned along them.

A sonar log is not a thousand independent soundings. Its position drifts, the boat rocks, the beam catches weed:
the errors of neighbours on one line are alike. Two things follow. The lines, not the pings, are what is left out
when the surface is tried on water that it has not seen; and the readings of a line share most of their error.
"""

from __future__ import annotations

import numpy as np
from shapely import LineString

FEWEST = 80
LONGEST_STEP_M = 4.0
TRACK_POINTS = 450
"""Most points of a track that the surface is drawn through."""
STRAIGHT_M = 3.0
"""A line is straight to this; it ends where the boat turns."""
GAP_STEPS = 8.0
SHORTEST_LINE = 8
"""Pings; shorter pieces, as in a turn, go with the line before them."""


def steps_m(xy: np.ndarray) -> np.ndarray:
    """Return the distances between soundings that follow each other, shape (n − 1)."""
    return np.asarray(np.hypot(*np.diff(xy, axis=0).T))


def is_track(xy: np.ndarray) -> bool:
    """Return whether soundings of shape (n, 2), in the order of the file, were taken under way.

    Nobody lowers a weighted line eighty times at four metres or less; where somebody did, to count the errors of
    neighbours as alike is the careful side.
    """
    return len(xy) >= FEWEST and float(np.median(steps_m(xy))) <= LONGEST_STEP_M


def lines_of(xy: np.ndarray) -> np.ndarray:
    """Return the number of the line that each sounding of a track is of, shape (n).

    A line ends at a gap of more than eight usual steps (6 m at least), and where the track, straightened to 3 m,
    turns.
    """
    step = steps_m(xy)
    longest = max(GAP_STEPS * float(np.median(step)), 2 * STRAIGHT_M)
    ends = np.append(np.flatnonzero(step > longest) + 1, len(xy))
    cuts: list[int] = []
    start = 0
    for end in ends:
        cuts += [start + int(i) for i in _turns(xy[start:end])]
        start = int(end)
        cuts.append(start)
    line = np.zeros(len(xy), dtype=int)
    first, number = 0, 0
    for cut in cuts:
        long = cut - first >= SHORTEST_LINE or number == 0
        number += int(long)
        line[first:cut] = number - 1
        first = cut
    return line


def _turns(xy: np.ndarray) -> np.ndarray:
    """Return where an unbroken track turns, as indices."""
    if len(xy) < 2 * SHORTEST_LINE:
        return np.zeros(0, dtype=int)
    corners = np.asarray(LineString(xy).simplify(STRAIGHT_M, preserve_topology=False).coords)[1:-1]
    found, at = [], 0
    for corner in corners:
        at += int(np.argmin(((xy[at:] - corner) ** 2).sum(axis=1)))
        found.append(at)
    return np.array(found, dtype=int)


def thinned_track(
    xy: np.ndarray, depth_m: np.ndarray, line_index: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return places (m, 2), depths (m), counts (m) and lines (m): means of pieces of each line, 450 at most.

    The pieces are of one length for all lines; their middle is kept where a line ends within one.
    """
    step = np.append(0.0, steps_m(xy))
    step[np.append(True, np.diff(line_index) != 0)] = 0.0
    along = np.cumsum(step)
    length = max(float(along[-1]), 1e-9)
    piece_m = max(length / (0.9 * TRACK_POINTS), 1e-9)
    while True:
        _, label = np.unique(
            np.column_stack([line_index, np.floor(along / piece_m).astype(int)]), axis=0, return_inverse=True
        )
        label = label.ravel()
        count = np.bincount(label)
        if len(count) <= TRACK_POINTS:
            break
        piece_m *= 1.1
    middle = np.column_stack([np.bincount(label, xy[:, axis]) for axis in (0, 1)]) / count[:, None]
    lines = np.zeros(len(count), dtype=int)
    lines[label] = line_index
    return middle, np.bincount(label, depth_m) / count, count, lines
