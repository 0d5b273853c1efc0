"""Readers and committers take turns: nobody alone beside another, nobody passed over, nobody waiting for itself."""

from __future__ import annotations

import sqlite3
import threading
import time

import pytest

from plumeline.store.engine import journal_for
from plumeline.store.gate import Gate


def test_one_alone_is_alone_and_many_are_together():
    """Twelve threads, a thousand turns: never another beside one that is alone; several together at times."""
    gate, inside, most, wrong, lock = Gate(10.0), set(), [0], [], threading.Lock()

    def work(number):
        for turn in range(100):
            alone = (number + turn) % 3 == 0
            with gate.alone() if alone else gate.together():
                with lock:
                    inside.add((number, alone))
                    if len(inside) > 1 and any(one for _, one in inside):
                        wrong.append(set(inside))
                    most[0] = max(most[0], len(inside))
                time.sleep(0.0005)
                with lock:
                    inside.remove((number, alone))

    threads = [threading.Thread(target=work, args=(number,)) for number in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []
    assert most[0] > 1


def test_turns_are_taken_in_the_order_of_coming():
    """A reader that comes after a waiting committer goes after it, one that came before goes before."""
    gate, order = Gate(10.0), []

    def go(name, way):
        with way():
            order.append(name)
            time.sleep(0.02)

    threads = []
    with gate.together():
        for name, way in (("commit 1", gate.alone), ("read 1", gate.together), ("commit 2", gate.alone)):
            threads.append(threading.Thread(target=go, args=(name, way)))
            threads[-1].start()
            time.sleep(0.05)
        assert order == []
    for thread in threads:
        thread.join()
    assert order == ["commit 1", "read 1", "commit 2"]


def test_nobody_waits_for_itself():
    """Reading within reading while another waits to be alone, and a commit within reading: both go on."""
    gate, done = Gate(10.0), threading.Event()

    def waiter():
        with gate.alone():
            done.set()

    other = threading.Thread(target=waiter)
    with gate.together():
        other.start()
        time.sleep(0.05)
        with gate.together(), gate.alone():
            assert not done.is_set()
    other.join(5)
    assert done.is_set()


def test_a_write_within_a_reading_is_a_fault_of_ours_and_told_at_once(store):
    """Its commit would wait for its own reading for fifteen seconds; the next write goes well."""
    if journal_for(sqlite3.sqlite_version_info) == "wal":
        pytest.skip("the write-ahead journal lets a commit go on beside a reading")
    with (
        store.database.reading(),
        pytest.raises(RuntimeError, match="within a reading"),
        store.database.transaction(),
    ):
        pass
    with store.database.transaction() as link:
        assert link.exec_driver_sql("SELECT 1").scalar() == 1


def test_one_that_waited_too_long_goes_on_without_its_turn():
    """A reader that never ends stops nobody for good; SQLite then says that the file is held."""
    gate, endless = Gate(0.1), []

    def read():
        endless.append(gate.together())
        endless[0].__enter__()

    entered = threading.Thread(target=read)
    entered.start()
    entered.join()
    began = time.monotonic()
    with gate.alone():
        waited = time.monotonic() - began
    assert waited == pytest.approx(0.1, abs=0.09)
    with gate.together():
        pass
