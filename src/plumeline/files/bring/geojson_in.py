"""GeoJSON (RFC 7946, and the older form that names a reference system)."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from plumeline.errors import InputError
from plumeline.files.bring import planes
from plumeline.files.bring.features import Sorter
from plumeline.files.bring.value import Asked, Brought

LARGEST_BYTES = 64_000_000
MOST_NAMES = 300
DEEPEST = 20


def read_geojson(path: Path, asked: Asked) -> Brought:
    """Return what a GeoJSON file holds.

    Raises:
        InputError: it is none.
    """
    file = path.name
    if path.stat().st_size > LARGEST_BYTES:
        raise InputError(
            f"is larger than {LARGEST_BYTES / 1e6:.0f} MB.",
            remedy="Thin it, or bring a GeoPackage.",
            place=file,
        )
    try:
        raw = json.loads(path.read_bytes().decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise InputError("is not UTF-8 text.", remedy="Export it again.", place=file) from None
    except json.JSONDecodeError as error:
        raise InputError(
            f"is not valid JSON: {error.msg.lower()}.", place=f"{file}, row {error.lineno}"
        ) from None
    except RecursionError:
        raise InputError("is nested without end.", place=file) from None
    named = asked.crs or _named(raw)
    crs = planes.known_crs(named, "--crs" if asked.crs else file) if named else None
    features = list(_features(raw, 0))
    headings = list(dict.fromkeys(key for one in features for key in _properties(one)))[:MOST_NAMES]
    sorter = Sorter(file, headings, asked, None if crs is None or planes.is_plain(crs) else crs)
    sorter.take_all(_shapes(features, sorter))
    return sorter.brought("GeoJSON", Brought.crs if crs is None else planes.crs_words(crs))


def _named(raw: Any) -> str:
    """Return the reference system that an older file names."""
    found = raw.get("crs") if isinstance(raw, dict) else None
    found = found.get("properties") if isinstance(found, dict) else None
    name = found.get("name") if isinstance(found, dict) else None
    # the old form's own word for WGS 84 in this order
    return name if isinstance(name, str) and "CRS84" not in name else ""


def _features(raw: Any, level: int) -> Iterator[dict[str, Any]]:
    """Return features; a bare geometry is one without properties."""
    if not isinstance(raw, dict) or level > DEEPEST:
        return
    if raw.get("type") == "FeatureCollection":
        inside = raw.get("features")
        for part in inside if isinstance(inside, list) else ():
            yield from _features(part, level + 1)
    elif raw.get("type") == "Feature":
        yield raw
    elif raw.get("type"):
        yield {"geometry": raw, "properties": {}}


def _properties(feature: dict[str, Any]) -> dict[str, Any]:
    found = feature.get("properties")
    return found if isinstance(found, dict) else {}


def _shapes(features: list[dict[str, Any]], sorter: Sorter) -> Iterator[tuple[Any, dict[str, Any], int]]:
    from shapely.errors import ShapelyError
    from shapely.geometry import shape

    for row, feature in enumerate(features, start=1):
        try:
            found = shape(feature["geometry"]) if feature.get("geometry") else None
        except (ShapelyError, ValueError, TypeError, KeyError, AttributeError, IndexError, RecursionError):
            sorter.asides.add("its geometry can't be read", row)
            continue
        yield found, _properties(feature), row
