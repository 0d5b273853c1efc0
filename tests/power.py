"""Power cuts: the production store does every write on a disk in memory, which is then cut at any of its calls."""

from __future__ import annotations

import hashlib
import random
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

import apsw
from tests.disk import Disk, Link, after_cut, store_on
from tests.every_write import WRITES, Clock, Watch, do, watched

DATABASE = "plumeline.sqlite3"
TABLES = "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite~_%' ESCAPE '~' ORDER BY name"


def state_of(execute):
    """Return the hash of every row of every table.

    Args:
        execute: does a statement and returns its rows.
    """
    digest = hashlib.sha256()
    for (name,) in list(execute(TABLES)):
        digest.update(name.encode())
        for row in execute(f'SELECT * FROM "{name}" ORDER BY rowid'):
            digest.update(repr(tuple(row)).encode())
    return digest.hexdigest()


@dataclass
class Recording:
    """What a store asked of its disk, and what it had acknowledged by when.

    Attributes:
        journal: of SQLite.
        synchronous: of SQLite.
        log: what was asked of the disk, in order.
        states: hash of the database before the first transaction and after each.
        acknowledged_at: calls of the log by the end of each transaction, and 0 before the first.
    """

    journal: str
    synchronous: str
    log: list = field(default_factory=list)
    states: list = field(default_factory=list)
    acknowledged_at: list = field(default_factory=list)

    @property
    def begins_at(self):
        """Return the call from which on there is a database with tables."""
        return self.acknowledged_at[1]


def record(journal, synchronous="FULL", writes=WRITES):
    """Return what the production store asks of a disk while it is made and every write is done."""
    disk, found = Disk(), Recording(journal, synchronous)
    found.states.append(state_of(lambda words: []))
    found.acknowledged_at.append(0)

    def about_to(link):
        found.states.append(state_of(link.exec_driver_sql))

    def done():
        found.acknowledged_at.append(len(disk.log))

    how = {"journal": journal, "synchronous": synchronous, "clock": Clock()}
    with (
        tempfile.TemporaryDirectory(prefix="plumeline-") as place,
        watched(Watch(about_to, done)),
        store_on(disk, Path(place), **how) as store,
    ):
        kept = {}
        for name, write in writes:
            do(store, kept, name, write)
    found.log = disk.log
    assert len(found.states) == len(found.acknowledged_at)
    return found


@dataclass
class Cut:
    """What was found after a cut.

    Attributes:
        at: calls of the log before it.
        acknowledged: transactions acknowledged by then.
        state: how many transactions the database holds after it; None where it is none of its states.
        sound: SQLite's look over every page, "ok" where all is well.
        twice: the power went again while the file was being brought in order.
    """

    at: int
    acknowledged: int
    state: int | None
    sound: str
    twice: bool

    @property
    def kept(self):
        """Tell whether nothing that was acknowledged is lost, and nothing stands half done."""
        return self.sound == "ok" and self.state in (self.acknowledged, self.acknowledged + 1)


def cut(recorded, chance, twice_share=0.2):
    """Cut the power at a random call and open what is left.

    Args:
        recorded: what was asked of the disk.
        chance: random numbers.
        twice_share: share of the cuts that are followed by another while the file is brought in order.
    """
    at = chance.randrange(1, len(recorded.log) + 1)
    acknowledged = max(n for n, calls in enumerate(recorded.acknowledged_at) if calls <= at)
    files = after_cut(recorded.log, at, chance)
    twice = chance.random() < twice_share
    if twice:
        disk = Disk(files)
        _opened(disk, recorded)
        again = chance.randrange(0, len(disk.log) + 1)
        files = after_cut(disk.log, again, chance, files)
    sound, state = _opened(Disk(files, log=False), recorded)
    # some writes take back or repeat another, so that a state may be there more than once
    near = (acknowledged, acknowledged + 1, *range(len(recorded.states)))
    found = next((n for n in near if recorded.states[n : n + 1] == [state]), None)
    return Cut(at, acknowledged, found, sound, twice)


def _opened(disk, recorded):
    """Return what SQLite says of the file on a disk, and the state it holds."""
    try:
        link = Link(disk, DATABASE, journal=recorded.journal, synchronous=recorded.synchronous)
    except Exception as error:
        return str(error), ""
    try:
        sound = "; ".join(str(row[0]) for row in link.plain.execute("PRAGMA integrity_check(3)"))
        return sound, state_of(link.plain.execute)
    except apsw.Error as error:
        return str(error), ""
    finally:
        link.close()


def cuts(recorded, count, seed):
    """Return so many cuts of a recording."""
    chance = random.Random(seed)
    return [cut(recorded, chance) for _ in range(count)]


def transactions_lost(found):
    """Return how many acknowledged transactions a cut took; all of them where the file is none of its states."""
    return found.acknowledged if found.state is None else max(0, found.acknowledged - found.state)
