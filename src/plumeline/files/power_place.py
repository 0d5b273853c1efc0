"""The compressor's place held against the pond and against the length that is given for the air line."""

from __future__ import annotations

from math import hypot

from plumeline.files.findings import Findings
from plumeline.files.outline_checks import place_xy
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import AirSystem, Job, Place, Pond, Site
from plumeline.units import both

FIX_ERROR_M = 5.0
"""A phone's place errs by about so much under open sky (van Diggelen & Enge 2015, ION GNSS+: 4.9 m)."""
MOST_NUMBER = 2.0
"""A line so many times as long as the straight way goes round something, or one of the two is wrong (judgement)."""
AT_SHORE_M = 30.0
"""A manifold farther out in the water is not where the trench ends."""


def shore_m(pond: Pond, place: Place, site: Site) -> tuple[float, float] | None:
    """Return how far the nearest water and the farthest corner of the shore lie from a place; None without a shore."""
    from shapely import Point, Polygon

    if not pond.outline:
        return None
    ring = [place_xy(corner, site) for corner in pond.outline[0]]
    x_m, y_m = place_xy(place, site)
    farthest_m = max(hypot(x - x_m, y - y_m) for x, y in ring)
    return float(Polygon(ring).distance(Point(x_m, y_m))), farthest_m


def check_way(job: Job, findings: Findings) -> None:
    """Add a notice where the line is shorter than the straight way it must go, or more than twice as long."""
    line_m, named = line_of(job.air)
    found = straight_of(job)
    if line_m is None or found is None:
        return
    least_m, most_m, where = found
    if line_m < least_m - FIX_ERROR_M:
        findings.caution(
            "line-under-straight",
            f"{JOB_FILE}, {named}: the air line is {both(line_m, 'm')} long, and from the compressor's place to "
            f"{where} it is {both(least_m, 'm')} in a straight line, which no line undercuts: pressure and trench come "
            "out too small. Measure the trench again, or mend the place of the compressor.",
        )
    elif line_m > MOST_NUMBER * most_m + FIX_ERROR_M:
        findings.note(
            "line-over-straight",
            f"{JOB_FILE}, {named}: the air line is {both(line_m, 'm')} long, more than twice the "
            f"{both(most_m, 'm')} that the compressor's place lies from {where} in a straight line. Where the trench "
            "goes round a building or a drive that is right; else one of the two is wrong.",
        )


def line_of(air: AirSystem) -> tuple[float | None, str]:
    """Return the length of the line on land, and the key that says it: its pieces count before one length."""
    if air.trunk:
        return sum(piece.length_m for piece in air.trunk), "air.trunk"
    return air.route_length_m, "air.route_length"


def straight_of(job: Job) -> tuple[float, float, str] | None:
    """Return the least and the most straight way [m] from the compressor to the line's end, and what that end is.

    None where the compressor's place is not known, or neither manifold nor shore is.
    """
    start = job.power.place
    if start is None:
        return None
    end, at_shore = job.air.manifold, shore_m(job.pond, start, job.site)
    if end is not None and (job.air.trunk or _is_at_shore(job.pond, end, job.site)):
        (x_m, y_m), (end_x_m, end_y_m) = place_xy(start, job.site), place_xy(end, job.site)
        way_m = hypot(end_x_m - x_m, end_y_m - y_m)
        return way_m, way_m, "the manifold"
    return None if at_shore is None else (*at_shore, "the shore")


def _is_at_shore(pond: Pond, place: Place, site: Site) -> bool:
    """Return whether a place stands at the shore, where a trench may end; so taken where no shore is drawn."""
    from shapely import Point, Polygon

    if not pond.outline:
        return True
    ring = Polygon([place_xy(corner, site) for corner in pond.outline[0]]).exterior
    return bool(ring.distance(Point(place_xy(place, site))) <= AT_SHORE_M)
