"""Soundings that cleaning left out, put back one by one from the survey's page, and left out again."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from plumeline.errors import InputError
from plumeline.files.kept_rows import with_keep_rows
from plumeline.files.toml_values import JOB_FILE
from plumeline.store import Folder, Revision
from plumeline.store.ponds import look_at
from plumeline.web.pages import Form, Here
from plumeline.web.site import Site
from plumeline.web.visitors import keep_author

router = APIRouter()


@router.post("/ponds/{pond_id}/survey/rows")
def keep_row(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Put a sounding back that cleaning left out, or leave it out again, as the next revision."""
    keeps, number = bool(form.text("back")), form.number("number")
    row = form.number("back" if keeps else "out")
    revision = site.store.ponds.revision(pond_id, number)
    kept = set(revision.job.pond.keep_rows)
    if keeps and row not in {item.row for item in revision.job.pond.soundings if item.row > 0}:
        raise InputError(
            f"soundings.csv has no sounding in row {row}.",
            remedy="Load the page again and choose from its list.",
        )
    rows = kept | {row} if keeps else kept - {row}
    if rows != kept:
        _saved(
            site,
            revision,
            rows,
            form.text("author"),
            f"sounding of row {row} {'put back' if keeps else 'left out again'}",
        )
    site.saved.set()
    response = RedirectResponse(f"/ponds/{quote(pond_id)}/survey#rows", 303)
    keep_author(request, response, form.text("author"))
    return response


def _saved(site: Site, revision: Revision, rows: set[int], author: str, reason: str) -> None:
    """Keep the rows in their own line of job.toml where that says the same job, else the job anew."""
    pond = revision.job.pond.model_copy(update={"keep_rows": tuple(sorted(rows))})
    job = revision.job.model_copy(update={"pond": pond})
    files = site.store.ponds.folder(revision.pond_id, revision.number).files
    written = with_keep_rows(files.get(JOB_FILE, b""), rows)
    told: dict[str, Any] = {"expected_number": revision.number, "author": author, "reason": reason}
    if written is not None:
        changed = {**files, JOB_FILE: written}
        again = look_at(Folder("pond", changed), site.store.ponds.today()).job
        if again is not None and again.pond == job.pond:
            site.store.ponds.save_files(revision.pond_id, changed, **told)
            return
    site.store.ponds.save_job(revision.pond_id, job, **told)
