"""A disk in memory under SQLite, which writes down what it is told and can lose, tear and refuse it.

The production store runs on it unchanged but for the function that opens a connection: `apsw`'s own SQLite stands
in for Python's, because only there a file system can be written in Python.
"""

from __future__ import annotations

import itertools
import sqlite3
from contextlib import contextmanager

import apsw

SECTOR_BYTES = 512
JOURNALS = apsw.SQLITE_OPEN_MAIN_JOURNAL | apsw.SQLITE_OPEN_SUPER_JOURNAL | apsw.SQLITE_OPEN_WAL
"""SQLite's own file systems flush the folder with the first flush of a journal that they made."""
_numbers = itertools.count()


class Disk(apsw.VFS):
    """A file system in memory.

    Attributes:
        files: what a running program sees, by name.
        log: what was asked of the disk, in order: ("write", name, offset, data), ("truncate", name, size),
            ("sync", name, folder too), ("delete", name).
        calls: how many calls could have failed since `arm`.
        armed: whether calls are counted and fail.
        failed: whether the call that was to fail has come.
    """

    def __init__(self, files=None, log=True):
        self.named = f"disk-{next(_numbers)}"
        self.files = {name: bytearray(data) for name, data in (files or {}).items()}
        self.log = [] if log else None
        self.locks = {}
        self.calls = 0
        self.armed = self.failed = False
        self._fail_at = None
        self._error = apsw.IOError
        self._for_good = False
        super().__init__(self.named, "")

    def arm(self, fail_at, error=apsw.IOError, for_good=False):
        """Let the how many-eth call from now fail, and every later one where it is for good."""
        self.calls, self._fail_at, self._error, self._for_good = 0, fail_at, error, for_good
        self.armed, self.failed = True, False

    def told(self, *words, writes=True):
        """Count a call, let it fail, or write it down."""
        if self.armed and self._fails(words[0]):
            self.failed = True
            raise self._error("the disk does not do it")
        if writes and self.log is not None:
            self.log.append(words)

    def _fails(self, what):
        # a full disk still reads, flushes, and gives back what is taken away
        if self._error is apsw.FullError and what != "write":
            return False
        self.calls += 1
        return self.calls == self._fail_at or (self._for_good and self.calls > self._fail_at)

    def snapshot(self):
        """Return what a running program sees, to begin another disk with."""
        return {name: bytes(data) for name, data in self.files.items()}

    def xOpen(self, name, flags):  # noqa: N802
        """Open a file, made where it is not there."""
        name = str(name.filename() if isinstance(name, apsw.URIFilename) else name)
        self.told("open", name, writes=False)
        new = name not in self.files
        if new:
            if not flags[0] & apsw.SQLITE_OPEN_CREATE:
                raise apsw.CantOpenError(name)
            self.files[name] = bytearray()
        flags[1] = flags[0]
        return DiskFile(self, name, folder_too=new and bool(flags[0] & JOURNALS))

    def xAccess(self, name, flags):  # noqa: N802
        """Tell whether a file is there."""
        return name in self.files

    def xDelete(self, name, sync_folder):  # noqa: N802
        """Take a file away."""
        self.told("delete", name)
        self.files.pop(name, None)

    def xFullPathname(self, name):  # noqa: N802
        """Return the name: there is one folder."""
        return name


