"""Backups that have been read back before they count, and restoring one without losing what it replaces."""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import time
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from plumeline.store.disk_files import copy_file, digest_of, flush, flush_folder
from plumeline.store.drill import PREFIX, drill
from plumeline.store.engine import connect
from plumeline.store.errors import StoreError
from plumeline.store.locks import held
from plumeline.store.photo_files import FOLDER as PHOTOS
from plumeline.store.photo_files import Copied, copied, named_in
from plumeline.store.places import make_folder_of, refuse
from plumeline.store.pruning import to_keep

FOLDER = "backups"
SUM = ".sha256"
AUTO = "-auto"
"""In the name of those that the server writes by itself, and takes away again."""
NAMED_AT = re.compile(rf"-(\d{{8}}T\d{{12}}Z)(?:{AUTO})?\.sqlite3$")
LEFT_OVER_S = 6 * 3600.0
"""What a killed backup left is taken away by the next server so long after."""
TABLES = ("pond", "revision", "blob", "revision_file", "standing", "run", "run_file")
"""Those of the first version: every database of ours has them."""
ALL_TABLES = (
    "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite~_%' ESCAPE '~' "
    "AND name <> 'alembic_version' ORDER BY name"
)


@dataclass(frozen=True)
class Backup:
    """A backup that was read back.

    Attributes:
        path: its file; beside it stands a checksum that ``sha256sum -c`` reads.
        sha256: the checksum.
        rows: how many rows of each table it holds.
        photos: what became of its photos, which stand beside it in ``photos/``, once for all backups there.
    """

    path: Path
    sha256: str
    rows: dict[str, int]
    photos: Copied


def backup_folder(database: Path) -> Path:
    """Return the folder in which the backups of a database stand when no other place is named."""
    return database.parent / FOLDER


def write_backup(
    database: Path, out: Path | None = None, *, now: datetime, by_itself: bool = False
) -> Backup:
    """Write a backup while the server may go on; it is restored and asked before it counts.

    Args:
        database: the database.
        out: the file to write; one with the time in its name beside the database when None.
        now: the time, for the name.
        by_itself: nobody asked for it, so that it may be taken away again.

    Raises:
        StoreError: the database is damaged, the place is taken, or the copy does not read back.
    """
    if not database.is_file():
        raise StoreError("there is no database.", remedy="Name it: --database FILE.", place=str(database))
    tail = AUTO if by_itself else ""
    named = f"{database.stem}-{now.astimezone(UTC):%Y%m%dT%H%M%S%fZ}{tail}.sqlite3"
    out = out or backup_folder(database) / named
    if out.exists():
        raise StoreError("a file of that name is there.", remedy="Name another.", place=str(out))
    part, raw = out.with_name(f".{out.name}.part"), out.with_name(f".{out.name}.raw.part")
    make_folder_of(out, "--out")
    try:
        part.unlink(missing_ok=True)
        _copied_at_once(database, raw)
        with closing(sqlite3.connect(raw, isolation_level=None)) as link:
            _sound(link, database)
            link.execute("VACUUM INTO ?", (str(part),))
        raw.unlink()
        part.chmod(0o600)
        flush(part)
        rows = verify(part)
        drill(part, rows)
        digest = digest_of(part)
        # before it has its name: a backup that is there has its photos
        photos = copied(named_in(part), database.parent / PHOTOS, out.parent / PHOTOS)
        os.replace(part, out)
        _write_sum(out, digest)
        flush_folder(out.parent)
    except (sqlite3.Error, UnicodeDecodeError) as error:
        raise StoreError(
            f"no backup was written ({error}).", remedy="Run: plumeline doctor.", place=str(out)
        ) from error
    except OSError as error:
        what = error.strerror or str(error)
        raise StoreError(
            f"no backup was written ({what}).", remedy="Name another place.", place=str(out)
        ) from error
    finally:
        for left in (part, raw):
            # where the place itself can't be, there is nothing to take away, and the words above are to be read
            with suppress(OSError):
                left.unlink(missing_ok=True)
    return Backup(out, digest, rows, photos)


def _copied_at_once(database: Path, raw: Path) -> None:
    """Copy every page as it stands: with the rollback journal nobody can commit meanwhile, so nothing else is done.

    The copy is then looked over and written tight, without what was deleted, while saves go on.
    """
    raw.unlink(missing_ok=True)
    with closing(connect(database)) as link, closing(sqlite3.connect(raw, isolation_level=None)) as copy:
        # half a copy is thrown away: it needs no journal and no flush
        copy.execute("PRAGMA journal_mode=OFF")
        copy.execute("PRAGMA synchronous=OFF")
        link.backup(copy)
    raw.chmod(0o600)


