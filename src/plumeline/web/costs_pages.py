"""The comparison for the quote as a page: what each choice costs over the years, where every number opens."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from plumeline.web.costs_opened import opened_costs
from plumeline.web.pages import Here, Number
from plumeline.web.site import units_of
from plumeline.web.today import against_the_site

router = APIRouter()


@router.get("/ponds/{pond_id}/costs")
def costs_page(request: Request, site: Here, pond_id: str, number: Number = None) -> Response:
    """Show what the design and the others cost, and why; the first time that it is being worked out, then itself."""
    revision = site.store.ponds.revision(pond_id, number)
    units = units_of(request)
    key = (revision.pond_id, revision.number, "costs", units, number)
    made = site.under_way.of(key, lambda: opened_costs(site, revision, units, number), site.page_wait_s)
    if made is None:
        return site.page(request, "costs_under_way.html", pond=revision)
    return site.page(
        request, "costs.html", pond=revision, standing=against_the_site(revision.job, units), **made.shown
    )
