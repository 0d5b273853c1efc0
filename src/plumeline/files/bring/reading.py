"""Which reader a file wants, by what is in it; its name is only a hint."""

from __future__ import annotations

import importlib
import re
from collections.abc import Callable
from pathlib import Path

from plumeline.errors import InputError
from plumeline.files.bring.value import MOST_FILE_BYTES, Asked, Brought
from plumeline.units import plain

_HEAD_BYTES = 65_536
_GEOPACKAGE = b"SQLite format 3\x00"
_SHAPE = (9994).to_bytes(4, "big")
_SENTENCE = re.compile(rb"^[^\n]{0,60}?[$!][A-Z]{2}[A-Z0-9]{3},", re.MULTILINE)
_ROOT = re.compile(rb"<(?:\w+:)?(gpx|kml)\b", re.IGNORECASE)

READERS = {
    "gpx": "plumeline.files.bring.gpx_in:read_gpx",
    "kml": "plumeline.files.bring.kml_in:read_kml",
    "kmz": "plumeline.files.bring.kml_in:read_kmz",
    "geojson": "plumeline.files.bring.geojson_in:read_geojson",
    "shapefile": "plumeline.files.bring.layers_in:read_shapefile",
    "geopackage": "plumeline.files.bring.layers_in:read_geopackage",
    "nmea": "plumeline.files.bring.nmea_in:read_nmea",
    "csv": "plumeline.files.bring.csv_in:read_csv",
}
WORDS = (
    "GPX, KML, KMZ, GeoJSON, a shapefile (zipped, or its .shp), a GeoPackage, a log of NMEA sentences, or CSV"
)


def read_foreign(path: Path, asked: Asked | None = None) -> Brought:
    """Return what a file of another program holds.

    Args:
        path: of the file.
        asked: what is told about it.

    Raises:
        InputError: it is of no kind that is known here, or can't be read.
    """
    kind = kind_of(path)
    module, name = READERS[kind].split(":")
    reader: Callable[[Path, Asked], Brought] = getattr(importlib.import_module(module), name)
    return reader(path, asked or Asked())


def kind_of(path: Path) -> str:
    """Return the kind of a file, a key of ``READERS``.

    Raises:
        InputError: it is none, or can't be read at all.
    """
    try:
        if not path.is_file():
            raise InputError("is not a file that is there.", remedy="Check its name.", place=str(path))
        size_bytes = path.stat().st_size
        with path.open("rb") as stream:
            head = stream.read(_HEAD_BYTES)
    except OSError as error:
        raise InputError(f"can't be read ({error.strerror}).", place=path.name) from None
    if size_bytes > MOST_FILE_BYTES:
        raise InputError(
            f"is {plain(size_bytes / 1e6, 0)} MB; the limit is {MOST_FILE_BYTES / 1e6:.0f} MB.",
            remedy="Thin it, or cut it into parts.",
            place=path.name,
        )
    if not head.strip():
        raise InputError("is empty.", remedy="Copy it again from the device.", place=path.name)
    return _by_content(path, head)


def _by_content(path: Path, head: bytes) -> str:
    if head.startswith(b"PK\x03\x04"):
        return _archive(path)
    text = head.lstrip(b"\xef\xbb\xbf \r\n\t")
    if text.startswith(b"<"):
        root = _ROOT.search(head)
        if root is None:
            raise _unknown(path)
        return root[1].decode().lower()
    if text.startswith(b"{"):
        return "geojson"
    if head.startswith(_GEOPACKAGE):
        return "geopackage"
    if head.startswith(_SHAPE):
        return "shapefile"
    if len(_SENTENCE.findall(head)) >= 2:
        return "nmea"
    if b"\x00" in head and not head.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _unknown(path)
    return "csv"


def _archive(path: Path) -> str:
    from plumeline.files.bring.archives import ending_in, members

    found = members(path)
    if ending_in(found, ".kml"):
        return "kmz"
    if ending_in(found, ".shp"):
        return "shapefile"
    raise _unknown(path)


def _unknown(path: Path) -> InputError:
    return InputError("is of no kind that is read here.", remedy=f"Bring {WORDS}.", place=path.name)
