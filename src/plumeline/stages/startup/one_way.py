"""Numbers along a row that go one way only: the least such row that lies on or over them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import accumulate


def one_way(numbers: Sequence[float]) -> list[float]:
    """Return the lowest row that only rises, or only falls, on or over every number; NaN stays where it ends a row.

    Of the two the one that adds less is taken. A single NaN between two numbers is a number that was not told: it
    gets what stands beside it. Never lower than the numbers, the row is as careful as they are at each place.

    >>> one_way([5.0, 4.6, 4.8, 4.0])
    [5.0, 4.8, 4.8, 4.0]
    """
    nan = float("nan")
    told = [number for number in numbers if number == number]
    if not told:
        return [nan] * len(numbers)
    lowest = [-math.inf if number != number else number for number in numbers]
    falling = list(accumulate(lowest[::-1], max))[::-1]
    rising = list(accumulate(lowest, max))
    at = [place for place, number in enumerate(numbers) if number == number]
    row = falling if sum(falling[k] for k in at) <= sum(rising[k] for k in at) else rising
    return [value if _stays(numbers, place) else nan for place, value in enumerate(row)]


def _stays(numbers: Sequence[float], place: int) -> bool:
    """Return whether a place has a number of its own, or one on either side."""
    if numbers[place] == numbers[place]:
        return True
    if not 0 < place < len(numbers) - 1:
        return False
    return numbers[place - 1] == numbers[place - 1] and numbers[place + 1] == numbers[place + 1]
