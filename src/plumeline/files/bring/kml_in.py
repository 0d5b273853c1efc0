"""KML and KMZ (OGC 07-147r2): placemarks with polygons, lines, points, tracks; what they link to is never fetched."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from plumeline.errors import InputError
from plumeline.files.bring import archives
from plumeline.files.bring.columns import chosen
from plumeline.files.bring.depth_text import depth_taken
from plumeline.files.bring.gpx_in import number, time_s
from plumeline.files.bring.value import MOST_POINTS, Area, Asides, Asked, Brought, Line, spots_of, too_many
from plumeline.files.bring.xml_in import Elements, read_elements
from plumeline.units import plain

LINKS = {
    "NetworkLink": "it only links to another place (NetworkLink)",
    "GroundOverlay": "it is a picture laid on the ground",
    "ScreenOverlay": "it is a picture on the screen",
    "PhotoOverlay": "it is a photo",
    "Model": "it is a solid model that lies elsewhere",
}
NOT_A_PLACE = "a coordinate in it is no longitude and latitude"


class _Reader(Elements):
    def __init__(self, file: str, asked: Asked) -> None:
        super().__init__(file)
        self.asked = asked
        self.asides = Asides()
        self.areas: list[Area] = []
        self.lines: list[Line] = []
        self.rows: list[tuple[float, float, float, float, float, int]] = []
        self.names: dict[int, str] = {}
        self.depth_words: dict[str, int] = {}
        self.no_unit: set[str] = set()
        self._places = 0
        self._new_mark()

    def _new_mark(self) -> None:
        self._name, self._row = "", 0
        self._data: dict[str, str] = {}
        self._key = ""
        self._rings: list[np.ndarray] = []
        self._found: list[tuple[str, list[np.ndarray]]] = []
        self._when: list[float] = []
        self._coord: list[tuple[float, float]] = []
        self._time = math.nan

    def begin(self, name: str, given: Mapping[str, str]) -> None:
        if len(self.stack) == 1 and name != "kml":
            raise InputError(f"is no KML file: it begins with <{name[:40]}>.", place=self.file)
        if name in LINKS:
            self.asides.add(LINKS[name], self.row)
        elif name == "Placemark":
            self._new_mark()
            self._row = self.row
        elif name in ("Data", "SimpleData"):
            self._key = given.get("name", "")
            if name == "Data":
                self._data.setdefault(self._key, "")
        elif name == "Polygon":
            self._rings = []

    def finish(self, name: str, text: str) -> None:
        parent = self.stack[-1] if self.stack else ""
        if name == "name" and parent == "Placemark":
            self._name = text[:80]
        elif name == "SimpleData" or (name == "value" and parent == "Data"):
            self._data[self._key] = text
        elif name == "coordinates" and "Placemark" in self.stack:
            self._coordinates(text, parent)
        elif name == "Polygon" and self._rings:
            self._found.append(("area", self._rings))
        elif name == "when":
            self._when.append(time_s(text))
            self._time = self._when[-1]
        elif name == "coord":
            parts = text.split()
            if len(parts) >= 2:
                self._coord.append((number(parts[0]), number(parts[1])))
        elif name == "Track" and self._coord:
            self._found.append(("line", [np.array(self._coord)]))
            self._coord = []
        elif name == "Placemark":
            self._take()

    def _coordinates(self, text: str, parent: str) -> None:
        # some programs put a blank behind the comma
        joined = " ".join(text.split()).replace(", ", ",").replace(" ,", ",")
        places = []
        for word in joined.split():
            parts = word.split(",")
            pair = (number(parts[0]), number(parts[1])) if len(parts) >= 2 else (math.nan, math.nan)
            if not (abs(pair[0]) <= 180.0 and abs(pair[1]) <= 90.0):
                self.asides.add(NOT_A_PLACE, self.row)
                continue
            places.append(pair)
        self._places += len(places)
        if self._places > MOST_POINTS:
            raise too_many(self.file)
        if not places:
            return
        found = np.array(places)
        if "outerBoundaryIs" in self.stack:
            self._rings.insert(0, found)
        elif "innerBoundaryIs" in self.stack:
            self._rings.append(found)
        elif parent == "Point":
            self._found.append(("spot", [found[:1]]))
        elif parent in ("LineString", "LinearRing"):
            self._found.append(("line", [found]))

    def _take(self) -> None:
        depth = self._depth() if any(kind == "spot" for kind, _ in self._found) else math.nan
        for kind, parts in self._found:
            if kind == "area":
                self.areas.append(Area(tuple(parts), self._name, self._row))
            elif kind == "line":
                self.lines.append(Line(parts[0], self._name, self._row))
            else:
                if self._name:
                    self.names[len(self.rows)] = self._name
                lon, lat = (float(value) for value in parts[0][0])
                self.rows.append((lon, lat, depth, self._time, math.nan, self._row))
        self._found = []

    def _depth(self) -> float:
        headings = list(self._data)
        columns = self.asked.columns
        asked = {"depth": columns["depth"]} if "depth" in columns else {}
        if asked and asked["depth"].column not in headings:
            return math.nan
        found = chosen(headings, asked, self.file).get("depth")
        if (
            found is None
            or not self._data[found.heading if found.heading in self._data else headings[found.index]]
        ):
            return math.nan
        heading = headings[found.index]
        depth, needs_unit = depth_taken(self._data[heading], found.suffix, self.asides, self._row)
        if needs_unit:
            self.no_unit.add(heading)
            return math.nan
        if math.isnan(depth):
            return depth
        words = f"{heading}{f' in {found.suffix}' if found.suffix else ', each with its unit'}"
        self.depth_words[words] = self.depth_words.get(words, 0) + 1
        return depth


def read_kml(path: Path, asked: Asked, *, name: str = "", kind: str = "KML") -> Brought:
    """Return what a KML file holds.

    Args:
        path: of the file.
        asked: the field that holds a point's depth, and its unit.
        name: of the file as people know it, where it is not the path's.
        kind: KML or KMZ.

    Raises:
        InputError: it can't be read.
    """
    reader = _Reader(name or path.name, asked)
    read_elements(path, reader)
    cautions = tuple(
        f"{reader.file}: '{heading}' has no unit, so that its depths were not taken: bring it with "
        f'--columns "depth={heading}:ft" (or :m).'
        for heading in sorted(reader.no_unit)
    )
    counted = (
        f"{plain(len(reader.areas), 0)} polygons, {plain(len(reader.lines), 0)} lines, "
        f"{plain(len(reader.rows), 0)} points"
    )
    return Brought(
        file=reader.file,
        kind=kind,
        areas=tuple(reader.areas),
        lines=tuple(reader.lines),
        spots=spots_of(reader.rows, reader.names),
        understood=(("places", counted), ("depth", "; ".join(reader.depth_words) or "none in this file")),
        asides=reader.asides.all(),
        cautions=cautions,
    )


def read_kmz(path: Path, asked: Asked) -> Brought:
    """Return what the first KML file of a KMZ archive holds; its pictures and other members are not touched.

    Raises:
        InputError: it can't be opened safely, or holds no KML.
    """
    found = archives.ending_in(archives.members(path), ".kml")
    if not found:
        raise InputError("holds no .kml file.", remedy="Export it again as KMZ or KML.", place=path.name)
    with TemporaryDirectory(prefix="plumeline-") as folder:
        target = Path(folder) / "doc.kml"
        archives.unpack(path, found[0], target)
        return read_kml(target, asked, name=path.name, kind="KMZ")
