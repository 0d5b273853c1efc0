"""The marks on the shore that a crew without GPS sights from, on the plan: a triangle, as survey points are drawn."""

from __future__ import annotations

from collections.abc import Callable

from plumeline.drawing.labels import Box, Room
from plumeline.drawing.scene import XY, Area, Shape
from plumeline.palette import INK, PAPER
from plumeline.stages.plan import Designed

HALF_MM = 1.7


def shore_marks(plan: Designed, at: Callable[[XY], XY], room: Room) -> list[Shape]:
    """Return the marks that lie on the paper, with their names.

    Args:
        plan: the plan.
        at: a place of the plane on the paper.
        room: the paper; the marks take theirs.
    """
    shapes: list[Shape] = []
    places = [(mark.name, at(plan.survey.plane.to_xy(mark.place))) for mark in plan.job.pond.marks]
    low, high = (room.paper.left_mm, room.paper.upper_mm), (room.paper.right_mm, room.paper.lower_mm)
    seen = [
        (name, here) for name, here in places if low[0] <= here[0] <= high[0] and low[1] <= here[1] <= high[1]
    ]
    for _, (x, y) in seen:
        corners = ((x, y - 1.2 * HALF_MM), (x + HALF_MM, y + HALF_MM), (x - HALF_MM, y + HALF_MM))
        shapes.append(Area((corners,), PAPER, INK, 0.5))
        room.taken.append(Box(x - 2.2, y - 2.2, x + 2.2, y + 2.2))
    return [*shapes, *(room.place(here, name, 2.8, gap_mm=2.4) for name, here in seen)]
