"""The cut through the water: basin, plumes, and beside it temperature and oxygen as read."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from plumeline.drawing.in_tables import cut_twins
from plumeline.drawing.labels import Box, Room
from plumeline.drawing.measures import depth_levels_m, depth_unit, depth_words, round_length_m
from plumeline.drawing.scene import XY, Area, Disc, Line, Path, Scene, Shape, Text, sheet, text_width_mm
from plumeline.drawing.section import Section, section_through
from plumeline.palette import DEEP, INK, PAPER, depth_colour
from plumeline.stages.plan import Designed
from plumeline.stages.plume.stage import DiffuserPlume
from plumeline.stages.reading import Reading
from plumeline.units import convert, show
from plumeline.units.showing import System

WIDTH_MM, HEIGHT_MM = 186.0, 92.0
TOP_MM, BOTTOM_MM = 12.0, 12.0
CUT_LEFT_MM, CUT_RIGHT_MM = 13.0, 112.0
PANELS_MM = ((118.0, 147.0), (154.0, 183.0))


@dataclass(frozen=True)
class CutSheet:
    """The paper of a cut: the water above or at the left, the two profiles below or beside it.

    Attributes:
        width_mm, height_mm: of all of it.
        right_mm, bottom_mm: where the water ends.
        panels_mm: left and right of the profiles.
        panels_top_mm: where the surface of the water is in the profiles.
    """

    width_mm: float
    height_mm: float
    right_mm: float
    bottom_mm: float
    panels_mm: tuple[tuple[float, float], tuple[float, float]]
    panels_top_mm: float

    @property
    def is_beside(self) -> bool:
        """Return whether the profiles stand beside the water, depth by depth."""
        return self.panels_top_mm == TOP_MM


PAGE_CUT = CutSheet(WIDTH_MM, HEIGHT_MM, CUT_RIGHT_MM, HEIGHT_MM, PANELS_MM, TOP_MM)
PHONE_CUT = CutSheet(78.0, 160.0, 75.0, 84.0, ((13.0, 40.0), (47.0, 75.0)), 94.0)


@dataclass(frozen=True)
class Axes:
    """Depth and distance on the paper."""

    depth_mm_m: float
    across_mm_m: float
    paper: CutSheet = PAGE_CUT

    def y_mm(self, depth_m: float) -> float:
        """Return the height on the paper of a depth."""
        return TOP_MM + depth_m * self.depth_mm_m

    def x_mm(self, distance_m: float) -> float:
        """Return the place on the paper of a distance along the cut."""
        return CUT_LEFT_MM + distance_m * self.across_mm_m


def cut_scene(plan: Designed, system: System = "us", paper: CutSheet = PAGE_CUT) -> Scene:
    """Return the cut through the water of a plan."""
    section = section_through(plan.survey, plan.layout)
    deepest_m = max(plan.survey.max_depth_m, float(section.bottom_m.max()))
    axes = Axes(
        (paper.bottom_mm - TOP_MM - BOTTOM_MM) / deepest_m,
        (paper.right_mm - CUT_LEFT_MM) / float(section.distance_m[-1]),
        paper,
    )
    levels = depth_levels_m(deepest_m, system)
    room = Room(Box(CUT_LEFT_MM, 0.0, paper.right_mm, paper.bottom_mm))
    shapes: list[Shape] = [sheet(paper.width_mm, paper.height_mm), *_basin(section, axes, levels, deepest_m)]
    shapes += _depth_axis(levels, axes, system)
    ground = zip(section.distance_m, section.bottom_m, strict=True)
    room.take_line(tuple((axes.x_mm(x), axes.y_mm(z)) for x, z in ground))
    shapes += _thermocline(plan.reading, axes, room)
    shapes += _plumes(plan, section, axes, room, system)
    shapes += _thermocline_label(plan.reading, axes, room, system)
    shapes += _scale(axes, system)
    shapes += _profiles(plan.reading, axes, deepest_m, levels, system)
    words = (
        "The cut through the water from shore to shore through the diffusers, depth downward: basin, plumes, "
        "thermocline, and the temperature and oxygen as read."
    )
    twins = cut_twins(plan, section, system)
    return Scene("cut through the water", paper.width_mm, paper.height_mm, words, tuple(shapes), twins)


def _basin(section: Section, axes: Axes, levels_m: tuple[float, ...], deepest_m: float) -> list[Shape]:
    found: list[Shape] = []
    distance, bottom = section.distance_m, section.bottom_m
    ends = [*levels_m[1:], deepest_m]
    for n, (upper, lower) in enumerate(zip(levels_m, ends, strict=True)):
        cap = np.clip(bottom, upper, lower)
        floor = [(axes.x_mm(x), axes.y_mm(z)) for x, z in zip(distance, cap, strict=True)]
        roof = [(axes.x_mm(x), axes.y_mm(upper)) for x in distance[::-1]]
        fill = depth_colour(n / max(len(levels_m) - 1, 1))
        if float(bottom.max()) > upper:
            found.append(Area(((*floor, *roof),), fill))
    ground = tuple((axes.x_mm(x), axes.y_mm(z)) for x, z in zip(distance, bottom, strict=True))
    surface: Path = ((CUT_LEFT_MM, TOP_MM), (axes.paper.right_mm, TOP_MM))
    return [*found, Line(ground, INK, 0.8), Line(surface, INK, 0.35)]


def _depth_axis(
    levels_m: tuple[float, ...], axes: Axes, system: System, top_mm: float = TOP_MM
) -> list[Shape]:
    found: list[Shape] = [Text(CUT_LEFT_MM - 1.5, top_mm - 4.5, depth_unit(system), 2.8, "end", colour=DEEP)]
    for level_m in levels_m:
        y = top_mm + level_m * axes.depth_mm_m
        found.append(Line(((CUT_LEFT_MM - 1.2, y), (CUT_LEFT_MM, y)), INK, 0.25))
        found.append(Text(CUT_LEFT_MM - 1.8, y + 1.0, depth_words(level_m, system), 2.8, "end"))
    return found


def _thermocline(reading: Reading, axes: Axes, room: Room) -> list[Shape]:
    depth_m = reading.strata.thermocline_depth_m
    if depth_m is None:
        paper = axes.paper
        return [Text(paper.panels_mm[0][0], paper.height_mm - 2.0, "mixed: no thermocline", 2.6, colour=DEEP)]
    y, right = axes.y_mm(depth_m), axes.paper.right_mm
    last = axes.paper.panels_mm[1][1]
    room.take_line(((CUT_LEFT_MM, y), (right, y)))
    found: list[Shape] = [Line(((CUT_LEFT_MM, y), (right, y)), PAPER, 1.1)]
    if axes.paper.is_beside:
        return [*found, Line(((CUT_LEFT_MM, y), (last, y)), INK, 0.4, "2 1")]
    below = axes.paper.panels_top_mm + depth_m * axes.depth_mm_m
    pieces = ((y, right), (below, last))
    return [*found, *(Line(((CUT_LEFT_MM, at), (end, at)), INK, 0.4, "2 1") for at, end in pieces)]


def _thermocline_label(reading: Reading, axes: Axes, room: Room, system: System) -> list[Shape]:
    """Return the label of the thermocline, on the line where nothing else is."""
    depth_m = reading.strata.thermocline_depth_m
    if depth_m is None:
        return []
    words, size = f"thermocline {show(depth_m, 'm', system)}", 2.7
    y, half = axes.y_mm(depth_m) - 1.2, text_width_mm(words, size) / 2 + 0.5
    steps = range(int(axes.paper.right_mm - half), int(CUT_LEFT_MM + half), -2)
    costs = room.costs([Box(step - half, y - size, step + half, y) for step in steps])
    x = steps[costs.index(min(costs))]
    room.taken.append(Box(x - half, y - size, x + half, y))
    return [Text(float(x), y, words, size, "middle", plate=PAPER)]


def _plumes(plan: Designed, section: Section, axes: Axes, room: Room, system: System) -> list[Shape]:
    """Return plumes, their width at the scale of the depth so that they keep their own form."""
    found: list[Shape] = []
    labels: list[Shape] = []
    flows: list[Text] = []
    wide_mm_m = _plume_scale(plan, section, axes)
    by_name = {item.name: at for item, at in zip(plan.layout.diffusers, section.diffuser_at_m, strict=True)}
    for one in plan.plume.diffusers:
        x = axes.x_mm(by_name[one.name])
        room.taken.append(Box(x - 3.0, TOP_MM, x + 3.0, axes.y_mm(one.depth_m) + 2.0))
    for one in plan.plume.diffusers:
        x = axes.x_mm(by_name[one.name])
        found += _one_plume(one, x, axes, wide_mm_m)
        foot: XY = (x, axes.y_mm(one.depth_m))
        labels.append(
            room.place(foot, f"{one.name} · {show(one.depth_m, 'm', system)}", 3.0, gap_mm=2.4, bold=True)
        )
        for peel in one.lift.peels:
            y = axes.y_mm(peel.depth_m)
            found.append(Line(((x - 5.0, y), (x + 5.0, y)), PAPER, 1.2))
            found.append(Line(((x - 5.0, y), (x + 5.0, y)), INK, 0.5))
            words = f"turns back {show(peel.depth_m, 'm', system)}"
            labels.append(room.place((x + 4.0, y), words, 2.5, gap_mm=1.0))
        lifted = f"{show(one.lift.water_flow_m3_s, 'm3_s', system)}"
        flows.append(Text(x, _free_line_mm(x, lifted, flows), lifted, 2.6, "middle"))
    return [*found, *labels, *flows]


def _free_line_mm(x_mm: float, words: str, taken: list[Text]) -> float:
    """Return the line over the water on which a flow is written: the upper one where the lower one is taken."""
    lower_mm = TOP_MM - 2.6
    wide_mm = text_width_mm(words, 2.6)
    near = [one for one in taken if one.y_mm == lower_mm]
    meets = any(abs(one.x_mm - x_mm) < (wide_mm + text_width_mm(one.words, 2.6)) / 2 + 0.8 for one in near)
    return lower_mm - 3.4 if meets else lower_mm


def _plume_scale(plan: Designed, section: Section, axes: Axes) -> float:
    """Return millimetres of paper a metre of plume: the scale of the depth, less where plumes would meet."""
    widest = max((max(one.lift.path_radius_m, default=0.1) for one in plan.plume.diffusers), default=0.1)
    places = sorted(axes.x_mm(at) for at in section.diffuser_at_m)
    gaps = [b - a for a, b in pairwise(places)]
    return min(axes.depth_mm_m, 0.42 * min(gaps, default=40.0) / widest)


def _one_plume(one: DiffuserPlume, x_mm: float, axes: Axes, wide_mm_m: float) -> list[Shape]:
    found: list[Shape] = []
    rows = list(zip(one.lift.path_depth_m, one.lift.path_radius_m, strict=True))
    for piece in _pieces(rows):
        left = [(x_mm - r * wide_mm_m, axes.y_mm(z)) for z, r in piece]
        right = [(x_mm + r * wide_mm_m, axes.y_mm(z)) for z, r in reversed(piece)]
        found.append(Area(((*left, *right),), PAPER, INK, 0.35, 0.82))
    y = axes.y_mm(one.depth_m)
    foot: Path = ((x_mm - 2.2, y), (x_mm + 2.2, y), (x_mm + 2.2, y + 1.1), (x_mm - 2.2, y + 1.1))
    return [*found, Area((foot,), INK, PAPER, 0.3)]


def _pieces(rows: list[XY]) -> list[list[XY]]:
    """Return the path cut where a plume peels and a new, thinner one starts above it."""
    pieces: list[list[XY]] = []
    for n, row in enumerate(rows):
        if n == 0 or row[1] < 0.6 * rows[n - 1][1]:
            pieces.append([])
        pieces[-1].append(row)
    return [piece for piece in pieces if len(piece) > 1]


def _scale(axes: Axes, system: System) -> list[Shape]:
    length_m = round_length_m(30.0 / axes.across_mm_m, system)
    long, y = length_m * axes.across_mm_m, axes.paper.bottom_mm - 5.5
    words = f"{depth_words(length_m, system)} {depth_unit(system)} across"
    return [
        Line(((CUT_LEFT_MM, y), (CUT_LEFT_MM + long, y)), INK, 0.6),
        Line(((CUT_LEFT_MM, y - 1.0), (CUT_LEFT_MM, y + 1.0)), INK, 0.4),
        Line(((CUT_LEFT_MM + long, y - 1.0), (CUT_LEFT_MM + long, y + 1.0)), INK, 0.4),
        Text(CUT_LEFT_MM + long + 1.5, y + 1.0, words, 2.7),
    ]


def _profiles(
    reading: Reading, axes: Axes, deepest_m: float, levels_m: tuple[float, ...], system: System
) -> list[Shape]:
    degree = "degf" if system == "us" else "degc"
    warm = [convert(layer.temperature_degc, "degc", degree) for layer in reading.layers]
    oxygen = [layer.do_mg_l for layer in reading.layers]
    depths = [layer.depth_m for layer in reading.layers]
    mark = "°F" if system == "us" else "°C"
    low, high = min(warm), max(warm)
    pad = max(0.08 * (high - low), 0.5)
    panels = axes.paper.panels_mm
    axis = [] if axes.paper.is_beside else _depth_axis(levels_m, axes, system, axes.paper.panels_top_mm)
    return [
        *axis,
        *_panel(panels[0], f"temperature, {mark}", depths, warm, (low - pad, high + pad), axes, deepest_m),
        *_panel(panels[1], "oxygen, mg/L", depths, oxygen, (0.0, max(*oxygen, 5.0) * 1.1), axes, deepest_m),
    ]


def _panel(
    sides_mm: tuple[float, float],
    title: str,
    depth_m: list[float],
    values: list[float],
    limits: tuple[float, float],
    axes: Axes,
    deepest_m: float,
) -> list[Shape]:
    """Return one profile: a point and its number at each depth that was read."""
    left, right = sides_mm
    low, high = limits
    top = axes.paper.panels_top_mm
    found: list[Shape] = [
        Line(((left, top), (left, top + deepest_m * axes.depth_mm_m)), INK, 0.3),
        Line(((left, top), (right, top)), INK, 0.3),
        Text(left, top - 2.6, title, 2.8, colour=DEEP, bold=True),
    ]
    points = [
        (left + (right - left - 7.0) * (value - low) / (high - low), top + z * axes.depth_mm_m)
        for z, value in zip(depth_m, values, strict=True)
    ]
    if len(points) > 1:
        found.append(Line(tuple(points), INK, 0.3))
    last_y = -1e9
    for (x, y), value in zip(points, values, strict=True):
        found.append(Disc(x, y, 0.8, INK, PAPER, 0.2))
        if y - last_y >= 2.6:  # a number where there is room; the points show the rest
            found.append(Text(x + 1.6, y + 0.9, f"{value:.1f}", 2.5, plate=PAPER))
            last_y = y
    return found
