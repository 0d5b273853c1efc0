"""The start-up: asked for, watched while it is computed, cancelled, and shown."""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import AsyncIterator
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Depends, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response, StreamingResponse

import plumeline
from plumeline.errors import PlumelineError
from plumeline.store import Revision, Run, RunKind, RunState
from plumeline.web.doors import may_still
from plumeline.web.opening import linked
from plumeline.web.pages import Form, Here, download, latest_run
from plumeline.web.plan_state import job_age, plan_dates, site_day, state_of
from plumeline.web.showing import drawing
from plumeline.web.site import Site, site_of, units_of
from plumeline.web.today import NO_START, against_the_site, day_shown, due_next, in_order, split_notices
from plumeline.web.work import Design
from plumeline.web.worker import CALENDAR, WORKINGS

router = APIRouter()
GAP_S = 0.5
LOOK_S = 2.0
"""How often a stream asks whether its reader is still signed in."""
KINDS = {
    "pdf": "application/pdf",
    "svg": "image/svg+xml",
    "ics": "text/calendar",
    "json": "application/json",
    "geojson": "application/geo+json",
}
DRAWN = ("plan-view", "cut", "chart-start-up", "chart-risk", "chart-profiles", "chart-hypsograph")


@router.get("/ponds/{pond_id}/startup")
def startup(request: Request, site: Here, pond_id: str) -> Response:
    """Show the start-up plan, the one under way, or the way to one."""
    run = latest_run(site, pond_id)
    if run is not None and run.state == RunState.DONE:
        return _shown(request, site, run)
    return _not_yet(request, site, pond_id, run)


@router.post("/ponds/{pond_id}/startup")
def ask(site: Here, pond_id: str, form: Form) -> Response:
    """Ask for the start-up plan of the latest revision; a second click finds the same run."""
    number = form.number("number")
    run = site.store.runs.ask(pond_id, number, plumeline.__version__)
    return RedirectResponse(f"/ponds/{quote(pond_id)}/runs/{run.id}", 303)


@router.get("/ponds/{pond_id}/runs/{run_id}")
def one_run(request: Request, site: Here, pond_id: str, run_id: str) -> Response:
    """Show a run: how far it is, or the plan."""
    run = run_of(site, pond_id, run_id)
    if run.kind == RunKind.ALTERNATIVES:
        return RedirectResponse(f"/ponds/{quote(pond_id)}/front", 303)
    if run.state == RunState.DONE:
        return _shown(request, site, run)
    return _not_yet(request, site, pond_id, run)


def _not_yet(request: Request, site: Site, pond_id: str, run: Run | None) -> Response:
    """Show how far a run is, or the way to one."""
    pond = site.store.ponds.revision(pond_id)
    return site.page(
        request,
        "startup.html",
        pond=pond,
        run=run,
        made=None,
        drawings=(),
        files=(),
        cautions=job_age(site, pond.job),
        standing=against_the_site(pond.job, units_of(request)),
    )


def run_of(site: Site, pond_id: str, run_id: str) -> Run:
    """Return a run of this pond and no other."""
    from plumeline.store.errors import NotThereError

    site.store.ponds.must_be_there(pond_id)
    run = site.store.runs.get(run_id)
    if run.pond_id != pond_id:
        raise NotThereError("there is no such run of this pond.")
    return run


