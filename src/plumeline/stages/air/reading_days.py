"""Readings of gauges from days on which the line was not there yet: left out, each with what is wrong."""

from __future__ import annotations

from datetime import date

from plumeline.errors import InputError
from plumeline.job.document import Job
from plumeline.notices import Notice, caution
from plumeline.stages.air.faults import GaugeReading

Early = tuple[tuple[GaugeReading, InputError], ...]
"""Readings that are too early, each with what is wrong."""


def since_built(job: Job, readings: tuple[GaugeReading, ...]) -> tuple[tuple[GaugeReading, ...], Early]:
    """Return the readings of days on which the line was there, and the others, each with what is wrong."""
    built = job.as_built.made_on if job.as_built else None
    known: list[tuple[date | None, str, str]] = [
        (built, "the line was built on", "as_built.made_on"),
        (None if built else job.trench.dig_date, "the trench is to be dug on", "trench.dig_date"),
    ]
    early = list[tuple[GaugeReading, InputError]]()
    for item in readings:
        for day, words, key in known:
            if day is not None and item.time.date() < day:
                error = InputError(
                    f"{item.time.date().isoformat()} is before {words} {day.isoformat()}.",
                    remedy=f"Check the day of the reading, and {key} in job.toml.",
                    place=f"row {item.row}",
                )
                early.append((item, error))
    gone = {item.row for item, _ in early}
    return tuple(item for item in readings if item.row not in gone), tuple(early)


def early_notices(early: Early) -> tuple[Notice, ...]:
    """Return what is said of readings that were left out, one sentence for all."""
    if not early:
        return ()
    rows = " ".join(f"Row {item.row}: {error.message}" for item, error in early)
    return (
        caution(
            "gauges-before-the-line", f"Gauges left out, kept in their file: {rows} {early[0][1].remedy}"
        ),
    )
