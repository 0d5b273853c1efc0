"""A depth as a cell of a foreign table holds it."""

from __future__ import annotations

import math

from plumeline.errors import PlumelineError
from plumeline.units import SUFFIXES, parse


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
