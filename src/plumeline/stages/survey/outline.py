"""The water's edge as a valid polygon of the local plane."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, hypot, pi, sin, sqrt

import numpy as np
from shapely import MultiPoint, Polygon, affinity, is_valid_reason
from shapely.geometry.polygon import orient

from plumeline.errors import InputError
from plumeline.job.document import Job, Point
from plumeline.notices import Notice, caution
from plumeline.stages.survey.plane import LocalPlane
from plumeline.units import both, far_away

CIRCLE_SIDES = 180
FARTHEST_M = 20_000.0


@dataclass(frozen=True)
class Outline:
    """The polygon, whether it is assumed, and what there is to say."""

    polygon: Polygon
    assumed: bool
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]


def outline_of(job: Job, plane: LocalPlane) -> Outline:
    """Return the job's outline, or one of the job's area where there is none.

    Raises:
        InputError: the outline crosses itself or has no area, or neither outline nor area is known.
    """
    if job.pond.outline:
        return _given(job, plane)
    if job.pond.area_m2 is None:
        raise InputError(
            "the pond has neither an outline nor an area.",
            remedy="Give pond.area in job.toml, or an outline.geojson.",
            place="pond",
        )
    if len(job.pond.soundings) >= 3:
        return _around_soundings(job, plane)
    text = "The pond has no outline: a circle of its area stands in for it, and every position is schematic."
    return Outline(
        circle(job.pond.area_m2), True, (caution("outline-assumed", text),), ("round pond of the area given",)
    )


def circle(area_m2: float, x_m: float = 0.0, y_m: float = 0.0) -> Polygon:
    """Return a regular polygon of 180 sides with exactly this area."""
    radius_m = sqrt(area_m2 / (CIRCLE_SIDES / 2 * sin(2 * pi / CIRCLE_SIDES)))
    turns = [2 * pi * n / CIRCLE_SIDES for n in range(CIRCLE_SIDES)]
    return Polygon([(x_m + radius_m * cos(turn), y_m + radius_m * sin(turn)) for turn in turns])


def _given(job: Job, plane: LocalPlane) -> Outline:
    rings = [plane.many_to_xy(ring) for ring in job.pond.outline]
    if any(len(np.unique(ring, axis=0)) < 3 for ring in rings):
        raise InputError(
            "a ring of the outline has fewer than three different corners.",
            remedy="Walk the whole shore and close the ring.",
            place="pond.outline",
        )
    polygon = Polygon(rings[0], rings[1:])
    if not polygon.is_valid:
        raise InputError(
            f"the outline is not a simple ring: {is_valid_reason(polygon)} (metres in the local plane).",
            remedy="Put its corners in order along the shore, islands inside it, so that no sides cross.",
            place="pond.outline",
        )
    if not polygon.area > 1.0:
        raise InputError(
            f"the outline holds {both(polygon.area, 'm2')}.",
            remedy="Give positions in degrees.",
            place="pond.outline",
        )
    notices: tuple[Notice, ...] = ()
    given = job.pond.area_m2
    if given and not 0.9 < polygon.area / given < 1.1:
        text = (
            f"The outline holds {both(polygon.area, 'm2')}, the job says {both(given, 'm2')} "
            f"({polygon.area / given - 1:+.0%}). The outline decides."
        )
        notices += (caution("area-differs", text),)
    site = Point(longitude_deg=job.site.longitude_deg, latitude_deg=job.site.latitude_deg)
    site_x_m, site_y_m = plane.to_xy(site)
    away_m = hypot(site_x_m - polygon.centroid.x, site_y_m - polygon.centroid.y)
    if not away_m < FARTHEST_M:
        text = (
            f"The outline lies {far_away(away_m)} from the site's position. "
            "Are latitude and longitude swapped in one of them?"
        )
        notices += (caution("outline-far-from-site", text),)
    return Outline(
        orient(polygon), False, notices, ("the outline is taken as exact, at the level of the soundings",)
    )


def _around_soundings(job: Job, plane: LocalPlane) -> Outline:
    """Return the hull of the soundings, drawn out to the job's area."""
    area_m2 = job.pond.area_m2 or 0.0
    hull = MultiPoint(plane.many_to_xy(tuple(item.place for item in job.pond.soundings))).convex_hull
    if not isinstance(hull, Polygon) or hull.area > 1.1 * area_m2 or hull.area < 0.05 * area_m2:
        text = (
            f"The soundings span {both(hull.area, 'm2')}, which does not fit a pond of "
            f"{both(area_m2, 'm2')} without an outline; a circle about their middle stands in."
        )
        middle = hull.centroid
        return Outline(
            circle(area_m2, middle.x, middle.y), True, (caution("outline-assumed", text),), ("round pond",)
        )
    factor = sqrt(area_m2 / hull.area)
    grown = affinity.scale(hull, factor, factor, origin=hull.centroid)
    text = (
        "The pond has no outline: the hull of the soundings, drawn out to the area given, stands in for it. "
        "Lines and volume follow from it; walk the shore for a better plan."
    )
    return Outline(
        orient(grown), True, (caution("outline-assumed", text),), ("shore drawn around the soundings",)
    )
