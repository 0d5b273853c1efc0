"""``plumeline new`` and ``plumeline check``."""

from __future__ import annotations

import argparse
import dataclasses
from pathlib import Path

from plumeline.cli.common import day_asked, notice_rows, print_json, print_notices
from plumeline.cli.tables import listing, paragraph
from plumeline.files.job_folder import CheckReport, check_job
from plumeline.files.json_values import json_value
from plumeline.files.new_folder import write_new
from plumeline.stages.site_facts import questions
from plumeline.units.showing import System


def new(args: argparse.Namespace) -> int:
    """Write a commented job folder."""
    names = write_new(Path(args.folder), today=day_asked(args))
    if args.json:
        print_json({"folder": str(args.folder), "files": list(names)})
        return 0
    print(f"Written in {args.folder}:")
    for name in names:
        print(f"  {name}")
    print(paragraph(f"Fill in job.toml, then: plumeline check {args.folder}"))
    return 0


def check(args: argparse.Namespace) -> int:
    """Report every fault of a job folder; 1 where there is one."""
    report = check_job(Path(args.folder), today=day_asked(args))
    if report.job is not None and (asked := questions(report.job.site.facts)) is not None:
        report = dataclasses.replace(report, notices=(*report.notices, asked))
    if args.json:
        print_json(
            {
                "faults": json_value(report.faults),
                "notices": notice_rows(report.notices),
                "understood": list(report.echoes),
            }
        )
    else:
        _print(report, args.folder, args.units)
    return 1 if report.faults else 0


def _print(report: CheckReport, folder: str, units: System) -> None:
    count = len(report.faults)
    print(f"{folder}: {count or 'no'} fault{'s' if count != 1 else ''}")
    for fault in report.faults:
        print()
        print(paragraph(f"- {fault}"))
    print_notices(report.notices, units)
    if report.echoes:
        print()
        print(listing([_parted(echo) for echo in report.echoes], title="Understood"))
    print()
    if report.faults:
        print(paragraph(f"Next: put right what is listed above, then again: plumeline check {folder}"))
    else:
        print(paragraph(f"Next: plumeline plan {folder}"))


def _parted(echo: str) -> tuple[str, str]:
    """Return the place and what was understood there."""
    place, colon, rest = echo.partition(": ")
    return (place, rest) if colon else ("", echo)
