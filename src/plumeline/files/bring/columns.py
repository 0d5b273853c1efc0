"""What the columns of a foreign table most likely hold, by their headings; always shown, and confirmed by a person."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from plumeline.errors import InputError
from plumeline.files.bring.value import Source
from plumeline.files.findings import near
from plumeline.units import SUFFIXES, split_header
from plumeline.units.reading import find_units

MEASURES = ("depth", "muck", "firm", "level")
"""What has a unit: depth of the water, thickness of soft muck, depth of the firm bottom, staff gauge."""
ROLES = ("lon", "lat", "x", "y", *MEASURES, "time", "name")
"""What a column can hold; x and y are east and north in the reference system that is told."""

_WORDS: dict[str, tuple[str, ...]] = {
    "lon": ("lon", "long", "lng", "longitude", "longitudex", "xlongitude", "xlon"),
    "lat": ("lat", "latitude", "latitudey", "ylatitude", "ylat"),
    "x": ("x", "e", "east", "easting", "eastings", "pointx"),
    "y": ("y", "n", "north", "northing", "northings", "pointy"),
    "depth": (
        "depth", "waterdepth", "sonardepth", "sounding", "sounderdepth", "depthbelowsurface", "bottomdepth",
        "depthofwater", "dep", "dpt", "totaldepth", "maxdepth", "deptht", "tiefe", "profondeur", "profundidad",
    ),
    "muck": ("muck", "muckthickness", "muckdepth", "mud", "silt", "softsediment", "sedimentthickness"),
    "firm": (
        "firm", "firmdepth", "firmbottom", "firmbottomdepth", "hardbottom", "harddepth", "hardbottomdepth", "refusal",
        "refusaldepth", "depthtofirm", "depthofrefusal",
    ),
    "level": ("level", "staff", "staffgauge", "waterlevel", "staffreading"),
    "time": ("time", "datetime", "timestamp", "timeutc", "utctime", "datetimeutc"),
    "name": ("name", "label", "id", "point", "waypoint", "station", "mark"),
}  # fmt: skip

_HEIGHT_WORDS = frozenset(
    {"z", "elevation", "elev", "height", "altitude", "bottomelevation", "bedelevation", "ele"}
)
"""A height of the bottom is no depth: the water's level is wanted too."""


_FILLERS = frozenset(
    {
        "gps",
        "wgs84",
        "wgs",
        "pos",
        "position",
        "dd",
        "deg",
        "degrees",
        "decimal",
        "coord",
        "coordinate",
        "utm",
    }
)
"""Words of a heading that say nothing of what its column holds."""


def _plain(name: str) -> str:
    words = [word for word in re.split(r"[\W_]+", name.casefold()) if word]
    return "".join([word for word in words if word not in _FILLERS] or words)


def is_depth_name(name: str) -> bool:
    """Return whether an element or a property is called a depth."""
    return _plain(name) in _WORDS["depth"]


def is_height_name(name: str) -> bool:
    """Return whether a column is called a height of the bottom."""
    return _plain(split_header(name)[0]) in _HEIGHT_WORDS


@dataclass(frozen=True)
class Found:
    """A column: its place in the row, its heading, and the suffix of its unit (empty: not said)."""

    index: int
    heading: str
    suffix: str = ""


def guess(headings: Sequence[str]) -> dict[str, Found]:
    """Return the likely column of each role; of several the first.

    Args:
        headings: as they stand in the file.
    """
    found: dict[str, Found] = {}
    for index, heading in enumerate(headings):
        base, suffix = _parted(heading)
        for role, words in _WORDS.items():
            if role not in found and (_plain(base) in words or _plain(heading) in words):
                found[role] = Found(index, heading.strip(), suffix if role in MEASURES else "")
                break
    return found


def _parted(heading: str) -> tuple[str, str]:
    """Return a heading without its unit, and the suffix of the unit; "DepthFt" and "Depth meters" have one too."""
    base, unit = split_header(heading)
    if unit:
        return base, unit if unit in SUFFIXES else ""
    found = re.fullmatch(r"(.+?)(?:[\s_]+|(?<=[a-z])(?=[A-Z]))([A-Za-z]+)\.?", heading.strip())
    units = find_units(found[2]) if found else []
    if found and units and units[0].kind == SUFFIXES["m"].kind:
        return found[1], units[0].suffix
    return base, ""


def chosen(headings: Sequence[str], asked: dict[str, Source], file: str) -> dict[str, Found]:
    """Return the column of each role: as told, else as guessed.

    Args:
        headings: as they stand in the file.
        asked: by role: heading or number (from 1) of the column, and its unit.
        file: for messages.

    Raises:
        InputError: a column that was told is not there.
    """
    found = guess(headings)
    plain = [_plain(heading) for heading in headings]
    for role, source in asked.items():
        wanted = source.column.strip()
        if _plain(wanted) in plain:
            index = plain.index(_plain(wanted))
        elif wanted.isdigit() and 1 <= int(wanted) <= len(headings):
            index = int(wanted) - 1
        else:
            close = near(wanted, headings)
            hint = f" Did you mean '{close}'?" if close else ""
            there = ", ".join(heading.strip() or "(no heading)" for heading in headings[:20])
            raise InputError(
                f"{file} has no column '{wanted[:60]}'.", remedy=f"It has: {there}.{hint}", place="--columns"
            )
        for other in [name for name, item in found.items() if item.index == index]:
            del found[other]
        suffix = source.suffix or (_parted(headings[index])[1] if role in MEASURES else "")
        found[role] = Found(index, headings[index].strip(), suffix)
    return found


def parse_columns(text: str) -> dict[str, Source]:
    """Return columns from ``depth=Sonar Depth:ft, lon=Longitude``.

    Raises:
        InputError: a part is none, or its unit is none.
    """
    found: dict[str, Source] = {}
    for part in (piece.strip() for piece in text.split(",")):
        if not part:
            continue
        role, equals, rest = part.partition("=")
        role = role.strip().casefold()
        if not equals or role not in ROLES or not rest.strip():
            raise InputError(
                f"'{part[:60]}' names no column.",
                remedy=f"Write what = heading:unit, as depth=Sonar Depth:ft; what is one of {', '.join(ROLES)}.",
                place="--columns",
            )
        column, colon, unit = rest.rpartition(":")
        suffix = ""
        if colon:
            units = [item for item in find_units(unit.strip()) if item.kind == SUFFIXES["m"].kind]
            if not units:
                raise InputError(
                    f"'{unit.strip()[:30]}' is no unit of a depth.",
                    remedy="Write :m, :ft, :in or :cm behind the heading.",
                    place="--columns",
                )
            suffix = units[0].suffix
        else:
            column = rest
        found[role] = Source(column.strip(), suffix)
    return found
