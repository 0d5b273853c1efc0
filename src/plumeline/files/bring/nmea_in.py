"""NMEA 0183 logs: positions (RMC, GGA) and depths (DPT, DBS, DBT), each sentence held against its checksum."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import reduce
from operator import xor
from pathlib import Path

import numpy as np

from plumeline.errors import InputError
from plumeline.files.bring.gpx_in import number
from plumeline.files.bring.value import MOST_POINTS, Asides, Asked, Brought, Line, spots_of, too_many
from plumeline.units import plain
from plumeline.units.table import FOOT_M

FATHOM_M = 6 * FOOT_M
STALE_S = 10.0
"""A depth this long after the last position has no place: the boat has moved on."""
LONGEST_SENTENCE = 1024
DEPTHS = ("DPT", "DBS", "DBT")
"""The best first: one that may know the transducer's depth, one below the surface, one below the transducer."""
BAD_SUM = "its checksum is wrong: line noise"
TORN = "it is torn or no sentence"
VOID = "the receiver says that its position is void"
NO_PLACE = "no position within ten seconds before it"
LOST = "the sounder has no depth"
_SENTENCE = re.compile(rb"[$!]([A-Z0-9]{2})([A-Z]{3}),([^*]*)(?:\*([0-9A-Fa-f]{2}))?")


def checksum(body: bytes) -> int:
    """Return the sum of a sentence: exclusive or of all letters between $ and *.

    Args:
        body: these letters.
    """
    return reduce(xor, body, 0)


def _degrees(text: str, side: str) -> float:
    """Return degrees from ``4807.038`` and ``N``; NaN where it is none."""
    value = number(text)
    if not value >= 0.0 or side not in ("N", "S", "E", "W"):
        return math.nan
    whole, minutes = divmod(value, 100.0)
    if minutes >= 60.0:
        return math.nan
    degrees = whole + minutes / 60.0
    return -degrees if side in ("S", "W") else degrees


