"""Features with geometry and properties, from GeoJSON, shapefile or GeoPackage, sorted into areas, lines and spots."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from plumeline.errors import InputError
from plumeline.files.bring import planes
from plumeline.files.bring.columns import Found, chosen
from plumeline.files.bring.depth_text import depth_taken
from plumeline.files.bring.gpx_in import time_s
from plumeline.files.bring.value import MOST_POINTS, Area, Asides, Asked, Brought, Line, spots_of, too_many
from plumeline.units import plain

EMPTY = "it has no geometry"
NOT_A_PLACE = "a place in it lies in no reference system"


@dataclass
class Sorter:
    """Takes features one by one.

    Attributes:
        file: for messages.
        headings: names of the properties.
        asked: what is told about the file.
        crs: reference system of its numbers, None for longitude and latitude.
    """

    file: str
    headings: Sequence[str]
    asked: Asked
    crs: Any = None
    asides: Asides = field(default_factory=Asides)
    areas: list[Area] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)
    records: list[tuple[float, float, float, float, float, int]] = field(default_factory=list)
    names: dict[int, str] = field(default_factory=dict)
    unitless: bool = False
    places: int = 0

    def __post_init__(self) -> None:
        told = {role: one for role, one in self.asked.columns.items() if role in ("depth", "name", "time")}
        # one set of columns is told for several files: what a file does not have is no matter, if it has no points
        try:
            self.found = chosen(self.headings, told, self.file)
            self.missing: InputError | None = None
        except InputError as error:
            self.found, self.missing = chosen(self.headings, {}, self.file), error

    def take_all(self, features: Iterable[tuple[Any, Mapping[str, Any], int]]) -> None:
        """Take features: a shapely geometry or None, properties, row.

        Raises:
            InputError: there are too many places.
        """
        for shape, properties, row in features:
            if shape is None or shape.is_empty:
                self.asides.add(EMPTY, row)
                continue
            name = self._text(properties, "name")
            for part in getattr(shape, "geoms", [shape]):
                for single in getattr(part, "geoms", [part]):
                    self._single(single, properties, name, row)

    def _single(self, shape: Any, properties: Mapping[str, Any], name: str, row: int) -> None:
        kind = shape.geom_type
        if kind == "Polygon":
            rings = [self._flat(ring.coords, row)[:-1] for ring in (shape.exterior, *shape.interiors)]
            if all(len(ring) for ring in rings):
                self.areas.append(Area(tuple(rings), name, row))
        elif kind in ("LineString", "LinearRing"):
            places = self._flat(shape.coords, row)
            if len(places) > 1:
                self.lines.append(Line(places, name, row))
        elif kind == "Point":
            if name:
                self.names[len(self.records)] = name
            when = time_s(self._text(properties, "time"))
            depth = self._depth(properties, row)
            self.records.append((shape.x, shape.y, depth, when, math.nan, row))
            self._count(1)

    def _count(self, count: int) -> None:
        self.places += count
        if self.places > MOST_POINTS:
            raise too_many(self.file)

    def _flat(self, coords: Any, row: int) -> np.ndarray:
        found = np.asarray(coords, dtype=float)[:, :2]
        self._count(len(found))
        if self.crs is not None:
            found = np.column_stack(planes.to_lon_lat(found[:, 0], found[:, 1], self.crs))
        elif planes.looks_plane(found[:, 0], found[:, 1]):
            x, y = (float(value) for value in np.median(found, axis=0))
            raise planes.no_system(self.file, x, y, self.asked.near_deg)
        if not np.isfinite(found).all():
            self.asides.add(NOT_A_PLACE, row)
            return np.empty((0, 2))
        return found

    def _text(self, properties: Mapping[str, Any], role: str) -> str:
        if role not in self.found:
            return ""
        value = properties.get(self.headings[self.found[role].index])
        return "" if value is None or value != value else str(value).strip()[:80]

    def _depth(self, properties: Mapping[str, Any], row: int) -> float:
        if self.missing is not None:
            raise self.missing
        text = self._text(properties, "depth")
        if not text:
            if "depth" in self.found:
                self.asides.add("it has no depth", row)
            return math.nan
        depth, unitless = depth_taken(text, self.found["depth"].suffix, self.asides, row)
        self.unitless |= unitless
        return depth

    def brought(self, kind: str, crs: str, cautions: tuple[str, ...] = ()) -> Brought:
        """Return all that was taken.

        Args:
            kind: of the file.
            crs: its reference system in words.
            cautions: what should be known.

        Raises:
            InputError: places are of a plane that nobody named.
        """
        spots = spots_of(self.records, self.names)
        if self.crs is not None and spots.count:
            lon, lat = planes.to_lon_lat(spots.lon_deg, spots.lat_deg, self.crs)
            spots.lon_deg[:], spots.lat_deg[:] = lon, lat
        elif planes.looks_plane(spots.lon_deg, spots.lat_deg):
            middle = [float(np.median(values)) for values in (spots.lon_deg, spots.lat_deg)]
            raise planes.no_system(self.file, middle[0], middle[1], self.asked.near_deg)
        known = spots.depth_m[spots.has_depth]
        if len(known) and known.max() <= 0.0 and known.min() < 0.0:
            spots.depth_m[:] = -spots.depth_m
            cautions += (f"{self.file}: all depths are below zero; they were taken as positive down.",)
        depth = self.found.get("depth")
        if self.unitless and depth is not None:
            cautions += (
                f"{self.file}: '{depth.heading}' has no unit, so that its depths were not taken: bring it with "
                f'--columns "depth={depth.heading}:ft" (or :m).',
            )
        counted = (
            f"{plain(len(self.areas), 0)} polygons, {plain(len(self.lines), 0)} lines, "
            f"{plain(spots.count, 0)} points"
        )
        return Brought(
            file=self.file, kind=kind, crs=crs, areas=tuple(self.areas), lines=tuple(self.lines), spots=spots,
            understood=(("places", counted), *_words(self.found)), asides=self.asides.all(), cautions=cautions,
        )  # fmt: skip


def _words(found: dict[str, Found]) -> Iterable[tuple[str, str]]:
    for role in ("name", "time", "depth"):
        if role in found:
            unit = f", in {found[role].suffix}" if found[role].suffix else ""
            yield role, f"property '{found[role].heading}'{unit}"
    if "depth" not in found:
        yield "depth", "no property"
