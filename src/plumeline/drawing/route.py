"""The profile of the air line on land: ground, pipe, low points, crossings, frost line, water."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from plumeline.drawing.in_tables import route_twins
from plumeline.drawing.labels import Box, Room
from plumeline.drawing.measures import depth_unit, depth_words, round_length_m
from plumeline.drawing.scene import XY, Area, Disc, Line, Path, Scene, Shape, Text, sheet, text_width_mm
from plumeline.pairs import said
from plumeline.palette import CAUTION, DEEP, INK, PAPER, SHALLOW, WARNING
from plumeline.stages.air.route import RouteResult
from plumeline.units import show
from plumeline.units.showing import System


@dataclass(frozen=True)
class RouteSheet:
    """The paper of a profile, and where on it station and height begin and end.

    Attributes:
        width_mm, height_mm: of all of it.
        left_mm, right_mm: compressor and water.
        top_mm, bottom_mm: the highest and the lowest place.
        most_ticks: stations that have room to be named.
    """

    width_mm: float
    height_mm: float
    left_mm: float
    right_mm: float
    top_mm: float
    bottom_mm: float
    most_ticks: int


PAGE_ROUTE = RouteSheet(186.0, 78.0, 16.0, 172.0, 12.0, 62.0, 6)
PHONE_ROUTE = RouteSheet(78.0, 92.0, 12.0, 65.0, 14.0, 70.0, 4)


@dataclass(frozen=True)
class Axes:
    """Station and height on the paper."""

    paper: RouteSheet
    first_m: float
    highest_m: float
    along_mm_m: float
    up_mm_m: float

    def x_mm(self, station_m: float) -> float:
        """Return the place on the paper of a station."""
        return self.paper.left_mm + (station_m - self.first_m) * self.along_mm_m

    def y_mm(self, elevation_m: float) -> float:
        """Return the height on the paper of an elevation."""
        return self.paper.top_mm + (self.highest_m - elevation_m) * self.up_mm_m


def route_scene(found: RouteResult, system: System = "us", paper: RouteSheet = PAGE_ROUTE) -> Scene:
    """Return the profile of a route, from the compressor at the left to the water at the right."""
    axes = _axes(found, paper)
    room = Room(Box(paper.left_mm, 0.0, paper.width_mm, paper.bottom_mm + 4.0))
    ground = tuple((axes.x_mm(point.station_m), axes.y_mm(point.ground_elevation_m)) for point in found.run)
    pipe = tuple((axes.x_mm(point.station_m), axes.y_mm(point.pipe_elevation_m)) for point in found.run)
    for path in (ground, pipe):
        room.take_line(path)
    shapes: list[Shape] = [
        sheet(paper.width_mm, paper.height_mm),
        *_dams(found, axes),
        *_water(found, axes, room),
    ]
    shapes += _crossings(found, axes, room)
    shapes += [Line(ground, INK, 0.8), Line(pipe, PAPER, 1.6), Line(pipe, DEEP, 1.0)]
    shapes += _low_points(found, axes, room, system)
    shapes += [
        room.place(_along(path, 0.8), name, 2.8) for path, name in ((ground, "ground"), (pipe, "air line"))
    ]
    shapes += _frost(found, axes, room, system)
    shapes += _scales(found, axes, system)
    shapes.append(room.place(pipe[0], "compressor", 3.0, bold=True))
    words = (
        "The profile of the air line on land, from the compressor to the water, heights stretched: ground, pipe, low "
        "points in which water gathers, what it crosses."
    )
    return Scene(
        "route of the air line",
        paper.width_mm,
        paper.height_mm,
        words,
        tuple(shapes),
        route_twins(found, system),
    )


def _along(path: Path, share_fraction: float) -> XY:
    """Return the place of a line at a share of its width."""
    x = path[0][0] + share_fraction * (path[-1][0] - path[0][0])
    for (left, above), (right, below) in pairwise(path):
        if left <= x <= right and right > left:
            return x, above + (x - left) / (right - left) * (below - above)
    return path[-1]


def _axes(found: RouteResult, paper: RouteSheet) -> Axes:
    heights = [value for point in found.run for value in (point.pipe_elevation_m, point.ground_elevation_m)]
    if found.water_elevation_m is not None:
        heights.append(found.water_elevation_m)
    span_m = max(max(heights) - min(heights), 0.5)
    return Axes(
        paper,
        found.run[0].station_m,
        max(heights),
        (paper.right_mm - paper.left_mm) / found.length_m,
        (paper.bottom_mm - paper.top_mm) / span_m,
    )


def _dams(found: RouteResult, axes: Axes) -> list[Shape]:
    """Return the stretches in a dam: a bar over the whole height, named, for colour alone says nothing."""
    shapes: list[Shape] = []
    paper, words = axes.paper, "DAM: no trench, pipe or anchor"
    top, half = paper.top_mm - 6.0, text_width_mm(words, 3.0, bold=True) / 2.0 + 1.0
    for start_m, end_m in found.trench.dam_m:
        left, right = axes.x_mm(start_m), axes.x_mm(end_m)
        box: Path = ((left, top), (right, top), (right, paper.bottom_mm), (left, paper.bottom_mm))
        shapes.append(Area((box,), WARNING, INK, 0.4, opacity_fraction=0.35))
        middle = min(max((left + right) / 2.0, half), paper.width_mm - half)
        shapes.append(Text(middle, top - 1.0, words, 3.0, "middle", bold=True, plate=PAPER))
    return shapes


def _water(found: RouteResult, axes: Axes, room: Room) -> list[Shape]:
    """Return the pond at the right end."""
    if found.water_elevation_m is None:
        return []
    y, left, right = axes.y_mm(found.water_elevation_m), axes.paper.right_mm, axes.paper.width_mm - 2.0
    low = axes.paper.bottom_mm + 4.0
    pond: Path = ((left, y), (right, y), (right, low), (left, low))
    room.taken.append(Box(left, y, axes.paper.width_mm, low))
    return [
        Area((pond,), SHALLOW, DEEP, 0.4),
        Text((left + right) / 2.0, y - 1.5, "pond", 3.0, "middle", colour=DEEP, plate=PAPER),
    ]


def _crossings(found: RouteResult, axes: Axes, room: Room) -> list[Shape]:
    """Return a bracket over each stretch that crosses something, with its name."""
    shapes: list[Shape] = []
    for crossing in found.trench.crossings:
        if crossing.kind == "dam":
            continue
        left, right = axes.x_mm(crossing.from_m), axes.x_mm(crossing.to_m)
        y = min(_ground_mm(found, axes, x) for x in (crossing.from_m, crossing.to_m)) - 3.0
        path: Path = ((left, y + 1.4), (left, y), (right, y), (right, y + 1.4))
        room.take_line(path)
        shapes.append(Line(path, INK, 0.35))
        shapes.append(room.place(((left + right) / 2.0, y), crossing.what, 2.8, gap_mm=1.2, over=True))
    return shapes


def _ground_mm(found: RouteResult, axes: Axes, station_m: float) -> float:
    nearest = min(found.run, key=lambda point: abs(point.station_m - station_m))
    return axes.y_mm(nearest.ground_elevation_m)


def _frost(found: RouteResult, axes: Axes, room: Room, system: System) -> list[Shape]:
    """Return the depth of the frost under the ground, dashed."""
    if found.frost_depth_m is None:
        return []
    line = tuple(
        (axes.x_mm(point.station_m), axes.y_mm(point.ground_elevation_m - found.frost_depth_m))
        for point in found.run
        if point.ground_elevation_m - found.frost_depth_m
        > axes.highest_m - (axes.paper.height_mm - axes.paper.top_mm) / axes.up_mm_m
    )
    if len(line) < 2:
        return []
    words = f"frost {show(found.frost_depth_m, 'm', system)} down"
    return [Line(line, INK, 0.35, "2 1.2"), room.place(line[len(line) // 2], words, 2.6, gap_mm=1.6)]


def _low_points(found: RouteResult, axes: Axes, room: Room, system: System) -> list[Shape]:
    shapes: list[Shape] = []
    for item in found.low_points:
        x, y = axes.x_mm(item.station_m), axes.y_mm(item.pipe_elevation_m)
        shapes.append(Disc(x, y, 1.9, CAUTION, INK, 0.5))
        water = (
            f"{item.condensate_kg_d / 3.785:.2f} gal" if system == "us" else f"{item.condensate_kg_d:.2f} L"
        )
        words = f"low point {show(item.station_m, 'm', system)}"
        if axes.paper is not PHONE_ROUTE:  # there the water stands in the table alone
            words = said(f"{words}: {water} of water a day", system)
        shapes.append(room.place((x, y), words, 3.0, gap_mm=2.8, bold=True))
    return shapes


def _scales(found: RouteResult, axes: Axes, system: System) -> list[Shape]:
    """Return the heights at the left and the stations under the profile, in round steps."""
    unit = depth_unit(system)
    span_m = (axes.paper.bottom_mm - axes.paper.top_mm) / axes.up_mm_m
    high_m = round_length_m(1.001 * span_m / 3.0, system)
    shapes: list[Shape] = [
        Text(axes.paper.left_mm - 2.0, axes.paper.top_mm - 5.0, unit, 2.8, "end", colour=DEEP)
    ]
    lowest_m = axes.highest_m - span_m
    step = 0
    while (level := (int(lowest_m / high_m) + step) * high_m) <= axes.highest_m + 1e-9:
        if level >= lowest_m - 1e-9:
            y = axes.y_mm(level)
            shapes.append(Line(((axes.paper.left_mm - 1.4, y), (axes.paper.left_mm, y)), INK, 0.25))
            shapes.append(Text(axes.paper.left_mm - 2.0, y + 1.0, depth_words(level, system), 2.8, "end"))
        step += 1
    y = axes.paper.bottom_mm + 6.0
    shapes.append(Line(((axes.paper.left_mm, y), (axes.paper.right_mm, y)), INK, 0.25))
    apart_m = round_length_m(found.length_m / (axes.paper.most_ticks - 1), system)
    for count in range(int(found.length_m / apart_m) + 1):
        x = axes.x_mm(axes.first_m + count * apart_m)
        shapes.append(Line(((x, y), (x, y + 1.4)), INK, 0.25))
        shapes.append(Text(x, y + 4.6, depth_words(axes.first_m + count * apart_m, system), 2.8, "middle"))
    words = (
        f"distance from the compressor, {unit};",
        f"heights stretched {axes.up_mm_m / axes.along_mm_m:.0f} times",
    )
    lines = words if axes.paper is PHONE_ROUTE else (" ".join(words),)
    for n, line in enumerate(lines):
        middle = (axes.paper.left_mm + axes.paper.right_mm) / 2.0
        shapes.append(Text(middle, y + 9.0 + 3.8 * n, line, 2.6, "middle", colour=DEEP))
    return shapes
