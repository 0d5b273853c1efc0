"""Soundings made ready: projected, sorted into used and left out, averaged where there are many."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely import Polygon

from plumeline.job.document import Job
from plumeline.notices import Notice, caution, note
from plumeline.stages.survey.basin import Basin
from plumeline.stages.survey.depths import SURFACE_POINTS
from plumeline.stages.survey.levels import rises_m
from plumeline.stages.survey.plane import LocalPlane
from plumeline.stages.survey.points import Points
from plumeline.stages.survey.result import LeftOut
from plumeline.stages.survey.tracks import is_track, lines_of, thinned_track
from plumeline.stages.survey.weighing import MOST_AVERAGED
from plumeline.units import both

SHORE_TOLERANCE_M = 3.0
PUT_BACK_M = 30.0
"""Farther outside no handheld puts a boat that floats: the outline or the place is wrong. Judgement."""
INTO_WATER_M = 1.0
SAME_PLACE_M = 0.1
NEIGHBOURS = 6
HIGH_RATIO = 4.0
FEET = 3.2808
MOST_LISTED = 50
LEAST_WIDTH_M = 0.3
"""Nobody keeps a boat straighter: less is told as this."""
ONE_LINE_FRACTION = 0.12
"""Soundings within so much of the pond's width across them are one line. Judgement."""
FEW_LINES = 4
ONE_LINE_ERROR_FRACTION = 0.04
"""Of the volume: what a single line of soundings, or a track of two or three lines, leaves unsaid besides. Set on
natural ponds 20 to 59: of 80 surveys by one line the band held 69 without and 72 with it; of 60 tracks of two and three
lines 48 and 55. Held on ponds 0 to 19 (tests/published/test_one_line.py)."""
TRACK_ERROR_FRACTION = 0.01
"""The same of a track of four lines or more: of 40 surveys of those ponds the band held 35 without and 37 with it."""


@dataclass(frozen=True, eq=False)
class Sorted:
    """Soundings that are used, and those that are not."""

    xy: np.ndarray
    depth_m: np.ndarray
    row: np.ndarray
    index: np.ndarray
    """Of each in the job's soundings."""
    left_out: tuple[LeftOut, ...]
    notices: tuple[Notice, ...]

    def kept(
        self, index: np.ndarray, left_out: tuple[LeftOut, ...], notices: tuple[Notice, ...] = ()
    ) -> Sorted:
        """Return those under a mask or at indices, with what was left out besides, and what there is to say of it."""
        return Sorted(
            self.xy[index], self.depth_m[index], self.row[index], self.index[index],
            (*self.left_out, *left_out), (*self.notices, *notices),
        )  # fmt: skip


def inside_shore(job: Job, plane: LocalPlane, polygon: Polygon) -> Sorted:
    """Return the soundings that lie in the water, or within 3 m of it (a position is no better than that)."""
    soundings = job.pond.soundings
    xy = plane.many_to_xy(tuple(sounding.place for sounding in soundings))
    depth = np.array([sounding.depth_m for sounding in soundings], dtype=float)
    depth = depth + np.where(depth > 0, job.pond.transducer_depth_m or 0.0, 0.0)
    # a zero is a sounder that found no bottom, or the water's edge: no level moves it
    depth = np.where(depth > 0, np.maximum(depth - np.nan_to_num(rises_m(soundings)), 0.0), 0.0)
    row = np.array([sounding.row for sounding in soundings], dtype=int)
    within = shapely.contains_xy(polygon, xy[:, 0], xy[:, 1]) if len(xy) else np.zeros(0, dtype=bool)
    off = np.flatnonzero(~within)
    near = np.zeros(len(xy), dtype=bool)
    if len(off):
        shapely.prepare(polygon)
        near[off] = shapely.distance(shapely.points(xy[off]), polygon) <= SHORE_TOLERANCE_M
    xy, back, notices = _put_back(xy, row, within | near, polygon, job.pond.keep_rows)
    keep = within | near | back
    gone = np.flatnonzero(~keep)
    left = tuple(_outside(xy[i], float(depth[i]), int(row[i]), polygon) for i in gone[:MOST_LISTED])
    if len(gone):
        notices += (
            caution(
                "soundings-outside",
                f"{len(gone)} of {len(xy)} soundings lie outside the outline and were left out"
                f"{_rows(row[gone])}. Check the positions, and that longitude and latitude are not swapped.",
            ),
        )
    return Sorted(xy[keep], depth[keep], row[keep], np.flatnonzero(keep), left, notices)


