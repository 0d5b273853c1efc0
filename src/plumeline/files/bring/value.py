"""What a file of another program holds, read and put into longitude and latitude; nothing is decided here."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from plumeline.errors import InputError
from plumeline.units import plain

MOST_POINTS = 2_000_000
"""More places than a boat logs in a month; beyond it a file is thinned before it is brought."""

MOST_FILE_BYTES = 256_000_000


@dataclass(frozen=True, eq=False)
class Area:
    """A polygon.

    Attributes:
        rings: the shore first, then islands; each of shape (n, 2), longitude and latitude, not closed.
        name: as the file has it.
        row: of the file, or the number of the feature.
    """

    rings: tuple[np.ndarray, ...]
    name: str = ""
    row: int = 0


@dataclass(frozen=True, eq=False)
class Line:
    """A line that was walked, rowed or drawn.

    Attributes:
        places: shape (n, 2), longitude and latitude.
        name: as the file has it.
        row: of its first place.
    """

    places: np.ndarray
    name: str = ""
    row: int = 0


@dataclass(frozen=True, eq=False)
class Spots:
    """Places one by one; all arrays have shape (n,), and what is not known is NaN.

    Attributes:
        lon_deg: longitude.
        lat_deg: latitude.
        depth_m: positive down from the water.
        time_s: seconds since 1970 in universal time.
        hdop_number: dilution of precision as the receiver gave it.
        row: of the file.
        name: of each place that has one, by its index.
        more: muck_m (thickness of soft muck) and level_m (staff gauge) where a table has them, by index.
    """

    lon_deg: np.ndarray
    lat_deg: np.ndarray
    depth_m: np.ndarray
    time_s: np.ndarray
    hdop_number: np.ndarray
    row: np.ndarray
    name: dict[int, str] = field(default_factory=dict)
    more: dict[str, dict[int, float]] = field(default_factory=dict)

    @property
    def count(self) -> int:
        """How many."""
        return len(self.lon_deg)

    @property
    def has_depth(self) -> np.ndarray:
        """Which of them have a depth, shape (n,)."""
        found: np.ndarray = np.isfinite(self.depth_m)
        return found


def no_spots() -> Spots:
    """Return no places."""
    none = np.empty(0)
    return Spots(none, none, none, none, none, np.empty(0, dtype=np.int64))


def spots_of(records: list[tuple[float, float, float, float, float, int]], name: dict[int, str]) -> Spots:
    """Return places from rows of longitude, latitude, depth, time, hdop and row.

    Args:
        records: one for each place.
        name: by the index of the row.
    """
    if not records:
        return no_spots()
    lon, lat, depth, time, hdop, row = (np.array(values) for values in zip(*records, strict=True))
    return Spots(lon, lat, depth, time, hdop, row.astype(np.int64), name)


@dataclass(frozen=True)
class Aside:
    """What was left out of a file: why, and in which rows."""

    why: str
    rows: tuple[int, ...]


class Asides:
    """A growing list of what is left out, by its reason."""

    def __init__(self) -> None:
        self._rows: dict[str, list[int]] = {}

    def add(self, why: str, row: int) -> None:
        """Leave out a row."""
        self._rows.setdefault(why, []).append(row)

    def all(self) -> tuple[Aside, ...]:
        """Return what was left out, the most frequent reason first."""
        found = [Aside(why, tuple(rows)) for why, rows in self._rows.items()]
        return tuple(sorted(found, key=lambda aside: -len(aside.rows)))


@dataclass(frozen=True)
class Brought:
    """A file, read.

    Attributes:
        file: its name.
        kind: what sort of file it is.
        crs: in which the file's numbers are, in words.
        areas: polygons.
        lines: tracks, routes and drawn lines.
        spots: places one by one, those of tracks too where they have a depth.
        understood: (what, from where in the file) in the order of the file: what a person confirms.
        asides: what was left out and why.
        cautions: what should be known before it is taken.
    """

    file: str
    kind: str
    crs: str = "WGS 84, longitude and latitude"
    areas: tuple[Area, ...] = ()
    lines: tuple[Line, ...] = ()
    spots: Spots = field(default_factory=no_spots)
    understood: tuple[tuple[str, str], ...] = ()
    asides: tuple[Aside, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Source:
    """A column as somebody named it: its heading or number, and the unit of its numbers."""

    column: str
    suffix: str = ""


@dataclass(frozen=True)
class Asked:
    """What is told about a file besides the file.

    Attributes:
        columns: by what they hold (lon, lat, x, y, depth, muck, firm, level, time, name): where to find it.
        crs: of the file's numbers, as ``EPSG:2264``; empty where the file says it.
        near_deg: longitude and latitude of the site, for suggestions; None where it is not known.
    """

    columns: dict[str, Source] = field(default_factory=dict)
    crs: str = ""
    near_deg: tuple[float, float] | None = None


def too_many(file: str) -> InputError:
    """Return the error for a file with too many places."""
    return InputError(
        f"holds more than {plain(MOST_POINTS, 0)} places.",
        remedy="Thin it, or cut it into parts.",
        place=file,
    )
