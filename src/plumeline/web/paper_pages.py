"""The papers of a pond: its start-up plan, the comparison for the quote and the sheet of gauges, made on demand."""

from __future__ import annotations

from collections.abc import Callable

from fastapi import APIRouter, Request
from starlette.responses import Response

from plumeline.errors import PlumelineError
from plumeline.store import Revision, RunState
from plumeline.store.errors import NotThereError
from plumeline.units.showing import System
from plumeline.web.pages import Here, download
from plumeline.web.site import Site, units_of
from plumeline.web.visits import sheet_of
from plumeline.web.work import Design

router = APIRouter()


def _quote(design: Design, units: System) -> bytes:
    from plumeline.paper.quote import render_choice
    from plumeline.stages.choice import choose

    return render_choice(choose(design.job, design.survey), design.job, design.asked.day, units)


def _gauges(design: Design, units: System) -> bytes:
    from plumeline.paper.sheet import render_sheet

    return render_sheet(sheet_of(design), design.job, design.asked.day, units)


PAPERS: dict[str, tuple[str, str, Callable[[Design, System], bytes]]] = {
    "quote.pdf": (
        "Comparison for the quote",
        "compressors, trunks and numbers of diffusers by cost over years",
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
    key = (pond.pond_id, pond.number, name, units)
    return site.papers.of(key, lambda: make(site.designs.of(pond), units))


@router.get("/ponds/{pond_id}/papers")
def papers(request: Request, site: Here, pond_id: str) -> Response:
    """Show the papers of a pond, and what stands against making one."""
    pond = site.store.ponds.revision(pond_id)
    runs = site.store.runs.of_pond(pond_id)
    plan = next((run for run in runs if run.state == RunState.DONE), None)
    trouble = ""
    try:
        site.designs.of(pond)
    except PlumelineError as error:
        trouble = str(error)
    rows = [(name, title, words) for name, (title, words, _) in PAPERS.items()]
    return site.page(request, "papers.html", pond=pond, plan=plan, rows=rows, trouble=trouble)


@router.get("/ponds/{pond_id}/papers/{name}")
def paper(request: Request, site: Here, pond_id: str, name: str) -> Response:
    """Give a paper of the latest revision."""
    pond = site.store.ponds.revision(pond_id)
    data = made_paper(site, pond, name, units_of(request))
    return download(data, f"{pond_id}-{name}", "application/pdf")