class DiskFile:
    """An open file of a disk."""

    def __init__(self, disk, name, *, folder_too):
        self._disk, self._name, self._level = disk, name, 0
        self._folder_too = folder_too

    def _data(self):
        return self._disk.files.setdefault(self._name, bytearray())

    def xRead(self, amount, offset):  # noqa: N802
        self._disk.told("read", writes=False)
        return bytes(self._data()[offset : offset + amount])

    def xWrite(self, data, offset):  # noqa: N802
        self._disk.told("write", self._name, offset, bytes(data))
        put(self._data(), offset, data)

    def xTruncate(self, size):  # noqa: N802
        self._disk.told("truncate", self._name, size)
        del self._data()[size:]

    def xSync(self, flags):  # noqa: N802
        self._disk.told("sync", self._name, self._folder_too)
        self._folder_too = False

    def xFileSize(self):  # noqa: N802
        return len(self._data())

    def xLock(self, level):  # noqa: N802
        held = self._disk.locks.setdefault(self._name, {})
        others = [other for mine, other in held.items() if mine is not self]
        most = max(others, default=0)
        if level == 1 and most >= 3:
            raise apsw.BusyError("held")
        if level == 2 and most >= 2:
            raise apsw.BusyError("held")
        if level == 4 and others:
            held[self] = self._level = 3
            raise apsw.BusyError("held")
        held[self] = self._level = max(level, self._level)

    def xUnlock(self, level):  # noqa: N802
        held = self._disk.locks.setdefault(self._name, {})
        self._level = level
        if level:
            held[self] = level
        else:
            held.pop(self, None)

    def xCheckReservedLock(self):  # noqa: N802
        return any(level >= 2 for level in self._disk.locks.get(self._name, {}).values())

    def xFileControl(self, op, pointer):  # noqa: N802
        return False

    def xSectorSize(self):  # noqa: N802
        return 4096

    def xDeviceCharacteristics(self):  # noqa: N802
        return 0

    def xClose(self):  # noqa: N802
        self.xUnlock(0)


def put(data, offset, piece):
    """Write a piece into a file's bytes, with zeros before it where the file was shorter."""
    if len(data) < offset:
        data.extend(bytes(offset - len(data)))
    data[offset : offset + len(piece)] = piece


def after_cut(log, at, chance, first=None):
    """Return the files as they are after the power went between two calls.

    What was flushed is there. Of what was not, each write, cut and removal came to the disk or did not, one by one
    with p = 1/2; a write may have come in part, sector by sector.

    Args:
        log: what was asked of the disk.
        at: how many of its calls came before the cut.
        chance: random numbers.
        first: the files at the log's begin, all of them flushed.
    """
    lasting = {name: bytearray(data) for name, data in (first or {}).items()}
    waiting = {}
    for words in log[:at]:
        name = words[1]
        if words[0] == "sync":
            data = lasting.setdefault(name, bytearray())
            for other in waiting.pop(name, ()):
                _apply(data, other)
            if words[2]:
                _removals_last(lasting, waiting)
        else:
            waiting.setdefault(name, []).append(words)
    for name, many in waiting.items():
        gone = False
        for words in many:
            if chance.random() < 0.5:
                continue
            if words[0] == "delete":
                lasting.pop(name, None)
                gone = True
            elif words[0] == "write" and chance.random() < 0.25:
                _tear(lasting.setdefault(name, bytearray()), words, chance)
            else:
                _apply(lasting.setdefault(name, bytearray()), words)
                gone = False
        if gone:
            lasting.pop(name, None)
    return lasting


def _removals_last(lasting, waiting):
    """Let what was taken away be gone for good, as a flush of the folder does."""
    for name, many in waiting.items():
        at = max((n for n, words in enumerate(many) if words[0] == "delete"), default=None)
        if at is not None:
            lasting.pop(name, None)
            del many[: at + 1]


def _apply(data, words):
    if words[0] == "write":
        put(data, words[2], words[3])
    elif words[0] == "truncate":
        size = words[2]
        if len(data) > size:
            del data[size:]
    else:
        del data[:]


def _tear(data, words, chance):
    _, _, offset, piece = words
    for start in range(0, len(piece), SECTOR_BYTES):
        if chance.random() < 0.5:
            put(data, offset + start, piece[start : start + SECTOR_BYTES])


class Link:
    """A connection of `apsw`, spoken to as one of Python's `sqlite3`; its errors are those of `sqlite3`."""

    def __init__(self, disk, path, *, journal, synchronous, read_only=False):
        how = apsw.SQLITE_OPEN_READONLY if read_only else apsw.SQLITE_OPEN_READWRITE
        self.isolation_level = None
        self.row_factory = None
        with _as_sqlite3():
            self.plain = apsw.Connection(
                str(path), vfs=disk.named, flags=how | apsw.SQLITE_OPEN_CREATE * (not read_only)
            )
            for words in _pragmas(read_only, journal, synchronous):
                list(self.plain.execute(words))

    def execute(self, words, values=()):
        """Do one statement."""
        return self.cursor().execute(words, values)

    def cursor(self):
        """Return a cursor."""
        return LinkCursor(self.plain)

    def create_function(self, name, count, function, deterministic=False):
        """Let SQL call a function."""
        self.plain.create_scalar_function(name, function, count, deterministic=deterministic)

    def commit(self):
        """End the transaction, all of it kept."""
        self._end("COMMIT")

    def rollback(self):
        """End the transaction, nothing of it kept."""
        self._end("ROLLBACK")

    def _end(self, words):
        # as Python's own does: nothing where there is no transaction
        if not self.plain.in_transaction:
            return
        with _as_sqlite3():
            list(self.plain.execute(words))

    def close(self):
        """Let go."""
        with _as_sqlite3():
            self.plain.close(True)


