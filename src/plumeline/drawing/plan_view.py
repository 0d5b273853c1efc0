"""The pond from above: shore, islands, depths, diffusers, branches, manifold, and the air line."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from contourpy import ContourGenerator, FillType, contour_generator
from shapely import MultiPolygon, Polygon, make_valid
from shapely.geometry.base import BaseGeometry

from plumeline.drawing.in_tables import Bands, plan_twins
from plumeline.drawing.labels import Box, Room, first_least
from plumeline.drawing.measures import depth_levels_m, depth_unit, depth_words, round_length_m
from plumeline.drawing.scene import XY, Area, Disc, Line, Path, Scene, Shape, Text, sheet, text_width_mm
from plumeline.drawing.shore_marks import shore_marks
from plumeline.palette import DEEP, INK, PAPER, depth_colour
from plumeline.stages.layout import Layout, PlacedDiffuser
from plumeline.stages.plan import Designed
from plumeline.stages.survey import Survey
from plumeline.stages.survey.contours import contours
from plumeline.units import show
from plumeline.units.showing import System

WIDTH_MM, HEIGHT_MM = 186.0, 104.0
KEY_MM = 40.0
MARGIN_MM = 9.0
DASHES = ("", "2.4 1", "0.8 0.8", "3.2 0.8 0.8 0.8", "1.6 0.6", "4 1.2")
"""Each branch has its own dash, so that lines are told apart without colour."""


@dataclass(frozen=True)
class Sheet:
    """The paper of a plan view: the pond at the left or above, its key at the right or below.

    Attributes:
        width_mm, height_mm: of all of it.
        pond_width_mm, pond_height_mm: of what is left to the pond.
        key_left_mm, key_top_mm: where the key begins.
        north_left_mm, north_top_mm: where the north arrow stands.
        scale_left_mm, scale_top_mm: where the scale bar stands.
    """

    width_mm: float
    height_mm: float
    pond_width_mm: float
    pond_height_mm: float
    key_left_mm: float
    key_top_mm: float
    north_left_mm: float
    north_top_mm: float
    scale_left_mm: float
    scale_top_mm: float


PAGE_SHEET = Sheet(
    WIDTH_MM, HEIGHT_MM, WIDTH_MM - KEY_MM, HEIGHT_MM, WIDTH_MM - KEY_MM + 6.0, 26.0,
    WIDTH_MM - KEY_MM + 11.0, 0.0, WIDTH_MM - KEY_MM + 6.0, HEIGHT_MM - 9.0,
)  # fmt: skip
PHONE_SHEET = Sheet(78.0, 130.0, 78.0, 74.0, 5.0, 80.0, 66.0, 76.0, 36.0, 119.0)
"""On the 358 pixels that a phone of 390 has beside its margins the smallest letters, of 2.4 mm, are of 11 pixels."""


@dataclass(frozen=True)
class Frame:
    """How metres of the local plane, y north, become millimetres of paper, y down."""

    middle_x_m: float
    middle_y_m: float
    scale_mm_m: float
    centre_x_mm: float
    centre_y_mm: float

    def at(self, xy: XY) -> XY:
        """Return a place of the plane on the paper."""
        return (
            self.centre_x_mm + (xy[0] - self.middle_x_m) * self.scale_mm_m,
            self.centre_y_mm - (xy[1] - self.middle_y_m) * self.scale_mm_m,
        )

    def path(self, path: Path) -> Path:
        """Return a line of the plane on the paper."""
        return tuple(self.at(xy) for xy in path)


def frame_of(survey: Survey, layout: Layout, paper: Sheet = PAGE_SHEET) -> Frame:
    """Return the frame in which pond and manifold fill the paper left of the key."""
    return frame_about(np.array([*survey.outline_xy[0], layout.manifold_xy]), paper)


def frame_about(xy: np.ndarray, paper: Sheet = PAGE_SHEET) -> Frame:
    """Return the frame in which places of shape (n, 2) fill the paper left of the key."""
    low, high = xy.min(axis=0), xy.max(axis=0)
    wide, tall = np.maximum(high - low, 1.0)
    room_x, room_y = paper.pond_width_mm - 2 * MARGIN_MM, paper.pond_height_mm - 2 * MARGIN_MM
    middle, scale = (low + high) / 2, float(min(room_x / wide, room_y / tall))
    return Frame(float(middle[0]), float(middle[1]), scale, paper.pond_width_mm / 2, paper.pond_height_mm / 2)


def plan_scene(plan: Designed, system: System = "us", paper: Sheet = PAGE_SHEET) -> Scene:
    """Return the plan view of a plan."""
    survey, layout = plan.survey, plan.layout
    frame = frame_of(survey, layout, paper)
    levels = depth_levels_m(survey.max_depth_m, system)
    room = Room(Box(0.0, 0.0, paper.pond_width_mm, paper.pond_height_mm))
    bands = bands_of(survey, levels)
    shapes: list[Shape] = [
        sheet(paper.width_mm, paper.height_mm),
        *water_shapes(bands, frame),
        *shore_shapes(survey, frame),
    ]
    for ring in survey.outline_xy:
        room.take_line(frame.path(ring))
    shapes += _branches(layout, frame, room)
    shapes += _trunk(
        plan, frame, room, system, "air line" if paper is PHONE_SHEET else "air line from the compressor"
    )
    marks = _marks(layout, frame, room)
    labels = [*_labels(layout, frame, room, system), *shore_marks(plan, frame.at, room)]
    shapes += contour_labels(survey, frame, levels, room, system)
    shapes += [*marks, *labels, *key_of(levels, survey.max_depth_m, frame, system, paper=paper)]
    names = ", ".join(f"{d.name} at {show(d.depth_m, 'm', system)}" for d in layout.diffusers)
    words = (
        f"The pond from above, north up: depths to {show(survey.max_depth_m, 'm', system)}, the manifold, "
        f"and "
        f"diffusers {names}."
    )
    twins = plan_twins(plan, bands, system)
    return Scene("plan view", paper.width_mm, paper.height_mm, words, tuple(shapes), twins)


def ground_of(
    survey: Survey, frame: Frame, system: System, paper: Sheet = PAGE_SHEET
) -> tuple[tuple[float, ...], Room, list[Shape]]:
    """Return the levels of the depths, the room for labels beside the shore, and water and shore on a sheet."""
    levels = depth_levels_m(survey.max_depth_m, system)
    room = Room(Box(0.0, 0.0, paper.pond_width_mm, paper.pond_height_mm))
    water = water_shapes(bands_of(survey, levels), frame)
    shapes: list[Shape] = [sheet(paper.width_mm, paper.height_mm), *water, *shore_shapes(survey, frame)]
    for ring in survey.outline_xy:
        room.take_line(frame.path(ring))
    return levels, room, shapes


def water_scene(plan: Designed, system: System = "us") -> Scene:
    """Return the plan view without anything that lies in the water or on the shore: the ground to place things on."""
    survey, frame = plan.survey, frame_of(plan.survey, plan.layout)
    levels, room, shapes = ground_of(survey, frame, system)
    shapes += contour_labels(survey, frame, levels, room, system)
    shapes += key_of(levels, survey.max_depth_m, frame, system)
    words = f"The pond from above, north up: depths to {show(survey.max_depth_m, 'm', system)}."
    return Scene("plan view", WIDTH_MM, HEIGHT_MM, words, tuple(shapes))


def ground_scene(survey: Survey, frame: Frame, system: System = "us") -> Scene:
    """Return depths and shore alone in a frame that stays as it is while the shore moves."""
    levels = depth_levels_m(survey.max_depth_m, system)
    room = Room(Box(0.0, 0.0, WIDTH_MM - KEY_MM, HEIGHT_MM))
    shapes: list[Shape] = [*water_shapes(bands_of(survey, levels), frame), *shore_shapes(survey, frame)]
    for ring in survey.outline_xy:
        room.take_line(frame.path(ring))
    shapes += contour_labels(survey, frame, levels, room, system)
    words = f"The pond from above, north up: depths to {show(survey.max_depth_m, 'm', system)}."
    return Scene("shore and depths", WIDTH_MM - KEY_MM, HEIGHT_MM, words, tuple(shapes))


def rings_of_shape(shape: BaseGeometry) -> list[Path]:
    """Return the rings of a polygon or of several."""
    found: list[Path] = []
    parts = [shape] if isinstance(shape, Polygon) else list(getattr(shape, "geoms", ()))
    for part in parts:
        if isinstance(part, Polygon) and not part.is_empty:
            found += [
                tuple((xy[0], xy[1]) for xy in np.asarray(ring.coords).tolist())
                for ring in (part.exterior, *part.interiors)
            ]
        elif isinstance(part, MultiPolygon):
            found += rings_of_shape(part)
    return found


def _deeper_than(survey: Survey, generator: ContourGenerator, depth_m: float) -> BaseGeometry:
    """Return the part of the water deeper than a depth."""
    whole: BaseGeometry = Polygon()
    filled: Any = generator.filled(depth_m, float(np.nanmax(survey.grid.extended_m)) + 1.0)
    for outline, starts in zip(filled[0], filled[1], strict=True):
        rings = [outline[a:b] for a, b in pairwise(starts)]
        whole = whole.union(make_valid(Polygon(rings[0], rings[1:])))
    return whole.intersection(survey.polygon)


def bands_of(survey: Survey, levels_m: tuple[float, ...]) -> Bands:
    """Return each level with the part of the water deeper than it."""
    grid = survey.grid
    generator = contour_generator(x=grid.x_m, y=grid.y_m, z=grid.extended_m, fill_type=FillType.OuterOffset)
    return tuple(
        (level_m, survey.polygon if n == 0 else _deeper_than(survey, generator, level_m))
        for n, level_m in enumerate(levels_m)
    )


def water_shapes(bands: Bands, frame: Frame) -> list[Shape]:
    """Return the water, each level of depth in its colour."""
    found: list[Shape] = []
    for n, (_, shape) in enumerate(bands):
        outlines = tuple(frame.path(ring) for ring in rings_of_shape(shape))
        fill = depth_colour(n / max(len(bands) - 1, 1))
        found.append(Area(outlines, fill, INK if n else "none", 0.15))
    return found


def shore_shapes(survey: Survey, frame: Frame) -> list[Shape]:
    """Return shore and islands; dashed where the shore is only assumed."""
    rings = [frame.path(ring) for ring in survey.outline_xy]
    dash = "2 1.2" if survey.outline_assumed else ""
    found: list[Shape] = [Area((ring,), PAPER) for ring in rings[1:]]
    return [*found, *(Line((*ring, ring[0]), INK, 0.6, dash) for ring in rings)]


def _branches(layout: Layout, frame: Frame, room: Room) -> list[Shape]:
    found: list[Shape] = []
    for n, item in enumerate(layout.diffusers):
        path = frame.path(item.branch_path_xy)
        room.take_line(path)
        room.take_line(path)  # twice: to hide a branch is worse than to hide a piece of shore
        found.append(Line(path, PAPER, 1.7))
        found.append(Line(path, INK, 0.6, DASHES[n % len(DASHES)]))
    return found


def _trunk(plan: Designed, frame: Frame, room: Room, system: System, called: str) -> list[Shape]:
    """Return the end of the trunk, straight away from the pond, for its bearing on land is not known."""
    here = frame.at(plan.layout.manifold_xy)
    away = _away(plan.survey, plan.layout, frame)
    far = (here[0] + 11.0 * away[0], here[1] + 11.0 * away[1])
    across = (-away[1], away[0])
    tip = (here[0] + 3.2 * away[0], here[1] + 3.2 * away[1])
    head = tuple(
        (tip[0] + 2.4 * away[0] + s * 1.1 * across[0], tip[1] + 2.4 * away[1] + s * 1.1 * across[1])
        for s in (-1, 1)
    )
    path: Path = (here, far)
    room.take_line(path)
    length_m = sum(piece.length_m for piece in plan.air.trunk)
    words = f"{called}, {show(length_m, 'm', system)}"
    label = room.place(far, words, 2.8, gap_mm=1.6)
    return [Line(path, INK, 0.9), Area(((tip, *head),), INK), label]


def _away(survey: Survey, layout: Layout, frame: Frame) -> XY:
    """Return the direction on paper from the pond outwards at the manifold."""
    shore = np.array(frame.path(survey.outline_xy[0]))
    here = np.array(frame.at(layout.manifold_xy))
    near = shore[np.argsort(((shore - here) ** 2).sum(axis=1))[: max(3, len(shore) // 12)]]
    out = here - near.mean(axis=0)
    ponds = np.array(frame.at((survey.polygon.centroid.x, survey.polygon.centroid.y)))
    if np.hypot(*out) < 0.8 or out @ (here - ponds) <= 0:
        out = here - ponds
    size = float(np.hypot(*out)) or 1.0
    return float(out[0]) / size, float(out[1]) / size


def _marks(layout: Layout, frame: Frame, room: Room) -> list[Shape]:
    found: list[Shape] = []
    for item in layout.diffusers:
        x, y = frame.at((item.x_m, item.y_m))
        found += [Disc(x, y, 2.0, PAPER, INK, 0.5), Disc(x, y, 0.75, INK, INK, 0.2)]
        room.taken.append(Box(x - 2.3, y - 2.3, x + 2.3, y + 2.3))
    x, y = frame.at(layout.manifold_xy)
    found.append(
        Area(
            (((x - 1.7, y - 1.7), (x + 1.7, y - 1.7), (x + 1.7, y + 1.7), (x - 1.7, y + 1.7)),),
            INK,
            PAPER,
            0.6,
        )
    )
    room.taken.append(Box(x - 2.2, y - 2.2, x + 2.2, y + 2.2))
    return found


def _labels(layout: Layout, frame: Frame, room: Room, system: System) -> list[Shape]:
    found: list[Shape] = []
    for item in layout.diffusers:
        words = f"{item.name} · {show(item.depth_m, 'm', system)}"
        found.append(room.place(_place(item, frame), words, 3.3, gap_mm=2.6, bold=True))
    found.append(room.place(frame.at(layout.manifold_xy), "manifold", 3.0, gap_mm=2.6))
    return found


def _place(item: PlacedDiffuser, frame: Frame) -> XY:
    return frame.at((item.x_m, item.y_m))


def contour_labels(
    survey: Survey, frame: Frame, levels_m: tuple[float, ...], room: Room, system: System
) -> list[Shape]:
    """Return one label a contour, where it is in nobody's way."""
    found: list[Shape] = []
    for contour in contours(survey.grid, tuple(levels_m[1:])):
        line = max(contour.lines_xy, key=len)
        words, size = depth_words(contour.depth_m, system), 2.4
        wide = text_width_mm(words, size) + 0.3 * size
        places = frame.path(line)[:: max(1, len(line) // 60)]
        boxes = [Box(x - wide / 2 - 0.5, y - 1.9, x + wide / 2 + 0.5, y + 1.9) for x, y in places]
        clear = room.clearances_mm(places, 25.0)
        costs = [cost - 0.05 * far for cost, far in zip(room.costs(boxes), clear, strict=True)]
        best = first_least(costs)
        if costs[best] > 8.0:
            continue
        x, y = places[best]
        room.taken.append(Box(x - wide / 2 - 1.5, y - 2.2, x + wide / 2 + 1.5, y + 2.2))
        found.append(Text(x, y + 0.33 * size, words, size, "middle", plate=PAPER))
    return found


def key_of(
    levels_m: tuple[float, ...], max_depth_m: float, frame: Frame, system: System, *, diffuser: bool = True,
    depths: bool = True, paper: Sheet = PAGE_SHEET,
) -> list[Shape]:  # fmt: skip
    """Return north arrow, depth key, the mark of a diffuser where one is drawn, and scale bar, at the right."""
    key = _depth_key(levels_m, max_depth_m, paper, system, diffuser=diffuser) if depths else []
    return [
        *_north(paper.north_left_mm, paper.north_top_mm),
        *key,
        *_scale_bar(frame, paper, system),
    ]


def _north(x_mm: float, y_mm: float) -> list[Shape]:
    arrow: Path = (
        (x_mm, y_mm + 4.0), (x_mm + 2.6, y_mm + 13.0), (x_mm, y_mm + 11.2), (x_mm - 2.6, y_mm + 13.0),
    )  # fmt: skip
    return [Area((arrow,), INK), Text(x_mm, y_mm + 17.0, "N", 3.6, "middle", bold=True)]


def _depth_key(
    levels_m: tuple[float, ...], max_depth_m: float, paper: Sheet, system: System, *, diffuser: bool
) -> list[Shape]:
    left_mm, top_mm = paper.key_left_mm, paper.key_top_mm
    found: list[Shape] = [Text(left_mm, top_mm, f"depth, {depth_unit(system)}", 3.0, colour=DEEP, bold=True)]
    high = 5.0
    ends = [*levels_m[1:], max_depth_m]
    for n, (upper, lower) in enumerate(zip(levels_m, ends, strict=True)):
        y = top_mm + 2.5 + n * high
        box: Path = ((left_mm, y), (left_mm + 8.0, y), (left_mm + 8.0, y + high), (left_mm, y + high))
        found.append(Area((box,), depth_colour(n / max(len(levels_m) - 1, 1)), INK, 0.2))
        words = f"{depth_words(upper, system)} to {depth_words(lower, system)}"
        found.append(Text(left_mm + 10.0, y + 3.5, words, 2.8))
    if not diffuser:
        return found
    y = top_mm + 2.5 + len(levels_m) * high + 6.0
    found += [
        Disc(left_mm + 2.2, y - 1.0, 1.7, PAPER, INK, 0.45),
        Disc(left_mm + 2.2, y - 1.0, 0.6, INK, INK, 0.2),
    ]
    found.append(Text(left_mm + 6.0, y, "diffuser", 2.8))
    return found


def _scale_bar(frame: Frame, paper: Sheet, system: System) -> list[Shape]:
    length_m = round_length_m(30.0 / frame.scale_mm_m, system)
    long = length_m * frame.scale_mm_m
    left_mm, y = paper.scale_left_mm, paper.scale_top_mm
    half: Path = ((left_mm, y), (left_mm + long / 2, y), (left_mm + long / 2, y + 1.6), (left_mm, y + 1.6))
    rest = tuple((x + long / 2, v) for x, v in half)
    return [
        Area((half,), INK, INK, 0.25),
        Area((rest,), PAPER, INK, 0.25),
        Text(left_mm, y + 5.2, "0", 2.8, "middle"),
        Text(left_mm + long, y + 5.2, f"{depth_words(length_m, system)} {depth_unit(system)}", 2.8, "middle"),
    ]
