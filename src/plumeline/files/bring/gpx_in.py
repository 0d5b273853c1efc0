"""GPX 1.0 and 1.1: tracks, routes and waypoints; a depth in the extensions of any maker."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from plumeline.errors import InputError, PlumelineError
from plumeline.files.bring.columns import is_depth_name
from plumeline.files.bring.value import MOST_POINTS, Asides, Asked, Brought, Line, spots_of, too_many
from plumeline.files.bring.xml_in import Elements, read_elements
from plumeline.units import convert, plain

PLACES = {"trkpt": "track point", "rtept": "route point", "wpt": "waypoint"}
NOT_A_NUMBER = "its depth is not a number"


def time_s(text: str) -> float:
    """Return seconds since 1970 of an ISO 8601 time, universal unless it says otherwise; NaN for none."""
    try:
        found = datetime.fromisoformat(text.strip())
    except ValueError:
        return math.nan
    try:
        return (found if found.tzinfo else found.replace(tzinfo=UTC)).timestamp()
    except (OverflowError, ValueError):
        return math.nan


def number(text: str) -> float:
    """Return a finite number, or NaN."""
    try:
        found = float(text)
    except ValueError:
        return math.nan
    return found if math.isfinite(found) else math.nan


class _Reader(Elements):
    def __init__(self, file: str, wanted: str) -> None:
        super().__init__(file)
        self.wanted = wanted
        self.rows: list[tuple[float, float, float, float, float, int]] = []
        self.names: dict[int, str] = {}
        self.lines: list[Line] = []
        self.asides = Asides()
        self.counts = dict.fromkeys(PLACES, 0)
        self.depth_names: dict[str, int] = {}
        self.heights: list[float] = []
        self.depths = 0
        self._here = (math.nan, math.nan, 0)
        self._said: dict[str, str] = {}
        self._part: list[tuple[float, float]] = []
        self._part_row = 0
        self._title = ""

    def begin(self, name: str, given: Mapping[str, str]) -> None:
        if len(self.stack) == 1 and name != "gpx":
            raise InputError(f"is no GPX file: it begins with <{name[:40]}>.", place=self.file)
        if name in PLACES:
            lon, lat = number(given.get("lon", "")), number(given.get("lat", ""))
            self._said = {}
            self._here = (lon, lat, self.row)
            self.counts[name] += 1
            if sum(self.counts.values()) > MOST_POINTS:
                raise too_many(self.file)
        elif name in ("trkseg", "rte"):
            self._part, self._part_row = [], self.row
            self._title = "" if name == "rte" else self._title
        elif name == "trk":
            self._title = ""

    def finish(self, name: str, text: str) -> None:
        inside = next((one for one in reversed(self.stack) if one in PLACES), "")
        if name in PLACES:
            self._take(name)
        elif inside:
            asked = self.wanted.casefold()
            if name.casefold() == asked if asked else is_depth_name(name):
                self._said["depth"] = text
                self.depth_names[name] = self.depth_names.get(name, 0) + 1
            if name in ("time", "name", "hdop", "ele"):
                self._said.setdefault(name, text)
        elif name == "name" and self.stack and self.stack[-1] in ("trk", "rte"):
            self._title = text
        elif name in ("trkseg", "rte") and len(self._part) > 1:
            self.lines.append(Line(np.array(self._part), self._title[:80], self._part_row))

    def _take(self, name: str) -> None:
        lon, lat, row = self._here
        if not (-180.0 <= lon <= 180.0 and -90.0 <= lat <= 90.0):
            self.asides.add("its place is no longitude and latitude", row)
            return
        depth, said = math.nan, self._said
        if said.get("depth", ""):
            depth = number(said["depth"])
            if math.isnan(depth):
                self.asides.add(NOT_A_NUMBER, row)
            else:
                self.depths += 1
        if "ele" in said:
            self.heights.append(number(said["ele"]))
        if name != "wpt":
            self._part.append((lon, lat))
        if name == "wpt" or not math.isnan(depth):
            if said.get("name"):
                self.names[len(self.rows)] = said["name"][:80]
            self.rows.append(
                (lon, lat, depth, time_s(said.get("time", "")), number(said.get("hdop", "")), row)
            )


def read_gpx(path: Path, asked: Asked) -> Brought:
    """Return what a GPX file holds; depths are metres unless told otherwise.

    Args:
        path: of the file.
        asked: the element that holds the depth, and its unit, where it is not called so.

    Raises:
        InputError: it can't be read.
    """
    source = asked.columns.get("depth")
    reader = _Reader(path.name, source.column if source else "")
    read_elements(path, reader)
    spots = spots_of(reader.rows, reader.names)
    suffix = (source.suffix if source else "") or "m"
    if suffix != "m":
        try:
            spots.depth_m[:] = convert(1.0, suffix, "m") * spots.depth_m
        except PlumelineError as error:
            raise InputError(str(error), place="--columns") from error
    cautions = _cautions(reader, path.name, bool(source))
    counted = ", ".join(
        f"{plain(count, 0)} {PLACES[name]}{'s' if count != 1 else ''}"
        for name, count in reader.counts.items()
        if count
    )
    found = "".join(f"<{name}> " for name in reader.depth_names)
    told = "as told" if source else "the unit of GPX; if the maker wrote feet, say so"
    return Brought(
        file=path.name,
        kind="GPX",
        lines=tuple(reader.lines),
        spots=spots,
        understood=(
            ("places", counted or "none"),
            ("depth", f"{found}in {suffix} ({told})" if reader.depths else "none in this file"),
        ),
        asides=reader.asides.all(),
        cautions=cautions,
    )


def _cautions(reader: _Reader, file: str, told: bool) -> tuple[str, ...]:
    if told and not reader.depths:
        return (f"{file} has no element <{reader.wanted}> with a number in it.",)
    heights = [value for value in reader.heights if not math.isnan(value)]
    if not reader.depths and heights and max(heights) <= 0.0 and min(heights) < 0.0:
        return (
            f"{file} holds no depth, but heights that are all below zero: if they are depths, bring it with "
            '--columns "depth=ele:m" (or :ft).',
        )
    return ()
