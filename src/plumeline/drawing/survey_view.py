"""The pond from above as sounded: what was read, what was left out, and where to sound next."""

from __future__ import annotations

import numpy as np
from shapely import LineString

from plumeline.drawing.in_tables import placed_twins
from plumeline.drawing.labels import Box, Room
from plumeline.drawing.plan_view import (
    PAGE_SHEET,
    PHONE_SHEET,
    Frame,
    Sheet,
    contour_labels,
    frame_about,
    ground_of,
    key_of,
)
from plumeline.drawing.scene import XY, Area, Disc, Line, Linked, Scene, Shape, Text
from plumeline.job.document import Job
from plumeline.palette import DEEP, INK, PAPER
from plumeline.stages.survey import Survey
from plumeline.stages.survey.edge import Stretch, edge_of
from plumeline.stages.survey.outline import outline_of
from plumeline.stages.survey.result import LeftOut
from plumeline.twins import Twin
from plumeline.units import show
from plumeline.units.showing import System

MOST_DOTS = 600
"""Soundings drawn; a log of many thousands would be one black line."""
CROSS_MM = 1.1
WALL_MM = 1.6
SQUARE = ((-3.2, -3.2), (3.2, -3.2), (3.2, 3.2), (-3.2, 3.2))
"""About a cross, unseen, for a fingertip [mm]."""
OUTSIDE_FRACTION = 0.25
"""A sounding left out farther from the shore than this part of the pond's span is listed and not drawn."""


def sounded_scene(survey: Survey, job: Job, system: System = "us", paper: Sheet = PAGE_SHEET) -> Scene:
    """Return depths with soundings as dots, those left out as crosses, walls as bars, and the next places numbered.

    Args:
        survey: the basin.
        job: with its soundings.
        system: units of the labels.
        paper: what it is drawn on.
    """
    gone = drawn_crosses(survey)
    frame = _frame(survey, gone, paper)
    levels, room, shapes = ground_of(survey, frame, system, paper)
    shapes += [_dot(frame.at(xy)) for xy in _used(survey, job)]
    for item in gone:
        shapes.append(_cross(item, frame))
        _take(room, frame.at((item.x_m, item.y_m)))
    walls = _walls(survey, job)
    ways = [[frame.at((x_m, y_m)) for x_m, y_m in wall.line.coords] for wall in walls]
    shapes += [Line(tuple(way), DEEP, WALL_MM) for way in ways]
    shapes += _next(survey, frame, room, system)
    for way, wall in zip(ways, walls, strict=True):
        middle = LineString(way).interpolate(0.5, normalized=True)
        shapes.append(room.place((middle.x, middle.y), f"wall, {show(wall.depth_m, 'm', system)}", 2.4))
    shapes += contour_labels(survey, frame, levels, room, system)
    shapes += key_of(levels, survey.max_depth_m, frame, system, diffuser=False, paper=paper)
    shapes += _marks_key(len(levels), paper)
    words = (
        f"The pond from above, north up: {survey.sounding_count} soundings used, {len(survey.left_out)} left out, "
        f"{len(survey.next_soundings)} places to sound next."
    )
    twins = _twins(survey, walls, system)
    return Scene("soundings", paper.width_mm, paper.height_mm, words, tuple(shapes), twins)


def _walls(survey: Survey, job: Job) -> tuple[Stretch, ...]:
    """Return the walls on stretches of the shore, as the survey takes them; a fall of the level leaves them there."""
    if survey.outline_assumed or not job.pond.walls:
        return ()
    return edge_of(job.pond, outline_of(job, survey.plane).polygon, survey.plane).walls


def drawn_crosses(survey: Survey) -> tuple[LeftOut, ...]:
    """Return the soundings left out that lie in the pond or near it; one on another continent is only listed."""
    xy = np.array(survey.outline_xy[0])
    low, high = xy.min(axis=0), xy.max(axis=0)
    room = OUTSIDE_FRACTION * float((high - low).max())
    return tuple(
        item
        for item in survey.left_out
        if low[0] - room <= item.x_m <= high[0] + room and low[1] - room <= item.y_m <= high[1] + room
    )


def _frame(survey: Survey, gone: tuple[LeftOut, ...], paper: Sheet) -> Frame:
    return frame_about(np.array([*survey.outline_xy[0], *((item.x_m, item.y_m) for item in gone)]), paper)


