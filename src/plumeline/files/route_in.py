"""route.csv: the way of the air line on land, station by station."""

from __future__ import annotations

from pathlib import Path

from plumeline.files.findings import Findings
from plumeline.files.headers import Column
from plumeline.files.limits import limits_of
from plumeline.files.tables import read_table
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import AirSystem, RoutePoint
from plumeline.units import both

FILE = "route.csv"
COLUMNS = (
    Column("station_m", required=True, limits=limits_of(RoutePoint, "station_m"), example="120 ft"),
    Column("elevation_m", required=True, limits=limits_of(RoutePoint, "elevation_m"), example="688.5 ft"),
    Column("cover_m", limits=limits_of(RoutePoint, "cover_m"), example="18 in"),
    Column("soil", kind="text", example="clay"),
    Column("crossing", kind="text", example="drive"),
)


def read_route(path: Path, air: AirSystem | None, findings: Findings) -> tuple[RoutePoint, ...]:
    """Return the stations of the route, none where there is no file; faults are added.

    Args:
        path: the file.
        air: the air line, whose length is held against the route's.
        findings: added to.
    """
    before = len(findings.faults)
    table = read_table(path, COLUMNS, findings)
    if table is None:
        return ()
    found: list[RoutePoint] = []
    for index, row in enumerate(table.rows):
        station, elevation = table.number("station_m", index), table.number("elevation_m", index)
        if station is None or elevation is None:
            continue
        if found and station <= found[-1].station_m:
            findings.fault(
                table.name,
                f"row {row}, station",
                f"{both(station, 'm')} does not lie beyond the station before it, "
                f"{both(found[-1].station_m, 'm')}.",
                "List the stations from the compressor to the water, each once.",
                kind="station",
            )
            continue
        found.append(
            RoutePoint(
                station_m=station,
                elevation_m=elevation,
                cover_m=table.number("cover_m", index),
                soil=table.text("soil", index),
                crossing=table.text("crossing", index),
            )
        )
    if len(findings.faults) > before:
        return ()
    if len(found) == 1:
        findings.fault(
            table.name, "", "has one station only.", "Give the compressor's and the water's edge at least."
        )
        return ()
    if found and air is not None:
        _check_length(found, air, findings)
    return tuple(found)


def _check_length(route: list[RoutePoint], air: AirSystem, findings: Findings) -> None:
    """Caution where the route is longer or shorter than the line that is to lie in it."""
    long_m = route[-1].station_m - route[0].station_m
    pieces_m = sum(piece.length_m for piece in air.trunk)
    have_m, what = (
        (pieces_m, "the pieces of air.trunk add up to")
        if pieces_m
        else (air.route_length_m, "route_length is")
    )
    if have_m is not None and not 0.9 <= have_m / long_m <= 1.1:
        findings.caution(
            "route-csv-differs",
            f"{FILE} is {long_m:.0f} m long and in {JOB_FILE} {what} {have_m:.0f} m: the line's pressure is worked "
            f"out with {JOB_FILE}, trench and low points with {FILE}.",
        )