def _outside(xy: np.ndarray, depth_m: float, row: int, polygon: Polygon) -> LeftOut:
    away_m = float(shapely.distance(shapely.Point(xy), polygon))
    can = row > 0 and away_m <= PUT_BACK_M
    words = (
        "put back, it counts in the nearest water"
        if can
        else "too far to count: mend the outline, or its place"
    )
    reason = f"outside the outline by {both(away_m, 'm')}; {words}"
    return LeftOut(row, depth_m, reason, float(xy[0]), float(xy[1]), can)


def _put_back(
    xy: np.ndarray, row: np.ndarray, keep: np.ndarray, polygon: Polygon, keep_rows: tuple[int, ...]
) -> tuple[np.ndarray, np.ndarray, tuple[Notice, ...]]:
    """Return places with those of kept rows moved into the water, which those are (n), and what there is to say."""
    back = ~keep & np.isin(row, [one for one in keep_rows if one > 0])
    wet = polygon.buffer(-INTO_WATER_M)
    wet, xy = (polygon if wet.is_empty else wet), xy.copy()
    said: list[Notice] = []
    for i in np.flatnonzero(back):
        away_m = float(shapely.distance(shapely.Point(xy[i]), polygon))
        if away_m > PUT_BACK_M:
            back[i] = False
            continue
        xy[i] = shapely.get_coordinates(shapely.shortest_line(wet, shapely.Point(xy[i])))[0]
        text = (
            f"The sounding in row {row[i]} lies {both(away_m, 'm')} outside the outline and counts in the nearest "
            "water, for it was put back. If its place is right, the pond reaches farther there: mend the outline."
        )
        said.append(caution("sounding-moved", text))
    return xy, back, tuple(said)


def _rows(rows: np.ndarray) -> str:
    known = [str(int(value)) for value in rows[:6] if value > 0]
    if not known:
        return ""
    return f" (row {', '.join(known)}{', …' if len(rows) > len(known) else ''})"


def without_wild(found: Sorted, basin: Basin, keep_rows: tuple[int, ...] = ()) -> Sorted:
    """Return the soundings without those that stand far above all their neighbours.

    Each depth is set against what its six nearest neighbours say, the nearness to the shore taken out by the
    square root of the cover. One more than four times their median, and over twice the greatest of them, is
    left out; one under a quarter, in water that should be over 1.5 m deep, is said and kept (it may be a
    mound).
    """
    count = len(found.depth_m)
    if count < NEIGHBOURS + 2:
        return found
    cover = np.sqrt(np.clip(basin.covers_at(found.xy)[0], 0.02, 1.0))
    relative = found.depth_m / cover
    _, nearest = cKDTree(found.xy).query(found.xy, k=NEIGHBOURS + 1)
    others = relative[nearest[:, 1:]]
    middle = np.median(others, axis=1)
    expected = middle * cover
    high = (relative > HIGH_RATIO * middle) & (relative > 2 * others.max(axis=1))
    high &= found.depth_m > expected + 1.0
    high &= ~np.isin(found.row, [row for row in keep_rows if row > 0])
    low = (relative < middle / HIGH_RATIO) & (relative < others.min(axis=1) / 2) & (expected > 1.5)
    notices: tuple[Notice, ...] = ()
    left = []
    for i in np.flatnonzero(high)[:MOST_LISTED]:
        reason = f"{both(found.depth_m[i], 'm')} where its neighbours say about {both(expected[i], 'm')}"
        x_m, y_m = (float(value) for value in found.xy[i])
        left.append(
            LeftOut(int(found.row[i]), float(found.depth_m[i]), reason, x_m, y_m, bool(found.row[i] > 0))
        )
        place = f"The sounding in row {found.row[i]}" if found.row[i] else "A sounding"
        notices += (caution("sounding-wild", f"{place} reads {reason}; it was left out. Sound there again."),)
    for i in np.flatnonzero(low)[:MOST_LISTED]:
        place = f"The sounding in row {found.row[i]}" if found.row[i] else "A sounding"
        text = (
            f"{place} reads {both(found.depth_m[i], 'm')} where its neighbours say "
            f"about {both(expected[i], 'm')}; kept."
        )
        notices += (note("sounding-low", text + " It may be a mound, weeds, or a slip of the pen."),)
    keep = ~high
    return found.kept(keep, tuple(left), notices)


