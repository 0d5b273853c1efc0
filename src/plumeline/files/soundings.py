"""soundings.csv: depths and where they were measured."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from plumeline.files.findings import Findings, some
from plumeline.files.headers import Column
from plumeline.files.limits import limits_of
from plumeline.files.tables import Table, read_table
from plumeline.job.document import LocalPoint, Place, Point, Sounding

FILE = "soundings.csv"
COLUMNS = (
    Column("lon", other_names=("longitude", "longitude_deg", "lng", "long"), example="-79.7204"),
    Column("lat", other_names=("latitude", "latitude_deg"), example="35.9102"),
    Column("x_m", example="12.5"),
    Column("y_m", example="-30.0"),
    Column(
        "depth_m",
        required=True,
        limits=limits_of(Sounding, "depth_m"),
        example="3.5",
        remedy="Depths are positive down from the water surface; check the unit and the sign.",
    ),
    Column("row", example="2"),
    Column("time", kind="text", example="2026-08-11T10:30"),
    Column(
        "muck_m",
        limits=limits_of(Sounding, "muck_m"),
        other_names=("mud_m", "silt_m", "sediment_m", "muck_thickness_m", "soft_m"),
        example="0.4",
        remedy="It is the thickness of the soft muck; a depth of the firm bottom stands under firm_depth_m.",
    ),
    Column(
        "firm_depth_m",
        limits=limits_of(Sounding, "depth_m"),
        other_names=("hard_depth_m", "hard_bottom_m", "firm_bottom_m"),
        example="3.9",
        remedy="It is the depth of the firm bottom under the water, positive down.",
    ),
    Column(
        "level_m",
        limits=limits_of(Sounding, "level_m"),
        other_names=("staff_m", "staff_gauge_m", "gauge_m", "water_level_m"),
        example="0.62",
        remedy="It is the reading of the staff gauge that day, upwards.",
    ),
)
HAND_M = 0.05
"""A firm bottom read so little above the muck's top is one hand's slip of the rod: no muck."""


def read_soundings(path: Path, findings: Findings) -> Table | None:
    """Return the table of soundings with a place in every row, or None."""
    table = read_table(path, COLUMNS, findings)
    if table is None:
        return None
    has = set(table.numbers)
    if not ({"lon", "lat"} <= has or {"x_m", "y_m"} <= has):
        remedy = "The heading is lon,lat,depth_m, or x_m,y_m,depth_m (metres east and north of the site)."
        findings.fault(FILE, "row 1", "the columns of the place are missing.", remedy)
        return None
    return table


def build_soundings(table: Table, findings: Findings, *, swapped: bool = False) -> tuple[Sounding, ...]:
    """Return the soundings; ``swapped`` reads longitude as latitude and the other way round."""
    empty: list[float | None] = [None] * len(table.rows)
    lon, lat = (table.numbers.get(name, empty) for name in ("lon", "lat"))
    if swapped:
        lon, lat = lat, lon
    x, y = (table.numbers.get(name, empty) for name in ("x_m", "y_m"))
    first_rows = table.numbers.get("row", empty)
    found = []
    more = _more(table, findings)
    for row, *place, depth, first, extra in zip(
        table.rows, lon, lat, x, y, table.numbers["depth_m"], first_rows, more, strict=True
    ):
        where = _place(place[0], place[1], place[2], place[3])
        if isinstance(where, str):
            findings.fault(FILE, f"row {row}", where, "Give lon and lat, or x_m and y_m.", kind="place")
        elif depth is not None:
            own_row = row if first is None else int(first)
            found.append(Sounding(place=where, depth_m=depth, row=own_row, **extra))
    return tuple(found)


def _more(table: Table, findings: Findings) -> list[dict[str, Any]]:
    """Return what each row says besides place and depth: muck, staff gauge, day."""
    empty: list[float | None] = [None] * len(table.rows)
    thick, firm, level = (table.numbers.get(name, empty) for name in ("muck_m", "firm_depth_m", "level_m"))
    times = table.texts.get("time", [""] * len(table.rows))
    found = []
    unread = []
    for row, depth, own, under, gauge, time in zip(
        table.rows, table.numbers["depth_m"], thick, firm, level, times, strict=True
    ):
        day = _day(time)
        if day is None and time.strip():
            unread.append(row)
        muck = _muck(row, depth, own, under, findings)
        pairs = {"muck_m": muck, "level_m": gauge, "day": day}
        found.append({name: value for name, value in pairs.items() if value is not None})
    if unread:
        text = f"{FILE}: {some(unread)} say no day under time; write 2026-08-11 or 2026-08-11T10:30."
        findings.note("sounding-time", text)
    return found


def _muck(
    row: int, depth_m: float | None, muck_m: float | None, firm_m: float | None, findings: Findings
) -> float | None:
    """Return the muck's thickness from what was probed; a fault where top and bottom can't both be right."""
    if firm_m is None or depth_m is None:
        return muck_m
    under_m = firm_m - depth_m
    if under_m < -HAND_M:
        problem = f"the firm bottom at {firm_m:g} m lies above the muck's top at {depth_m:g} m."
        findings.fault(FILE, f"row {row}", problem, "Exchange the two depths, or leave one out.", kind="muck")
        return None
    if muck_m is not None and abs(muck_m - under_m) > HAND_M:
        problem = f"muck of {muck_m:g} m and a firm bottom {under_m:.3g} m under its top are not the same."
        findings.fault(FILE, f"row {row}", problem, "Keep the one that was measured.", kind="muck")
        return None
    return muck_m if muck_m is not None else max(round(under_m, 6), 0.0)


def _day(time: str) -> date | None:
    """Return the day that a time begins with; None where it begins with none."""
    try:
        return date.fromisoformat(time.strip()[:10])
    except ValueError:
        return None


def _place(lon: float | None, lat: float | None, x_m: float | None, y_m: float | None) -> Place | str:
    if lon is not None and lat is not None:
        if not -180.0 <= lon <= 180.0 or not -90.0 <= lat <= 90.0:
            return f"({lon:g}, {lat:g}) is no longitude and latitude."
        return Point(longitude_deg=lon, latitude_deg=lat)
    if x_m is not None and y_m is not None:
        return LocalPoint(x_m=x_m, y_m=y_m)
    return "has no whole place."
