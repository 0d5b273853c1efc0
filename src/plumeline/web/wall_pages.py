"""The forms of walls on the page of the shore: marked walls are kept, one is taken out, and that is undone."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import quote

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from plumeline.errors import InputError
from plumeline.files.job_folder import CheckReport
from plumeline.files.known_places import WALLS
from plumeline.files.place_text import walls_typed
from plumeline.stages.survey.plane import plane_of
from plumeline.store import Revision
from plumeline.store.errors import ConflictError
from plumeline.web.field_faults import FieldFault
from plumeline.web.forms import Sent
from plumeline.web.known_saving import answers_of, as_they_stand, changes_of, keep, report_of, understood
from plumeline.web.known_shown import said_at
from plumeline.web.pages import Form, Here
from plumeline.web.shore import saved_sketch
from plumeline.web.shore_pages import shown
from plumeline.web.site import Site, units_of
from plumeline.web.visitors import keep_author
from plumeline.web.walls_shown import changes_walls_alone, wall_rows
from plumeline.web.work import asked_of

router = APIRouter()
FIELD = ("wall-lines", "Walls")
"""Id and name of their field."""
SAVE_FIRST = (
    "Walls were marked or changed here and are not saved yet. Save them first, or take them back; "
    "then take the wall out."
)


@router.post("/ponds/{pond_id}/shore/walls")
def save_walls(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Keep the walls as the next revision; where that is refused, what was typed stays on the page of the shore."""
    revision, typed = site.store.ponds.revision(pond_id, form.number("number")), form.whole("walls").strip()
    try:
        found = understood(site, revision, {WALLS: typed})
    except InputError as error:
        return _refused(
            request, site, revision, typed, _words(request, revision, report_of(error), str(error))
        )
    if found.report.job is None:
        return _refused(request, site, revision, typed, _words(request, revision, found.report))
    try:
        number = keep(site, revision, found, form)
    except ConflictError as error:
        return _saved_between(request, site, revision, typed, error)
    return _done(request, pond_id, number, form)


def _words(request: Request, revision: Revision, report: CheckReport, otherwise: str = "") -> Sequence[str]:
    """Return what is wrong with the walls, as the page of what is known says it."""
    said, rest = said_at(revision, report, units_of(request))
    return [*(words for one in said.values() for words in one.wrong), *rest] or [otherwise]


def _refused(request: Request, site: Site, revision: Revision, typed: str, words: Sequence[str]) -> Response:
    fields = [FieldFault(*FIELD, one) for one in words]
    sketch = saved_sketch(revision.job, revision.number)
    return shown(request, site, revision, sketch, fields=fields, walls_typed=typed, status_number=422)


def _saved_between(
    request: Request, site: Site, revision: Revision, typed: str, error: ConflictError
) -> Response:
    """Show the page as somebody saved it in between, with what was typed: its corners may be others now."""
    latest = site.store.ponds.revision(revision.pond_id)
    words = (
        f"{error} The walls that you typed are still here, over revision {latest.number}: look whether its corners are "
        "the same, and save again."
    )
    sketch = saved_sketch(latest.job, latest.number)
    return shown(request, site, latest, sketch, wrong=words, walls_typed=typed, status_number=409)


def _done(request: Request, pond_id: str, number: int, form: Sent) -> Response:
    response = RedirectResponse(f"/ponds/{quote(pond_id)}/shore?after={number}#walls", 303)
    keep_author(request, response, form.text("author"))
    return response


@router.post("/ponds/{pond_id}/shore/walls/out")
def take_out(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Take one wall out, as the next revision; the others stay as they are written."""
    revision, typed = site.store.ponds.revision(pond_id, form.number("number")), form.whole("walls").strip()
    if changes_of(site, revision, {WALLS: typed}):
        return _refused(request, site, revision, typed, [SAVE_FIRST])
    units = units_of(request)
    rows = wall_rows(revision.job, plane_of(asked_of(revision).job), units)
    lines, number = walls_typed(answers_of(site, revision, units)[WALLS]), form.number("wall")
    if not 1 <= number <= len(lines) or len(lines) != len(rows):
        raise InputError(f"there is no wall {number}; {len(rows)} are kept.", remedy="Load the page again.")
    rest = [line for n, line in enumerate(lines, start=1) if n != number]
    found = as_they_stand(site, revision, {WALLS: "\n".join(rest)})
    if found.report.job is None:
        return _refused(request, site, revision, typed, _words(request, revision, found.report))
    try:
        saved = keep(site, revision, found, form, f"wall taken out: {rows[number - 1].ends}")
    except ConflictError as error:
        latest = site.store.ponds.revision(pond_id)
        words = f"{error} No wall was taken out: look at the walls once more."
        sketch = saved_sketch(latest.job, latest.number)
        return shown(request, site, latest, sketch, wrong=words, status_number=409)
    return _done(request, pond_id, saved, form)


@router.post("/ponds/{pond_id}/shore/walls/undo")
def undo_walls(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Bring the files back as they were before a revision that changed walls alone, as the next revision."""
    revision = site.store.ponds.revision(pond_id, form.number("number"))
    before = site.store.ponds.revision(pond_id, revision.number - 1) if revision.number > 1 else revision
    if not changes_walls_alone(before.job, revision.job):
        raise InputError(
            f"revision {revision.number} did not change walls alone.",
            remedy="Its folder before that is on the page of the history.",
        )
    saved = site.store.ponds.save_files(
        pond_id,
        site.store.ponds.folder(pond_id, before.number).files,
        expected_number=revision.number,
        author=form.text("author"),
        reason=f"undone: {revision.reason}",
    )
    site.saved.set()
    return _done(request, pond_id, saved.number, form)
