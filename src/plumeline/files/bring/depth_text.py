"""A depth as a cell of a foreign table holds it."""

from __future__ import annotations

import math

from plumeline.errors import PlumelineError
from plumeline.files.bring.value import Asides
from plumeline.units import SUFFIXES, parse


def depth_taken(text: str, suffix: str, asides: Asides, row: int) -> tuple[float, bool]:
    """Return what `depth_of` does; a depth that is no number is left out, and that is noted with its row."""
    depth, unitless = depth_of(text, suffix)
    if math.isnan(depth) and not unitless:
        asides.add("its depth is not a number", row)
    return depth, unitless


def depth_of(text: str, suffix: str) -> tuple[float, bool]:
    """Return a depth in metres and whether its unit is wanting; NaN where it is no number.

    Args:
        text: ``11.4``, ``11,4``, ``11 ft 5 in``.
        suffix: unit of a bare number; empty where none was said.
    """
    cell = text.strip()
    try:
        bare = float(cell.replace(",", ".")) if "_" not in cell else math.nan
    except ValueError:
        try:
            return parse(cell, "m"), False
        except PlumelineError:
            return math.nan, False
    if not math.isfinite(bare):
        return math.nan, False
    if not suffix:
        return math.nan, True
    return bare * SUFFIXES[suffix].scale, False
