"""Answers about a pond as a form sends them: read over the job that is saved, looked at, and kept as a revision."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from plumeline.errors import Fault, InputError
from plumeline.files.job_folder import CheckReport
from plumeline.files.known_lines import typed_answers, with_answers
from plumeline.files.known_places import as_kept, far_faults
from plumeline.files.site_questions import QUESTIONS
from plumeline.files.toml_values import JOB_FILE
from plumeline.files.write_job import JOB_FILES, job_files
from plumeline.store import Folder, Revision
from plumeline.store.ponds import look_at
from plumeline.units.showing import System
from plumeline.web.forms import Sent
from plumeline.web.site import Site

NOTHING = CheckReport((), (), (), None)
"""Of a form that was not looked at: what is saved is not what is typed."""


@dataclass(frozen=True)
class Understood:
    """Answers as they were read.

    Attributes:
        changes: what was typed anew, as it is kept, by the name of its question.
        files: the folder with them.
        report: what a look at that folder finds.
    """

    changes: Mapping[str, str]
    files: Mapping[str, bytes]
    report: CheckReport


def answers_of(site: Site, revision: Revision, units: System) -> dict[str, str]:
    """Return the answers of a revision as they may be typed, by the name of their question."""
    data = site.store.ponds.folder(revision.pond_id, revision.number).files.get(JOB_FILE, b"")
    return typed_answers(data, units)


def understood(site: Site, revision: Revision, given: Mapping[str, str]) -> Understood:
    """Return answers as they are read over a revision.

    Raises:
        InputError: a corner is named that the shore has not, or job.toml can't take them.
    """
    return as_they_stand(site, revision, as_kept(changes_of(site, revision, given), revision.job))


def as_they_stand(site: Site, revision: Revision, changes: Mapping[str, str]) -> Understood:
    """Return answers in the words of the file itself: its places count from where they counted.

    Raises:
        InputError: job.toml can't take them.
    """
    files = _files(site, revision, changes)
    return Understood(changes, files, _looked_at(site, files, changes))


def report_of(error: InputError) -> CheckReport:
    """Return what could not be read as the fault of the answer that it names; without one where it names none."""
    if not any(one.key == error.place for one in QUESTIONS):
        return NOTHING
    return replace(NOTHING, faults=(Fault(JOB_FILE, error.place, error.message, error.remedy),))


def _looked_at(site: Site, files: Mapping[str, bytes], changes: Mapping[str, str]) -> CheckReport:
    """Return what a look at the folder finds, places that lie off the shore or far from the pond among it."""
    report = look_at(Folder("pond", files), site.store.ponds.today())
    far = far_faults(report.job, changes) if report.job else ()
    return replace(report, faults=(*report.faults, *far), job=None) if far else report


def changes_of(site: Site, revision: Revision, given: Mapping[str, str]) -> dict[str, str]:
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


def keep(site: Site, revision: Revision, found: Understood, form: Sent, reason: str = "") -> int:
    """Keep the folder as the next revision and return its number; where nothing was changed, nothing is kept.

    Raises:
        ConflictError: somebody saved in between.
    """
    if not found.changes:
        return revision.number
    names = ", ".join(one.label for one in QUESTIONS if one.name in found.changes)
    saved = site.store.ponds.save_files(
        revision.pond_id,
        found.files,
        expected_number=revision.number,
        author=form.text("author"),
        reason=reason or form.text("reason") or f"what is known: {names}",
    )
    site.saved.set()
    return saved.number
