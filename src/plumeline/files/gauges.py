"""gauges.csv: what the gauges of an air line showed, by visit."""

from __future__ import annotations

import re
from datetime import date, tzinfo
from pathlib import Path

from plumeline.errors import InputError
from plumeline.files.findings import Findings
from plumeline.files.headers import Column
from plumeline.files.limits import Limits
from plumeline.files.tables import Table, read_table
from plumeline.files.times import Clock
from plumeline.stages.air.faults import GaugeReading

FILE = "gauges.csv"
COLUMNS = (
    Column("time", required=True, kind="text", example="2026-08-11T10:30"),
    Column("place", required=True, kind="text", example="compressor"),
    Column(
        "pressure_pa",
        required=True,
        heading="pressure_psig",
        limits=Limits(low=0.0, high=7e5),
        example="5.8",
        remedy="A gauge reads 0 or more; check the sign and the unit.",
    ),
    Column("water_level_m", limits=Limits(low=-5.0, high=5.0), example="-0.15"),
    Column("open_ports", kind="text", example="A B"),
    Column("boil", kind="text", example="A B"),
)
FULL = "full"
"""Before the open ports: their valves stood full open, not as set; alone: every valve full open."""
NAMES = re.compile(r"[;,/\s]+")


def read_gauges(path: Path, zone: tzinfo, today: date, findings: Findings) -> tuple[GaugeReading, ...]:
    """Return the readings of a file of gauges, in its order; faults are added.

    Args:
        path: the file.
        zone: of the site, for times without an offset.
        today: no reading can be later.
        findings: added to.
    """
    if not path.exists():
        findings.fault(path.name, "", "is not there.", "Name the file with the gauges, gauges.csv.")
        return ()
    table = read_table(path, COLUMNS, findings)
    if table is None:
        return ()
    clock = Clock(zone)
    found = []
    for index in range(len(table.rows)):
        item = _reading(table, index, clock, today, findings)
        if item is not None:
            found.append(item)
    return tuple(found)


def _reading(table: Table, index: int, clock: Clock, today: date, findings: Findings) -> GaugeReading | None:
    """Return one row, or None with a fault."""
    row = table.rows[index]
    try:
        time = clock.read(table.text("time", index))
    except InputError as error:
        findings.fault(table.name, f"row {row}, time", error.message, error.remedy or "", kind="time")
        return None
    if time.date() > today:
        problem = f"{time.date().isoformat()} is still to come."
        findings.fault(
            table.name, f"row {row}, time", problem, "Check the year, or give --date.", kind="future"
        )
        return None
    pressure = table.number("pressure_pa", index)
    if pressure is None:
        return None
    ports = _names(table.text("open_ports", index))
    full = bool(ports) and ports[0].lower() == FULL
    ports = ports[1:] if full else ports
    boil = table.text("boil", index).strip()
    return GaugeReading(
        time,
        table.text("place", index).strip(),
        pressure,
        table.number("water_level_m", index),
        None if not ports or [name.lower() for name in ports] == ["all"] else ports,
        None if not boil else () if boil.lower() == "none" else _names(boil),
        row,
        full,
    )


def _names(text: str) -> tuple[str, ...]:
    return tuple(name for name in NAMES.split(text) if name)
