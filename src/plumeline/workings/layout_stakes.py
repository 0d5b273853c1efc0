"""How the sights of the crew come about: order, bearings, distances, what the line must read."""

from __future__ import annotations

from math import cos, radians, sin
from typing import TYPE_CHECKING

from plumeline.stages.layout.stakes import LEAST_TOLERANCE_M, Sight, Stake
from plumeline.workings.book import Book
from plumeline.workings.value import Value, chosen, plain_constant, relation, summed

if TYPE_CHECKING:
    from plumeline.workings.layout import LayoutValues

TITLE = "Finding the places"


def stake_cells(book: Book, values: LayoutValues) -> None:
    """Say how each cell of the crew's table comes about."""
    bottom = bottoms(values)
    tolerance = _tolerance(values)
    for row, item in enumerate(values.found.stakes):
        order = chosen(
            f"order of {item.name}", float(item.order_number), "",
            "the longest line along the bottom is let down first, so that no boat crosses a line that lies",
        )  # fmt: skip
        cells: list[list[Value]] = [[order]]
        for one in item.sights:
            cells += [[_bearing(item, one)], [_distance(item, one)]]
        cells.append([bottom[item.name], tolerance])
        for column, cell in enumerate(cells, start=1):
            book.at("part", TITLE, str(row), str(column), values=cell)


def bottoms(values: LayoutValues) -> dict[str, Value]:
    """Return the pond's depth at each diffuser and each bend of a line."""
    found = {}
    for item in values.found.diffusers:
        found[item.name] = values.bottom_at(item)
        for bend in item.branch_bends:
            found[bend.name] = values.bottom(bend.name, *bend.xy, bend.bottom_depth_m)
    return found


def _bearing(item: Stake, one: Sight) -> Value:
    return chosen(
        f"bearing of {item.name} from {one.mark}", one.bearing_deg, "deg",
        "the direction on the plan, clockwise from true north: atan2(east, north)",
    )  # fmt: skip


def _distance(item: Stake, one: Sight) -> Value:
    """Return a distance by Pythagoras from what lies east and north."""
    east_m = one.distance_m * sin(radians(one.bearing_deg))
    north_m = one.distance_m * cos(radians(one.bearing_deg))
    words = "difference of the two places in the local plane"
    terms = {
        "x": summed(f"{item.name} east of {one.mark}", east_m, "m", words),
        "y": summed(f"{item.name} north of {one.mark}", north_m, "m", words),
    }
    return relation(
        f"distance of {item.name} from {one.mark}",
        one.distance_m,
        "m",
        "sqrt(x^2 + y^2)",
        terms,
        source="Pythagoras",
    )


def _tolerance(values: LayoutValues) -> Value:
    error_m = values.basin.found.reading_error_m or 0.0
    terms = {
        "t": plain_constant("least that a line may be off", LEAST_TOLERANCE_M, "m", "judgement: a foot"),
        "s": summed("error of one sounding", error_m, "m", "the survey's, 0 where it is not known"),
    }
    return relation(
        "how far the line may read from the bottom",
        values.found.stakes[0].tolerance_m,
        "m",
        "max(t, 2 * s)",
        terms,
    )
