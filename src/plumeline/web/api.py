"""The JSON API: the same ponds, stages and runs as the pages; numbers are SI and keys carry their unit."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Body, Depends, Path, Query, Request, Response
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse

import plumeline
from plumeline.job.document import Job
from plumeline.store import Revision, Run, RunKind, read_zip, write_zip
from plumeline.web.accepted import row_of
from plumeline.web.pages import Here, Number, download
from plumeline.web.plans import KINDS, run_row
from plumeline.web.site import Site, site_of
from plumeline.web.visitors import visitor_of
from plumeline.web.workings_pages import opened_page

router = APIRouter(tags=["ponds"])
PondId = Annotated[str, Path(max_length=100, description="id of a pond")]
RunId = Annotated[str, Path(max_length=64, description="id of a run")]
BINARY = {"type": "string", "format": "binary"}


def _author(
    request: Request,
    author: Annotated[
        str, Query(max_length=200, description="who saves; where people sign in, who did")
    ] = "",
) -> str:
    person = visitor_of(request).person
    return author if person is None else person.name


Author = Annotated[str, Depends(_author)]
Reason = Annotated[str, Query(max_length=500, description="why")]


class WarningRow(BaseModel):
    """A warning: its code, how much it matters, and its words with each value in US units and SI."""

    code: str
    severity: str
    text: str


class PondRow(BaseModel):
    """A pond in the list."""

    id: str
    name: str
    revision_number: int
    saved_at: datetime
    last_reading_at: datetime | None
    warnings: list[WarningRow] | None = Field(description="null where nobody has looked at this revision yet")


class AcceptedRow(BaseModel):
    """What a customer accepted: the revision, and the papers that stood on their page."""

    id: str
    accepted_at: datetime
    name: str
    revision_number: int
    quote_number: int | None
    quote_made_at: datetime | None
    plan_run: str | None
    plan_made_at: datetime | None
    said: str = Field(
        description="empty, or that the acceptance is of before papers were noted and names none"
    )


class RevisionRow(BaseModel):
    """A revision: who saved it, when and why."""

    revision_number: int
    saved_at: datetime
    author: str
    reason: str


class Pond(RevisionRow):
    """A revision with its job document."""

    id: str
    job: Job
    understood: list[str] = Field(description="how each value with a unit was understood")


Kind = Literal["start-up", "alternatives"]


class Asked(BaseModel):
    """What is to be worked out, and of which revision."""

    revision_number: int = Field(ge=1, le=10**9)
    kind: Kind = Field("start-up", description="a start-up plan, or other numbers of diffusers")


class RunRow(BaseModel):
    """A start-up plan, or a pond's alternatives, in the making or made."""

    id: str
    pond: str
    kind: Kind
    revision_number: int
    state: Literal["waiting", "running", "stopping", "done", "failed", "cancelled"]
    doing: str
    share_fraction: float
    asked_at: datetime
    ended_at: datetime | None
    program: str
    words: str
    files: list[str] = []


def _pond(found: Revision) -> Pond:
    return Pond(
        id=found.pond_id, revision_number=found.number, saved_at=found.saved_at, author=found.author,
        reason=found.reason,
        job=found.job, understood=list(found.echoes),
    )  # fmt: skip


def _warnings(found: Any) -> list[WarningRow] | None:
    from plumeline.pairs import unmarked

    if found is None:
        return None
    return [
        WarningRow(code=item.code, severity=item.severity.value, text=unmarked(item.text)) for item in found
    ]


@router.get("/openapi.json", include_in_schema=False)
def description(request: Request) -> JSONResponse:
    """Describe the API (OpenAPI)."""
    return JSONResponse(request.app.openapi())


@router.get("/ponds", summary="All ponds by name")
def ponds(
    site: Here,
    search: Annotated[str, Query(max_length=80)] = "",
    after_name: Annotated[str, Query(max_length=500)] = "",
    after_id: Annotated[str, Query(max_length=100)] = "",
    most: Annotated[int, Query(ge=1, le=1000)] = 200,
) -> list[PondRow]:
    """List ponds by name; give name and id of the last one to go on."""
    start = (after_name, after_id) if after_id else None
    return [
        PondRow(
            id=row.id, name=row.name, revision_number=row.number, saved_at=row.saved_at,
            last_reading_at=row.last_reading_at,
            warnings=_warnings(row.warnings),
        )
        for row in site.store.ponds.rows(search=search, after=start, most=most)
    ]  # fmt: skip


@router.post("/ponds", status_code=201, summary="A new pond from a job document")
def add_pond(site: Here, job: Job, author: Author, reason: Reason = "") -> Pond:
    """Keep a job document as a new pond."""
    saved = site.store.ponds.add_job(job, author=author, reason=reason)
    site.saved.set()
    return _pond(saved)


@router.post(
    "/ponds/import",
    status_code=201,
    summary="A new pond from a job folder as a zip",
    openapi_extra={"requestBody": {"required": True, "content": {"application/zip": {"schema": BINARY}}}},
)  # fmt: skip
async def import_folder(request: Request, author: Author, reason: Reason = "") -> Pond:
    """Keep a job folder as a new pond; every file is kept to the byte."""
    site = site_of(request)
    data = await request.body()

    def keep() -> Pond:
        saved = site.store.ponds.add(read_zip(data), author=author, reason=reason)
        site.saved.set()
        return _pond(saved)

    return await run_in_threadpool(keep)


@router.get("/ponds/{pond_id}", summary="A pond's job document")
def pond(site: Here, pond_id: PondId, number: Number = None) -> Pond:
    """Return a revision of a pond, the latest when none is named."""
    return _pond(site.store.ponds.revision(pond_id, number))


