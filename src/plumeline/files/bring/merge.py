"""What was read, put into the files of a job folder: nothing is overwritten unless that was asked for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from plumeline.errors import InputError, PlumelineError
from plumeline.files.bring.hemisphere import put_right
from plumeline.files.bring.ponds import Pond, one_pond, pond_walked, ponds_of
from plumeline.files.bring.taped import Taped, scaled
from plumeline.files.bring.value import Brought, Spots
from plumeline.files.csv_rows import Row, opened, row_lines, with_lines
from plumeline.files.findings import some
from plumeline.files.geojson import FILE as OUTLINE
from plumeline.files.shore_lines import with_shore
from plumeline.files.soundings import COLUMNS
from plumeline.files.soundings import FILE as SOUNDINGS
from plumeline.job.document import Point, Site
from plumeline.units import parse, plain, show

KINDS = ("outline", "soundings")
DEEPEST_M = 200.0
AWAY_M = 20_000.0


@dataclass(frozen=True)
class Wish:
    """What shall be done with the files.

    Attributes:
        kinds: which of ``KINDS``; empty takes what there is.
        pond: name or number of the pond that is meant.
        replaces: what the folder holds is replaced, and kept beside.
        adds: soundings come behind those of the folder, even where a shore is replaced.
        taped: a distance that sets the scale of the shore; depths stay where they are.
        level_m: staff gauge when the soundings were taken, for those that say none themselves.
    """

    kinds: tuple[str, ...] = ()
    pond: str = ""
    replaces: bool = False
    adds: bool = False
    taped: Taped | None = None
    level_m: float | None = None


def staff_m(text: str) -> float | None:
    """Return a reading of the staff gauge as it was typed; None for no text.

    Args:
        text: with its unit.

    Raises:
        InputError: it is none.
    """
    if not text.strip():
        return None
    try:
        return parse(text, "m")
    except PlumelineError:
        raise InputError(
            f"'{text.strip()[:30]}' is no reading of a staff gauge.",
            remedy="Write it with its unit, as 2.4 ft.",
            place="--level",
        ) from None


@dataclass(frozen=True)
class Merge:
    """What the folder becomes.

    Attributes:
        files: those that change, by name.
        words: (what, in words), to be confirmed.
        cautions: what should be known before.
        corner_count: of the shore that is taken; 0 for none.
        sounding_count: how many are taken.
    """

    files: dict[str, bytes]
    words: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    corner_count: int = 0
    sounding_count: int = 0


def merged(files: Mapping[str, bytes], brought: Sequence[Brought], site: Site | None, wish: Wish) -> Merge:
    """Return the folder's files with what was brought in them.

    Args:
        files: of the folder, by name; only outline.geojson and soundings.csv are looked at.
        brought: what was read.
        site: the job's position, against which places are held; None leaves that out.
        wish: what shall be done.

    Raises:
        InputError: there is nothing to take, it lies elsewhere, or it would overwrite.
    """
    cautions = [words for one in brought for words in one.cautions]
    brought, side = put_right(brought, site)
    if side.words:
        cautions.append(side.words)
    found: dict[str, bytes] = {}
    words: list[tuple[str, str]] = []
    pond = _pond(brought, wish)
    depths = [one for one in brought if one.spots.has_depth.any()] if _wants(wish, "soundings") else []
    if pond is None and not depths:
        raise _nothing(brought, wish)
    if pond is not None:
        found |= _shore(files, pond, wish, words)
    count = 0
    if depths:
        changed, count = _soundings(files, depths, wish, words)
        found |= changed
    if site is None:
        cautions.append("the job has no position yet: nobody looked whether the places lie at its pond.")
    return Merge(found, tuple(words), tuple(cautions), sum(map(len, pond.rings)) if pond else 0, count)


def _wants(wish: Wish, kind: str) -> bool:
    return not wish.kinds or kind in wish.kinds


def _pond(brought: Sequence[Brought], wish: Wish) -> Pond | None:
    if not _wants(wish, "outline"):
        return None
    ponds = ponds_of(brought)
    # a track with depths was rowed over the water; only one without may have gone round it
    walks = [one for one in brought if "outline" in wish.kinds or not one.spots.has_depth.any()]
    ponds = ponds or pond_walked(walks)
    if not ponds:
        return None
    pond = one_pond(ponds, wish.pond)
    return scaled(pond, wish.taped) if wish.taped is not None else pond


def _nothing(brought: Sequence[Brought], wish: Wish) -> InputError:
    lines = sum(len(one.lines) for one in brought)
    spots = sum(one.spots.count for one in brought)
    parts = [f"{lines} lines whose ends do not meet"] if lines else []
    parts += [f"{spots} points without a depth"] if spots else []
    asked = f" for {' and '.join(wish.kinds)}" if wish.kinds else ""
    hints = " ".join(words for one in brought for words in one.cautions)
    return InputError(
        f"there is nothing to take{asked}: {', '.join(parts) or 'no place at all'}. {hints}".strip(),
        remedy="A shore is a polygon, or a walk whose ends meet; soundings are points or tracks with a depth.",
        place=", ".join(one.file for one in brought),
    )


def _shore(
    files: Mapping[str, bytes], pond: Pond, wish: Wish, words: list[tuple[str, str]]
) -> dict[str, bytes]:
    before = files.get(OUTLINE)
    found: dict[str, bytes] = {}
    if before is not None and b"coordinates" in before:
        if not wish.replaces:
            raise InputError(
                "holds a shore already.",
                remedy="Say that it shall be replaced (--replace; the old one is kept beside it), or take the "
                "depths alone (--as soundings).",
                place=OUTLINE,
            )
        found[kept_name(files, OUTLINE)] = before
    rings = [
        [Point(longitude_deg=round(float(lon), 8), latitude_deg=round(float(lat), 8)) for lon, lat in ring]
        for ring in _wound(pond.rings)
    ]
    found[OUTLINE] = with_shore(None, rings)
    words.append(("shore", f"{pond.said}; {plain(sum(map(len, pond.rings)), 0)} corners"))
    words += [("", text) for text in pond.words]
    return found


def _wound(rings: Sequence[np.ndarray]) -> list[np.ndarray]:
    """Return rings as RFC 7946 wants them: the shore against the clock, islands with it."""
    found = []
    for index, ring in enumerate(rings):
        x, y = ring.T
        left = float(np.dot(x, np.roll(y, -1)) - np.dot(np.roll(x, -1), y)) > 0
        found.append(ring if left == (index == 0) else ring[::-1])
    return found


def kept_name(files: Mapping[str, bytes], name: str) -> str:
    """Return a free name under which a file's old state is kept.

    Args:
        files: of the folder.
        name: of the file.
    """
    stem, _, ending = name.rpartition(".")
    number = 1
    while f"{stem}.old-{number}.{ending}" in files:
        number += 1
    return f"{stem}.old-{number}.{ending}"


def _soundings(
    files: Mapping[str, bytes], brought: Sequence[Brought], wish: Wish, words: list[tuple[str, str]]
) -> tuple[dict[str, bytes], int]:
    before = files.get(SOUNDINGS)
    found: dict[str, bytes] = {}
    filled = before is not None and _has_rows(before)
    if filled and not (wish.replaces or wish.adds):
        raise InputError(
            "holds soundings already.",
            remedy="Say that the new ones come behind them (--add), or take their place (--replace: the old file is "
            "kept beside it).",
            place=SOUNDINGS,
        )
    if filled and wish.replaces and not wish.adds and before is not None:
        found[kept_name(files, SOUNDINGS)] = before
        before = None
    rows: list[Row] = []
    for one in brought:
        rows += _rows(one.file, one.spots, words, wish.level_m)
    more = [name for name in ("muck_m", "level_m", "time") if any(name in row for row in rows)]
    for name, what in (("muck_m", "with muck"), ("level_m", "with a staff gauge")):
        if name in more:
            words.append((what, f"{plain(sum(name in row for row in rows), 0)} soundings"))
    table = opened(SOUNDINGS, before, COLUMNS, ("lon", "lat", "depth_m", *more))
    there = set(table.lines[table.heading + 1 :])
    lines = row_lines(table, rows)
    fresh = [line for line in lines if line not in there]
    if len(fresh) < len(lines):
        words.append(
            ("there already", f"{plain(len(lines) - len(fresh), 0)} soundings; they are not put in twice")
        )
    found[SOUNDINGS] = with_lines(table, fresh).data
    words.append(
        ("soundings", f"{plain(len(fresh), 0)} {'added to' if filled and wish.adds else 'into'} {SOUNDINGS}")
    )
    return found, len(fresh)


def _has_rows(data: bytes) -> bool:
    lines = [line for line in data.decode("utf-8-sig", "replace").splitlines() if line.strip(" ,;\t")]
    lines = [line for line in lines if not line.lstrip().startswith("#") and not line.startswith("sep=")]
    return len(lines) > 1


def _rows(file: str, spots: Spots, words: list[tuple[str, str]], level_m: float | None = None) -> list[Row]:
    depth = spots.depth_m
    good = (
        spots.has_depth & (depth >= 0.0) & (depth <= DEEPEST_M) & np.isfinite(spots.lon_deg + spots.lat_deg)
    )
    for mask, why in (
        (spots.has_depth & (depth < 0.0), "a depth below zero"),
        (spots.has_depth & (depth > DEEPEST_M), f"a depth over {show(DEEPEST_M, 'm')}"),
        (spots.has_depth & ~np.isfinite(spots.lon_deg + spots.lat_deg), "no place in its reference system"),
    ):
        if mask.any():
            rows = [int(row) for row in spots.row[mask]]
            words.append(("left out", f"{plain(len(rows), 0)} of {file}, {why}: {some(rows)}"))
    found: list[Row] = []
    for index in np.flatnonzero(good):
        row: dict[str, str | float] = {
            "lon": round(float(spots.lon_deg[index]), 8),
            "lat": round(float(spots.lat_deg[index]), 8),
            "depth_m": round(float(depth[index]), 4),
        }
        for name in ("muck_m", "level_m"):
            if (value := spots.more.get(name, {}).get(int(index))) is not None:
                row[name] = round(value, 4)
        if level_m is not None:
            row.setdefault("level_m", round(level_m, 4))
        if np.isfinite(spots.time_s[index]):
            row["time"] = (
                datetime.fromtimestamp(float(spots.time_s[index]), UTC).isoformat().replace("+00:00", "Z")
            )
        found.append(row)
    return found
