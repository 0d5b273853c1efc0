"""The valid-range table applied to a relation: out of range raises or is said; nothing is clamped."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from typing import Literal

from plumeline.errors import RangeError
from plumeline.notices import Notice, caution


def valid_range(relation: Callable[..., float]) -> dict[str, tuple[float, float]]:
    """Return the lowest and highest value for which a relation holds, by parameter.

    Args:
        relation: a function of `plumeline.science`

    Returns:
        parameter name to (low, high), in the unit that the parameter's name carries

    Raises:
        LookupError: the relation's module holds no range for it.
    """
    table: dict[str, dict[str, tuple[float, float]]] = vars(sys.modules[relation.__module__]).get("RANGE", {})
    if relation.__name__ not in table:
        raise LookupError(f"{relation.__module__}.RANGE has no row for {relation.__name__}")
    return table[relation.__name__]


def checked(
    relation: Callable[..., float],
    *,
    outside: Literal["raise", "caveat"] = "raise",
    **arguments: float,
) -> tuple[float, tuple[Notice, ...]]:
    """Evaluate a published relation and say where it is used outside the range in which it holds.

    Args:
        relation: a function of `plumeline.science`
        outside: "raise" to stop on an argument out of range, "caveat" to go on and say so
        **arguments: the relation's own arguments, each in the unit of its name

    Returns:
        the value, in the relation's own unit, and one caution for each argument out of range

    Raises:
        RangeError: an argument is not a finite number, or is out of range and ``outside`` is "raise".
    """
    caveats: list[Notice] = []
    limits = valid_range(relation)
    for name, value in arguments.items():
        if not math.isfinite(value):
            raise RangeError(f"{name} is {value}, not a finite number.", remedy="Give a number.", place=name)
        if name not in limits:
            continue
        low, high = limits[name]
        if low <= value <= high:
            continue
        problem = f"{name} = {value:g} is outside {low:g} to {high:g}, where {relation.__name__} holds."
        if outside == "raise":
            raise RangeError(problem, remedy=f"Give a value from {low:g} to {high:g}.", place=name)
        caveats.append(caution("relation-out-of-range", f"{problem} The figure is an extrapolation."))
    return relation(**arguments), tuple(caveats)