def _used(survey: Survey, job: Job) -> list[XY]:
    """Return the places of soundings used, at most some six hundred of them, evenly out of the file."""
    xy = survey.plane.many_to_xy(tuple(item.place for item in job.pond.soundings))
    out = {(round(item.x_m, 3), round(item.y_m, 3)) for item in survey.left_out}
    kept = [(float(x), float(y)) for x, y in xy if (round(float(x), 3), round(float(y), 3)) not in out]
    every = np.unique(np.linspace(0, len(kept) - 1, min(MOST_DOTS, len(kept))).astype(int)) if kept else ()
    return [kept[int(at)] for at in every]


def _dot(at: XY) -> Disc:
    return Disc(at[0], at[1], 0.55, INK, PAPER, 0.2)


def _strokes(at: XY) -> tuple[Shape, ...]:
    x, y = at
    ways = [((x - CROSS_MM, y + s * CROSS_MM), (x + CROSS_MM, y - s * CROSS_MM)) for s in (-1, 1)]
    return (*(Line(way, PAPER, 1.3) for way in ways), *(Line(way, INK, 0.55) for way in ways))


def _cross(item: LeftOut, frame: Frame) -> Shape:
    """Return a cross; one that can be put back leads to its line in the list, and is as large as a fingertip."""
    at = frame.at((item.x_m, item.y_m))
    if not item.puttable:
        return Linked("", "", _strokes(at))
    finger = Area((tuple((at[0] + dx, at[1] + dy) for dx, dy in SQUARE),), PAPER, opacity_fraction=0.0)
    return Linked(f"#left-out-{item.row}", f"row {item.row}: left out", (finger, *_strokes(at)))


def _next(survey: Survey, frame: Frame, room: Room, system: System) -> list[Shape]:
    found: list[Shape] = []
    places = [frame.at((item.x_m, item.y_m)) for item in survey.next_soundings]
    for at in places:
        _take(room, at)
    for n, ((x, y), item) in enumerate(zip(places, survey.next_soundings, strict=True), start=1):
        found += [_diamond((x, y)), Text(x, y + 1.0, str(n), 2.8, "middle", bold=True)]
        found.append(room.place((x, y), f"about {show(item.depth_m, 'm', system)}", 2.4, gap_mm=2.8))
    return found


def _diamond(at: XY) -> Area:
    x, y = at
    return Area((((x, y - 2.8), (x + 2.8, y), (x, y + 2.8), (x - 2.8, y)),), PAPER, DEEP, 0.5)


def _take(room: Room, at: XY) -> None:
    room.taken.append(Box(at[0] - 2.8, at[1] - 2.8, at[0] + 2.8, at[1] + 2.8))


def _marks_key(levels_count: int, paper: Sheet) -> list[Shape]:
    """Return the marks, under the depths; on a phone beside them, where under them is no room."""
    left, y = paper.key_left_mm + 2.2, paper.key_top_mm + 2.5 + 5.0 * levels_count + 5.0
    if paper is PHONE_SHEET:
        left, y = paper.scale_left_mm, paper.key_top_mm + 4.0
    return [
        _dot((left, y)), Text(left + 4.0, y + 1.0, "sounding", 2.8),
        *_strokes((left, y + 6.0)), Text(left + 4.0, y + 7.0, "left out", 2.8),
        _diamond((left, y + 13.0)), Text(left + 4.0, y + 14.0, "sound here next", 2.8),
    ]  # fmt: skip


def _twins(survey: Survey, walls: tuple[Stretch, ...], system: System) -> tuple[Twin, ...]:
    rows = [
        (f"sound next, {n}", item.x_m, item.y_m, item.depth_m)
        for n, item in enumerate(survey.next_soundings, start=1)
    ]
    rows += [(f"left out, row {item.row}", item.x_m, item.y_m, item.depth_m) for item in survey.left_out]
    for n, wall in enumerate(walls, start=1):
        ends = (("start", wall.line.coords[0]), ("end", wall.line.coords[-1]))
        rows += [(f"wall {n}, {name}", x_m, y_m, wall.depth_m) for name, (x_m, y_m) in ends]
    title = "Sound next, and left out" if not walls else "Sound next, left out, and walls"
    return placed_twins(title, "what", "depth", rows, system)
