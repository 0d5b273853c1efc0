"""The map of the listed ponds: where they lie to each other, without tiles; each mark is a way to its pond."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from plumeline.drawing.plan_view import Frame
from plumeline.notices import Severity
from plumeline.store.pond_rows import PondRow
from plumeline.twins import Column, Twin, twin_of
from plumeline.units import show
from plumeline.units.showing import System
from plumeline.web.laid_tiles import under_frame
from plumeline.web.tiles import Tiles

WIDTH, HEIGHT, MARGIN = 640.0, 360.0, 36.0
EARTH_RADIUS_M = 6_371_009.0
LEAST_SPAN_M = 500.0
MOST_NAMES = 24


@dataclass(frozen=True)
class Mark:
    """A pond on the map: its place on the drawing, its way, and what stands against it."""

    id: str
    name: str
    x: float
    y: float
    severity: str
    named: bool


@dataclass(frozen=True)
class _Flat:
    """The plane of equal distances about a middle."""

    longitude_deg: float
    latitude_deg: float

    @property
    def _east_m(self) -> float:
        """Metres east by a radian; not nothing at a pole."""
        return EARTH_RADIUS_M * max(math.cos(math.radians(self.latitude_deg)), 1e-6)

    def at(self, longitude_deg: float, latitude_deg: float) -> tuple[float, float]:
        """Return metres east and north of the middle, the shorter way round."""
        around_deg = (longitude_deg - self.longitude_deg + 180.0) % 360.0 - 180.0
        north_m = math.radians(latitude_deg - self.latitude_deg) * EARTH_RADIUS_M
        return math.radians(around_deg) * self._east_m, north_m

    def back(self, x_m: float, y_m: float) -> tuple[float, float]:
        """Return longitude and latitude [degrees]; the latter lies beyond 90 where there is no such place."""
        north_deg = math.degrees(y_m / EARTH_RADIUS_M)
        return self.longitude_deg + math.degrees(x_m / self._east_m), self.latitude_deg + north_deg


def pond_map(rows: Sequence[PondRow], units: System, tiles: Tiles | None = None) -> dict[str, Any] | None:
    """Return the map of ponds as a template takes it, or None for fewer than two.

    The plane is that of equal distances about the middle of the listed ponds: true enough to see which are
    neighbours, and no more is claimed.

    Args:
        rows: the ponds.
        units: of the scale bar.
        tiles: where map tiles come from.
    """
    if len(rows) < 2:
        return None
    middle_lat = sum(row.latitude_deg for row in rows) / len(rows)
    middle_lon = math.degrees(math.atan2(*(
        sum(turn(math.radians(row.longitude_deg)) for row in rows) for turn in (math.sin, math.cos)
    )))  # fmt: skip
    flat = _Flat(middle_lon, middle_lat)
    places = [flat.at(row.longitude_deg, row.latitude_deg) for row in rows]
    low_x, high_x = min(x for x, _ in places), max(x for x, _ in places)
    low_y, high_y = min(y for _, y in places), max(y for _, y in places)
    span = max(high_x - low_x, (high_y - low_y) * (WIDTH - 2 * MARGIN) / (HEIGHT - 2 * MARGIN), LEAST_SPAN_M)
    scale = (WIDTH - 2 * MARGIN) / span
    frame = Frame((low_x + high_x) / 2, (low_y + high_y) / 2, scale, WIDTH / 2, HEIGHT / 2)
    shown = [frame.at(place) for place in places]
    marks = [
        Mark(row.id, row.name, round(x, 1), round(y, 1), _severity(row), len(rows) <= MOST_NAMES)
        for row, (x, y) in zip(rows, shown, strict=True)
    ]
    bar_m = _round_m(span / 5.0, units)
    return {
        "width": WIDTH, "height": HEIGHT, "marks": marks, "bar": round(bar_m * scale, 1),
        "bar_said": _bar_said(bar_m, units), "twins": (_twin(marks, places, units),),
        "tiles": under_frame(tiles, frame, flat, WIDTH, HEIGHT),
    }  # fmt: skip


def _twin(marks: Sequence[Mark], places: Sequence[tuple[float, float]], units: System) -> Twin:
    """Return the map as a table: places in metres about the middle, shown in miles, kilometres, feet or metres."""
    size_m = max(abs(value) for place in places for value in place)
    unit, unit_m = _unit_of(size_m, units)
    rows = [
        {"name": mark.name, "east": x / unit_m, "north": y / unit_m, "severity": mark.severity}
        for mark, (x, y) in zip(marks, places, strict=True)
    ]
    columns = (
        Column("name", "pond"),
        Column("east", f"east of the middle, {unit}"),
        Column("north", f"north of the middle, {unit}"),
        Column("severity", "stands against it"),
    )
    return twin_of("Where the listed ponds lie", columns, rows, most=len(rows))


def _unit_of(size_m: float, units: System) -> tuple[str, float]:
    if units == "us":
        return ("mi", 1609.344) if size_m > 400.0 else ("ft", 0.3048)
    return ("km", 1000.0) if size_m > 1000.0 else ("m", 1.0)


def _severity(row: PondRow) -> str:
    found = {notice.severity for notice in row.warnings or ()}
    return next((kind.value for kind in (Severity.DANGER, Severity.CAUTION) if kind in found), "none")


def _round_m(size_m: float, units: System) -> float:
    """Return a round length of a bar: one, two or five of a power of ten, in miles or in kilometres and metres."""
    unit_m = 1609.344 if units == "us" and size_m > 400.0 else 0.3048 if units == "us" else 1.0
    count = size_m / unit_m
    ten = 10.0 ** math.floor(math.log10(count))
    return next(part * ten for part in (5.0, 2.0, 1.0) if part * ten <= count) * unit_m


def _bar_said(bar_m: float, units: System) -> str:
    if units == "us" and bar_m >= 160.0:
        return f"{bar_m / 1609.344:g} mi"
    return f"{bar_m / 1000.0:g} km" if units == "si" and bar_m >= 1000.0 else show(bar_m, "m", units)