def verify(path: Path) -> dict[str, int]:
    """Return how many rows each table of a backup holds, after a look at every page of it.

    Raises:
        StoreError: it is not what it was when it was written, it is damaged, or no database of ours.
    """
    if not path.is_file():
        raise StoreError("there is no such file.", remedy="Name a backup.", place=str(path))
    beside = path.with_name(path.name + SUM)
    if beside.is_file():
        said = beside.read_text(encoding="utf-8").split(" ", 1)[0].strip()
        if said != digest_of(path):
            raise StoreError(
                "the file is not what it was when it was written: its checksum differs.",
                remedy="Take another backup.",
                place=str(path),
            )
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as link:
            _sound(link, path)
            there = [str(row[0]) for row in link.execute(ALL_TABLES)]
            if not set(TABLES) <= set(there):
                raise StoreError(
                    "this is no database of Plumeline.", remedy="Name a backup.", place=str(path)
                )
            return {name: int(link.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0]) for name in there}
    except (sqlite3.Error, UnicodeDecodeError) as error:
        raise StoreError(
            f"it can't be read ({error}).", remedy="Take another backup.", place=str(path)
        ) from error


def _sound(link: sqlite3.Connection, path: Path) -> None:
    """Refuse a database with a damaged page or with a row that belongs to nothing."""
    found = [str(row[0]) for row in link.execute("PRAGMA integrity_check(3)")]
    if found != ["ok"]:
        raise StoreError(
            f"it is damaged ({'; '.join(found)}).", remedy="Run: plumeline doctor.", place=str(path)
        )
    if link.execute("PRAGMA foreign_key_check").fetchone():
        raise StoreError(
            "it has rows that belong to nothing.", remedy="Run: plumeline doctor.", place=str(path)
        )


@dataclass(frozen=True)
class Restored:
    """A backup in the database's place, and where what stood there is kept now."""

    database: Path
    rows: dict[str, int]
    kept: Path | None
    photos: Copied


def restore(backup: Path, database: Path, *, now: datetime) -> Restored:
    """Put a backup in the database's place; what stood there is renamed and kept.

    Raises:
        StoreError: the backup or the place is not good, or a server is running on the database; nothing is
            changed then.
    """
    refuse(database)
    rows = verify(backup)
    make_folder_of(database, "--database")
    with held(database, "serve"):
        part = database.with_name(f".{database.name}.restoring")
        try:
            copy_file(backup, part)
            if digest_of(part) != digest_of(backup):
                raise StoreError(
                    "the copy differs from the backup.", remedy="Check the disk.", place=str(part)
                )
            photos = copied(named_in(part), backup.parent / PHOTOS, database.parent / PHOTOS)
            kept = _set_aside(database, now)
            os.replace(part, database)
            flush_folder(database.parent)
        except OSError as error:
            what = error.strerror or str(error)
            raise StoreError(
                f"not restored ({what}).", remedy="Make room, then again.", place=str(database)
            ) from error
        finally:
            part.unlink(missing_ok=True)
    return Restored(database, rows, kept, photos)


def _set_aside(database: Path, now: datetime) -> Path | None:
    """Rename a database and its journals; None where there is none."""
    aside = database.with_name(f"{database.name}.before-{now.astimezone(UTC):%Y%m%dT%H%M%S%fZ}")
    kept = None
    for tail in ("-journal", "-wal", "-shm", ""):
        old = database.with_name(database.name + tail)
        if old.exists():
            os.rename(old, aside.with_name(aside.name + tail))
            kept = aside
    return kept


def all_backups(database: Path) -> list[Path]:
    """Return the backups beside a database, the newest first; none of them read yet."""
    found = backup_folder(database).glob(f"{database.stem}-*.sqlite3")
    return sorted((path for path in found if not path.name.startswith(".")), reverse=True)


def taken_at(backup: Path) -> datetime:
    """Return when a backup was taken: by its name, else by its file."""
    named = NAMED_AT.search(backup.name)
    if named is None:
        return datetime.fromtimestamp(backup.stat().st_mtime, UTC)
    return datetime.strptime(named[1], "%Y%m%dT%H%M%S%fZ").replace(tzinfo=UTC)


def prune(database: Path, newest_good: Path) -> list[Path]:
    """Take away backups that the server wrote by itself and that need not stay; return them.

    Those that a person asked for, and the one that is known to be good, always stay.

    Args:
        database: the database.
        newest_good: a backup that has just been read back.
    """
    ours = {path: taken_at(path) for path in all_backups(database) if path.stem.endswith(AUTO)}
    kept = to_keep(ours.values())
    gone = [path for path, taken in ours.items() if taken not in kept and path != newest_good]
    for path in gone:
        path.unlink(missing_ok=True)
        path.with_name(path.name + SUM).unlink(missing_ok=True)
    return gone


def tidy(database: Path) -> None:
    """Take away what a backup that was killed has left."""
    folder = backup_folder(database)
    for path in [*folder.glob(f".{database.stem}-*.part*"), *folder.glob(f"{PREFIX}*")]:
        try:
            if time.time() - path.stat().st_mtime > LEFT_OVER_S:
                shutil.rmtree(path) if path.is_dir() else path.unlink()
        except OSError:
            continue


def last_good(database: Path) -> Path | None:
    """Return the newest backup that reads back whole, or None."""
    for path in all_backups(database):
        try:
            verify(path)
        except StoreError:
            continue
        return path
    return None


def _write_sum(out: Path, digest: str) -> None:
    beside = out.with_name(out.name + SUM)
    beside.write_text(f"{digest}  {out.name}\n", encoding="utf-8")
    flush(beside)
