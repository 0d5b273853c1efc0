"""The alternatives of a pond with their numbers as links, and how each came about."""

from __future__ import annotations

from plumeline.cli.show_front import front_blocks, sentence
from plumeline.pairs import said
from plumeline.stages.front import Front
from plumeline.stages.front import front as front_stage
from plumeline.store import Revision
from plumeline.units.showing import System
from plumeline.web.opening import OpenedPage, Opener, address, book_or_empty
from plumeline.web.showing import notice_lines, opened_parts
from plumeline.web.site import Site
from plumeline.workings import Book
from plumeline.workings.files import Files
from plumeline.workings.front import front_book


def front_of(site: Site, revision: Revision) -> Front:
    """Return the alternatives of a revision; each number runs 24 simulated ponds, seconds in all.

    Raises:
        PlumelineError: a stage can't give an answer for this pond.
    """

    def made() -> Front:
        design = site.designs.of(revision)
        return front_stage(design.job, design.survey, seed=design.asked.seed)

    return site.fronts.of((revision.pond_id, revision.number), made)


def opened_front(site: Site, revision: Revision, units: System, number: int | None = None) -> OpenedPage:
    """Return the page of the alternatives with its numbers as links.

    Args:
        site: the server.
        revision: the pond.
        units: the system of units.
        number: the revision that was asked for by number, so that links stay in it; None for the latest.
    """

    def make() -> OpenedPage:
        found = front_of(site, revision)
        book = book_or_empty(lambda: _book(site, revision, found, units), units)
        opener = Opener(book, address(revision.pond_id, "front"), f"?revision={number}" if number else "")
        shown = {
            "sentence": opener.sentence(sentence(found)),
            "shown": opened_parts(front_blocks(found, units), opener),
            "notices": [opener.notice(row) for row in notice_lines(found.notices, units)],
            "assumptions": [opener.sentence(said(text, units)) for text in found.assumptions],
        }
        return OpenedPage(shown, book.workings)

    return site.opened.of((revision.pond_id, revision.number, "front", units, number), make)


def _book(site: Site, revision: Revision, found: Front, units: System) -> Book:
    design = site.designs.of(revision)
    return front_book(found, design.survey, Files(design.job, tuple(revision.echoes)), units)
