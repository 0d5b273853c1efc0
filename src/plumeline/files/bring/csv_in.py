"""CSV and other tables of text with places and depths, whatever their columns are called."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from plumeline.errors import InputError
from plumeline.files.bring import planes
from plumeline.files.bring.angles import angle_deg
from plumeline.files.bring.columns import MEASURES, Found, chosen, is_height_name
from plumeline.files.bring.depth_text import depth_of, depth_taken
from plumeline.files.bring.gpx_in import time_s
from plumeline.files.bring.value import MOST_POINTS, Asides, Asked, Brought, Spots, spots_of, too_many
from plumeline.files.tables import NOT_KNOWN
from plumeline.units import both, plain, split_header

FIRM_SLIP_M = 0.05
"""A firm bottom read so little above the muck's top is one hand's slip."""
ROLE_WORDS = {"muck": "muck", "firm": "firm bottom", "level": "staff gauge"}
HEADING_ROWS = 60
"""A device writes at most so many lines about itself above the heading."""
MOST_OTHERS = 12
"""So many headings of columns that were not taken are named."""
_DELIMITERS = (",", ";", "\t", "|")


@dataclass
class _Table:
    file: str
    found: dict[str, Found]
    delimiter: str
    asides: Asides = field(default_factory=Asides)
    records: list[tuple[float, float, float, float, float, int]] = field(default_factory=list)
    names: dict[int, str] = field(default_factory=dict)
    more: dict[str, dict[int, float]] = field(default_factory=dict)
    unitless: bool = False
    height: str = ""
    """What is said of a column that is a height and no depth."""
    headings: tuple[str, ...] = ()

    @property
    def others(self) -> str:
        """The headings of columns that nothing is taken from, for who has to name one."""
        taken = {item.index for item in self.found.values()}
        found = [
            text.strip()[:40] for at, text in enumerate(self.headings) if at not in taken and text.strip()
        ]
        return ", ".join(f"'{text}'" for text in found[:MOST_OTHERS])

    @property
    def is_plane(self) -> bool:
        """Whether places are east and north of a plane."""
        return not {"lon", "lat"} <= set(self.found)

    def take(self, row: int, cells: Sequence[str]) -> None:
        """Read one row."""
        keys = ("x", "y") if self.is_plane else ("lon", "lat")
        values = [self._number(cells, key) for key in keys]
        if any(math.isnan(value) for value in values):
            self.asides.add("its place is not two numbers", row)
            return
        depth = self._depth(cells, row)
        if "name" in self.found and (said := self._cell(cells, "name")):
            self.names[len(self.records)] = said[:80]
        self._more(cells, row, depth)
        when = time_s(self._cell(cells, "time")) if "time" in self.found else math.nan
        self.records.append((values[0], values[1], depth, when, math.nan, row))
        if len(self.records) > MOST_POINTS:
            raise too_many(self.file)

    def _more(self, cells: Sequence[str], row: int, depth_m: float) -> None:
        """Read muck and staff gauge, where there are such columns."""
        at = len(self.records)
        muck_m, firm_m, level_m = (self._length(cells, role, row) for role in ("muck", "firm", "level"))
        if math.isnan(muck_m) and firm_m < depth_m - FIRM_SLIP_M:
            self.asides.add("its muck is not taken: the firm bottom lies above the muck's top", row)
        elif math.isnan(muck_m):
            muck_m = max(firm_m - depth_m, 0.0) if not math.isnan(firm_m - depth_m) else math.nan
        for name, value in (("muck_m", muck_m), ("level_m", level_m)):
            if not math.isnan(value):
                self.more.setdefault(name, {})[at] = value

    def _length(self, cells: Sequence[str], role: str, row: int) -> float:
        """Return a length in metres, NaN where there is none; a column without a unit has that of the depths."""
        if role not in self.found or not (cell := self._cell(cells, role)) or cell.casefold() in NOT_KNOWN:
            return math.nan
        suffix = self.found[role].suffix or (self.found["depth"].suffix if "depth" in self.found else "")
        value, unitless = depth_of(cell, suffix)
        if math.isnan(value):
            why = "has no unit" if unitless else "is not a number"
            self.asides.add(f"its {ROLE_WORDS[role]} is not taken: it {why}", row)
        return value

    def _cell(self, cells: Sequence[str], role: str) -> str:
        index = self.found[role].index
        return cells[index].strip() if index < len(cells) else ""

    def _number(self, cells: Sequence[str], role: str) -> float:
        cell = self._cell(cells, role)
        try:
            return float(cell)
        except ValueError:
            pass
        if role in ("lon", "lat"):
            found = angle_deg(cell)
            return math.nan if found is None else found
        try:
            return float(cell.replace(",", "." if self.delimiter != "," else ""))
        except ValueError:
            return math.nan

    def _depth(self, cells: Sequence[str], row: int) -> float:
        if "depth" not in self.found:
            return math.nan
        cell = self._cell(cells, "depth")
        if cell.casefold() in NOT_KNOWN:
            self.asides.add("it has no depth", row)
            return math.nan
        depth, unitless = depth_taken(cell, self.found["depth"].suffix, self.asides, row)
        self.unitless |= unitless
        return depth


def read_csv(path: Path, asked: Asked) -> Brought:
    """Return the places and depths of a table.

    Args:
        path: of the file.
        asked: columns, their units and the reference system where the headings do not say them.

    Raises:
        InputError: no column is a place, a depth has no unit, or the file is no table.
    """
    file = path.name
    text, coded = _text(path)
    table, start = _headed(file, text, asked)
    for row, cells in _rows(file, text, table.delimiter):
        if row > start and any(cell.strip() for cell in cells):
            table.take(row, cells)
    if table.unitless:
        heading = table.found["depth"].heading
        raise _no_unit(file, heading)
    spots, crs, turned = _placed(table, asked)
    return Brought(
        file=file, kind="table (CSV)", crs=crs, spots=spots, understood=_understood(table, spots),
        asides=table.asides.all(), cautions=tuple(part for part in (coded, turned) if part),
    )  # fmt: skip


def _no_unit(file: str, heading: str) -> InputError:
    """Return what is wrong with depths whose heading says no unit, or one that is not known here."""
    said = split_header(heading)[1]
    if said:
        return InputError(
            f"the depths under '{heading}' are in '{said}', which is no unit of a depth that is known here.",
            remedy="Work them out in feet or metres first; if they are in one of these already, say it: "
            f'--columns "depth={heading}:ft" (or :m).',
            place=file,
        )
    return InputError(
        f"the depths under '{heading}' have no unit.",
        remedy=f'Say it: --columns "depth={heading}:ft" (or :m).',
        place=file,
    )


def _text(path: Path) -> tuple[str, str]:
    data = path.read_bytes()
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace"), ""
    if b"\x00" in data:
        raise InputError("is not text.", remedy="Export it as CSV.", place=path.name)
    try:
        return data.decode("utf-8-sig"), ""
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace"), (
            f"{path.name} is not UTF-8; its letters were read as those of Western Europe."
        )


def _headed(file: str, text: str, asked: Asked) -> tuple[_Table, int]:
    """Return the table with its columns found, and the row of the heading."""
    best: tuple[int, _Table, int] | None = None
    lines = text[:200_000].splitlines()[:HEADING_ROWS]
    for number, line in enumerate(lines, start=1):
        delimiter = max(_DELIMITERS, key=line.count)
        headings = next(csv.reader([line], delimiter=delimiter), [])
        if not any(cell.strip() for cell in headings):
            continue
        try:
            found = chosen(headings, asked.columns, file)
        except InputError:
            continue
        whole = {"lon", "lat"} <= set(found) or {"x", "y"} <= set(found)
        score = 2 * whole + ("depth" in found)
        if whole and (best is None or score > best[0]):
            heights = [heading.strip() for heading in headings if is_height_name(heading)]
            said = f"none: '{heights[0]}' is a height, and no depth without the water's" if heights else ""
            best = (
                score,
                _Table(
                    file,
                    found,
                    delimiter,
                    height=said,
                    headings=() if _is_numbers(headings) else tuple(headings),
                ),
                number,
            )
            if all(source.column.isdigit() for source in asked.columns.values()) and _is_numbers(headings):
                # columns told by number, and no heading: the first row is data already
                return best[1], number - 1
    if best is None:
        _why_not(file, lines, asked)
    assert best is not None
    return best[1], best[2]


def _is_numbers(headings: Sequence[str]) -> bool:
    found = [angle_deg(cell) is not None for cell in headings if cell.strip()]
    return sum(found) >= 2 and sum(found) >= len(found) / 2


def _why_not(file: str, lines: Sequence[str], asked: Asked) -> None:
    # the widest of the first rows is the heading, most likely
    first = max(lines, key=lambda line: max(map(line.count, _DELIMITERS)), default="")
    if not first.strip(" ,;\t|"):
        raise InputError("is empty.", remedy="Export it again.", place=file)
    headings = next(csv.reader([first], delimiter=max(_DELIMITERS, key=first.count)), [])
    if asked.columns:
        chosen(headings, asked.columns, file)
    there = ", ".join(cell.strip()[:40] for cell in headings[:20])
    raise InputError(
        f"no column is known for a place; its headings are: {there}.",
        remedy='Say which ones are: --columns "lon=…, lat=…, depth=…:ft", by heading or by number from 1; '
        "x=… and y=… with --crs for a plane.",
        place=file,
    )


def _rows(file: str, text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    try:
        for cells in reader:
            yield reader.line_num, cells
    except csv.Error as error:
        raise InputError(f"is no table ({error}).", place=f"{file}, row {reader.line_num}") from None


def _placed(table: _Table, asked: Asked) -> tuple[Spots, str, str]:
    """Return the places in longitude and latitude, the system in words, and a caution."""
    spots = spots_of(table.records, table.names)
    words, caution = Brought.crs, ""
    if asked.crs:
        crs = planes.known_crs(asked.crs, "--crs")
        lon, lat = planes.to_lon_lat(spots.lon_deg, spots.lat_deg, crs)
        words = planes.crs_words(crs)
    elif spots.count and table.is_plane and planes.are_degrees(spots.lon_deg, spots.lat_deg, asked.near_deg):
        lon, lat = spots.lon_deg, spots.lat_deg
        heads = f"'{table.found['x'].heading}' and '{table.found['y'].heading}'"
        caution = (
            f"{table.file}: {heads} hold degrees: so the places lie at the site, and so they were taken."
        )
    elif spots.count and (table.is_plane or planes.looks_plane(spots.lon_deg, spots.lat_deg)):
        middle = [float(np.nanmedian(values)) for values in (spots.lon_deg, spots.lat_deg)]
        heads = f"'{table.found['x'].heading}' and '{table.found['y'].heading}'" if table.is_plane else ""
        raise planes.no_system(table.file, middle[0], middle[1], asked.near_deg, heads)
    else:
        lon, lat = spots.lon_deg, spots.lat_deg
    depth = spots.depth_m
    known = depth[np.isfinite(depth)]
    if len(known) and known.max() <= 0.0 and known.min() < 0.0:
        depth = -depth
        turned = f"{table.file}: all depths are below zero; they were taken as positive down."
        caution = f"{caution} {turned}".strip()
    spots = replace(spots, lon_deg=lon, lat_deg=lat, depth_m=depth, more=table.more)
    return spots, words, caution


def _understood(table: _Table, spots: Spots) -> tuple[tuple[str, str], ...]:
    what = {
        "lon": "longitude", "lat": "latitude", "x": "east", "y": "north", "depth": "depth", "time": "time",
        "name": "name", "muck": "thickness of soft muck", "firm": "depth of the firm bottom", "level": "staff gauge",
    }  # fmt: skip
    unused = ("x", "y") if not table.is_plane else ("lon", "lat")
    rows = []
    for role, item in table.found.items():
        if role in unused:
            continue
        unit = ""
        if role in MEASURES:
            unit = f", in {item.suffix}" if item.suffix else ", each with its unit"
        if role in ROLE_WORDS and not item.suffix:
            unit = ", in the unit of the depths where none is said"
        rows.append((what[role], f"column {item.index + 1}, '{item.heading}'{unit}"))
    if "depth" not in table.found:
        others = f"; what the other columns are is not known: {table.others}" if table.others else ""
        rows.append(("depth", f"{table.height or 'no column'}{others}"))
    depth = spots.depth_m[spots.has_depth]
    if len(depth):
        rows.append(
            ("depths", f"{both(depth.min(), 'm')} to {both(depth.max(), 'm')}, {plain(len(depth), 0)} rows")
        )
    return tuple(rows)