@router.put("/ponds/{pond_id}", summary="The next revision of a pond")
def save_pond(
    site: Here,
    pond_id: PondId,
    job: Annotated[Job, Body()],
    made_on_number: Annotated[
        int, Query(ge=1, le=10**9, description="the revision that the change was made on")
    ],
    author: Author,
    reason: Reason = "",
) -> Pond:
    """Keep a job document as the next revision; 409 where another was saved in between."""
    saved = site.store.ponds.save_job(
        pond_id, job, expected_number=made_on_number, author=author, reason=reason
    )
    site.saved.set()
    return _pond(saved)


@router.get("/ponds/{pond_id}/revisions", summary="Who changed a pond, when and why")
def revisions(site: Here, pond_id: PondId) -> list[RevisionRow]:
    """List the revisions of a pond, the latest first."""
    found = site.store.ponds.revisions(pond_id)
    return [
        RevisionRow(revision_number=row.number, saved_at=row.saved_at, author=row.author, reason=row.reason)
        for row in found
    ]


@router.get("/ponds/{pond_id}/accepted", summary="What customers accepted of a pond")
def accepted(site: Here, pond_id: PondId) -> list[AcceptedRow]:
    """List what was accepted, the latest first, with the quote and the plan that the customer saw."""
    site.store.ponds.must_be_there(pond_id)
    return [AcceptedRow(**row_of(one)) for one in site.store.links.accepted(pond_id)]


@router.get("/ponds/{pond_id}/folder.zip", summary="A pond's folder", response_class=Response)
def folder(site: Here, pond_id: PondId, number: Number = None) -> Response:
    """Return the folder of a revision as a zip, each file to the byte as it was saved."""
    found = site.store.ponds.folder(pond_id, number)
    return download(write_zip(found), f"{found.name}.zip", "application/zip")


@router.get("/ponds/{pond_id}/stages/{stage}", summary="The result of a stage")
def stage(
    site: Here, pond_id: PondId, stage: Literal["survey", "reading", "layout", "air"], number: Number = None
) -> dict[str, Any]:
    """Return a stage's result, as the command of that name prints it with --json."""
    from plumeline.web.surveyed import design_for
    from plumeline.web.work import plain

    found = design_for(site.designs, site.store.ponds.revision(pond_id, number), stage)
    return plain(found.document(stage))


@router.get("/ponds/{pond_id}/workings/{stage}", summary="How each number of a stage's page comes about")
def workings(
    site: Here,
    pond_id: PondId,
    stage: Literal["pond", "survey", "reading", "layout", "air", "visits", "front", "costs"],
    number: Number = None,
    units: Literal["us", "si"] = "si",
) -> list[dict[str, Any]]:
    """Return every number that the page shows: formula, line put in, result, source, range, assumptions.

    Those of the alternatives (front) are kept with a run of that kind; 404 where that revision has none that is done.
    """
    revision = site.store.ponds.revision(pond_id, number)
    found = opened_page(site, revision, stage, units, number).workings.values()
    return [asdict(one) for one in found]


@router.post(
    "/ponds/{pond_id}/runs",
    status_code=202,
    tags=["start-up"],
    summary="Ask for a start-up plan, or for alternatives",
)
def ask(site: Here, pond_id: PondId, asked: Asked) -> RunRow:
    """Ask for a run; where one of that revision and kind is under way, that one is returned.

    It is worked out beside the answers: ask how far it is, then for its files, as plan.json or alternatives.json.
    """
    found = site.store.runs.ask(pond_id, asked.revision_number, plumeline.__version__, RunKind(asked.kind))
    return RunRow.model_validate(run_row(found))


@router.get(
    "/ponds/{pond_id}/runs", tags=["start-up"], summary="Start-up plans of a pond, or its alternatives"
)
def runs(site: Here, pond_id: PondId, kind: Kind = "start-up") -> list[RunRow]:
    """List the runs of a pond that are of one kind, the latest first."""
    site.store.ponds.revisions(pond_id)
    found = site.store.runs.of_pond(pond_id, kind=RunKind(kind))
    return [RunRow.model_validate(run_row(run)) for run in found]


def _seen(site: Site, run_id: str) -> Run:
    """Return a run of a pond that is not in the bin."""
    found = site.store.runs.get(run_id)
    site.store.ponds.must_be_there(found.pond_id)
    return found


@router.get("/runs/{run_id}", tags=["start-up"], summary="How far a run is")
def run(site: Here, run_id: RunId) -> RunRow:
    """Return a run with the names of its files."""
    found = run_row(_seen(site, run_id))
    return RunRow.model_validate({**found, "files": site.store.runs.files(run_id)})


@router.delete("/runs/{run_id}", tags=["start-up"], summary="Cancel a run")
def stop(site: Here, run_id: RunId) -> RunRow:
    """Cancel a run; one that has ended stays as it is."""
    return RunRow.model_validate(run_row(site.store.runs.stop(_seen(site, run_id).id)))


@router.get(
    "/runs/{run_id}/files/{units}/{name}",
    tags=["start-up"],
    summary="A file of a run",
    response_class=Response,
)
def run_file(
    site: Here, run_id: RunId, units: Literal["us", "si"], name: Annotated[str, Path(max_length=100)]
) -> Response:
    """Return a file of a run: plan.pdf, plan.json, plan.geojson, drawings; or alternatives.json."""
    data = site.store.runs.file(_seen(site, run_id).id, f"{units}/{name}")
    return download(data, name, KINDS.get(name.rsplit(".", 1)[-1], "application/octet-stream"))
