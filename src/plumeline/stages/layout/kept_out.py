"""The keep-out zones of the wishes: what may lie in them, and the lines led round them."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from plumeline.job.document import Job
from plumeline.notices import Notice, caution
from plumeline.stages.layout.paths import Water, water_of
from plumeline.stages.survey import Survey
from plumeline.units import both

GAP_M = 0.5
"""A line keeps this far from a zone."""
LEAST_M = 0.05
XY = tuple[float, float]


def zones_of(job: Job, survey: Survey) -> tuple[Polygon, ...]:
    """Return the zones in the local plane; one of fewer than three corners is none."""
    found: list[Polygon] = []
    for ring in job.wishes.keep_out:
        if len(ring) >= 3:
            shape = Polygon(survey.plane.many_to_xy(ring)).buffer(0)
            found += [part for part in getattr(shape, "geoms", [shape]) if isinstance(part, Polygon)]
    return tuple(found)


class Ways:
    """Ways for lines: round the keep-out zones where the water lets them, else the shortest through the water."""

    def __init__(self, job: Job, survey: Survey, water: Water) -> None:
        self.water = water
        self.zones = zones_of(job, survey)
        self._open = self._waters()

    def _waters(self) -> tuple[Water, ...]:
        """Return the pieces of water outside the zones, each asked for ways by itself."""
        if not self.zones:
            return ()
        left: BaseGeometry = self.water.polygon.difference(
            shapely.union_all(self.zones).buffer(GAP_M, quad_segs=2)
        )
        parts = left.geoms if isinstance(left, MultiPolygon) else [left]
        return tuple(water_of(part) for part in parts if isinstance(part, Polygon) and not part.is_empty)

    def distances(self, start_xy: np.ndarray, end_xy: np.ndarray) -> np.ndarray:
        """Return the ways [m] of lines from places (n, 2) to places (m, 2) as an array (n, m)."""
        plain = self.water.distances(start_xy, end_xy)
        for water in self._open:
            round_m = water.distances(start_xy, end_xy)
            plain = np.where(np.isfinite(round_m), round_m, plain)
        return plain

    def path(self, start_xy: XY, end_xy: XY) -> np.ndarray:
        """Return the way of a line between two places as corners (k, 2), both ends with it."""
        ends = np.array([start_xy, end_xy], dtype=float)
        for water in self._open:
            if np.isfinite(water.distances(ends[:1], ends[1:])).all():
                return water.path(start_xy, end_xy)
        return self.water.path(start_xy, end_xy)

    def nearest(self, xy: XY) -> XY:
        """Return the place itself when it lies in the water, else the nearest place on the shore."""
        return self.water.nearest(xy)

    def free(self, places_xy: np.ndarray) -> np.ndarray:
        """Return which places (n, 2) lie in no zone; all of them where each lies in one."""
        if not self.zones:
            return np.ones(len(places_xy), dtype=bool)
        kept = shapely.union_all(self.zones).buffer(GAP_M)
        out = ~shapely.contains_xy(kept, places_xy[:, 0], places_xy[:, 1])
        return out if out.any() else ~out

    def through_m(self, path_xy: tuple[XY, ...]) -> float:
        """Return how much of a line lies in the zones [m]."""
        if not self.zones or len(path_xy) < 2:
            return 0.0
        return float(shapely.LineString(path_xy).intersection(shapely.union_all(self.zones)).length)


def line_notices(ways: Ways, lines: dict[str, tuple[XY, ...]]) -> tuple[Notice, ...]:
    """Return which lines go through a zone because there is no way round it.

    Args:
        ways: for lines.
        lines: by diffuser.
    """
    inside = {name: ways.through_m(path) for name, path in lines.items()}
    said = [f"{name} for {both(length_m, 'm')}" for name, length_m in inside.items() if length_m > LEAST_M]
    if not said:
        return ()
    text = (
        f"No way round the keep-out zones: the lines of {', '.join(said)} lie in them. Move the manifold, make the "
        "zones smaller, or agree on the lines."
    )
    return (caution("line-in-keep-out", text),)
