"""The workings of a start-up plan's page."""

from __future__ import annotations

from plumeline.stages.plan import Plan
from plumeline.units.showing import System
from plumeline.workings.book import Book
from plumeline.workings.files import Files
from plumeline.workings.stages import Values, make_book
from plumeline.workings.startup import StartValues
from plumeline.workings.startup_tables import (
    afterwards,
    beside,
    causes,
    day_tables,
    figures,
    measures,
    names,
    plan_figures,
    savings,
)  # fmt: skip
from plumeline.workings.startup_words import (
    limits,
    lists,
    narrowing_words,
    notices,
    readings_to_take,
    sentences,
)


def startup_book(plan: Plan, files: Files, units: System) -> Book:
    """Return the workings of a start-up plan's page.

    Args:
        plan: every stage of the job.
        files: the job.
        units: the system of units.
    """
    book, stages = Book(units), Values(plan, files, units)
    for stage in ("pond", "survey"):
        # what the stages before warn of and draw stands on this page too
        for place, values in make_book(stage, plan, files, units, stages).places.items():
            if place[0] in ("notice", "sentence"):
                book.at(*place, values=values)
    reading, points = stages.reading, stages.air.points
    oxygen = reading.oxygen
    found = StartValues(plan, files, oxygen.oxygen_limit)
    fish = [oxygen.oxygen_limit, oxygen.heat_limit, oxygen.ammonia_limit, oxygen.sulphide_limit]
    deepest = stages.layout.depth(max(plan.layout.diffusers, key=lambda item: item.depth_m))
    names(book, found)
    figures(book, found, stages.basin, points, stages.layout.turnover)
    plan_figures(book, found, limits(found, fish))
    day_tables(book, found, units)
    measures(book, found, reading, [deepest])
    beside(book, found)
    causes(book, found)
    savings(book, found)
    readings_to_take(book, found, units)
    narrowing_words(book, found)
    afterwards(book, found)
    notices(book, found, units)
    lists(book, found, fish, units)
    sentences(book, found, fish, units)
    return book
