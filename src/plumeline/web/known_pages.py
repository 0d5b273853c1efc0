"""The page of what is known of a pond: the facts of its site and its ten answers, changed as a form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from plumeline.errors import Fault, InputError
from plumeline.files.job_folder import CheckReport
from plumeline.files.known_lines import typed_answers, with_answers
from plumeline.files.known_places import as_kept, far_faults
from plumeline.files.site_questions import QUESTIONS
from plumeline.files.toml_values import JOB_FILE
from plumeline.files.write_job import JOB_FILES, job_files
from plumeline.store import Folder, Revision
from plumeline.store.errors import ConflictError
from plumeline.store.ponds import look_at
from plumeline.web.forms import Sent
from plumeline.web.known_shown import groups_shown, has_own_profiles, links_of, said_at
from plumeline.web.pages import Form, Here
from plumeline.web.site import Site, units_of
from plumeline.web.visitors import keep_author

router = APIRouter()
NOTHING = CheckReport((), (), (), None)
"""Of a form that was not looked at: what is saved is not what is typed."""


@dataclass(frozen=True)
class _Typed:
    """A form as it stands.

    Attributes:
        given: what stands in each field.
        report: what a look at it finds; None where nothing was typed yet.
        theirs: what somebody else saved meanwhile, by field.
        words: what is wrong with the form as a whole.
        reason: why, as typed.
        looked: whether it can be saved as it was understood.
    """

    given: Mapping[str, str]
    report: CheckReport | None = None
    theirs: Mapping[str, str] | None = None
    words: str = ""
    reason: str = ""
    looked: bool = False


@router.get("/ponds/{pond_id}/known")
def known_page(request: Request, site: Here, pond_id: str) -> Response:
    """Show what is known of a pond, to be changed."""
    revision = site.store.ponds.revision(pond_id)
    return _shown(request, site, revision, _Typed(_answers(site, revision, request)))


def _answers(site: Site, revision: Revision, request: Request) -> dict[str, str]:
    data = site.store.ponds.folder(revision.pond_id, revision.number).files.get(JOB_FILE, b"")
    return typed_answers(data, units_of(request))


def _shown(
    request: Request, site: Site, revision: Revision, typed: _Typed, *, status_number: int = 200
) -> Response:
    units = units_of(request)
    report = typed.report
    said, rest = said_at(revision, report, units)
    job = revision.job if report is None else report.job
    files = site.store.ponds.folder(revision.pond_id, revision.number).files
    groups = groups_shown(
        revision.job,
        job,
        typed.given,
        said,
        typed.theirs or {},
        units,
        asks_readings=not has_own_profiles(files),
    )
    wrong = [
        (one.name, one.label, " ".join(said[one.name].wrong)) for one in QUESTIONS if said[one.name].wrong
    ]
    return site.page(
        request, "known.html", status_number=status_number, pond=revision, groups=groups, wrong=wrong,
        rest=[*([typed.words] if typed.words else []), *rest], looked=typed.looked, reason=typed.reason,
        asked=links_of(revision.job) if report is None else [],
    )  # fmt: skip


@router.post("/ponds/{pond_id}/known")
def save_known(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Show how answers are understood, or keep what was changed as the next revision; nothing typed is lost."""
    revision = site.store.ponds.revision(pond_id, form.number("number"))
    given = {one.name: form.whole(one.name).strip() for one in QUESTIONS if one.name in form.fields}
    given = {**_answers(site, revision, request), **given}
    try:
        changes = as_kept(_changes(site, revision, given), revision.job)
        files = _files(site, revision, changes)
    except InputError as error:
        typed = _refused(given, error, form)
        return _shown(request, site, revision, typed, status_number=422)
    report = _looked_at(site, files, changes)
    saves = form.text("action") == "save"
    if report.job is None or not saves:
        typed = _Typed(given, report, reason=form.text("reason"), looked=report.job is not None)
        return _shown(request, site, revision, typed, status_number=422 if report.faults else 200)
    try:
        _save(site, revision, files, changes, form)
    except ConflictError as error:
        return _both(request, site, revision, given, changes, error, form)
    page = "shore" if form.text("from") == "shore" else "known"
    response = RedirectResponse(f"/ponds/{quote(pond_id)}/{page}", 303)
    keep_author(request, response, form.text("author"))
    return response