def _shown(request: Request, site: Site, run: Run) -> Response:
    units = units_of(request)
    pond = site.store.ponds.revision(run.pond_id)
    names = [path.partition("/")[2] for path in site.store.runs.files(run.id) if path.startswith(f"{units}/")]
    made = json.loads(site.store.runs.file(run.id, f"{units}/page.json"))
    sentences = made["sentences"]
    # a plan made before numbers opened has none that do
    made |= linked(made.get("opened", {}), f"/ponds/{quote(run.pond_id)}/runs/{quote(run.id)}/workings")
    # nor one drawn for a phone
    drawings, small = [], made.get("small", {})
    for name in DRAWN:
        if f"{name}.svg" not in names:
            continue
        short = name.removeprefix("chart-")
        text = site.store.runs.file(run.id, f"{units}/{name}.svg").decode()
        # a plan made before there were tables has none
        found = drawing(
            name, text, sentences.get(short, ""), made.get("twins", {}).get(short, ()), small.get(short, "")
        )
        drawings.append({**found, "sentence": made["sentences"].get(short, "")})
    files = [name for name in names if name not in ("page.json", WORKINGS)]
    notices = split_notices(made["notices"])
    stays_off = any(row["code"] in NO_START for row in notices["first"])
    dates = [] if stays_off else plan_dates(site, run)
    return site.page(
        request, "startup.html", pond=pond, run=run, made=made, standing=(), drawings=drawings, files=files,
        cautions=state_of(site, pond, run, _design(site, pond, run)).cautions, parts_of=in_order(made["parts"]),
        notices_of=notices, today=day_shown(made["parts"], dates, site_day(site, pond.job)),
        due=due_next(site, run, pond.job),
        calendar=CALENDAR if CALENDAR in names else "",
    )  # fmt: skip


def _design(site: Site, pond: Revision, run: Run) -> Design | None:
    """Return what a plan is held against; None where the same program made it of the same revision."""
    if run.number == pond.number and run.program == plumeline.__version__:
        return None
    try:
        return site.designs.of(pond)
    except PlumelineError:
        # the pond of today has none, and its own pages say why; the plan that was made is still shown
        return None


@router.post("/ponds/{pond_id}/runs/{run_id}/stop")
def stop(site: Here, pond_id: str, run_id: str, _form: Form) -> Response:
    """Cancel a run."""
    site.store.runs.stop(run_of(site, pond_id, run_id).id)
    return RedirectResponse(f"/ponds/{quote(pond_id)}/runs/{quote(run_id)}", 303)


@router.get("/ponds/{pond_id}/runs/{run_id}/files/{units}/{name}")
def run_file(site: Here, pond_id: str, run_id: str, units: str, name: str) -> Response:
    """Give a file of a plan."""
    run = run_of(site, pond_id, run_id)
    data = site.store.runs.file(run.id, f"{units}/{name}")
    return download(data, f"{pond_id}-{name}", KINDS.get(name.rsplit(".", 1)[-1], "application/octet-stream"))


@router.get("/ponds/{pond_id}/runs/{run_id}/events")
async def events(
    request: Request, site: Annotated[Site, Depends(site_of)], pond_id: str, run_id: str
) -> StreamingResponse:
    """Tell how far a run is, by server-sent events, until it has ended."""
    await run_in_threadpool(run_of, site, pond_id, run_id)
    return StreamingResponse(told(request, site, run_id), media_type="text/event-stream")


async def told(request: Request, site: Site, run_id: str) -> AsyncIterator[str]:
    """Yield an event at each change of a run; what a browser missed stands in the next one. A sign-out ends it."""
    last, looked_s = "", time.monotonic()
    while not await request.is_disconnected():
        if time.monotonic() - looked_s >= LOOK_S:
            if not await run_in_threadpool(may_still, request):
                return
            looked_s = time.monotonic()
        run = await run_in_threadpool(site.store.runs.get, run_id)
        text = json.dumps(run_row(run), ensure_ascii=False)
        yield f"data: {text}\n\n" if text != last else ": still here\n\n"
        last = text
        if run.state.ended:
            return
        await asyncio.sleep(GAP_S)


def run_row(run: Run) -> dict[str, object]:
    """Return a run as JSON."""
    return {
        "id": run.id, "pond": run.pond_id, "kind": run.kind.value, "revision_number": run.number,
        "state": run.state.value, "doing": run.doing, "share_fraction": run.share_fraction,
        "asked_at": run.asked_at.isoformat(),
        "ended_at": None if run.ended_at is None else run.ended_at.isoformat(), "program": run.program,
        "words": run.words,
    }  # fmt: skip
