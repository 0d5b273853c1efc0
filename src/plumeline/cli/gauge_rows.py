"""Rows of a file of gauges that a line can't have: left out with a word each, so that the others are worked out."""

from __future__ import annotations

from collections.abc import Sequence

from plumeline.errors import Fault, InputError, JobFolderError
from plumeline.notices import Notice, caution
from plumeline.stages.air.faults import GaugeReading, fit_readings


def fitting(
    file: str, names: Sequence[str], readings: tuple[GaugeReading, ...], *, all_needed: bool = False
) -> tuple[tuple[GaugeReading, ...], tuple[Notice, ...]]:
    """Return the readings that a line can have, and a caution for each row that is left out.

    Args:
        file: name of the file.
        names: ports of the line.
        readings: of the file.
        all_needed: a row that the line can't have is an error, as where the readings are to be accepted.

    Raises:
        JobFolderError: no reading is left, or all are needed; with every such row.
    """
    fit, unfit = fit_readings(tuple(names), readings)
    if unfit and (all_needed or not fit):
        raise JobFolderError(tuple(_fault(file, error) for _item, error in unfit), "the file of gauges")
    return fit, tuple(_left_out(file, error) for _item, error in unfit)


def _fault(file: str, error: InputError) -> Fault:
    return Fault(file, error.place, error.message, error.remedy or "")


def _left_out(file: str, error: InputError) -> Notice:
    words = (
        f"{file}, {error.place}, is left out, the other rows are taken: {error.message} {error.remedy or ''}"
    )
    return caution("gauge-left-out", words.strip())
