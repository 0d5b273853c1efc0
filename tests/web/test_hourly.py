"""The server's own backups: one an hour where something was saved, beside the work."""

from __future__ import annotations

import os
import sqlite3
import threading
import time
from contextlib import closing
from datetime import UTC, datetime, timedelta

import pytest

from plumeline.store import backups, open_store
from plumeline.store.backups import all_backups, last_good, taken_at, write_backup
from plumeline.store.errors import StoreError
from plumeline.web import hourly

NOW = datetime(2026, 8, 12, 9, tzinfo=UTC)
HOUR = timedelta(hours=1)


def written_at(store, when):
    """Let the file look as if it was last written then."""
    os.utime(store.database.path, (when.timestamp(), when.timestamp()))


def test_an_empty_database_needs_no_backup(store):
    """Nothing to lose."""
    assert hourly.look(store, NOW) == ""


def test_an_hour_after_the_last_one_where_something_was_saved(store, oak):
    """59 minutes: none; an hour and nothing saved: none; an hour and something saved: one, and it is good."""
    path = store.database.path
    store.ponds.add(oak, author="", reason="")
    assert "Backup" in hourly.look(store, NOW)
    written_at(store, NOW + HOUR / 2)
    assert hourly.look(store, NOW + timedelta(minutes=59)) == ""
    assert "Backup" in hourly.look(store, NOW + HOUR)
    assert hourly.look(store, NOW + 5 * HOUR) == ""
    assert [taken_at(one) for one in all_backups(path)] == [NOW + HOUR, NOW]
    assert last_good(path) == all_backups(path)[0]


def test_a_clock_set_back_does_not_stop_the_backups(store, oak):
    """The newest was taken in what is now the future."""
    store.ponds.add(oak, author="", reason="")
    hourly.look(store, NOW + timedelta(days=300))
    written_at(store, NOW + HOUR)
    assert "Backup" in hourly.look(store, NOW)


def test_old_ones_are_taken_away_and_what_a_killed_one_left(store, oak):
    """Forty days, one a day: 14 days and some weeks stay; half a file of yesterday goes."""
    store.ponds.add(oak, author="", reason="")
    folder = backups.backup_folder(store.database.path)
    folder.mkdir()
    half = folder / ".plumeline-20260811T080000000000Z-auto.sqlite3.part"
    half.touch()
    os.utime(half, (0, 0))
    for day in range(40):
        written_at(store, NOW + timedelta(days=day))
        hourly.look(store, NOW + timedelta(days=day))
    assert 14 < len(all_backups(store.database.path)) < 22
    assert not half.exists()


def test_a_backup_that_does_not_restore_does_not_count(monkeypatch, store, oak):
    """A turned bit in a text, which SQLite's own look passes over: no backup is left, and the words say what."""
    store.ponds.add(oak, author="", reason="")
    with closing(sqlite3.connect(store.database.path)) as link, link:
        link.execute("UPDATE revision SET job = replace(job, 'oak', 'oaj')")
    with pytest.raises(StoreError, match=r"job of revision 1 of .* is not what was saved"):
        hourly.look(store, NOW)
    assert all_backups(store.database.path) == []
    assert not list(backups.backup_folder(store.database.path).iterdir())


def test_the_start_does_not_read_the_backups(monkeypatch, store, oak):
    """A sound database opens without a look at any backup."""
    store.ponds.add(oak, author="", reason="")
    path = store.database.path
    write_backup(path, now=NOW)
    store.close()
    monkeypatch.setattr(backups, "verify", lambda _path: pytest.fail("a backup was read"))
    open_store(path).close()


def test_the_server_writes_one_beside_its_work_and_says_so(monkeypatch, capsys, store, oak):
    """The thread's first look; a disk that is full is told once, not each minute."""
    store.ponds.add(oak, author="", reason="")
    monkeypatch.setattr(hourly, "FIRST_LOOK_S", 0.0)
    monkeypatch.setattr(hourly, "LOOK_S", 0.01)
    full, looked = StoreError("the disk is full."), threading.Event()
    real, calls = hourly.look, []

    def look(*given):
        calls.append(given)
        if len(calls) < 4:
            raise full
        looked.set()
        return real(*given)

    monkeypatch.setattr(hourly, "look", look)
    with hourly.backing_up(store):
        assert looked.wait(10)
        until = time.monotonic() + 10
        while not all_backups(store.database.path) and time.monotonic() < until:
            time.sleep(0.01)
    said = capsys.readouterr().err
    assert said.count("NO BACKUP: the disk is full.") == 1
    assert said.count("Backup: ") == 1