def thinned(found: Sorted) -> Points:
    """Return the soundings as points: those of one place averaged, above 1,200 the means of cells.

    Those of a track are averaged along its lines.
    """
    if is_track(found.xy):
        xy, depth_m, count, line = thinned_track(found.xy, found.depth_m, lines_of(found.xy))
        return Points(xy, depth_m, np.minimum(count, MOST_AVERAGED), line)
    side = SAME_PLACE_M
    while True:
        _, label = np.unique(np.floor(found.xy / side).astype(np.int64), axis=0, return_inverse=True)
        label = label.ravel()
        count = np.bincount(label)
        if len(count) <= SURFACE_POINTS:
            break
        side *= max(1.05, min(2.0, float(np.sqrt(len(count) / SURFACE_POINTS))))
    xy = np.column_stack([np.bincount(label, found.xy[:, axis]) for axis in (0, 1)]) / count[:, None]
    return Points(xy, np.bincount(label, found.depth_m) / count, np.minimum(count, MOST_AVERAGED))


def line_notices(xy: np.ndarray, polygon: Polygon) -> tuple[Notice, ...]:
    """Return that all soundings lie along one line, where they do: to its sides nobody knows the depth.

    Args:
        xy: places of the soundings used, (n, 2).
        polygon: the water.
    """
    centred = xy - xy.mean(axis=0)
    across = np.linalg.svd(centred, full_matrices=False)[2][1]
    width_m = float(np.ptp(centred @ across))
    shore_m = float(np.ptp(np.asarray(polygon.exterior.coords) @ across))
    if width_m >= ONE_LINE_FRACTION * shore_m:
        return ()
    within = both(max(width_m, LEAST_WIDTH_M), "m")
    text = (
        f"All {len(xy)} soundings lie along one line, within {within} of {both(shore_m, 'm')} across "
        "it: the depths to its sides are taken from the shore's shape, and the band of the volume is made wider for "
        "that (docs/survey.md). Sound a line across."
    )
    return (caution("soundings-one-line", text),)


def unsaid_fraction(points: Points, *, one_line: bool) -> float:
    """Return the standard error, as a part of the volume, that lines leave besides what their soundings tell.

    Args:
        points: soundings.
        one_line: whether they lie along one line alone.
    """
    if points.line_index is None:
        return ONE_LINE_ERROR_FRACTION if one_line else 0.0
    few = len(np.unique(points.line_index[points.sounded])) < FEW_LINES
    return ONE_LINE_ERROR_FRACTION if few or one_line else TRACK_ERROR_FRACTION


def depth_notices(job: Job, deepest_m: float, area_m2: float) -> tuple[Notice, ...]:
    """Return what the greatest sounding says against the job's greatest depth and the pond's size."""
    given = job.pond.max_depth_m
    notices: list[Notice] = []
    ratio = deepest_m / given if given else 1.0
    if given and 0.88 < ratio / FEET < 1.12:
        notices.append(
            caution(
                "soundings-in-feet",
                f"The deepest sounding is {both(deepest_m, 'm')} and the job's greatest depth "
                f"{both(given, 'm')}, a ratio of "
                f"{ratio:.2f}: the soundings look like feet under a header in metres (write depth_ft).",
            )
        )
    elif given and 0.88 < ratio * FEET < 1.12:
        notices.append(
            caution(
                "max-depth-in-feet",
                f"The job's greatest depth {both(given, 'm')} is {1 / ratio:.2f} times the deepest sounding "
                f"{both(deepest_m, 'm')}: it looks like feet written as metres.",
            )
        )
    elif given and not 0.85 < ratio < 1.15:
        notices.append(
            caution(
                "max-depth-differs",
                f"The deepest sounding is {both(deepest_m, 'm')}, the job says {both(given, 'm')}. The "
                "soundings decide here; "
                "look for a deep place that was not sounded, or a change of level.",
            )
        )
    steep = deepest_m / float(np.sqrt(area_m2))
    if steep > 0.12 and not any(item.code == "soundings-in-feet" for item in notices):
        notices.append(
            caution(
                "depth-suspicious",
                f"A depth of {both(deepest_m, 'm')} in {both(area_m2, 'm2')} of water is {steep:.2f} of the "
                "pond's width, "
                "rare outside quarries: are these feet labelled metres?",
            )
        )
    return tuple(notices)
