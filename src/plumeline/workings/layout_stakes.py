"""How the sights of the crew come about: order, bearings, distances, what the line must read."""

from __future__ import annotations

from math import cos, radians, sin
from typing import TYPE_CHECKING

from plumeline.sources.priors import SCORE_95
from plumeline.stages.layout.stakes import LEAST_TOLERANCE_M, Sight, Stake
from plumeline.workings.book import Book
from plumeline.workings.survey_cases import reading_error
from plumeline.workings.value import Value, chosen, plain_constant, relation, summed

if TYPE_CHECKING:
    from plumeline.workings.layout import LayoutValues

TITLE = "Finding the places"


def stake_cells(book: Book, values: LayoutValues) -> None:
    """Say how each cell of the crew's table comes about."""
    bottom = bottoms(values)
    for row, item in enumerate(values.found.stakes):
        order = chosen(
            f"order of {item.name}", float(item.order_number), "",
            "the longest line along the bottom is let down first, so that no boat crosses a line that lies",
        )  # fmt: skip
        cells: list[list[Value]] = [[order]]
        for one in item.sights:
            cells += [[_bearing(item, one)], [_distance(item, one)]]
        cells.append([bottom[item.name], *_tolerance(values, item)])
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


def _tolerance(values: LayoutValues, item: Stake) -> list[Value]:
    """Return how far the line may read from the depth of the plan; nothing where nobody sounded."""
    survey = values.basin.found
    if item.tolerance_m is None:
        return []
    x_m, y_m = _place(values, item.name)
    error_m = survey.depth_error_at(x_m, y_m) or 0.0
    terms = {
        "t": plain_constant("least that a line may be off", LEAST_TOLERANCE_M, "m", "judgement: a foot"),
        "q": plain_constant("normal deviate at 95 %", SCORE_95, "", "nine of ten lie within it on both sides"),
        "d": summed(
            f"standard error of the depth at {item.name}", error_m, "m",
            "what the surfaces that were weighed leave open there, and how far they lie apart",
        ),
        "s": reading_error(survey)
        or summed("error of one sounding", survey.reading_error_m or 0.0, "m", "the survey's"),
    }  # fmt: skip
    return [
        relation(
            f"how far the line may read from the depth at {item.name}",
            item.tolerance_m,
            "m",
            "max(t, q * sqrt(d^2 + s^2))",
            terms,
            source="Rasmussen & Williams 2006, eq. 2.26 (variance at a place)",
        )
    ]


def _place(values: LayoutValues, name: str) -> tuple[float, float]:
    """Return where a diffuser or a bend of a line lies in the local plane [m]."""
    for item in values.found.diffusers:
        for at, xy in ((item.name, (item.x_m, item.y_m)), *((one.name, one.xy) for one in item.branch_bends)):
            if at == name:
                return xy
    raise KeyError(name)
