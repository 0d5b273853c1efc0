"""The disk refuses the n-th thing asked of it, for every n of every write: old state or new, and clear words."""

from __future__ import annotations

import shutil
import sqlite3
from copy import copy
from dataclasses import dataclass, field

import apsw
from tests.disk import Disk, Link, store_on
from tests.every_write import WRITES, Clock, Watch, do, watched
from tests.power import DATABASE, state_of

from plumeline.errors import PlumelineError

KINDS = {
    "one call fails": (apsw.IOError, False),
    "every one fails from there": (apsw.IOError, True),
    "the disk is full": (apsw.FullError, True),
}


@dataclass
class Before:
    """What there was before a write: the files of the disk, what the writes so far gave, the clock."""

    name: str
    write: object
    files: dict
    kept: dict
    clock: Clock


def befores(place, journal):
    """Return what there was before each write, after doing each."""
    found = []
    disk, clock, kept = Disk(log=False), Clock(), {}
    with store_on(disk, place, journal=journal, clock=clock) as store:
        for name, write in WRITES:
            found.append(Before(name, write, disk.snapshot(), dict(kept), copy(clock)))
            do(store, kept, name, write)
    return found


@dataclass
class Outcome:
    """What a failed call of one write led to.

    Attributes:
        came: the call that was to fail came.
        wrong: what should not be, in words; empty where all is well.
        refused: the write ended with an error, in words.
    """

    came: bool
    wrong: str = ""
    refused: str = ""


@dataclass
class _Seen:
    states: list = field(default_factory=list)
    kept_count: int = 0


class Bench:
    """One open store whose disk is set back before each write that is to fail.

    Attributes:
        journal: of SQLite.
        befores: what there was before each write.
        store: the open store.
    """

    def __init__(self, folder, journal):
        self.journal = journal
        self.befores = befores(place_of(folder, "first"), journal)
        self._clock = Clock()
        self._disk = Disk(log=False)
        self._opened = store_on(self._disk, place_of(folder, "again"), journal=journal, clock=self._clock)
        self.store = self._opened.__enter__()

    def close(self):
        """Let go."""
        self._opened.__exit__(None, None, None)

    def _set_back(self, before):
        self._disk.armed = False
        self.store.database.close()
        self._disk.files = {name: bytearray(data) for name, data in before.files.items()}
        self._disk.locks = {}
        self._clock.time = before.clock.time

    def failing(self, before, call_number, kind):
        """Do a write whose how many-eth call of the disk fails, and say what it led to."""
        self._set_back(before)
        disk, seen, kept = self._disk, _Seen(), dict(before.kept)

        def about_to(link):
            # our own look does not count
            armed, disk.armed = disk.armed, False
            seen.states.append(state_of(link.exec_driver_sql))
            disk.armed = armed

        def done():
            seen.kept_count += 1

        with watched(Watch(about_to, done)):
            with self.store.database.reading() as link:
                seen.states.append(state_of(link.exec_driver_sql))
            disk.arm(call_number, *KINDS[kind])
            refused, wrong = "", ""
            try:
                before.write(self.store, kept)
            except PlumelineError as error:
                refused = str(error)
            except Exception as error:
                wrong = f"not in words: {type(error).__name__}: {error}"
            disk.armed = False
            if disk.failed and not wrong:
                wrong = _looked_at(self.store, before, kept, seen, refused)
            self.store.database.close()
        return Outcome(disk.failed, wrong or _opened_again(disk, self.journal, seen), refused)

    def all_calls(self, before, kind, step=1):
        """Let every step-th call of a write fail, until there is none; return (calls, refused, what is wrong)."""
        wrong, refused, number = [], 0, 1
        while True:
            found = self.failing(before, number, kind)
            if found.wrong:
                wrong.append(f"{before.name}, call {number}, {kind}, {self.journal}: {found.wrong}")
            if not found.came:
                return number - 1, refused, wrong
            refused += bool(found.refused)
            number += step


def _looked_at(store, before, kept, seen, refused):
    """Say what is wrong with a store that goes on after a call of its disk failed."""
    try:
        with store.database.reading() as link:
            now = state_of(link.exec_driver_sql)
    except PlumelineError as error:
        return f"can't be read after it: {error}"
    allowed = seen.states[seen.kept_count : seen.kept_count + 2]
    if now not in allowed:
        return "a state that never was"
    if not refused and now != seen.states[-1]:
        return "said to be kept, and is not"
    if refused and now == seen.states[0]:
        try:
            before.write(store, kept)
        except PlumelineError as error:
            return f"nothing was kept, and trying again does not do it: {error}"
        with store.database.reading() as link:
            seen.states, seen.kept_count = [state_of(link.exec_driver_sql)], 0
    return ""


def _opened_again(disk, journal, seen):
    """Say what is wrong with the file once it is opened anew."""
    try:
        link = Link(disk, DATABASE, journal=journal, synchronous="FULL")
    except sqlite3.Error as error:
        return f"does not open: {error}"
    sound = list(link.plain.execute("PRAGMA integrity_check(3)"))
    now = state_of(link.plain.execute)
    link.close()
    if sound != [("ok",)]:
        return f"damaged: {sound}"
    return (
        "" if now in seen.states[seen.kept_count : seen.kept_count + 2] else "opens as a state that never was"
    )


def place_of(folder, name):
    """Return an empty folder of a name."""
    place = folder / name
    shutil.rmtree(place, ignore_errors=True)
    place.mkdir()
    return place