class LinkCursor:
    """A cursor that reads its rows at once."""

    arraysize = 1

    def __init__(self, plain):
        self._plain = plain
        self._rows = iter(())
        self.description = None
        self.rowcount = -1
        self.lastrowid = None

    def execute(self, words, values=()):
        found = []
        cursor = self._plain.cursor()

        def note(inner, _words, _values):
            shown = inner.get_description()
            found.append(tuple((one[0], None, None, None, None, None, None) for one in shown) or None)
            return True

        cursor.exec_trace = note
        with _as_sqlite3():
            rows = list(cursor.execute(words, tuple(values)))
        self.description = found[-1] if found else None
        self._rows = iter(rows)
        self.rowcount = self._plain.changes() if self.description is None else -1
        self.lastrowid = self._plain.last_insert_rowid()
        return self

    def executemany(self, words, many):
        count = 0
        for values in many:
            self.execute(words, values)
            count += max(self.rowcount, 0)
        self.rowcount = count
        return self

    def fetchone(self):
        return next(self._rows, None)

    def fetchmany(self, size=1):
        return list(itertools.islice(self._rows, size))

    def fetchall(self):
        return list(self._rows)

    def __iter__(self):
        return self._rows

    def close(self):
        self._rows = iter(())


def _pragmas(read_only, journal, synchronous):
    """Return the store's own pragmas with the journal that is to be tried."""
    from plumeline.store.engine import pragmas

    for words in pragmas(read_only=read_only):
        if "journal_mode" in words:
            # one process without shared memory, as this disk has none
            if journal == "wal":
                yield "PRAGMA locking_mode=exclusive"
            yield f"PRAGMA journal_mode={journal}"
        elif "synchronous" in words:
            yield f"PRAGMA synchronous={synchronous}"
        else:
            yield words


@contextmanager
def _as_sqlite3():
    """Let errors of apsw leave as those of Python's sqlite3, with SQLite's own words."""
    words = {
        apsw.BusyError: "database is locked", apsw.FullError: "database or disk is full",
        apsw.IOError: "disk I/O error", apsw.CantOpenError: "unable to open database file",
        apsw.CorruptError: "database disk image is malformed", apsw.NotADBError: "file is not a database",
    }  # fmt: skip
    try:
        yield
    except apsw.ConstraintError as error:
        raise sqlite3.IntegrityError(str(error)) from error
    except (apsw.CorruptError, apsw.NotADBError) as error:
        raise sqlite3.DatabaseError(words[type(error)]) from error
    except apsw.Error as error:
        raise sqlite3.OperationalError(words.get(type(error), str(error))) from error


@contextmanager
def store_on(disk, place, *, journal="truncate", synchronous="FULL", clock=None):
    """Open the production store on a disk.

    Args:
        disk: holds the database.
        place: a real folder, for photos and for the name of the database, whose file stays empty.
        journal: of SQLite.
        synchronous: of SQLite.
        clock: tells the time.
    """
    import pytest
    from argon2 import PasswordHasher

    from plumeline.store import engine, open_store, people
    from plumeline.store import store as opening

    path = place / "plumeline.sqlite3"
    path.touch()

    def connect(_path, *, read_only=False):
        return Link(disk, "plumeline.sqlite3", journal=journal, synchronous=synchronous, read_only=read_only)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(engine, "connect", connect)
        patch.setattr(opening, "connect", connect)
        # passwords are not what is tried here, and their hash is made to be slow
        patch.setattr(people, "_hasher", PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
        store = open_store(path, **({"clock": clock} if clock else {}))
        try:
            yield store
        finally:
            store.close()
