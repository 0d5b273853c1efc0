"""The page of what is known of a pond: the facts of its site and its ten answers, changed as a form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from plumeline.errors import InputError
from plumeline.files.job_folder import CheckReport
from plumeline.files.site_questions import QUESTIONS
from plumeline.store import Revision
from plumeline.store.errors import ConflictError
from plumeline.web.forms import Sent
from plumeline.web.known_saving import NOTHING, answers_of, keep, report_of, understood
from plumeline.web.known_shown import groups_shown, has_own_profiles, links_of, said_at
from plumeline.web.pages import Form, Here
from plumeline.web.site import Site, units_of
from plumeline.web.visitors import keep_author

router = APIRouter()


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
    return _shown(request, site, revision, _Typed(answers_of(site, revision, units_of(request))))


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
    given = {**answers_of(site, revision, units_of(request)), **given}
    try:
        found = understood(site, revision, given)
    except InputError as error:
        typed = _refused(given, error, form)
        return _shown(request, site, revision, typed, status_number=422)
    report = found.report
    saves = form.text("action") == "save"
    if report.job is None or not saves:
        typed = _Typed(given, report, reason=form.text("reason"), looked=report.job is not None)
        return _shown(request, site, revision, typed, status_number=422 if report.faults else 200)
    try:
        keep(site, revision, found, form)
    except ConflictError as error:
        return _both(request, site, revision, given, found.changes, error, form)
    response = RedirectResponse(f"/ponds/{quote(pond_id)}/known", 303)
    keep_author(request, response, form.text("author"))
    return response


def _refused(given: Mapping[str, str], error: InputError, form: Sent) -> _Typed:
    """Return a form that could not be read, with what is wrong at its field where the error names one."""
    report = report_of(error)
    words = "" if report.faults else str(error)
    return _Typed(given, report, words=words, reason=form.text("reason"))


def _both(
    request: Request, site: Site, revision: Revision, given: Mapping[str, str], changes: Mapping[str, Any],
    error: ConflictError, form: Sent,
) -> Response:  # fmt: skip
    """Show the form over what somebody saved in between: what was typed stays, the rest is as it stands now."""
    latest = site.store.ponds.revision(revision.pond_id)
    before, now = answers_of(site, revision, units_of(request)), answers_of(site, latest, units_of(request))
    theirs = {name: now[name] for name in changes if now[name] != before[name] and now[name] != given[name]}
    words = f"{error} What you typed is still here, over revision {latest.number}; save again to keep it."
    typed = _Typed({**now, **changes}, NOTHING, theirs=theirs, words=words, reason=form.text("reason"))
    return _shown(request, site, latest, typed, status_number=409)
