"""The pond, its contours and its layout for other programs and devices: GeoJSON, KML, GPX, GeoPackage, CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from plumeline.files.geojson import collection_text, feature
from plumeline.stages.layout import Layout
from plumeline.stages.survey import LocalPlane, Survey
from plumeline.units import both

KINDS = ("geojson", "kml", "gpx", "gpkg", "csv")
XY = tuple[float, float]


@dataclass(frozen=True)
class Shape:
    """One thing on the map.

    Attributes:
        layer: pond, contour, line or mark.
        kind: Polygon, MultiLineString, LineString or Point.
        coordinates: as GeoJSON nests them, longitude and latitude to a centimetre.
        name: for people.
        properties: values whose names carry their units.
        words: one line for a screen that shows no properties.
    """

    layer: str
    kind: str
    coordinates: Any
    name: str
    properties: Mapping[str, Any]
    words: str = ""


def shapes_of(name: str, survey: Survey, layout: Layout) -> tuple[Shape, ...]:
    """Return everything that a map shows: shore, contours, lines, diffusers, manifold.

    Args:
        name: of the pond.
        survey: its basin.
        layout: what lies in it.
    """
    plane = survey.plane
    found = [
        Shape(
            "pond", "Polygon", [_ring(plane, ring, left=n == 0) for n, ring in enumerate(survey.outline_xy)], name,
            {"area_m2": round(survey.area_m2, 1), "volume_m3": round(survey.volume_m3, 1)},
            f"{both(survey.area_m2, 'm2')}",
        )
    ]  # fmt: skip
    for contour in survey.contours:
        lines = [_path(plane, line) for line in contour.lines_xy]
        depth = {"depth_m": round(contour.depth_m, 4), "depth_ft": round(contour.depth_m / 0.3048, 3)}
        found.append(Shape("contour", "MultiLineString", lines, both(contour.depth_m, "m"), depth))
    for item in layout.diffusers:
        length = {"length_m": round(item.branch_length_m, 2), "cut_m": round(item.branch_cut_m, 2)}
        path = _path(plane, item.branch_path_xy)
        words = f"cut to {both(item.branch_cut_m, 'm')}"
        found.append(Shape("line", "LineString", path, f"line of {item.name}", length, words))
    found.append(Shape("mark", "Point", _place(plane, *layout.manifold_xy), "manifold", {"kind": "manifold"}))
    for item in layout.diffusers:
        depths = {
            "kind": "diffuser",
            "depth_m": round(item.depth_m, 3),
            "bottom_depth_m": round(item.bottom_depth_m, 3),
        }
        words = f"bottom at {both(item.bottom_depth_m, 'm')}, membrane at {both(item.depth_m, 'm')}"
        if layout.schematic:
            words += "; the place is schematic, not surveyed"
        found.append(Shape("mark", "Point", _place(plane, item.x_m, item.y_m), item.name, depths, words))
        for bend in item.branch_bends:
            more = {"kind": "bend", "bottom_depth_m": round(bend.bottom_depth_m, 3)}
            words = f"bottom at {both(bend.bottom_depth_m, 'm')}; the line of {item.name} is led through here"
            found.append(Shape("mark", "Point", _place(plane, *bend.xy), bend.name, more, words))
    return tuple(found)


def _place(plane: LocalPlane, x_m: float, y_m: float) -> list[float]:
    point = plane.to_point(x_m, y_m)
    return [round(point.longitude_deg, 7), round(point.latitude_deg, 7)]


def _path(plane: LocalPlane, path: Sequence[XY]) -> list[list[float]]:
    return [_place(plane, x, y) for x, y in path]


def _ring(plane: LocalPlane, ring: Sequence[XY], *, left: bool) -> list[list[float]]:
    """Return a closed ring wound as RFC 7946 wants."""
    x, y = np.array(ring, dtype=float).T
    is_left = float(np.dot(x, np.roll(y, -1)) - np.dot(np.roll(x, -1), y)) > 0
    places = _path(plane, ring if is_left == left else ring[::-1])
    return places if places[0] == places[-1] else [*places, places[0]]


def map_text(shapes: Sequence[Shape], kind: str) -> str:
    """Return a map as text of one kind, every kind but gpkg.

    Args:
        shapes: from ``shapes_of``.
        kind: of ``KINDS``.
    """
    return {"geojson": _geojson, "kml": _kml, "gpx": _gpx, "csv": _csv}[kind](shapes)


def _geojson(shapes: Sequence[Shape]) -> str:
    return collection_text(
        feature(
            {"type": one.kind, "coordinates": one.coordinates},
            {"layer": one.layer, "name": one.name, **one.properties},
        )
        for one in shapes
    )


def _kml(shapes: Sequence[Shape]) -> str:
    folders: dict[str, list[str]] = {}
    for one in shapes:
        data = "".join(
            f"<Data name={quoteattr(key)}><value>{escape(str(value))}</value></Data>"
            for key, value in one.properties.items()
        )
        folders.setdefault(one.layer, []).append(
            f"<Placemark><name>{escape(one.name)}</name><description>{escape(one.words)}</description>"
            f"<ExtendedData>{data}</ExtendedData>{_kml_shape(one)}</Placemark>"
        )
    body = "\n".join(
        f"<Folder><name>{layer}</name>\n" + "\n".join(marks) + "\n</Folder>"
        for layer, marks in folders.items()
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<kml xmlns="http://www.opengis.net/kml/2.2"><Document>'
        f"<name>{escape(shapes[0].name)}</name>\n{body}\n</Document></kml>\n"
    )


def _kml_shape(one: Shape) -> str:
    def places(part: Sequence[Sequence[float]]) -> str:
        return f"<coordinates>{' '.join(f'{lon},{lat}' for lon, lat in part)}</coordinates>"

    if one.kind == "Point":
        return f"<Point>{places([one.coordinates])}</Point>"
    if one.kind == "LineString":
        return f"<LineString>{places(one.coordinates)}</LineString>"
    if one.kind == "MultiLineString":
        lines = "".join(f"<LineString>{places(part)}</LineString>" for part in one.coordinates)
        return f"<MultiGeometry>{lines}</MultiGeometry>"
    edges = ("outer", *("inner" for _ in one.coordinates[1:]))
    rings = "".join(
        f"<{edge}BoundaryIs><LinearRing>{places(ring)}</LinearRing></{edge}BoundaryIs>"
        for edge, ring in zip(edges, one.coordinates, strict=True)
    )
    return f"<Polygon>{rings}</Polygon>"


def _gpx(shapes: Sequence[Shape]) -> str:
    """Return waypoints for a handheld, and the shore as a track."""
    from gpxpy.gpx import GPX, GPXTrack, GPXTrackPoint, GPXTrackSegment, GPXWaypoint

    found = GPX()
    found.creator = "plumeline"
    for one in shapes:
        if one.layer == "mark":
            lon, lat = one.coordinates
            found.waypoints.append(
                GPXWaypoint(latitude=lat, longitude=lon, name=one.name, description=one.words or None)
            )
        elif one.layer == "pond":
            track = GPXTrack(name=one.name)
            for ring in one.coordinates:
                track.segments.append(GPXTrackSegment([GPXTrackPoint(lat, lon) for lon, lat in ring]))
            found.tracks.append(track)
    text: str = found.to_xml(version="1.1")
    return text + "\n"


def _csv(shapes: Sequence[Shape]) -> str:
    stream = io.StringIO()
    rows = csv.writer(stream, lineterminator="\n")
    rows.writerow(("name", "kind", "lon", "lat", "depth_m", "bottom_depth_m"))
    for one in shapes:
        if one.layer == "mark":
            more = [one.properties.get(key, "") for key in ("kind", "depth_m", "bottom_depth_m")]
            rows.writerow((_cell(one.name), more[0], *one.coordinates, *more[1:]))
    return stream.getvalue()


def _cell(text: str) -> str:
    """Return a name that no spreadsheet takes for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@") else text


def write_geopackage(shapes: Sequence[Shape], path: Path) -> None:
    """Write a GeoPackage, one layer for shore, contours, lines and marks each.

    Args:
        shapes: from ``shapes_of``.
        path: of a file that is not there yet.
    """
    import pyogrio.raw
    import shapely
    from shapely.geometry import shape

    for layer in dict.fromkeys(one.layer for one in shapes):
        some = [one for one in shapes if one.layer == layer]
        keys = list(dict.fromkeys(key for one in some for key in one.properties))
        columns = [np.array([one.name for one in some], dtype=object)]
        for key in keys:
            values = [one.properties.get(key) for one in some]
            is_text = any(isinstance(value, str) for value in values)
            columns.append(
                np.array(values, dtype=object)
                if is_text
                else np.array([np.nan if value is None else value for value in values], dtype=np.float64)
            )
        shapes_wkb = shapely.to_wkb(
            np.array(
                [shape({"type": one.kind, "coordinates": one.coordinates}) for one in some], dtype=object
            )
        )
        pyogrio.raw.write(
            path, shapes_wkb, columns, ["name", *keys], layer=layer, driver="GPKG", geometry_type=some[0].kind,
            crs="EPSG:4326", append=path.exists(),
        )  # fmt: skip
