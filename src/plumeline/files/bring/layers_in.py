"""Shapefiles and GeoPackages: a harmless copy is looked over, then GDAL reads it through pyogrio."""

from __future__ import annotations

import shutil
import sqlite3
import warnings
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np

from plumeline.errors import InputError
from plumeline.files.bring import archives, planes
from plumeline.files.bring.features import Sorter
from plumeline.files.bring.value import MOST_FILE_BYTES, MOST_POINTS, Asked, Brought, Spots, too_many
from plumeline.units import plain

PARTS = (".shp", ".shx", ".dbf", ".prj", ".cpg")
NEEDED = (".shp", ".shx", ".dbf")
MOST_LAYERS = 200
MOST_WARNINGS = 5


def read_shapefile(path: Path, asked: Asked) -> Brought:
    """Return a shapefile: the .shp with its siblings beside it, or all of them in one archive.

    Raises:
        InputError: a part is missing, it can't be read, or the archive is not harmless.
    """
    with TemporaryDirectory(prefix="plumeline-") as place:
        target = Path(place)
        if path.suffix.casefold() == ".shp":
            _copied(path, target)
        else:
            _unpacked(path, target)
        missing = [ending for ending in NEEDED if not (target / f"layer{ending}").is_file()]
        if missing:
            raise InputError(
                f"has no {' and no '.join(missing)} beside it.",
                remedy="A shapefile is several files of one name; bring them together, best as one .zip.",
                place=path.name,
            )
        cautions: tuple[str, ...] = ()
        if not (target / "layer.prj").is_file() and not asked.crs:
            cautions = (f"{path.name} has no .prj: its numbers were taken as longitude and latitude.",)
        return _layer(target / "layer.shp", "", path.name, "shapefile", asked, cautions)


def _copied(path: Path, target: Path) -> None:
    """Copy the parts beside a .shp; names in large letters too."""
    for other in path.parent.iterdir():
        ending = other.suffix.casefold()
        if other.stem == path.stem and ending in PARTS and other.is_file():
            if other.stat().st_size > MOST_FILE_BYTES:
                raise InputError("is too large.", remedy="Cut it into parts.", place=other.name)
            shutil.copyfile(other, target / f"layer{ending}")


def _unpacked(path: Path, target: Path) -> None:
    found = archives.members(path)
    shapes = archives.ending_in(found, ".shp")
    if len(shapes) > 1:
        names = ", ".join(one.filename for one in shapes[:10])
        raise InputError(f"holds several shapefiles: {names}.", remedy="Bring one of them.", place=path.name)
    stem = PurePosixPath(shapes[0].filename).with_suffix("")
    for ending in PARTS:
        for one in archives.ending_in(found, ending):
            if PurePosixPath(one.filename).with_suffix("") == stem:
                archives.unpack(path, one, target / f"layer{ending}")


def read_geopackage(path: Path, asked: Asked) -> Brought:
    """Return the layers of a GeoPackage that are plain tables of features.

    Raises:
        InputError: it can't be read, or holds what a map has no need of.
    """
    with TemporaryDirectory(prefix="plumeline-") as place:
        copy = Path(place) / "copy.gpkg"
        shutil.copyfile(path, copy)
        names = feature_tables(copy, path.name)
        if not names:
            raise InputError("holds no layer of features.", remedy="Export the layer again.", place=path.name)
        parts = [_layer(copy, name, path.name, "GeoPackage", asked, ()) for name in names]
    return _together(parts, names)


def _together(parts: list[Brought], names: list[str]) -> Brought:
    if len(parts) == 1:
        return replace(parts[0], understood=(("layer", names[0]), *parts[0].understood))
    columns = ("lon_deg", "lat_deg", "depth_m", "time_s", "hdop_number", "row")
    arrays = [np.concatenate([getattr(one.spots, column) for one in parts]) for column in columns]
    told: dict[int, str] = {}
    before = 0
    for one in parts:
        told |= {index + before: name for index, name in one.spots.name.items()}
        before += one.spots.count
    lon, lat, depth, time, hdop, row = arrays
    return replace(
        parts[0],
        crs="; ".join(dict.fromkeys(one.crs for one in parts)),
        areas=tuple(area for one in parts for area in one.areas),
        lines=tuple(line for one in parts for line in one.lines),
        spots=Spots(lon, lat, depth, time, hdop, row.astype(np.int64), told),
        understood=tuple(
            (f"{name}, {what}", words)
            for name, one in zip(names, parts, strict=True)
            for what, words in one.understood
        ),
        asides=tuple(aside for one in parts for aside in one.asides),
        cautions=tuple(dict.fromkeys(words for one in parts for words in one.cautions)),
    )


