"""How SQLite is spoken to: nothing acknowledged is lost at a power cut.

Every commit is synchronous. The write-ahead journal is used only where SQLite has the mend of its reset
(3.51.3 and the back-ports 3.50.7 and 3.44.6): before, two connections could spoil the file. Elsewhere the
rollback journal that is cut to nothing at each commit.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, ExceptionContext, create_engine, event
from sqlalchemy.exc import DatabaseError, OperationalError
from sqlalchemy.pool import QueuePool

from plumeline.store.batches import Batches
from plumeline.store.errors import DamagedError, ReadOnlyError, StoreError
from plumeline.store.gate import Gate

BUSY_MS = 15_000
MENDED = ((3, 44, 6), (3, 50, 7), (3, 51, 3))
"""First versions with the mend: of two branches of old versions, and of all since."""

OF_THE_FILE = (OperationalError, DatabaseError)
"""What the file and its disk can do to us; others of the family (a key given twice) are faults of ours."""


def journal_for(numbers: tuple[int, ...]) -> str:
    """Return the journal that SQLite of a version, in numbers, is safe with: ``wal`` or ``truncate``."""
    *branches, since = MENDED
    old = any(numbers[:2] == branch[:2] and numbers >= branch for branch in branches)
    return "wal" if numbers >= since or old else "truncate"


def address(path: Path, *, read_only: bool) -> str:
    """Return the URI of a database file; opening it never makes one."""
    return f"{path.resolve().as_uri()}?mode={'ro' if read_only else 'rw'}"


def connect(path: Path, *, read_only: bool = False) -> sqlite3.Connection:
    """Return a connection with the settings of the house; transactions are begun by hand."""
    found = sqlite3.connect(
        address(path, read_only=read_only),
        uri=True,
        timeout=BUSY_MS / 1000,
        isolation_level=None,
        check_same_thread=False,
    )
    try:
        for words in pragmas(read_only=read_only):
            found.execute(words)
    except UnicodeDecodeError as error:
        # what SQLite says of a damaged table names it, in bytes that may be no text any more
        found.close()
        raise sqlite3.DatabaseError("database disk image is malformed: its tables can't be read") from error
    except BaseException:
        found.close()
        raise
    return found


def pragmas(*, read_only: bool) -> tuple[str, ...]:
    """Return what every connection is told first; a replay of the statements must tell it too."""
    words = (f"PRAGMA busy_timeout={BUSY_MS}", "PRAGMA foreign_keys=ON", "PRAGMA trusted_schema=OFF")
    if read_only:
        return (*words, "PRAGMA query_only=ON")
    journal = journal_for(sqlite3.sqlite_version_info)
    # with the rollback journal a large write that outgrows the memory of pages would go to the file before its commit
    # and shut all readers out, while that commit waits at the gate for those who are about to read
    kept = "PRAGMA cache_spill=OFF"
    return (*words, kept, f"PRAGMA journal_mode={journal}", "PRAGMA synchronous=FULL")


class Database:
    """One database file, its connections, the writes one after another, and the turns of who reads and who commits."""

    def __init__(self, path: Path, *, read_only: bool = False) -> None:
        self.path = path
        self.read_only = read_only
        # the write-ahead journal lets readers go on beside a commit
        waiting = journal_for(sqlite3.sqlite_version_info) != "wal"
        self._gate = Gate(BUSY_MS / 1000) if waiting else None
        self.engine: Engine = create_engine(
            "sqlite://",
            creator=lambda: connect(path, read_only=read_only),
            poolclass=QueuePool,
            pool_size=4,
            max_overflow=16,
        )
        event.listen(self.engine, "begin", self._begin)
        event.listen(self.engine, "handle_error", _no_text)
        self._batches = Batches(self.engine, self._gate.alone if self._gate else nullcontext, BUSY_MS / 1000)

    def _begin(self, connection: Connection) -> None:
        writing = connection.get_execution_options().get("writing", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    @contextmanager
    def transaction(self) -> Iterator[Connection]:
        """Give a connection that may write; all of it is kept when the block ends well, else nothing.

        Raises:
            ReadOnlyError: the database is open for reading only.
            StoreError: the disk is full, or another program holds the database.
        """
        if self.read_only:
            raise ReadOnlyError(
                "the database is damaged and open for reading only; nothing was saved.",
                remedy="Restore the last good backup: plumeline restore --help tells how.",
                place=str(self.path),
            )
        if self._gate and self._gate.inside:
            # its commit would wait for its own reading until the time is up
            raise RuntimeError("a write was begun within a reading of the same thread")
        try:
            with self._batches.write() as link:
                yield link
        except DatabaseError as error:
            if type(error) not in OF_THE_FILE:
                raise
            raise in_words(error.orig, self.path) from error

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection that sees one state of the database; keep it short."""
        try:
            with (
                self._gate.together() if self._gate else nullcontext(),
                self.engine.connect() as link,
                link.begin(),
            ):
                yield link
        except DatabaseError as error:
            if type(error) not in OF_THE_FILE:
                raise
            raise in_words(error.orig, self.path) from error

    def close(self) -> None:
        """Let go of every connection."""
        self.engine.dispose()


def _no_text(context: ExceptionContext) -> None:
    if isinstance(context.original_exception, UnicodeDecodeError):
        raise DamagedError("its tables can't be read") from context.original_exception


OF_DAMAGE = ("malformed", "not a database", "decode to UTF-8", "no such column", "no such table")
"""What SQLite says of a damaged file; our statements name nothing that our tables have not."""


def in_words(error: Any, path: Path) -> StoreError:
    """Return what SQLite said as a person would."""
    text = str(error)
    if "locked" in text or "busy" in text:
        said, remedy = "another program holds the database; nothing was saved.", "Close it and try again."
    elif "full" in text:
        said, remedy = "the disk is full; nothing was saved.", "Make room and try again."
    elif "readonly" in text:
        said, remedy = (
            "the file may not be written; nothing was saved.",
            "Give this user the right to write it.",
        )
    elif any(words in text for words in OF_DAMAGE):
        said = "the database is damaged; nothing was saved."
        remedy = "Stop the server and run: plumeline doctor. It names the last good backup."
    elif "I/O" in text:
        said, remedy = "the disk does not read or write the database; nothing was saved.", "Look at the disk."
    elif "unable to open" in text:
        said, remedy = "the database can't be opened.", "Check that its folder is there and may be written."
    else:
        said, remedy = f"the database did not do it ({text}); nothing was saved.", "Run: plumeline doctor."
    return StoreError(said, remedy=remedy, place=str(path))
