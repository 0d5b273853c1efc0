"""Shore and soundings put into the files of a folder that somebody else wrote: what was not touched stays."""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from plumeline.files.csv_rows import Row, opened, row_lines, with_lines
from plumeline.files.findings import Findings
from plumeline.files.geojson import collection_text, feature, polygon
from plumeline.files.soundings import COLUMNS, FILE, read_soundings
from plumeline.job.document import LocalPoint, Point, Sounding


def with_shore(data: bytes | None, rings: Sequence[Sequence[Point]]) -> bytes:
    """Return outline.geojson with other rings; names and properties of a file with one polygon stay.

    Args:
        data: the file; None where there is none.
        rings: the shore first.
    """
    shape = polygon(rings)
    try:
        raw = json.loads((data or b"").decode("utf-8-sig"))
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError):
        raw = None
    places = _polygons(raw)
    if len(places) != 1:
        return collection_text([feature(shape, {})]).encode()
    # a list of one polygon is a polygon: the kind is kept simple
    places[0].clear()
    places[0].update(shape)
    return (json.dumps(raw, ensure_ascii=False) + "\n").encode()


def _polygons(raw: Any) -> list[dict[str, Any]]:
    """Return every polygon or list of polygons of a GeoJSON object, to be changed in it."""
    if not isinstance(raw, dict):
        return []
    if raw.get("type") in ("Polygon", "MultiPolygon"):
        parts = raw.get("coordinates")
        several = raw["type"] == "MultiPolygon" and (not isinstance(parts, list) or len(parts) != 1)
        return [raw, raw] if several else [raw]
    inside = [raw.get("geometry"), *(raw.get("features") or ()), *(raw.get("geometries") or ())]
    return [found for part in inside for found in _polygons(part)]


def with_soundings(
    data: bytes | None, gone_indices: Collection[int], added: Sequence[Sounding]
) -> bytes | None:
    """Return soundings.csv with rows less and more, or None where a row can't be found without doubt.

    Args:
        data: the file; None where there is none.
        gone_indices: which soundings go, counted from 0 in the order of the file.
        added: those that come.
    """
    lines = _rows_of(data) if data is not None else ()
    if gone_indices and (not lines or max(gone_indices) >= len(lines)):
        return None
    local = any(isinstance(item.place, LocalPoint) for item in added)
    wanted = ("x_m", "y_m", "depth_m") if local else ("lon", "lat", "depth_m")
    table = opened(FILE, data, COLUMNS, wanted)
    new = row_lines(table, [_row(item) for item in added])
    old_rows = [lines[index] - 1 for index in sorted(gone_indices)]
    cut = with_lines(table, (), old_rows=old_rows) if old_rows else table
    return with_lines(cut, new).data


def _rows_of(data: bytes) -> tuple[int, ...]:
    """Return the line numbers of the rows that hold a depth, in order."""
    with TemporaryDirectory(prefix="plumeline-") as folder:
        path = Path(folder) / FILE
        path.write_bytes(data)
        table = read_soundings(path, Findings())
    if table is None:
        return ()
    depths = table.numbers["depth_m"]
    return tuple(row for row, depth in zip(table.rows, depths, strict=True) if depth is not None)


def _row(item: Sounding) -> Row:
    if isinstance(item.place, LocalPoint):
        return {"x_m": item.place.x_m, "y_m": item.place.y_m, "depth_m": item.depth_m}
    return {"lon": item.place.longitude_deg, "lat": item.place.latitude_deg, "depth_m": item.depth_m}
