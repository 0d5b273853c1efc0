"""``plumeline backup``, ``restore`` and ``doctor``."""

from __future__ import annotations

import argparse
import dataclasses
from datetime import UTC, datetime
from pathlib import Path

from plumeline.cli.common import print_json
from plumeline.cli.tables import listing, paragraph
from plumeline.store import backups
from plumeline.store.doctor import examine
from plumeline.store.photo_files import Copied
from plumeline.store.store import default_path


def _database(args: argparse.Namespace) -> Path:
    return Path(args.database) if args.database else default_path()


def backup(args: argparse.Namespace) -> int:
    """Write a backup and read it back."""
    made = backups.write_backup(_database(args), args.out, now=datetime.now(UTC))
    if args.json:
        print_json(
            {
                "file": str(made.path),
                "sha256": made.sha256,
                "rows": made.rows,
                "photos": dataclasses.asdict(made.photos),
            }
        )
        return 0
    rows = [("file", str(made.path)), ("sha256", made.sha256), ("ponds", str(made.rows["pond"]))]
    rows.append(("revisions", str(made.rows["revision"])))
    rows.append(("photos", _photos(made.photos)))
    print(listing(rows, title="Written and read back"))
    return 0


def restore(args: argparse.Namespace) -> int:
    """Put a backup in the database's place."""
    made = backups.restore(args.backup, _database(args), now=datetime.now(UTC))
    if args.json:
        kept = None if made.kept is None else str(made.kept)
        photos = dataclasses.asdict(made.photos)
        print_json({"database": str(made.database), "rows": made.rows, "kept": kept, "photos": photos})
        return 0
    rows = [("database", str(made.database)), ("ponds", str(made.rows["pond"]))]
    rows += [("revisions", str(made.rows["revision"])), ("what stood there", str(made.kept or "nothing"))]
    rows.append(("photos", _photos(made.photos)))
    print(listing(rows, title="Restored"))
    return 0


def _photos(found: Copied) -> str:
    lost = f", {len(found.lost)} of them gone or damaged" if found.lost else ""
    return f"{found.count}{lost}"


def doctor(args: argparse.Namespace) -> int:
    """Look the database over; 1 where something is wrong."""
    found = examine(_database(args))
    if args.json:
        print_json({"well": found.well, "findings": [dataclasses.asdict(item) for item in found.findings]})
        return 0 if found.well else 1
    print(listing([(item.what, item.words) for item in found.findings], title=f"Database {found.path}"))
    print()
    for remedy in (item.remedy for item in found.findings if item.remedy):
        print(paragraph(f"- {remedy}"))
    well = "All is well." if found.is_there else "Nothing is wrong; no database is there yet."
    print(well if found.well else "Something is wrong.")
    return 0 if found.well else 1
