"""The papers of a pond: its start-up plan, the comparison for the quote and the sheet of gauges, made on demand."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal
from urllib.parse import quote

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from plumeline.errors import PlumelineError
from plumeline.store import Revision
from plumeline.store.errors import NotThereError
from plumeline.units.showing import System
from plumeline.web.pages import Form, Here, download
from plumeline.web.plan_state import PlanState, built_of, check_same_line, job_age, newest_plan, state_of
from plumeline.web.quoting import make_quote, render_draft
from plumeline.web.site import Site, author_of, units_of
from plumeline.web.today import against_the_site
from plumeline.web.visit_page import sheet_of
from plumeline.web.work import Design

router = APIRouter()
QUOTE = "quote.pdf"


def _gauges(design: Design, units: System) -> bytes:
    from plumeline.paper.sheet import render_sheet

    return render_sheet(sheet_of(design), design.job, design.asked.day, units)


PAPERS: dict[str, tuple[str, str, Callable[[Design, System], bytes]]] = {
    QUOTE: (
        "Comparison for the quote",
        "the design that the start-up plan simulates, its cost over the years, and the others beside it",
        render_draft,
    ),
    "gauges.pdf": (
        "Sheet of gauges for the first start",
        "what each gauge must show, with boxes to fill in",
        _gauges,
    ),
}
"""Name of the file, title, what is in it, and how it is made."""


def made_paper(site: Site, pond: Revision, name: str, units: System) -> bytes:
    """Return a paper of a revision as PDF; of the quote the one that was kept, else a draft.

    Raises:
        NotThereError: there is no such paper.
        PlumelineError: it can't be made for this pond.
    """
    if name not in PAPERS:
        raise NotThereError("there is no such paper.", remedy="See the page of the papers.")
    make = PAPERS[name][2]
    if name == QUOTE:
        kept = site.store.quotes.latest(pond.pond_id, pond.number)
        if kept is not None:
            return site.store.quotes.file(pond.pond_id, kept.quote_number, units)
        check_same_line(site, pond, site.designs.of(pond))
    key = (pond.pond_id, pond.number, name, units)
    return site.papers.of(key, lambda: make(site.designs.of(pond), units))


@router.get("/ponds/{pond_id}/papers")
def papers(request: Request, site: Here, pond_id: str) -> Response:
    """Show the papers of a pond, what is to be borne in mind with each, and what stands against making one."""
    pond = site.store.ponds.revision(pond_id)
    run = newest_plan(site, pond_id)
    design, trouble = None, ""
    try:
        design = site.designs.of(pond)
    except PlumelineError as error:
        trouble = str(error)
    plan = None if run is None else state_of(site, pond, run, design)
    quotes = site.store.quotes.of_pond(pond_id)
    rows = [(name, title, words) for name, (title, words, _) in PAPERS.items()]
    return site.page(
        request, "papers.html", pond=pond, plan=plan, rows=rows, trouble=trouble, line=design and built_of(design),
        age=job_age(site, pond.job), quotes=quotes, standing=against_the_site(pond.job, units_of(request)),
        is_due=not quotes or (quotes[0].number, quotes[0].run_id) != (pond.number, _plan_id(plan, pond)),
    )  # fmt: skip


def _plan_id(plan: PlanState | None, pond: Revision) -> str | None:
    return plan.run.id if plan is not None and plan.run.number == pond.number else None


@router.post("/ponds/{pond_id}/quotes")
def add_quote(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Make the quote of the revision that the page showed."""
    make_quote(site, site.store.ponds.revision(pond_id, form.number("number")), author_of(request))
    return RedirectResponse(f"/ponds/{quote(pond_id)}/papers", 303)


@router.get("/ponds/{pond_id}/quotes/{quote_number}/{units}")
def one_quote(site: Here, pond_id: str, quote_number: int, units: Literal["us", "si"]) -> Response:
    """Give a quote as it was made."""
    site.store.ponds.must_be_there(pond_id)
    data = site.store.quotes.file(pond_id, quote_number, units)
    return download(data, f"{pond_id}-quote-{quote_number}.pdf", "application/pdf")


@router.get("/ponds/{pond_id}/papers/{name}")
def paper(request: Request, site: Here, pond_id: str, name: str) -> Response:
    """Give a paper of the latest revision."""
    pond = site.store.ponds.revision(pond_id)
    data = made_paper(site, pond, name, units_of(request))
    return download(data, f"{pond_id}-{name}", "application/pdf")
