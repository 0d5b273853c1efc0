"""The comparison for the quote with its numbers as links, and how each came about."""

from __future__ import annotations

from typing import Any

from plumeline.charts import chart_svg
from plumeline.charts.distance import distance_chart
from plumeline.charts.narrow import narrow_svg
from plumeline.cli.tables import Part
from plumeline.pairs import said
from plumeline.paper.what_to_buy import choice_part
from plumeline.stages.choice import ChoiceResult, choose, design_of
from plumeline.stages.choice.lines import distance_rows, margin_rows
from plumeline.store import Revision
from plumeline.units.showing import System
from plumeline.web.opening import OpenedPage, Opener, address, book_or_empty
from plumeline.web.showing import drawing, notice_lines
from plumeline.web.site import Site
from plumeline.workings.costs import COSTS, GROUPS, LOSERS, MARGINS, WAYS, costs_book
from plumeline.workings.files import Files


def choice_of(site: Site, revision: Revision) -> ChoiceResult:
    """Return the comparison of a revision's own design with all others; seconds in all.

    Raises:
        PlumelineError: a stage can't give an answer for this pond.
    """

    def made() -> ChoiceResult:
        design = site.designs.of(revision)
        return choose(design.job, design.survey, design_of(design.sized))

    return site.choices.of((revision.pond_id, revision.number), made)


def opened_costs(site: Site, revision: Revision, units: System, number: int | None = None) -> OpenedPage:
    """Return the page of the comparison with its numbers as links.

    Args:
        site: the server.
        revision: the pond.
        units: the system of units.
        number: the revision that was asked for by number, so that links stay in it; None for the latest.
    """

    def make() -> OpenedPage:
        found = choice_of(site, revision)
        told = _told(found, units)
        job = site.designs.of(revision).job
        files = Files(job, tuple(revision.echoes))
        book = book_or_empty(lambda: costs_book(found, files, units, told), units)
        opener = Opener(book, address(revision.pond_id, "costs"), f"?revision={number}" if number else "")
        shown = {
            "summary": opener.sentence(told["summary"]),
            "shown": [opener.part(part) for part in _parts(found, told, units)],
            "drawings": _drawings(found, told, units, opener),
            "notices": [opener.notice(row) for row in notice_lines(found.notices, units)],
            "assumptions": [opener.sentence(text) for text in told["assumptions"]],
        }
        return OpenedPage(shown, book.workings)

    return site.opened.of((revision.pond_id, revision.number, "costs", units, number), make)


def _told(found: ChoiceResult, units: System) -> dict[str, Any]:
    """Return what the paper says, its sentences in one system of units."""
    part = choice_part(found, units)
    assert part is not None, "the comparison is there"
    tables = {
        name: {**part[name], "rows": [[said(cell, units) for cell in row] for row in part[name]["rows"]]}
        for name in ("costs", "losers", "groups")
    }
    return {
        **part, **tables, "summary": said(part["summary"], units),
        "assumptions": [said(text, units) for text in part["assumptions"]],
    }  # fmt: skip


def _parts(found: ChoiceResult, told: dict[str, Any], units: System) -> list[Part]:
    """Return the tables of the page."""
    margins = [] if found.subject is None else margin_rows(found.subject, units)
    parts = [Part(title=MARGINS, heads=(), align="ll", rows=tuple(margins))]
    for title, name in ((COSTS, "costs"), (LOSERS, "losers"), (GROUPS, "groups")):
        table = told[name]
        rows = tuple(tuple(row) for row in table["rows"])
        parts.append(Part(title=title, heads=tuple(table["heads"]), align=table["align"], rows=rows))
    parts.append(Part(title=WAYS, heads=(), align="ll", rows=tuple(distance_rows(found))))
    return [part for part in parts if part.rows]


def _drawings(
    found: ChoiceResult, told: dict[str, Any], units: System, opener: Opener
) -> list[dict[str, Any]]:
    if found.service is None:
        return []
    chart = distance_chart(found, units)
    shown = drawing("costs by distance", chart_svg(chart), "", chart.twins, narrow_svg(chart))
    return [{**shown, "sentence": opener.sentence(told["service"])}]
