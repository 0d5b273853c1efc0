"""How a number came about: one working a page, and all of a stage's on one page to be printed."""

from __future__ import annotations

from typing import Annotated, Literal
from urllib.parse import quote

from fastapi import APIRouter, Depends, Query, Request
from starlette.responses import Response

from plumeline.store import Revision
from plumeline.store.errors import NotThereError
from plumeline.units.showing import System
from plumeline.web.costs_opened import opened_costs
from plumeline.web.front_opened import opened_front
from plumeline.web.opening import OpenedPage, Opener, address, book_of
from plumeline.web.showing import pond_page, stage_page
from plumeline.web.site import Site, site_of, units_of
from plumeline.web.surveyed import design_for
from plumeline.web.visit_page import opened_visits
from plumeline.web.work import Design
from plumeline.workings import Working

router = APIRouter()
Here = Annotated[Site, Depends(site_of)]
Number = Annotated[int | None, Query(ge=1, le=10**9, alias="revision")]
Stage = Literal["pond", "survey", "reading", "layout", "air", "visits", "front", "costs"]


def opened_page(site: Site, revision: Revision, stage: str, units: System, number: int | None) -> OpenedPage:
    """Return a stage's page with its numbers as links, and how each came about.

    Args:
        site: the server.
        revision: the pond.
        stage: survey, reading, layout, air, visits, front (the alternatives), costs (the comparison), or pond for the
            pond's own page.
        units: the system of units.
        number: the revision that was asked for by number, so that links stay in it; None for the latest.
    """
    if stage == "visits":
        return opened_visits(site, revision, units, number)
    if stage == "front":
        return opened_front(site, revision, units, number)
    if stage == "costs":
        return opened_costs(site, revision, units, number)

    def make() -> OpenedPage:
        design = design_for(site.designs, revision, stage)
        book = book_of(design, stage, revision.echoes, units)
        opener = Opener(book, address(revision.pond_id, stage), f"?revision={number}" if number else "")
        page = (
            pond_page(design, units, opener)
            if isinstance(design, Design) and stage == "pond"
            else stage_page(design, stage, units, opener)
        )
        return OpenedPage(page, book.workings)

    return site.opened.of((revision.pond_id, revision.number, stage, units, number), make)


@router.get("/ponds/{pond_id}/workings/{stage}")
def all_workings(request: Request, site: Here, pond_id: str, stage: Stage, number: Number = None) -> Response:
    """Show how every number of a stage's page came about."""
    revision = site.store.ponds.revision(pond_id, number)
    found = opened_page(site, revision, stage, units_of(request), number)
    return _page(request, site, revision, stage, number, list(found.workings.values()), one=False)


@router.get("/ponds/{pond_id}/workings/{stage}/{key}")
def one_working(
    request: Request, site: Here, pond_id: str, stage: Stage, key: str, number: Number = None
) -> Response:
    """Show how one number came about."""
    revision = site.store.ponds.revision(pond_id, number)
    found = opened_page(site, revision, stage, units_of(request), number).workings.get(key)
    if found is None:
        raise NotThereError(f"no number of this page is called {key!r}; the page may have changed since.")
    return _page(request, site, revision, stage, number, [found], one=True)


def _page(
    request: Request,
    site: Site,
    revision: Revision,
    stage: str,
    number: int | None,
    rows: list[Working],
    *,
    one: bool,
) -> Response:
    tail = f"?revision={number}" if number else ""
    return site.page(
        request, "workings.html", pond=revision, stage=stage, rows=rows, one=one,
        base=address(revision.pond_id, stage), tail=tail,
        back=f"/ponds/{quote(revision.pond_id)}" + ("" if stage == "pond" else f"/{stage}{tail}"),
    )  # fmt: skip
