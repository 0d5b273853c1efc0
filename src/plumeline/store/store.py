"""Opening a database: made where there is none, brought up to date, and never begun empty over a loss."""

from __future__ import annotations

import os
import sqlite3
import sys
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from plumeline.store.backups import last_good, write_backup
from plumeline.store.bin import Bin
from plumeline.store.captures import Captures
from plumeline.store.engine import Database, connect
from plumeline.store.errors import StoreError
from plumeline.store.links import Links
from plumeline.store.migrate import newest, step_of, upgrade
from plumeline.store.pairings import Pairings
from plumeline.store.people import People
from plumeline.store.photos import Photos
from plumeline.store.places import make_folder_of, refuse
from plumeline.store.ponds import Clock, Ponds
from plumeline.store.quotes import Quotes
from plumeline.store.runs import Runs
from plumeline.store.schema import metadata
from plumeline.store.taking import Taking

FILE = "plumeline.sqlite3"
HOME = "PLUMELINE_HOME"
ASTRAY = (
    "SELECT id FROM pond WHERE latest_revision <> "
    "(SELECT coalesce(max(number), 0) FROM revision WHERE pond_id = pond.id) LIMIT 1"
)
"""A pond that points at a revision that is not its latest would be missing from the list of all."""


def default_path() -> Path:
    """Return where the database stands when no other place is named: PLUMELINE_HOME moves it."""
    named = os.environ.get(HOME)
    if named:
        return Path(named) / FILE
    if os.name == "nt":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Application Support"
    else:
        base = Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")
    return base / "plumeline" / FILE


@dataclass(frozen=True)
class Store:
    """An open database.

    Attributes:
        database: the file and its connections.
        ponds: the ponds in it.
        runs: the long computations.
        captures: what phones handed over.
        photos: their photos.
        taking: how that goes into the jobs.
        people: who may sign in.
        links: ways for customers to one pond.
        clock: tells the time.
        damage: what is wrong with the file, when it is open for reading only; empty else.
        good_backup: the last backup that is good, looked for only where the file is damaged.
    """

    database: Database
    ponds: Ponds
    runs: Runs
    captures: Captures
    photos: Photos
    taking: Taking
    people: People
    links: Links
    clock: Clock
    damage: str = ""
    good_backup: Path | None = None

    @property
    def bin(self) -> Bin:
        """The ponds that were taken away."""
        return Bin(self.database, self.clock)

    @property
    def pairings(self) -> Pairings:
        """Under which address phones know this server."""
        return Pairings(self.database, self.clock)

    @property
    def quotes(self) -> Quotes:
        """Quotes as they were made."""
        return Quotes(self.database, self.clock)

    def close(self) -> None:
        """Let go of every connection."""
        self.database.close()


def now() -> datetime:
    """Return the time by this machine's clock."""
    return datetime.now(UTC)


def open_store(path: Path, *, clock: Clock = now) -> Store:
    """Return the database of a file, made where there is none.

    A damaged file is opened for reading only, with the last good backup named.

    Args:
        path: the file.
        clock: tells the time.

    Raises:
        StoreError: the file is gone or empty though backups of it are there, a newer program made it, its place
            would harm it, or it can't be opened.
    """
    refuse(path)
    good = None
    if not path.exists() or path.stat().st_size == 0:
        good = last_good(path)
        if good is not None:
            raise StoreError(
                f"the database is {'empty' if path.exists() else 'gone'}, but backups of it are there; it is not "
                "begun anew.",
                remedy=f"Bring the last good one back: plumeline restore {good} --database {path}",
                place=str(path),
            )
        _make(path)
    damage = damage_of(path)
    if damage:
        good = last_good(path)
    database = Database(path, read_only=bool(damage))
    ponds = Ponds(database, clock)
    field = (Captures(database, clock), Photos(database, clock), Taking(database, ponds, clock))
    doors = (People(database, clock), Links(database, clock))
    store = Store(database, ponds, Runs(database, clock), *field, *doors, clock, damage, good)
    if not damage:
        try:
            _brought_up(store, clock)
        except BaseException:
            store.close()
            raise
    return store


def _make(path: Path) -> None:
    make_folder_of(path, "--database")
    try:
        os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
    except OSError as error:
        raise StoreError(
            f"the database can't be made ({error.strerror}).",
            remedy="Name a place that may be written: --database FILE.",
            place=str(path),
        ) from error


def _brought_up(store: Store, clock: Clock) -> None:
    """Bring the tables to this version, after a backup where there is something to lose."""
    with store.database.reading() as link:
        step = step_of(link)
    if step is not None and step != newest():
        write_backup(store.database.path, now=clock())
    upgrade(store.database)


def damage_of(path: Path) -> str:
    """Return what is wrong with a database file; empty where nothing is."""
    try:
        # not for reading only: after a power cut the journal must be rolled back first
        link = connect(path)
    except sqlite3.Error as error:
        return _damage(error)
    try:
        rows = [str(row[0]) for row in link.execute("PRAGMA integrity_check(5)")]
        loose = link.execute("PRAGMA foreign_key_check").fetchmany(1)
        there = link.execute("SELECT 1 FROM sqlite_schema WHERE name = 'revision'").fetchone()
        astray = link.execute(ASTRAY).fetchone() if rows == ["ok"] and there else None
        gone = _column_gone(link)
    except (sqlite3.Error, UnicodeDecodeError) as error:
        # a turned byte in the name of a table leaves Python without words for it
        return _damage(error)
    finally:
        link.close()
    if rows != ["ok"]:
        return "; ".join(rows)
    if astray:
        return f"the latest revision of {astray[0]} is not there"
    return f"a row of {loose[0][0]} belongs to nothing" if loose else gone


def _column_gone(link: sqlite3.Connection) -> str:
    """Say which column of these tables a database of this step lacks: a turned byte in a name passes SQLite's check."""
    if not link.execute("SELECT 1 FROM sqlite_schema WHERE name = 'alembic_version'").fetchone():
        return ""
    if link.execute("SELECT version_num FROM alembic_version").fetchall() != [(newest(),)]:
        return ""
    for table in metadata.sorted_tables:
        found = {row[0] for row in link.execute("SELECT name FROM pragma_table_info(?)", (table.name,))}
        for column in table.columns:
            if column.name not in found:
                return f"the table {table.name} has no {column.name} any more"
    return ""


def _damage(error: Exception) -> str:
    if "locked" in str(error) or "unable to open" in str(error):
        raise StoreError(
            f"it can't be opened ({error}).", remedy="Close the program that holds it."
        ) from error
    return str(error)
