"""The papers of a pond: its start-up plan, the comparison for the quote and the sheet of gauges, made on demand."""

from __future__ import annotations

from collections.abc import Callable

from fastapi import APIRouter, Request
from starlette.responses import Response

from plumeline.errors import PlumelineError
from plumeline.store import Revision
from plumeline.store.errors import NotThereError
from plumeline.units.showing import System
from plumeline.web.pages import Here, download
from plumeline.web.plan_state import built_of, check_same_line, job_age, newest_plan, state_of
from plumeline.web.site import Site, units_of
from plumeline.web.visits import sheet_of
from plumeline.web.work import Design

router = APIRouter()
QUOTE = "quote.pdf"


def _quote(design: Design, units: System) -> bytes:
    from plumeline.paper.quote import render_choice
    from plumeline.stages.choice import choose, design_of

    found = choose(design.job, design.survey, design_of(design.sized))
    return render_choice(found, design.job, design.asked.day, units)


def _gauges(design: Design, units: System) -> bytes:
    from plumeline.paper.sheet import render_sheet

    return render_sheet(sheet_of(design), design.job, design.asked.day, units)


PAPERS: dict[str, tuple[str, str, Callable[[Design, System], bytes]]] = {
    QUOTE: (
        "Comparison for the quote",
        "the design that the start-up plan simulates, its cost over the years, and the others beside it",
        _quote,
    ),
    "gauges.pdf": (
        "Sheet of gauges for the first start",
        "what each gauge must show, with boxes to fill in",
        _gauges,
    ),
}
"""Name of the file, title, what is in it, and how it is made."""


def made_paper(site: Site, pond: Revision, name: str, units: System) -> bytes:
    """Return a paper of a revision as PDF.

    Raises:
        NotThereError: there is no such paper.
        PlumelineError: it can't be made for this pond.
    """
    if name not in PAPERS:
        raise NotThereError("there is no such paper.", remedy="See the page of the papers.")
    make = PAPERS[name][2]
    if name == QUOTE:
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
    rows = [(name, title, words) for name, (title, words, _) in PAPERS.items()]
    return site.page(
        request, "papers.html", pond=pond, plan=plan, rows=rows, trouble=trouble, line=design and built_of(design),
        age=job_age(site, pond.job),
    )  # fmt: skip


@router.get("/ponds/{pond_id}/papers/{name}")
def paper(request: Request, site: Here, pond_id: str, name: str) -> Response:
    """Give a paper of the latest revision."""
    pond = site.store.ponds.revision(pond_id)
    data = made_paper(site, pond, name, units_of(request))
    return download(data, f"{pond_id}-{name}", "application/pdf")
