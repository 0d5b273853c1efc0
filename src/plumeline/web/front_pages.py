"""The alternatives of a pond as a plot; choosing one makes the plan of it, and undo brings the plan before it back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

import plumeline
from plumeline.errors import InputError
from plumeline.files.listed_diffusers import with_diffuser_names
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import Job
from plumeline.stages.choice.numbers import with_diffusers
from plumeline.store import Folder, Revision, RunKind, RunState
from plumeline.store.ponds import look_at
from plumeline.units.showing import System
from plumeline.web.front_opened import COUNTS, front_run, kept_front, made_front, opened_front
from plumeline.web.pages import Form, Here
from plumeline.web.showing import drawing
from plumeline.web.site import Site, units_of
from plumeline.web.visitors import keep_author

router = APIRouter()
TAKEN = "alternative taken: "
"""The reason of a revision that a choice made begins so; only such a one is undone from here."""


@dataclass(frozen=True)
class _Choice:
    """A number of diffusers that can be taken."""

    count: int
    words: str
    is_own: bool


@router.get("/ponds/{pond_id}/front")
def front_page(request: Request, site: Here, pond_id: str) -> Response:
    """Show what each number of diffusers serves, mixes, draws and costs, and let one be chosen; or the way to it."""
    revision = site.store.ponds.revision(pond_id)
    run = front_run(site, revision)
    shown: dict[str, Any] = {"drawings": [], "choices": [], "shown": [], "notices": [], "assumptions": []}
    if run is not None and run.state == RunState.DONE:
        shown = _shown(site, revision, units_of(request))
    return site.page(
        request, "front.html", pond=revision, run=run, **shown,
        is_built=bool(revision.job.as_built and revision.job.as_built.diffusers),
        undoes=revision.reason if revision.reason.startswith(TAKEN) and revision.number > 1 else "",
    )  # fmt: skip


def _shown(site: Site, revision: Revision, units: System) -> dict[str, Any]:
    opened = opened_front(site, revision, units).shown
    plot = drawing("alternatives", opened["svg"], opened["plain_sentence"], opened["twins"], opened["small"])
    known = kept_front(site, made_front(site, revision), COUNTS)
    choices = [_Choice(count, _words(count), count == known["planned"]) for count in known["counts"]]
    return {**opened, "drawings": [{**plot, "sentence": opened["sentence"]}], "choices": choices}


@router.post("/ponds/{pond_id}/front/ask")
def ask(site: Here, pond_id: str, form: Form) -> Response:
    """Ask for the alternatives of a revision; a second click finds the same run."""
    site.store.runs.ask(pond_id, form.number("number"), plumeline.__version__, RunKind.ALTERNATIVES)
    return RedirectResponse(f"/ponds/{quote(pond_id)}/front", 303)


def _words(count: int) -> str:
    return "one diffuser" if count == 1 else f"{count} diffusers"


@router.post("/ponds/{pond_id}/front")
def take(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Make the plan of an alternative the pond's own, as the next revision."""
    revision = site.store.ponds.revision(pond_id, form.number("number"))
    count = form.number("count")
    if count not in kept_front(site, made_front(site, revision), COUNTS)["counts"]:
        raise InputError(
            f"{_words(count)} is no alternative of this pond.",
            remedy="Load the page again and choose from it.",
        )
    job = chosen_job(revision.job, count)
    if job != revision.job:
        _kept(site, revision, job, form.text("author"), TAKEN + _words(count))
        site.saved.set()
    response = RedirectResponse(f"/ponds/{quote(pond_id)}/layout", 303)
    keep_author(request, response, form.text("author"))
    return response


def _kept(site: Site, revision: Revision, job: Job, author: str, reason: str) -> None:
    """Keep the job in its own lines of job.toml where that says the same job, else the file is written anew."""
    before = site.store.ponds.folder(revision.pond_id, revision.number).files
    was = {item.name for item in revision.job.air.diffusers}
    now = [item.name for item in job.air.diffusers if item in revision.job.air.diffusers]
    new = [item.name for item in job.air.diffusers if item.name not in now]
    written = with_diffuser_names(before.get(JOB_FILE, b""), was & set(now), new)
    if written is not None:
        files = {**before, JOB_FILE: written}
        again = look_at(Folder("pond", files), site.store.ponds.today()).job
        if again is not None and (again.air, again.as_built) == (job.air, job.as_built):
            site.store.ponds.save_files(
                revision.pond_id, files, expected_number=revision.number, author=author, reason=reason
            )
            return
    site.store.ponds.save_job(
        revision.pond_id, job, expected_number=revision.number, author=author, reason=reason
    )


def chosen_job(job: Job, count: int) -> Job:
    """Return the job that asks for an alternative: the same that the alternative was worked out for.

    Raises:
        InputError: the diffusers are built already.
    """
    if job.as_built is not None and job.as_built.diffusers:
        raise InputError(
            "the diffusers of this pond are built.", remedy="Their number can't be chosen any more."
        )
    return with_diffusers(job, count)


@router.post("/ponds/{pond_id}/front/undo")
def undo(site: Here, pond_id: str, form: Form) -> Response:
    """Bring the files back as they were before an alternative was taken, as the next revision."""
    revision = site.store.ponds.revision(pond_id, form.number("number"))
    if not revision.reason.startswith(TAKEN) or revision.number < 2:
        raise InputError(
            f"revision {revision.number} was not made by taking an alternative.",
            remedy="Its folder before that is on the page of the history.",
        )
    before = site.store.ponds.folder(pond_id, revision.number - 1)
    site.store.ponds.save_files(
        pond_id,
        before.files,
        expected_number=revision.number,
        author=form.text("author"),
        reason=f"undone: {revision.reason}",
    )
    site.saved.set()
    return RedirectResponse(f"/ponds/{quote(pond_id)}/front", 303)
