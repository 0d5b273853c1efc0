"""Map tiles laid under plan, shore and map: which ones, and where on the drawing each lies."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from plumeline.drawing.plan_view import Frame
from plumeline.job.document import Point
from plumeline.stages.survey.plane import LocalPlane
from plumeline.web.tiles import Tiles

MOST_TILES = 24
LARGEST_LATITUDE_DEG = 85.05
"""Where the square of the web's Mercator map ends."""


def to_tile(longitude_deg: float, latitude_deg: float, zoom_number: int) -> tuple[float, float]:
    """Return column and row, with their fractions, of a place on the web's Mercator map (EPSG:3857)."""
    size = 2.0**zoom_number
    down = 1.0 - math.asinh(math.tan(math.radians(latitude_deg))) / math.pi
    return size * (longitude_deg + 180.0) / 360.0, size * down / 2.0


def from_tile(column_number: float, row_number: float, zoom_number: int) -> tuple[float, float]:
    """Return longitude and latitude [degrees] of a place on the web's Mercator map (EPSG:3857)."""
    size = 2.0**zoom_number
    latitude_deg = math.degrees(math.atan(math.sinh(math.pi * (1.0 - 2.0 * row_number / size))))
    return 360.0 * column_number / size - 180.0, latitude_deg


class Plane(Protocol):
    """A plane of metres."""

    def at(self, longitude_deg: float, latitude_deg: float) -> tuple[float, float]:
        """Return metres east and north."""

    def back(self, x_m: float, y_m: float) -> tuple[float, float]:
        """Return longitude and latitude [degrees]."""


@dataclass(frozen=True)
class PondPlane:
    """The plane of a job, as tiles ask for it."""

    plane: LocalPlane

    def at(self, longitude_deg: float, latitude_deg: float) -> tuple[float, float]:
        """Return metres east and north of the plane's middle."""
        around_deg = (longitude_deg + 180.0) % 360.0 - 180.0
        return self.plane.to_xy(Point(longitude_deg=around_deg, latitude_deg=latitude_deg))

    def back(self, x_m: float, y_m: float) -> tuple[float, float]:
        """Return longitude and latitude [degrees]."""
        point = self.plane.to_point(x_m, y_m)
        return point.longitude_deg, point.latitude_deg


def under_frame(
    tiles: Tiles | None, frame: Frame, plane: Plane, wide_mm: float, tall_mm: float
) -> dict[str, Any] | None:
    """Return the tiles under a drawing, at the closest zoom at which few enough cover it.

    Each is laid by one turn, stretch and shift that fits its four corners best; what that leaves at a pond is far
    below a pixel of the tile.

    Args:
        tiles: where they come from.
        frame: of the drawing.
        plane: whose metres the frame takes.
        wide_mm: of the drawing, from 0.
        tall_mm: of the drawing, from 0.

    Returns:
        What a page's script needs, as JSON; None without tiles, and where their map does not reach: near a pole, or
        for a drawing of half the earth.
    """
    if tiles is None:
        return None
    edge_deg = _edge(frame, plane, wide_mm, tall_mm)
    if edge_deg is None:
        return None
    zoom_number, columns, rows = 0, range(0), range(0)
    for zoom_number in range(tiles.deepest_zoom_number, -1, -1):
        columns, rows = _covered(edge_deg, zoom_number)
        if len(columns) * len(rows) <= MOST_TILES:
            break
    places = [(column, row) for row in rows for column in columns]
    return {
        "host": tiles.host, "wide": wide_mm, "tall": tall_mm,
        "tiles": [
            {"href": tiles.href(zoom_number, *place), "matrix": _matrix(*place, zoom_number, frame, plane)}
            for place in places
        ],
    }  # fmt: skip


def _edge(frame: Frame, plane: Plane, wide_mm: float, tall_mm: float) -> list[tuple[float, float]] | None:
    """Return longitudes and latitudes of places all over a drawing, in one piece about its middle."""
    parts = (0.0, 0.25, 0.5, 0.75, 1.0)
    found = [
        plane.back(
            frame.middle_x_m + (wide_mm * across - frame.centre_x_mm) / frame.scale_mm_m,
            frame.middle_y_m - (tall_mm * down - frame.centre_y_mm) / frame.scale_mm_m,
        )
        for across in parts
        for down in parts
    ]
    middle_deg = found[len(found) // 2][0]
    # so that what lies about the line where the longitudes end is one piece
    found = [(middle_deg + (lon - middle_deg + 180.0) % 360.0 - 180.0, lat) for lon, lat in found]
    if max(abs(lat) for _, lat in found) > LARGEST_LATITUDE_DEG:
        return None
    return found if max(abs(lon - middle_deg) for lon, _ in found) < 90.0 else None


def _covered(edge_deg: list[tuple[float, float]], zoom_number: int) -> tuple[range, range]:
    """Return the columns and rows of the tiles over places."""
    places = [to_tile(lon, lat, zoom_number) for lon, lat in edge_deg]
    columns, rows = zip(*places, strict=True)
    last = 2**zoom_number - 1
    return (
        range(math.floor(min(columns)), math.floor(max(columns)) + 1),
        range(max(0, math.floor(min(rows))), min(last, math.floor(max(rows))) + 1),
    )


def _matrix(column: int, row: int, zoom_number: int, frame: Frame, plane: Plane) -> list[float]:
    """Return the six numbers of an SVG matrix from a tile, one wide and one tall, to the drawing."""
    corners = np.array([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)])
    paper = np.array([frame.at(plane.at(*from_tile(column + x, row + y, zoom_number))) for x, y in corners])
    (a, b), (c, d), (e, f) = np.linalg.lstsq(np.column_stack([corners, np.ones(4)]), paper, rcond=None)[0]
    return [round(float(value), 4) for value in (a, b, c, d, e, f)]
