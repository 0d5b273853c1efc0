"""Where a label goes: of a few places about a point, the one that covers least of what is there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from plumeline.drawing.scene import XY, Path, Text, text_width_mm
from plumeline.palette import PAPER

SPOTS = ((1, 0), (-1, 0), (0.6, -1), (0.6, 1), (-0.6, -1), (-0.6, 1), (0, 1.2), (0, -1.2))
"""Where a label may stand about its point; the first of those that cover equally little is taken."""


@dataclass(frozen=True)
class Box:
    """A rectangle on the paper."""

    left_mm: float
    upper_mm: float
    right_mm: float
    lower_mm: float

    def shared_mm2(self, other: Box) -> float:
        """Return the area that two rectangles share."""
        wide = min(self.right_mm, other.right_mm) - max(self.left_mm, other.left_mm)
        high = min(self.lower_mm, other.lower_mm) - max(self.upper_mm, other.upper_mm)
        return max(wide, 0.0) * max(high, 0.0)


@dataclass
class Room:
    """The paper, and what on it is taken."""

    paper: Box
    taken: list[Box] = field(default_factory=list)
    lines: list[XY] = field(default_factory=list)

    def take_line(self, path: Path) -> None:
        """Mark a line, about every millimetre, as something that a label should not cover."""
        for (x, y), (u, v) in pairwise(path):
            steps = max(1, int(max(abs(u - x), abs(v - y))))
            self.lines.extend((x + (u - x) * i / steps, y + (v - y) * i / steps) for i in range(steps + 1))

    def _points(self) -> np.ndarray:
        """Return the points of the lines, (n, 2)."""
        return np.array(self.lines, float).reshape(-1, 2)

    def costs(self, boxes: Sequence[Box]) -> list[float]:
        """Return how bad each place is: shared area, points of lines under it, what sticks out of the paper."""
        left, upper, right, lower = (
            np.array([getattr(box, side) for box in boxes])[:, None]
            for side in ("left_mm", "upper_mm", "right_mm", "lower_mm")
        )
        x, y = self._points().T
        under = ((left <= x) & (x <= right) & (upper <= y) & (y <= lower)).sum(axis=1)
        return [self._area_cost(box) + 1.5 * float(count) for box, count in zip(boxes, under, strict=True)]

    def _area_cost(self, box: Box) -> float:
        area = (box.right_mm - box.left_mm) * (box.lower_mm - box.upper_mm)
        out = area - box.shared_mm2(self.paper)
        return 4.0 * sum(box.shared_mm2(other) for other in self.taken) + 20.0 * out

    def clearances_mm(self, places: Sequence[XY], most_mm: float) -> list[float]:
        """Return how far the nearest line or label is from each place, at most ``most_mm``."""
        middles = [
            ((box.left_mm + box.right_mm) / 2, (box.upper_mm + box.lower_mm) / 2) for box in self.taken
        ]
        there = np.concatenate([np.array(middles, float).reshape(-1, 2), self._points()])
        xy = np.array(places, float)
        far = np.hypot(*(xy[:, None, k] - there[None, :, k] for k in (0, 1)))
        return [float(value) for value in far.min(axis=1, initial=most_mm)]

    def place(
        self,
        xy: XY,
        words: str,
        size_mm: float,
        *,
        gap_mm: float = 2.2,
        bold: bool = False,
        over: bool = False,
    ) -> Text:
        """Return a label near a point, and take its place; ``over`` prefers the middle above the point."""
        wide, high = text_width_mm(words, size_mm, bold=bold) + 0.3 * size_mm, 1.22 * size_mm
        places: list[tuple[float, Box]] = []
        for ring in (1.0, 2.0, 3.2):
            gap = gap_mm * ring
            for dx, dy in SPOTS[::-1] if over else SPOTS:
                middle_x = xy[0] + dx * gap + (wide / 2) * (1 if dx > 0 else -1 if dx < 0 else 0)
                middle_y = xy[1] + dy * (gap + high / 2)
                box = Box(middle_x - wide / 2, middle_y - high / 2, middle_x + wide / 2, middle_y + high / 2)
                places.append((7.0 * ring, box))
        costs = self.costs([box for _, box in places])
        box = places[first_least([cost + more for cost, (more, _) in zip(costs, places, strict=True)])][1]
        self.taken.append(box)
        base = box.upper_mm + 0.92 * size_mm
        return Text((box.left_mm + box.right_mm) / 2, base, words, size_mm, "middle", bold, plate=PAPER)


def first_least(values: Sequence[float]) -> int:
    """Return the index of the first of the least values, rounding aside."""
    best = 0
    for index, value in enumerate(values):
        if value < values[best] - 1e-9:
            best = index
    return best