def _only_reads(action_number: int, first: str | None, *_: Any) -> int:
    """Let SQLite read the tables that say what is in the file, and nothing else."""
    if action_number == sqlite3.SQLITE_SELECT:
        return sqlite3.SQLITE_OK
    if action_number == sqlite3.SQLITE_READ and first in (
        "gpkg_contents",
        "sqlite_master",
        "gpkg_geometry_columns",
    ):
        return sqlite3.SQLITE_OK
    return sqlite3.SQLITE_DENY


def feature_tables(copy: Path, file: str) -> list[str]:
    """Return the names of the layers that are plain tables.

    Args:
        copy: of the file, read only and without its journal.
        file: its name, for messages.

    Raises:
        InputError: it is damaged, or a layer is a view or a virtual table, which run commands of their own.
    """
    try:
        base = sqlite3.connect(f"{copy.as_uri()}?mode=ro&immutable=1", uri=True)
        try:
            base.set_authorizer(_only_reads)
            # a turned byte in a name must not stop the look
            base.text_factory = lambda data: data.decode("utf-8", "replace")
            made = {str(name): (str(kind), str(sql or "")) for name, kind, sql in base.execute(
                "SELECT name, type, sql FROM sqlite_master LIMIT 5000"
            )}  # fmt: skip
            layers = [str(row[0]) for row in base.execute(
                "SELECT table_name FROM gpkg_contents WHERE data_type = 'features' LIMIT 5000"
            )]  # fmt: skip
        finally:
            base.close()
    except (sqlite3.Error, UnicodeError) as error:  # its own message may be no text
        raise InputError(f"is no GeoPackage that can be read ({error}).", place=file) from None
    if len(layers) > MOST_LAYERS:
        raise InputError(
            f"holds {plain(len(layers), 0)} layers.", remedy="Export the one that is meant.", place=file
        )
    _look_over(made, layers, file)
    return layers


def _look_over(made: Mapping[str, tuple[str, str]], layers: list[str], file: str) -> None:
    for name, (kind, sql) in made.items():
        text = " ".join(sql.casefold().split())
        # the index of places is the one virtual table that a map has
        if text.startswith("create virtual table") and " using rtree" not in text:
            raise _refused(file, f"the table '{name[:60]}' runs code of its own")
        if kind == "table" and "generated always" in text:
            raise _refused(file, f"the table '{name[:60]}' computes what it shows")
    for name in layers:
        if made.get(name, ("", ""))[0] != "table":
            raise _refused(file, f"its layer '{name[:60]}' is no table")


def _refused(file: str, why: str) -> InputError:
    return InputError(
        f"is not read: {why}.", remedy="Export the layer alone into a new GeoPackage.", place=file
    )


def _layer(path: Path, layer: str, file: str, kind: str, asked: Asked, cautions: tuple[str, ...]) -> Brought:
    """Return one layer."""
    import pyogrio.raw
    from pyogrio.errors import DataLayerError, DataSourceError, FieldError

    try:
        with warnings.catch_warnings(record=True) as said:
            warnings.simplefilter("always")
            meta, _, shapes, fields = pyogrio.raw.read(
                path,
                layer=layer or None,
                force_2d=True,
                datetime_as_string=True,
                max_features=MOST_POINTS + 1,
            )
    except (DataSourceError, DataLayerError, FieldError, ValueError, UnicodeError) as error:
        words = str(error).replace(str(path), file).splitlines()[0]
        raise InputError(f"can't be read ({words}).", remedy="Export it again.", place=file) from None
    if shapes is None or len(shapes) > MOST_POINTS:
        raise too_many(file) if shapes is not None else InputError("has no geometry.", place=file)
    told = dict.fromkeys(" ".join(str(item.message).replace(str(path), file).split()) for item in said)
    cautions += tuple(f"{file}: the reader says: {words}" for words in list(told)[:MOST_WARNINGS])
    named = asked.crs or meta["crs"] or ""
    crs = planes.known_crs(named, "--crs" if asked.crs else file) if named else None
    headings = [str(name) for name in meta["fields"]]
    sorter = Sorter(file, headings, asked, None if crs is None or planes.is_plain(crs) else crs)
    sorter.take_all(_features(shapes, headings, fields))
    return sorter.brought(kind, Brought.crs if crs is None else planes.crs_words(crs), cautions)


def _features(
    shapes: np.ndarray, headings: list[str], fields: list[np.ndarray]
) -> Iterator[tuple[Any, dict[str, Any], int]]:
    from shapely import from_wkb

    found = from_wkb(shapes, on_invalid="ignore")
    for row, shape in enumerate(found, start=1):
        yield shape, {name: column[row - 1] for name, column in zip(headings, fields, strict=True)}, row
