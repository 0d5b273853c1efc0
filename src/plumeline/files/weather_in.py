"""weather.csv: one row an hour, a stamp at the end of its hour."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

from plumeline.errors import InputError
from plumeline.files.findings import Findings, some
from plumeline.files.headers import Column
from plumeline.files.limits import limits_of
from plumeline.files.tables import Table, read_table
from plumeline.files.times import Clock
from plumeline.job.document import WeatherHour

FILE = "weather.csv"
HOUR = timedelta(hours=1)
LONGEST_FILLED_H = 3
"""Missing hours in a row that are filled by a straight line; a longer gap cuts the weather."""

COLUMNS = (
    Column("time", required=True, kind="text", example="2026-08-11T10:00"),
    *(
        Column(
            name,
            required=required,
            blank_ok=True,
            limits=limits_of(WeatherHour, name),
            heading=heading,
            gauge=False,
            example=example,
        )
        for name, required, heading, example in (
            ("air_temperature_degc", True, "", "28.5"),
            ("relative_humidity_fraction", True, "relative_humidity_pct", "65"),
            ("wind_speed_m_s", True, "", "1.5"),
            ("shortwave_w_m2", True, "", "640"),
            ("cloud_fraction", False, "", "0.3"),
            ("longwave_w_m2", False, "", "390"),
            ("pressure_pa", False, "", "98900"),
            ("rain_mm", False, "", "2.5"),
        )
    ),
)
REQUIRED = tuple(column.name for column in COLUMNS if column.required and column.kind == "number")
FIELDS = tuple(column.name for column in COLUMNS if column.name != "time")


def read_weather(path: Path, clock: Clock, wanted: datetime, findings: Findings) -> tuple[WeatherHour, ...]:
    """Return the hours of weather, in order, without gaps.

    Args:
        path: the file.
        clock: reads the stamps.
        wanted: a time that the weather should cover; where a long gap cuts it, the piece with or nearest to
            this time stays.
        findings: takes faults and notices.
    """
    table = read_table(path, COLUMNS, findings)
    if table is None:
        return ()
    hours = _hours(table, clock, findings)
    if len(hours) < 2:
        return tuple(hour for _, hour in hours)
    pieces, filled = _pieces(hours, findings)
    if filled:
        findings.note(
            "weather-filled",
            f"{FILE}: missing hours filled by a straight line between their neighbours: {filled}.",
        )
    kept = min(pieces, key=lambda piece: _distance(piece, wanted))
    if len(pieces) > 1:
        findings.caution(
            "weather-cut",
            f"{FILE}: {len(pieces) - 1} gaps of more than {LONGEST_FILLED_H} hours; only "
            f"{kept[0].time:%Y-%m-%d %H:%M} to {kept[-1].time:%Y-%m-%d %H:%M} is used.",
        )
    if not kept[0].time - HOUR <= wanted <= kept[-1].time:
        findings.caution(
            "weather-elsewhen",
            f"{FILE}: the weather used, {kept[0].time:%Y-%m-%d} to {kept[-1].time:%Y-%m-%d}, does not cover "
            f"{wanted:%Y-%m-%d}.",
        )
    return tuple(kept)


def _distance(piece: list[WeatherHour], wanted: datetime) -> timedelta:
    zero = timedelta(0)
    return max(piece[0].time - wanted, wanted - piece[-1].time, zero)


def _hours(table: Table, clock: Clock, findings: Findings) -> list[tuple[int, WeatherHour]]:
    """Return rows with their hours, in order of time; a repeated hour is a fault."""
    found: list[tuple[int, WeatherHour]] = []
    last: datetime | None = None
    blank: list[int] = []
    for index, (row, text) in enumerate(zip(table.rows, table.texts["time"], strict=True)):
        try:
            time = clock.read(text, last)
        except InputError as error:
            findings.fault(FILE, f"row {row}, time", error.message, error.remedy, kind="time")
            continue
        last = time
        fields: dict[str, Any] = {name: table.number(name, index) for name in FIELDS}
        if any(fields[name] is None for name in REQUIRED):
            blank.append(row)
            continue
        found.append((row, WeatherHour(time=time, **fields)))
    if blank:
        findings.note(
            "weather-blank", f"{FILE}, {some(blank)}: a value is missing; counted as missing hours."
        )
    ordered = sorted(found, key=lambda entry: entry[1].time)
    if [row for row, _ in ordered] != [row for row, _ in found]:
        findings.note("weather-unordered", f"{FILE}: the rows were put in order of time.")
    return ordered


def _pieces(hours: list[tuple[int, WeatherHour]], findings: Findings) -> tuple[list[list[WeatherHour]], int]:
    """Return stretches without gaps, short gaps filled, and how many hours were filled."""
    pieces, filled = [[hours[0][1]]], 0
    for (first_row, before), (row, after) in pairwise(hours):
        step = after.time - before.time
        if step == timedelta(0):
            problem = f"the hour {after.time.isoformat()} is already in row {first_row}."
            findings.fault(FILE, f"row {row}", problem, "Keep one row an hour.", kind="repeated hour")
        elif step % HOUR:
            minutes = step / timedelta(minutes=1)
            problem = f"stands {minutes:g} minutes after row {first_row}."
            findings.fault(FILE, f"row {row}", problem, "Give one row an hour (hourly means).", kind="step")
        elif step // HOUR - 1 > LONGEST_FILLED_H:
            pieces.append([after])
        else:
            missing = step // HOUR - 1
            filled += missing
            pieces[-1].extend(_between(before, after, part, missing + 1) for part in range(1, missing + 1))
            pieces[-1].append(after)
    return pieces, filled


def _between(before: WeatherHour, after: WeatherHour, part: int, parts: int) -> WeatherHour:
    """Return the hour ``part`` of ``parts`` between two, each value on a straight line."""
    share = part / parts
    fields: dict[str, Any] = {}
    for name in FIELDS:
        first, second = getattr(before, name), getattr(after, name)
        known = first is not None and second is not None
        fields[name] = first + share * (second - first) if known else None
    return WeatherHour(time=before.time + part * HOUR, **fields)
