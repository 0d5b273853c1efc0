"""A look over a database that changes nothing: pages, rows, tables, room, journal, backups."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from plumeline.store.backups import all_backups, last_good, taken_at
from plumeline.store.contents import changed_since_saved
from plumeline.store.engine import Database, connect, journal_for
from plumeline.store.errors import StoreError
from plumeline.store.migrate import known, newest, step_of
from plumeline.store.photo_files import FOLDER as PHOTOS
from plumeline.store.photo_files import named_in, sound
from plumeline.store.places import what_is_wrong
from plumeline.store.standing import is_of_sqlite, what_bars

LEAST_FREE_MB = 500
TIMES_FREE = 3
"""A backup and the old file must fit beside a new one."""
MB = 1 << 20
OTHER_FILE = "If ponds should be here, it is another file: --database FILE."
LONGEST_WITHOUT = timedelta(days=1)
"""A server that runs writes a backup an hour: what was saved longer ago than this should stand in one."""

UNITS = (("day", 1440), ("hour", 60), ("minute", 1))
"""With how many minutes each has."""


@dataclass(frozen=True)
class Finding:
    """One thing looked at: what, what was found, whether it is well, the way out where it is not."""

    what: str
    words: str
    well: bool = True
    remedy: str = ""


@dataclass(frozen=True)
class Examined:
    """Everything that was looked at."""

    path: Path
    findings: tuple[Finding, ...]

    @property
    def well(self) -> bool:
        """Return whether nothing is wrong."""
        return all(item.well for item in self.findings)

    @property
    def is_there(self) -> bool:
        """Return whether there was a database to be looked at."""
        return any(item.what == "pages" for item in self.findings)


def examine(path: Path, *, now: datetime | None = None) -> Examined:
    """Return what a look over a database finds; raises nothing for a damaged one.

    Args:
        path: the database.
        now: the time, for the age of its backups; this machine's when None.
    """
    now = now or datetime.now(UTC)
    if barred := what_bars(path):
        words, remedy = barred
        return Examined(path, (Finding("file", words, False, remedy), _place(path)))
    good = last_good(path)
    back = (
        f"Bring it back: plumeline restore {good} --database {path}" if good else "Copy the file away first."
    )
    if not path.is_file() or path.stat().st_size == 0:
        return Examined(path, (_begun(path, good, back), _place(path), *_backups(path, good, now)))
    findings: list[Finding] = []
    try:
        with closing(connect(path)) as link:
            findings += [_pages(link, back), _rows(link, back), _contents(link, back), _journal(link)]
        findings += [_tables(path), _photos(path)]
    except (sqlite3.Error, StoreError, UnicodeDecodeError) as error:
        findings.append(_unread(path, error, good, back))
    return Examined(path, (*findings, _place(path), _room(path), *_backups(path, good, now)))


def _begun(path: Path, good: Path | None, back: str) -> Finding:
    """Return what is said of a file that is not there, or is empty: lost, or not begun yet."""
    if path.is_file():
        return Finding("file", "empty", False, back)
    words = "not there" if path.parent.exists() else "not there, and neither is its folder"
    if good is not None:
        return Finding("file", words, False, back)
    # who mistyped a name must not take the words for those of a database
    return Finding("file", words, True, f"plumeline serve makes one. {OTHER_FILE}")


def _unread(path: Path, error: Exception, good: Path | None, back: str) -> Finding:
    if is_of_sqlite(path):
        return Finding("pages", f"can't be read: {error}", False, back)
    words = "no database: the file does not begin as one of SQLite does"
    return Finding("pages", words, False, back if good else f"{back} {OTHER_FILE}")


def _pages(link: sqlite3.Connection, back: str) -> Finding:
    found = [str(row[0]) for row in link.execute("PRAGMA integrity_check(5)")]
    well = found == ["ok"]
    return Finding("pages", "every one is sound" if well else "; ".join(found), well, "" if well else back)


def _rows(link: sqlite3.Connection, back: str) -> Finding:
    loose = link.execute("PRAGMA foreign_key_check").fetchall()
    words = f"{len(loose)} belong to nothing" if loose else "each belongs to something that is there"
    return Finding("rows", words, not loose, back if loose else "")


def _contents(link: sqlite3.Connection, back: str) -> Finding:
    if link.execute("SELECT 1 FROM sqlite_schema WHERE name = 'blob'").fetchone() is None:
        return Finding("contents", "none yet")
    changed = changed_since_saved(link)
    words = (
        f"{', '.join(changed)} is not what was saved" if changed else "every file and job is what was saved"
    )
    return Finding("contents", words, not changed, back if changed else "")


def _journal(link: sqlite3.Connection) -> Finding:
    mode = str(link.execute("PRAGMA journal_mode").fetchone()[0])
    wanted = journal_for(sqlite3.sqlite_version_info)
    full = int(link.execute("PRAGMA synchronous").fetchone()[0]) >= 2
    lasting = "every commit reaches the disk" if full else "commits may be lost at a power cut"
    well = mode == wanted and full
    mended = "has" if wanted == "wal" else "lacks"
    verdict = f"SQLite {sqlite3.sqlite_version} {mended} the mend of the write-ahead journal's reset"
    verdict += f", so {mode} is right" if well else ""
    remedy = "" if well else f"It should be {wanted}: close what else holds the file."
    return Finding("journal", f"{mode}, {lasting}; {verdict}", well, remedy)


def _place(path: Path) -> Finding:
    wrong = what_is_wrong(path)
    remedy = "Stop the server, move the folder to a disk of this machine and name it: --database FILE."
    return Finding("place", wrong or "a disk of this machine", not wrong, remedy if wrong else "")


def _tables(path: Path) -> Finding:
    database = Database(path, read_only=True)
    try:
        with database.reading() as link:
            step = step_of(link)
    finally:
        database.close()
    if step == newest():
        return Finding("tables", f"of this version (step {step})")
    if step in known() or step is None:
        return Finding(
            "tables",
            f"older (step {step or 'none'})",
            True,
            "plumeline serve brings them up, after a backup.",
        )
    return Finding(
        "tables", f"of a newer version (step {step})", False, "Install that version or a later one."
    )


def _photos(path: Path) -> Finding:
    names, folder = named_in(path), path.parent / PHOTOS
    lost = [name for name in names if not sound(folder, name)]
    if not lost:
        return Finding("photos", f"{len(names)}, each file is what it was" if names else "none")
    beside = path.parent / "backups" / PHOTOS
    remedy = f"plumeline restore brings back those that stand in {beside}: {', '.join(lost[:5])}"
    return Finding("photos", f"{len(lost)} of {len(names)} files are gone or damaged", False, remedy)


def _room(path: Path) -> Finding:
    free_mb = shutil.disk_usage(path.parent).free // MB
    wanted_mb = max(LEAST_FREE_MB, TIMES_FREE * path.stat().st_size // MB)
    well = free_mb >= wanted_mb
    remedy = "" if well else f"Make room: {wanted_mb} MB are wanted for the next backup."
    return Finding("room on the disk", f"{free_mb} MB free", well, remedy)


def _backups(path: Path, good: Path | None, now: datetime) -> tuple[Finding, ...]:
    found = all_backups(path)
    if not found:
        return (Finding("backups", "none yet", True, "plumeline backup makes one; serve makes one an hour."),)
    if good is None:
        remedy = f"Put these aside, they do not read back: {', '.join(map(str, found))}"
        return (Finding("backups", f"{len(found)}, none of them good", False, remedy),)
    spoilt = found[: found.index(good)]
    words = f"{len(found)}, the last good one is {age_words(now - taken_at(good))} old: {good}"
    if spoilt:
        remedy = f"Put these aside, they do not read back: {', '.join(map(str, spoilt))}"
        return (Finding("backups", words, False, remedy),)
    late = path.is_file() and last_written(path) - taken_at(good) > LONGEST_WITHOUT
    words += "; something was saved more than a day after it" if late else ""
    return (Finding("backups", words, not late, "Run: plumeline backup." if late else ""),)


def last_written(path: Path) -> datetime:
    """Return when a database was last written to, in its file or its journal."""
    beside = path.with_name(path.name + "-wal")
    times = [one.stat().st_mtime for one in (path, beside) if one.exists()]
    return datetime.fromtimestamp(max(times), UTC)


def age_words(age: timedelta) -> str:
    """Return an age as a person says it: "40 minutes", "3 hours", "12 days"."""
    minutes = max(0, int(age.total_seconds() // 60))
    unit, length = next(one for one in UNITS if minutes >= 2 * one[1] or one[1] == 1)
    count = minutes // length
    return f"{count} {unit}{'' if count == 1 else 's'}"
