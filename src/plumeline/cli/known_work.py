"""``plumeline known``: what is known of a pond, each answer with what follows from it, and other answers written."""

from __future__ import annotations

import argparse
import tempfile
from dataclasses import replace
from pathlib import Path

from plumeline.cli.common import day_asked, notice_rows, print_json, print_notices
from plumeline.cli.tables import listing, paragraph
from plumeline.errors import InputError, JobFolderError
from plumeline.files.findings import near
from plumeline.files.job_folder import CheckReport, check_job
from plumeline.files.known_lines import typed_answers, with_answers
from plumeline.files.known_places import as_kept, far_faults, has_places
from plumeline.files.new_answers import ANSWERS, Answer
from plumeline.files.site_questions import GROUPS, QUESTIONS
from plumeline.files.toml_values import JOB_FILE
from plumeline.stages.site_facts import follows, open_questions


def known(args: argparse.Namespace) -> int:
    """Show what is known of a pond, or write other answers into its job.toml.

    Raises:
        InputError: an answer has no name that is known, or job.toml can't take it line by line.
        JobFolderError: with every fault that the answers would make; nothing is written.
    """
    folder = Path(args.folder)
    changes = dict(_read(text) for text in args.answers)
    report = _written(args, folder, changes) if changes else check_job(folder, today=day_asked(args))
    if report.job is None:
        raise JobFolderError(report.faults)
    given = typed_answers((folder / JOB_FILE).read_bytes(), args.units)
    asked = open_questions(report.job.site.facts)
    if args.json:
        print_json({
            "answers": given, "not_known": asked, "understood": list(report.echoes),
            "notices": notice_rows(report.notices),
        })  # fmt: skip
        return 0
    for title, questions in (*GROUPS, ("The ten answers", ANSWERS)):
        print(listing([(one.name, _line(one, given[one.name])) for one in questions], title=title))
        print()
    print(paragraph(f"Not known, and not known is not no: {', '.join(asked) or 'nothing'}."))
    print_notices(report.notices, args.units)
    return 0


def _read(text: str) -> tuple[str, str]:
    """Return name and answer of ``swimmers=yes``."""
    name, equals, answer = text.partition("=")
    names = [one.name for one in QUESTIONS]
    if name.strip() in names and equals:
        return name.strip(), answer.strip()
    close = near(name.strip(), names)
    hint = f"Did you mean {close}? " if close else ""
    raise InputError(
        f"'{text}' is no answer.",
        remedy=f"{hint}Write NAME=ANSWER, as swimmers=yes; names: {', '.join(names)}.",
    )


def _written(args: argparse.Namespace, folder: Path, changes: dict[str, str]) -> CheckReport:
    """Write answers into job.toml where the folder then has no fault, and return what a look at it finds."""
    path = folder / JOB_FILE
    if not path.is_file():
        return check_job(folder, today=day_asked(args))
    if has_places(changes):
        changes = as_kept(changes, check_job(folder, today=day_asked(args)).job)
    written = with_answers(path.read_bytes(), changes)
    if written is None:
        raise InputError(
            "can't take these answers as it is written.", remedy="Change it by hand.", place=str(path)
        )
    with tempfile.TemporaryDirectory(prefix="plumeline-") as place:
        there = Path(place) / folder.resolve().name
        there.mkdir()
        for file in folder.iterdir():
            if file.is_file() and file.name != JOB_FILE:
                (there / file.name).write_bytes(file.read_bytes())
        (there / JOB_FILE).write_bytes(written)
        report = check_job(there, today=day_asked(args))
    if report.job and (far := far_faults(report.job, changes)):
        report = replace(report, faults=far, job=None)
    if not report.faults:
        path.write_bytes(written)
    return report


def _line(question: Answer, given: str) -> str:
    """Return an answer with what follows from it, or would follow from another."""
    words = dict(question.choices).get(given, given.replace("\n", "; ")) or "not known"
    if not question.choices:
        return words
    told = [
        text if answer == given else f"({answer}: {text})" for answer, text in follows(question.name).items()
    ]
    return " ".join([f"{words}.", *told]) if told else words
