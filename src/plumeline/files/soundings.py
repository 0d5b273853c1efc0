"""soundings.csv: depths and where they were measured."""

from __future__ import annotations

from pathlib import Path

from plumeline.files.findings import Findings
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
)


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
    for row, *place, depth, first in zip(
        table.rows, lon, lat, x, y, table.numbers["depth_m"], first_rows, strict=True
    ):
        where = _place(place[0], place[1], place[2], place[3])
        if isinstance(where, str):
            findings.fault(FILE, f"row {row}", where, "Give lon and lat, or x_m and y_m.", kind="place")
        elif depth is not None:
            found.append(Sounding(place=where, depth_m=depth, row=row if first is None else int(first)))
    return tuple(found)


def _place(lon: float | None, lat: float | None, x_m: float | None, y_m: float | None) -> Place | str:
    if lon is not None and lat is not None:
        if not -180.0 <= lon <= 180.0 or not -90.0 <= lat <= 90.0:
            return f"({lon:g}, {lat:g}) is no longitude and latitude."
        return Point(longitude_deg=lon, latitude_deg=lat)
    if x_m is not None and y_m is not None:
        return LocalPoint(x_m=x_m, y_m=y_m)
    return "has no whole place."
