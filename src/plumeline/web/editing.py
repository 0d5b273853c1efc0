"""The pages that change: a pond from ten answers, from a zip, and the files of its folder."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Depends, Request
from starlette.responses import RedirectResponse, Response

from plumeline.errors import Fault, InputError, JobFolderError
from plumeline.files.job_folder import CheckReport
from plumeline.files.new_answers import ANSWERS, answers_file
from plumeline.files.new_folder import TEMPLATES, template
from plumeline.files.toml_values import JOB_FILE
from plumeline.store import Folder, Revision, read_zip
from plumeline.store.errors import ConflictError
from plumeline.store.ponds import look_at
from plumeline.web.asked import by_answer
from plumeline.web.field_faults import FieldFault
from plumeline.web.forms import Sent, new_form_key, sent_form
from plumeline.web.pages import Form, Here
from plumeline.web.site import AUTHOR_COOKIE, Site, site_of, units_of
from plumeline.web.visitors import keep_choice

router = APIRouter()
MOST_TEXT_BYTES = 1024 * 1024
NOTHING = CheckReport((), (), (), None)
"""Of a form that nothing was typed into yet."""


@router.get("/ponds/new")
def new_form(request: Request, site: Here) -> Response:
    """Ask the ten questions."""
    return _asked(request, site, {})


@router.post("/ponds/new")
def new_pond(request: Request, site: Here, form: Form) -> Response:
    """Show how the answers were understood, or keep them as a pond."""
    given = {answer.name: form.text(answer.name) for answer in ANSWERS}
    key = form.text("form_key")
    folder = Folder(_folder_name(given["name"]), {JOB_FILE: answers_file(given).encode()})
    report = look_at(folder, site.store.ponds.today())
    if form.text("action") != "save" or report.job is None:
        return _asked(request, site, given, report, key=key)
    saved = site.store.ponds.add(folder, author=form.text("author"), reason="ten answers", form_key=key)
    return _kept(request, site, saved, form)


def _folder_name(name: str) -> str:
    kept = "".join(mark if mark.isalnum() else "-" for mark in name)[:60].strip("-")
    return kept or "pond"


def _asked(
    request: Request, site: Site, given: dict[str, str], report: CheckReport = NOTHING, *, key: str = ""
) -> Response:
    said, rest = by_answer(report.faults, report.notices, report.echoes, units_of(request))
    return site.page(
        request, "new.html", status_number=422 if report.faults else 200, answers=ANSWERS, given=given, said=said,
        rest=rest, looked=report.job is not None, form_key=key or new_form_key(),
        wrong=[(one.name, one.label, " ".join(said[one.name].wrong)) for one in ANSWERS if said[one.name].wrong],
        odd=[(one.name, one.label) for one in ANSWERS if said[one.name].odd],
    )  # fmt: skip


@router.post("/ponds/import")
async def import_zip(
    request: Request, site: Annotated[Site, Depends(site_of)], form: Annotated[Sent, Depends(sent_form)]
) -> Response:
    """Keep the job folder of a zip as a new pond."""
    from starlette.concurrency import run_in_threadpool

    name, data = await form.upload("folder")

    def keep() -> Response:
        saved = site.store.ponds.add(
            read_zip(data, name),
            author=form.text("author"),
            reason=f"import of {name[:80]}",
            form_key=form.text("form_key"),
        )
        return _kept(request, site, saved, form)

    return await run_in_threadpool(keep)


def _kept(request: Request, site: Site, saved: Revision, form: Sent) -> Response:
    site.saved.set()
    response = RedirectResponse(f"/ponds/{quote(saved.pond_id)}", 303)
    keep_choice(request, response, AUTHOR_COOKIE, quote(form.text("author")[:80]))
    return response


@router.get("/ponds/{pond_id}/files")
def files(request: Request, site: Here, pond_id: str) -> Response:
    """Show the files of a pond's folder."""
    pond = site.store.ponds.revision(pond_id)
    folder = site.store.ponds.folder(pond_id, pond.number)
    rows = [(path, len(data), _as_text(data) is not None) for path, data in folder.files.items()]
    return site.page(request, "files.html", pond=pond, rows=rows)


def _as_text(data: bytes) -> str | None:
    """Return a file as text, or None where a form would change it."""
    if len(data) > MOST_TEXT_BYTES or b"\0" in data:
        return None
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return None


@router.get("/ponds/{pond_id}/files/edit")
def edit_form(request: Request, site: Here, pond_id: str, path: str) -> Response:
    """Show one file of a pond's folder, to be changed."""
    pond = site.store.ponds.revision(pond_id)
    files = site.store.ponds.folder(pond_id, pond.number).files
    # a file that is not there yet begins with its columns and what goes into them
    text = _as_text(files[path]) if path in files else template(path) if path in TEMPLATES else ""
    if text is None:
        raise InputError(
            f"'{path[:80]}' is no text.", remedy="Export the folder, change it there and import it."
        )
    return _edited(request, site, pond, path, text, pond.number)


def _edited(
    request: Request, site: Site, pond: Revision, path: str, text: str, number: int, *,
    fields: Sequence[FieldFault] = (), rest: Sequence[str] = (), theirs: str | None = None, reason: str = "",
    status_number: int = 200,
) -> Response:  # fmt: skip
    return site.page(
        request, "edit.html", status_number=status_number, pond=pond, path=path, text=text, number=number,
        fields=[(one.id, one.label, one.words) for one in fields], rest=rest, theirs=theirs, reason=reason,
    )  # fmt: skip


@router.post("/ponds/{pond_id}/files/edit")
def edit(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Keep a changed file as the next revision; what was typed stays on the page where that is refused."""
    path, text, number = form.text("path"), form.whole("text"), form.number("number")
    reason = form.text("reason")
    before = site.store.ponds.folder(pond_id, number)
    old = before.files.get(path, b"")
    data = text.replace("\n", "\r\n").encode() if b"\r\n" in old else text.encode()
    changed = {**before.files, path: data}
    if not data:
        del changed[path]
    pond = site.store.ponds.revision(pond_id, number)
    try:
        saved = site.store.ponds.save_files(
            pond_id,
            changed,
            expected_number=number,
            author=form.text("author"),
            reason=reason or path,
        )
    except JobFolderError as error:
        # what the change spoils in another file is no fault of this text, and stands in the list alone
        here = [fault for fault in error.faults if fault.file == path]
        return _edited(
            request, site, pond, path, text, number, reason=reason, status_number=422,
            fields=[_at_text(fault, path) for fault in here],
            rest=[str(fault) for fault in error.faults if fault not in here],
        )  # fmt: skip
    except ConflictError as error:
        latest = site.store.ponds.folder(pond_id, error.latest_number).files.get(path, b"")
        return _edited(
            request, site, pond, path, text, error.latest_number, reason=reason, status_number=409,
            rest=[str(error)], theirs=_as_text(latest) or "",
        )  # fmt: skip
    return _kept(request, site, saved, form)


def _at_text(fault: Fault, path: str) -> FieldFault:
    """Return a fault of a file at the field of its text."""
    return FieldFault("text", fault.where or path, f"{fault.problem} {fault.remedy}".rstrip())