def _clock_s(text: str) -> float:
    """Return seconds of the day from ``123519.25``."""
    value = number(text)
    if not 0.0 <= value < 240_000.0:
        return math.nan
    return int(value // 10_000) * 3600 + int(value // 100 % 100) * 60 + value % 100


@dataclass
class _Fix:
    lon_deg: float
    lat_deg: float
    clock_s: float
    time_s: float
    hdop_number: float
    row: int


@dataclass
class _Log:
    """A log as it is read, line by line."""

    file: str
    asides: Asides = field(default_factory=Asides)
    counts: dict[str, int] = field(default_factory=dict)
    unchecked_count: int = 0
    fixes: list[_Fix] = field(default_factory=list)
    waiting: dict[str, list[tuple[int, int, float]]] = field(default_factory=dict)
    """Depths by their sentence: index of the position before, row, metres."""
    with_offset_count: int = 0
    below_transducer_count: int = 0
    day_s: float = math.nan
    """Start of the day that the last RMC named."""
    day_said: str = ""

    def take(self, line: bytes, row: int) -> None:
        """Read one line."""
        at = line.find(b"$")
        at = line.find(b"!") if at < 0 else at
        if at < 0:
            if line.strip():
                self.asides.add(TORN, row)
            return
        # a logger may put its own time in front
        found = _SENTENCE.match(line, at)
        if found is None or len(line) - at > LONGEST_SENTENCE:
            self.asides.add(TORN, row)
            return
        kind = found[2].decode()
        if found[4] is None:
            self.unchecked_count += 1
        elif checksum(line[at + 1 : found.end() - 3]) != int(found[4], 16):
            self.asides.add(BAD_SUM, row)
            return
        self.counts[kind] = self.counts.get(kind, 0) + 1
        if kind in ("RMC", "GGA", *DEPTHS):
            self._sentence(kind, found[3].decode("ascii", "replace").split(","), row)

    def _sentence(self, kind: str, parts: list[str], row: int) -> None:
        parts += [""] * (14 - len(parts))
        if kind == "RMC":
            self._day(parts[8])
            self._fix(parts[2:6], _clock_s(parts[0]), parts[1] == "A", math.nan, row)
        elif kind == "GGA":
            self._fix(parts[1:5], _clock_s(parts[0]), parts[5] not in ("", "0"), number(parts[7]), row)
        else:
            self._depth(kind, parts, row)

    def _day(self, text: str) -> None:
        if text == self.day_said:
            return
        self.day_said = text
        try:
            day = datetime.strptime(text, "%d%m%y").replace(tzinfo=UTC)
        except ValueError:
            return
        self.day_s = day.timestamp()

    def _fix(self, place: list[str], clock_s: float, valid: bool, hdop_number: float, row: int) -> None:
        if not valid:
            self.asides.add(VOID, row)
            return
        lat, lon = _degrees(*place[:2]), _degrees(*place[2:])
        if not (abs(lat) <= 90.0 and abs(lon) <= 180.0):
            self.asides.add(TORN, row)
            return
        time_s = self.day_s + clock_s
        last = self.fixes[-1] if self.fixes else None
        if last is not None and not math.isnan(time_s) and time_s < last.time_s - 43_200.0:
            time_s += timedelta(days=1).total_seconds()  # past midnight, before the RMC that says so
        if last is not None and clock_s == last.clock_s:
            # RMC and GGA of one second are one position
            last.time_s = time_s if math.isnan(last.time_s) else last.time_s
            last.hdop_number = last.hdop_number if math.isnan(hdop_number) else hdop_number
            return
        self.fixes.append(_Fix(lon, lat, clock_s, time_s, hdop_number, row))
        if len(self.fixes) > MOST_POINTS:
            raise too_many(self.file)

    def _depth(self, kind: str, parts: list[str], row: int) -> None:
        if kind == "DPT":
            depth, offset = number(parts[0]), number(parts[1])
            # below zero the offset is that of the keel, and the surface is not known
            if offset > 0.0:
                depth += offset
                self.with_offset_count += 1
            else:
                self.below_transducer_count += 1
        else:
            sizes = {parts[index + 1]: number(parts[index]) for index in (0, 2, 4)}
            depth = sizes.get("M", math.nan)
            if math.isnan(depth):
                depth = sizes.get("f", math.nan) * FOOT_M
            if math.isnan(depth):
                depth = sizes.get("F", math.nan) * FATHOM_M
            self.below_transducer_count += kind == "DBT"
        if math.isnan(depth):
            self.asides.add(LOST, row)
            return
        self.waiting.setdefault(kind, []).append((len(self.fixes) - 1, row, depth))


def read_nmea(path: Path, asked: Asked) -> Brought:
    """Return the track and the depths of a log.

    Args:
        path: of the file.
        asked: nothing of it is wanted here.

    Raises:
        InputError: no sentence in it is whole.
    """
    del asked
    log = _Log(path.name)
    with path.open("rb") as stream:
        for row, line in enumerate(stream, start=1):
            log.take(line, row)
    if not log.counts:
        raise InputError("holds no whole sentence.", remedy="Copy the log again.", place=path.name)
    kind = next((one for one in DEPTHS if log.waiting.get(one)), "")
    rows = _placed(log, log.waiting.get(kind, []))
    places = np.array([(fix.lon_deg, fix.lat_deg) for fix in log.fixes])
    lines = (Line(places, "", log.fixes[0].row),) if len(places) > 1 else ()
    return Brought(
        file=path.name,
        kind="log of sentences (NMEA 0183)",
        lines=lines,
        spots=spots_of(rows, {}),
        understood=_understood(log, kind),
        asides=log.asides.all(),
        cautions=_cautions(log, kind),
    )


def _placed(
    log: _Log, records: list[tuple[int, int, float]]
) -> list[tuple[float, float, float, float, float, int]]:
    """Return depths with places: those between two positions are spread evenly on the way."""
    per_fix: dict[int, int] = {}
    for index, _, _ in records:
        per_fix[index] = per_fix.get(index, 0) + 1
    rows, rank = [], dict.fromkeys(per_fix, 0)
    for index, row, depth in records:
        share = rank[index] / per_fix[index]
        rank[index] += 1
        if index < 0:
            log.asides.add(NO_PLACE, row)
            continue
        here = log.fixes[index]
        after = log.fixes[index + 1] if index + 1 < len(log.fixes) else here
        gap_s = after.time_s - here.time_s
        if gap_s > STALE_S:
            if share > 0.0:
                log.asides.add(NO_PLACE, row)
                continue
            gap_s = 0.0
        if math.isnan(gap_s):
            share = 0.0
        lon = here.lon_deg + share * (after.lon_deg - here.lon_deg)
        lat = here.lat_deg + share * (after.lat_deg - here.lat_deg)
        rows.append((lon, lat, depth, here.time_s + share * gap_s, here.hdop_number, row))
    return rows


def _understood(log: _Log, kind: str) -> tuple[tuple[str, str], ...]:
    counted = ", ".join(f"{plain(count, 0)} {name}" for name, count in sorted(log.counts.items()))
    what = {
        "DPT": "DPT, metres below the transducer, with its offset to the surface where that is given",
        "DBS": "DBS, below the surface",
        "DBT": "DBT, below the transducer",
        "": "none in this file",
    }
    return (
        ("sentences", counted),
        ("positions", f"{plain(len(log.fixes), 0)} of RMC and GGA"),
        ("depth", what[kind]),
    )


def _cautions(log: _Log, kind: str) -> tuple[str, ...]:
    found = []
    below = kind == "DBT" or (kind == "DPT" and log.below_transducer_count and not log.with_offset_count)
    if below:
        found.append(f"{log.file}: depths count from the transducer; how deep it hung is not in them.")
    if kind == "DPT" and log.below_transducer_count and log.with_offset_count:
        found.append(f"{log.file}: some depths have an offset to the surface and some have none.")
    if log.unchecked_count:
        found.append(
            f"{log.file}: {plain(log.unchecked_count, 0)} sentences have no checksum; they were believed."
        )
    if log.fixes and all(math.isnan(fix.time_s) for fix in log.fixes):
        found.append(f"{log.file}: no RMC sentence names a day, so that the soundings have no time.")
    return tuple(found)
