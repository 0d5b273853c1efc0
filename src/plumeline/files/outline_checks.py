"""The outline as a shape: crossing lines, longitude and latitude that changed places, distance."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from plumeline.files.findings import Findings
from plumeline.files.geojson import FILE, Ring
from plumeline.job.document import LocalPoint, Place, Point, Site
from plumeline.units import far_away

NEAR_M = 20_000.0
"""A pond lies no farther than this from the position given for its site."""

EARTH_RADIUS_M = 6_371_009.0


def flat(pairs: Sequence[tuple[float, float]], site: Site) -> list[tuple[float, float]]:
    """Return longitudes and latitudes as metres east and north of the site; for checks only."""
    east = EARTH_RADIUS_M * math.cos(math.radians(site.latitude_deg))
    return [
        (
            math.radians(lon - site.longitude_deg) * east,
            math.radians(lat - site.latitude_deg) * EARTH_RADIUS_M,
        )
        for lon, lat in pairs
    ]


def place_xy(place: Place, site: Site) -> tuple[float, float]:
    """Return a place as metres east and north of the site."""
    if isinstance(place, LocalPoint):
        return place.x_m, place.y_m
    return flat([(place.longitude_deg, place.latitude_deg)], site)[0]


def distance_m(lon: float, lat: float, site: Site) -> float:
    """Return the distance on the sphere from the site to a longitude and latitude."""
    first, second = math.radians(site.latitude_deg), math.radians(lat)
    half = (
        math.sin((second - first) / 2) ** 2
        + math.cos(first) * math.cos(second) * math.sin(math.radians(lon - site.longitude_deg) / 2) ** 2
    )
    return 2 * EARTH_RADIUS_M * math.asin(math.sqrt(min(1.0, max(0.0, half))))


def are_swapped(
    file: str, pairs: Sequence[tuple[float, float]], site: Site | None, findings: Findings
) -> bool | None:
    """Return whether longitude and latitude have changed places; None after a fault, when neither fits."""
    lon, lat = (sorted(values)[len(pairs) // 2] for values in zip(*pairs, strict=True))
    legal = max(abs(lat) for _, lat in pairs) <= 90 and max(abs(lon) for lon, _ in pairs) <= 180
    legal_swapped = max(abs(lon) for lon, _ in pairs) <= 90 and max(abs(lat) for _, lat in pairs) <= 180
    remedy = "Export in longitude, latitude (WGS 84), in this order; check the position of the site."
    if not legal and not legal_swapped:
        problem = f"the place ({lon:g}, {lat:g}) is no longitude and latitude."
        findings.fault(file, "", problem, remedy)
        return None
    if site is None:
        return not legal
    away = distance_m(lon, lat, site) if legal else math.inf
    if away <= NEAR_M:
        return False
    if legal_swapped and distance_m(lat, lon, site) <= NEAR_M:
        findings.caution(
            "swapped-coordinates",
            f"{file}: longitude and latitude have changed places; they were put right to lie at the site.",
        )
        return True
    for flipped, what in (((lon, -lat), "latitude"), ((-lon, lat), "longitude"), ((-lon, -lat), "both")):
        if legal and distance_m(*flipped, site) <= NEAR_M:
            remedy = f"With the sign of {what} turned they lie at the site: mend it here, or in the site's position."
    said = f"{far_away(away)} from" if math.isfinite(away) else "nowhere near"
    findings.fault(file, "", f"the places lie {said} the site's position.", remedy)
    return None


def check_shape(rings: Sequence[Sequence[tuple[float, float]]], file: str, findings: Findings) -> bool:
    """Return whether rings make a sound polygon; a fault says where lines cross."""
    from shapely import Polygon
    from shapely.validation import explain_validity

    shape = Polygon(rings[0], rings[1:])
    if shape.is_valid and shape.area > 0:
        return True
    said = explain_validity(shape)
    found = re.search(r"\[(\S+) (\S+)\]", said)
    where = f"near {float(found[1]):.6f}, {float(found[2]):.6f}" if found else ""
    if shape.convex_hull.area <= 0 or "Too few" in said:
        problem = "the outline encloses no area."
    elif "Self-intersection" in said:
        problem = "the outline crosses itself."
    else:
        problem = f"the rings do not fit together ({said.split('[')[0].lower()})."
    findings.fault(file, where, problem, "Walk or draw the shore in one round, and islands inside it.")
    return False


def as_points(rings: Sequence[Ring], *, swapped: bool) -> tuple[tuple[Point, ...], ...]:
    """Return rings of points, longitude and latitude put right when ``swapped``."""
    return tuple(
        tuple(
            Point(longitude_deg=lat, latitude_deg=lon)
            if swapped
            else Point(longitude_deg=lon, latitude_deg=lat)
            for lon, lat in ring
        )
        for ring in rings
    )


def check_outline(
    rings: tuple[Ring, ...], site: Site | None, findings: Findings
) -> tuple[tuple[Point, ...], ...]:
    """Return the outline as points when it is sound, else nothing, with faults."""
    if not rings:
        return ()
    if any(not math.isfinite(value) for ring in rings for pair in ring for value in pair):
        findings.fault(FILE, "", "holds a number that is not finite.", "Export it again.")
        return ()
    swapped = are_swapped(FILE, rings[0], site, findings)
    if swapped is None or not check_shape(rings, FILE, findings):
        return ()
    return as_points(rings, swapped=swapped)
