"""GeoJSON (RFC 7946): the outline of the pond read, and features of the plan written."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from plumeline.files.findings import Findings
from plumeline.files.text_in import read_text
from plumeline.job.document import Point

FILE = "outline.geojson"
Ring = tuple[tuple[float, float], ...]
"""Pairs of longitude and latitude in degrees, as they stand in the file; the closing pair left out."""

_REMEDY = "Export the shore line as one polygon in longitude and latitude (WGS 84)."


def read_outline(path: Path, findings: Findings) -> tuple[Ring, ...]:
    """Return the rings of the outline, the shore first; empty when there is no file or it is at fault.

    Takes a Polygon or MultiPolygon, alone, in a Feature, or in a collection. Of several polygons the largest
    is the pond. Heights are left out.
    """
    if not path.exists():
        return ()
    text = read_text(path, findings)
    if text is None:
        return ()
    try:
        raw = json.loads(text)
    except (json.JSONDecodeError, RecursionError) as error:
        row = getattr(error, "lineno", 1)
        said = getattr(error, "msg", "too deeply nested")
        findings.fault(FILE, f"row {row}", f"is not valid JSON: {said.lower()}.", _REMEDY)
        return ()
    polygons = _polygons(raw)
    if not polygons:
        kind = raw.get("type", "nothing") if isinstance(raw, dict) else type(raw).__name__
        if kind == "FeatureCollection" and not raw.get("features"):
            findings.note("no-outline", f"{FILE} holds no features: it counts as not there.")
            return ()
        findings.fault(FILE, "", f"holds no polygon ({kind}).", _REMEDY)
        return ()
    rings = [_rings(polygon, findings) for polygon in polygons]
    if any(not polygon for polygon in rings):
        return ()
    best = max(rings, key=lambda polygon: abs(_area(polygon[0])))
    if len(rings) > 1:
        findings.caution(
            "outline-several", f"{FILE} holds {len(rings)} polygons; the largest is taken as the pond."
        )
    return best


def _polygons(raw: Any) -> list[Any]:
    """Return the coordinates of every polygon in a GeoJSON object."""
    if not isinstance(raw, dict):
        return []
    kind, coordinates = raw.get("type"), raw.get("coordinates")
    if kind == "Polygon":
        return [coordinates]
    if kind == "MultiPolygon":
        return list(coordinates) if isinstance(coordinates, list) else []
    if kind == "Feature":
        return _polygons(raw.get("geometry"))
    inside = raw.get("features") if kind == "FeatureCollection" else raw.get("geometries")
    return [found for part in inside for found in _polygons(part)] if isinstance(inside, list) else []


def _rings(polygon: Any, findings: Findings) -> tuple[Ring, ...]:
    found = []
    for number, ring in enumerate(polygon if isinstance(polygon, list) else [], start=1):
        where = f"ring {number}"
        try:
            pairs = [(float(place[0]), float(place[1])) for place in ring]
        except (TypeError, ValueError, IndexError, KeyError, OverflowError):
            findings.fault(FILE, where, "holds something that is not a pair of numbers.", _REMEDY)
            return ()
        if len(pairs) > 1 and pairs[0] == pairs[-1]:
            pairs.pop()
        if len(set(pairs)) < 3:
            findings.fault(FILE, where, f"has {len(set(pairs))} different points; 3 are needed.", _REMEDY)
            return ()
        found.append(tuple(pairs))
    if not found:
        findings.fault(FILE, "", "holds a polygon without points.", _REMEDY)
    return tuple(found)


def _area(ring: Ring) -> float:
    """Return twice the area of a ring in the units of its pairs squared, signed."""
    return sum(
        x * next_y - next_x * y for (x, y), (next_x, next_y) in zip(ring, (*ring[1:], ring[0]), strict=True)
    )


def _closed(ring: Sequence[Point]) -> list[list[float]]:
    pairs = [[place.longitude_deg, place.latitude_deg] for place in ring]
    return pairs if pairs[0] == pairs[-1] else [*pairs, pairs[0]]


def polygon(rings: Iterable[Sequence[Point]]) -> dict[str, Any]:
    """Return a Polygon from rings of points, the shore first; each ring is closed if it is not."""
    return {"type": "Polygon", "coordinates": [_closed(ring) for ring in rings]}


def line(points: Iterable[Point]) -> dict[str, Any]:
    """Return a LineString through points."""
    return {
        "type": "LineString",
        "coordinates": [[place.longitude_deg, place.latitude_deg] for place in points],
    }


def lines(parts: Iterable[Iterable[Point]]) -> dict[str, Any]:
    """Return a MultiLineString."""
    return {"type": "MultiLineString", "coordinates": [line(part)["coordinates"] for part in parts]}


def spot(place: Point) -> dict[str, Any]:
    """Return a Point."""
    return {"type": "Point", "coordinates": [place.longitude_deg, place.latitude_deg]}


def feature(geometry: Mapping[str, Any], properties: Mapping[str, Any], name: str = "") -> dict[str, Any]:
    """Return a Feature; ``name`` becomes its id. Names of numbers in ``properties`` end in their unit."""
    head: dict[str, Any] = {"type": "Feature"} | ({"id": name} if name else {})
    return head | {"geometry": dict(geometry), "properties": dict(properties)}


def collection_text(features: Iterable[Mapping[str, Any]]) -> str:
    """Return a FeatureCollection as text, one feature a line; the same features give the same bytes.

    Raises:
        ValueError: for NaN or infinity in a feature.
    """
    rows = [json.dumps(entry, ensure_ascii=False, allow_nan=False) for entry in features]
    body = ",\n".join(rows)
    return f'{{"type": "FeatureCollection", "features": [\n{body}\n]}}\n'
