"""The pages that show: all ponds, a pond, its stages, its history, and the pond's folder as a zip."""

from __future__ import annotations

from typing import Annotated, Any, Literal
from urllib.parse import quote

from fastapi import APIRouter, Depends, Query, Request
from starlette.responses import RedirectResponse, Response

from plumeline.errors import PlumelineError
from plumeline.files.trade_words import place_in_words
from plumeline.store import Revision, Run, RunState, write_zip
from plumeline.units.showing import System
from plumeline.web.due import next_due, on_its_clock
from plumeline.web.forms import Sent, local_path, new_form_key, sent_form
from plumeline.web.known_shown import links_of
from plumeline.web.pond_map import pond_map
from plumeline.web.showing import notice_lines
from plumeline.web.site import UNITS_COOKIE, Site, site_of, units_of
from plumeline.web.standing import warnings_without_design
from plumeline.web.visitors import keep_choice
from plumeline.web.workings_pages import opened_page

router = APIRouter()
PAGE_ROWS = 100
TELLS_MOST = "volume-estimated"
"""The notice that says what would narrow the volume most."""
Here = Annotated[Site, Depends(site_of)]
Form = Annotated[Sent, Depends(sent_form)]
Number = Annotated[int | None, Query(ge=1, le=10**9, alias="revision")]


@router.get("/")
def all_ponds(
    request: Request, site: Here, search: str = "", after: str = "", after_id: str = ""
) -> Response:
    """Show all ponds, by name."""
    start = (after, after_id) if after_id else None
    rows = site.store.ponds.rows(search=search[:80], after=start, most=PAGE_ROWS + 1)
    units = units_of(request)
    listed = rows[:PAGE_ROWS]
    due = next_due(site, [row.id for row in listed])
    shown = [
        (row, notice_lines(row.warnings or (), units), on_its_clock(due.get(row.id), row.time_zone))
        for row in listed
    ]
    last = rows[PAGE_ROWS - 1] if len(rows) > PAGE_ROWS else None
    more = f"/?search={quote(search)}&after={quote(last.name)}&after_id={quote(last.id)}" if last else ""
    return site.page(
        request,
        "ponds.html",
        rows=shown,
        more=more,
        search=search,
        count=site.store.ponds.count(),
        form_key=new_form_key(),
        map=pond_map(listed, units, site.tiles),
    )


@router.post("/units")
def set_units(request: Request, form: Form) -> Response:
    """Keep the units that this browser wants, and go back."""
    response = RedirectResponse(local_path(form.text("back", "/")), 303)
    keep_choice(request, response, UNITS_COOKIE, "si" if form.text("units") == "si" else "us")
    return response


@router.get("/api")
def about_api(request: Request, site: Here) -> Response:
    """Tell of the JSON API."""
    paths = request.app.openapi()["paths"]
    rows = [
        (method.upper(), path, what.get("summary", ""))
        for path, methods in paths.items()
        for method, what in methods.items()
    ]
    return site.page(request, "api.html", rows=rows)


@router.get("/ponds/{pond_id}")
def one_pond(request: Request, site: Here, pond_id: str) -> Response:
    """Show a pond: its drawings first."""
    revision = site.store.ponds.revision(pond_id)
    trouble: PlumelineError | None = None
    try:
        shown = {"first": None, **opened_page(site, revision, "pond", units_of(request), None).shown}
    except PlumelineError as error:
        trouble = error
        standing = notice_lines(warnings_without_design(revision), units_of(request))
        first = first_answer(site, revision, units_of(request))
        if first is not None:  # said once, beside what it is about
            standing = [row for row in standing if row["code"] != TELLS_MOST]
        shown = {"drawings": [], "warnings": standing, "first": first}
    parted = [echo.partition(": ") for echo in revision.echoes]
    return site.page(
        request, "pond.html", pond=revision, trouble=trouble, **shown, run=latest_run(site, pond_id),
        echoes=[(place_in_words(place), colon, words) for place, colon, words in parted],
        asked=links_of(revision.job),
    )  # fmt: skip


def first_answer(site: Site, revision: Revision, units: System) -> dict[str, Any] | None:
    """Return what is known of a pond without a reading, and what would tell most; None where nothing is."""
    try:
        shown = opened_page(site, revision, "survey", units, None).shown
    except PlumelineError:
        return None
    tells_most = [row for row in shown["notices"] if row["code"] == TELLS_MOST]
    return {"basin": shown["shown"][:1], "tells_most": tells_most}


def latest_run(site: Site, pond_id: str) -> Run | None:
    """Return the run under way, else the plan made last, else the run that ended last."""
    runs = site.store.runs.of_pond(pond_id)
    going = next((run for run in runs if not run.state.ended), None)
    return going or next((run for run in runs if run.state == RunState.DONE), runs[0] if runs else None)


@router.get("/ponds/{pond_id}/history")
def history(request: Request, site: Here, pond_id: str) -> Response:
    """Show every revision of a pond: who, when and why."""
    pond = site.store.ponds.revision(pond_id)
    return site.page(request, "history.html", pond=pond, rows=site.store.ponds.revisions(pond_id))


@router.get("/ponds/{pond_id}/folder.zip")
def folder_zip(site: Here, pond_id: str, number: Number = None) -> Response:
    """Give a pond's folder as it was saved, to the byte."""
    folder = site.store.ponds.folder(pond_id, number)
    return download(write_zip(folder), f"{folder.name}.zip", "application/zip")


def download(data: bytes, name: str, kind: str) -> Response:
    """Return a file to be saved under a name of any alphabet (RFC 6266)."""
    words = f"attachment; filename*=UTF-8''{quote(name, safe='')}"
    return Response(data, media_type=kind, headers={"Content-Disposition": words})


@router.get("/ponds/{pond_id}/{stage}")
def stage(
    request: Request,
    site: Here,
    pond_id: str,
    stage: Literal["survey", "reading", "layout", "air"],
    number: Number = None,
) -> Response:
    """Show the result of one stage."""
    revision = site.store.ponds.revision(pond_id, number)
    shown = opened_page(site, revision, stage, units_of(request), number).shown
    return site.page(request, "stage.html", pond=revision, stage=stage, asked=links_of(revision.job), **shown)
