"""Valves: how much they lose at an opening, and what opening loses so much."""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise

from plumeline.errors import InputError
from plumeline.sources import read_table


@cache
def opening_curve(kind: str) -> tuple[tuple[float, float], ...]:
    """Return closing (0 open, 1 shut) and loss coefficient of a kind of valve, by rising closing.

    Raises:
        InputError: the table has no such kind.
    """
    rows = read_table("valve_openings")
    points = tuple(
        (float(row["closed_fraction"]), float(row["loss_number"])) for row in rows if row["valve"] == kind
    )
    if not points:
        kinds = sorted({row["valve"] for row in rows})
        raise InputError(
            f"there is no curve for a valve of kind {kind!r}.",
            remedy=f"One of: {', '.join(kinds)}.",
            place="valve",
        )
    return points


def valve_loss_number(kind: str, opening_fraction: float) -> float:
    """Return the velocity heads lost in a valve at an opening (1 open).

    Between the table's rows ln K is straight in the closing; past its last row it is carried on. A valve that is
    shut loses all there is: infinity.
    """
    points = opening_curve(kind)
    closed = 1.0 - opening_fraction
    if closed >= 1.0:
        return math.inf
    for (low, low_loss), (high, high_loss) in pairwise(points):
        if closed <= high or (high, high_loss) == points[-1]:
            share = (closed - low) / (high - low)
            return float(low_loss * (high_loss / low_loss) ** share)
    return points[0][1]


def closed_fraction(kind: str, loss_number: float) -> float | None:
    """Return how far a valve is closed that loses so many velocity heads; None past the table's last row."""
    points = opening_curve(kind)
    if loss_number <= points[0][1]:
        return 0.0
    for (low, low_loss), (high, high_loss) in pairwise(points):
        if loss_number <= high_loss:
            return low + (high - low) * math.log(loss_number / low_loss) / math.log(high_loss / low_loss)
    return None


def least_open_fraction(kind: str) -> float:
    """Return the least opening that the table knows of a kind of valve."""
    return 1.0 - opening_curve(kind)[-1][0]
