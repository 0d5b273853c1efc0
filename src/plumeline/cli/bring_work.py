"""``plumeline bring``: read, show what was understood, ask, write all of it or nothing."""

from __future__ import annotations

import argparse
import os
import shutil
import sys
import tempfile
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

from plumeline.cli.commands import UsageError
from plumeline.cli.common import day_asked, print_json
from plumeline.cli.tables import listing, paragraph
from plumeline.errors import Fault, InputError, JobFolderError
from plumeline.files.bring.columns import parse_columns
from plumeline.files.bring.merge import Merge, Wish, merged, staff_m
from plumeline.files.bring.reading import read_foreign
from plumeline.files.bring.taped import parse_taped
from plumeline.files.bring.value import Asked, Brought
from plumeline.files.findings import Findings, some
from plumeline.files.geojson import FILE as OUTLINE
from plumeline.files.job_folder import check_job
from plumeline.files.site_part import read_site
from plumeline.files.soundings import FILE as SOUNDINGS
from plumeline.files.toml_part import read_toml
from plumeline.files.toml_values import JOB_FILE
from plumeline.files.write_job import JOB_FILES
from plumeline.job.document import Site
from plumeline.units import plain

NOT_ASKED = "Nothing was written. Where nobody can be asked, --yes takes it as it was understood."


def bring(args: argparse.Namespace) -> int:
    """Bring files into a job folder."""
    folder = Path(args.folder)
    if not (folder / JOB_FILE).is_file():
        raise InputError(
            f"holds no {JOB_FILE}.", remedy="Make a folder with: plumeline new FOLDER.", place=str(folder)
        )
    if args.add and args.replace:
        raise UsageError("--add and --replace can't both be meant.")
    site = _site(folder)
    near = (site.longitude_deg, site.latitude_deg) if site else None
    asked = Asked(parse_columns(args.columns), args.crs, near)
    read = [read_foreign(Path(name), asked) for name in args.files]
    if not args.json:
        _show(read)
    # names only, beside the two files: enough to find a free one
    files = {path.name: b"" for path in folder.iterdir() if path.is_file()}
    files |= {
        name: (folder / name).read_bytes() for name in (OUTLINE, SOUNDINGS) if (folder / name).is_file()
    }
    taped = parse_taped(args.taped) if args.taped else None
    wish = Wish(tuple(args.kinds), args.pond, args.replace, args.add, taped, staff_m(args.level))
    merge = merged(files, read, site, wish)
    if not args.json:
        _show_merge(merge)
    written = not args.dry_run and _confirmed(args)
    if written:
        write(folder, merge, today=day_asked(args))
    if args.json:
        print_json(_document(read, merge, written))
    elif written:
        print(f"\nWritten: {', '.join(f'{folder / name}' for name in sorted(merge.files))}")
        print(paragraph(f"Next: plumeline survey {folder}"))
    else:
        print(f"\n{paragraph('Nothing was written: it was only looked at.')}")
    return 0


def _site(folder: Path) -> Site | None:
    """Return the job's position, with no word about the rest of job.toml."""
    part = read_toml(folder / JOB_FILE, Findings())
    return read_site(part, None, Findings()) if part is not None else None


def _confirmed(args: argparse.Namespace) -> bool:
    if args.yes:
        return True
    if args.json or not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise UsageError(NOT_ASKED)
    answer = input("\nIs it right, shall it be written? (yes/no) ").strip().casefold()
    if answer not in ("y", "yes"):
        raise InputError("nothing was written.", remedy="Say what is what with --columns, --crs or --pond.")
    return True


def _show(read: Sequence[Brought]) -> None:
    for one in read:
        rows = [("kind of file", one.kind), ("reference system", one.crs), *one.understood]
        rows += [
            ("left out", f"{plain(len(aside.rows), 0)}: {aside.why} ({some(aside.rows)})")
            for aside in one.asides
        ]
        print(listing(rows, title=one.file))
        print()


def _show_merge(merge: Merge) -> None:
    print(listing(list(merge.words), title="To be taken"))
    for words in merge.cautions:
        print()
        print(paragraph(f"Caution: {words}"))


def write(folder: Path, merge: Merge, *, today: date) -> None:
    """Put changed files into a folder, once they were looked through as part of the job.

    Args:
        folder: the job folder.
        merge: what changes.
        today: the date of a job that names none.

    Raises:
        JobFolderError: the folder would have faults in these files; nothing was written.
    """
    with tempfile.TemporaryDirectory(dir=folder, prefix=".writing-") as place:
        trial = Path(place)
        for name in JOB_FILES:
            if (folder / name).is_file() and name not in merge.files:
                shutil.copyfile(folder / name, trial / name)
        for name, data in merge.files.items():
            (trial / name).write_bytes(data)
        faults = _own_faults(trial, merge, today)
        if faults:
            raise JobFolderError(faults, "nothing was written: what would stand in the job folder")
        # what is kept of the old state comes first: a cut in between loses nothing
        for name in sorted(merge.files, key=lambda name: name in (OUTLINE, SOUNDINGS)):
            os.replace(trial / name, folder / name)


def _own_faults(trial: Path, merge: Merge, today: date) -> tuple[Fault, ...]:
    """Return the faults that lie in the new files; those of an unfinished job.toml are no matter here."""
    report = check_job(trial, today=today)
    return tuple(
        fault
        for fault in report.faults
        if fault.file in merge.files or (fault.where == "pond.outline" and OUTLINE in merge.files)
    )


def _document(read: Sequence[Brought], merge: Merge, written: bool) -> dict[str, Any]:
    return {
        "files": [
            {
                "file": one.file,
                "kind": one.kind,
                "reference_system": one.crs,
                "understood": [{"what": what, "where": where} for what, where in one.understood],
                "left_out": [{"why": aside.why, "rows": list(aside.rows)} for aside in one.asides],
                "polygons": len(one.areas),
                "lines": len(one.lines),
                "points": one.spots.count,
                "depths": int(one.spots.has_depth.sum()),
            }
            for one in read
        ],
        "taken": {
            "corners": merge.corner_count,
            "soundings": merge.sounding_count,
            "words": [{"what": what, "words": words} for what, words in merge.words],
        },
        "cautions": list(merge.cautions),
        "written": sorted(merge.files) if written else [],
    }