def _refused(given: Mapping[str, str], error: InputError, form: Sent) -> _Typed:
    """Return a form that could not be read, with what is wrong at its field where the error names one."""
    if not any(one.key == error.place for one in QUESTIONS):
        return _Typed(given, NOTHING, words=str(error), reason=form.text("reason"))
    fault = Fault(JOB_FILE, error.place, error.message, error.remedy)
    return _Typed(given, replace(NOTHING, faults=(fault,)), reason=form.text("reason"))


def _looked_at(site: Site, files: Mapping[str, bytes], changes: Mapping[str, str]) -> CheckReport:
    """Return what a look at the folder finds, places that lie off the shore or far from the pond among it."""
    report = look_at(Folder("pond", files), site.store.ponds.today())
    far = far_faults(report.job, changes) if report.job else ()
    return replace(report, faults=(*report.faults, *far), job=None) if far else report


def _changes(site: Site, revision: Revision, given: Mapping[str, str]) -> dict[str, str]:
    """Return what was typed anew; a value that was only shown, in either system of units, is left as it is written."""
    data = site.store.ponds.folder(revision.pond_id, revision.number).files.get(JOB_FILE, b"")
    us, si = typed_answers(data, "us"), typed_answers(data, "si")
    return {name: words for name, words in given.items() if words not in (us[name], si[name])}


def _files(site: Site, revision: Revision, changes: Mapping[str, str]) -> dict[str, bytes]:
    """Return the folder with other answers: in their own lines where job.toml takes them, else with it written anew.

    Raises:
        InputError: neither is possible.
    """
    before = site.store.ponds.folder(revision.pond_id, revision.number).files
    written = with_answers(before.get(JOB_FILE, b""), changes)
    if written is not None:
        return {**before, JOB_FILE: written}
    anew = {name: text.encode() for name, text in job_files(revision.job).items()}
    written = with_answers(anew[JOB_FILE], changes)
    if written is None:
        raise InputError(
            "job.toml can't take these answers as it is written.",
            remedy="Change it there, on the page of the files.",
        )
    rest = {path: data for path, data in before.items() if path not in JOB_FILES}
    return {**rest, **anew, JOB_FILE: written}


def _save(
    site: Site, revision: Revision, files: Mapping[str, bytes], changes: Mapping[str, str], form: Sent
) -> None:
    """Keep the folder as the next revision; where nothing was changed, nothing is kept.

    Raises:
        ConflictError: somebody saved in between.
    """
    if not changes:
        return
    names = ", ".join(one.label for one in QUESTIONS if one.name in changes)
    site.store.ponds.save_files(
        revision.pond_id,
        files,
        expected_number=revision.number,
        author=form.text("author"),
        reason=form.text("reason") or f"what is known: {names}",
    )
    site.saved.set()


def _both(
    request: Request, site: Site, revision: Revision, given: Mapping[str, str], changes: Mapping[str, Any],
    error: ConflictError, form: Sent,
) -> Response:  # fmt: skip
    """Show the form over what somebody saved in between: what was typed stays, the rest is as it stands now."""
    latest = site.store.ponds.revision(revision.pond_id)
    before, now = _answers(site, revision, request), _answers(site, latest, request)
    theirs = {name: now[name] for name in changes if now[name] != before[name] and now[name] != given[name]}
    words = f"{error} What you typed is still here, over revision {latest.number}; save again to keep it."
    typed = _Typed({**now, **changes}, NOTHING, theirs=theirs, words=words, reason=form.text("reason"))
    return _shown(request, site, latest, typed, status_number=409)
