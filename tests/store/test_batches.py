"""Writes that wait for each other share one commit; each stands or falls by itself; none is told before the disk."""

from __future__ import annotations

import threading
import time

import pytest
from sqlalchemy import event, insert, select

from plumeline.store import batches
from plumeline.store.engine import BUSY_MS
from plumeline.store.errors import StoreError
from plumeline.store.schema import blob, pond

ROW = {"latest_revision": 1, "created_at": "2026-08-11T12:00:00+00:00", "folder_name": "x"}


def put(link, name):
    link.execute(insert(pond).values(id=name, name=name, **ROW))


def kept(store):
    with store.database.reading() as link:
        return set(link.execute(select(pond.c.id)).scalars())


class Row:
    """Writers that come while the first is still writing: they wait for it in the order of their names."""

    def __init__(self, store, bodies):
        self.store, self.bodies, self.told, self.commits = store, bodies, {}, []
        event.listen(store.database.engine, "commit", self._seen)

    def _seen(self, link):
        if link.get_execution_options().get("writing"):
            self.commits.append(dict(self.told))

    def _write(self, name, body):
        try:
            with self.store.database.transaction() as link:
                body(link, name)
        except Exception as error:
            self.told[name] = error
        else:
            self.told[name] = "done"

    def go(self):
        going, on = threading.Event(), threading.Event()

        def first(link, name):
            put(link, name)
            going.set()
            on.wait(10)

        threads = [threading.Thread(target=self._write, args=("first", first))]
        threads[0].start()
        going.wait(10)
        for name, body in self.bodies.items():
            threads.append(threading.Thread(target=self._write, args=(name, body)))
            threads[-1].start()
            time.sleep(0.02)
        on.set()
        for thread in threads:
            thread.join(20)
        return self


def fails(link, name):
    put(link, name)
    raise ValueError(name)


def test_three_that_wait_share_one_commit_and_are_told_after_it(store, monkeypatch):
    """Four writes, one commit; when it came nobody had been told "done", and all four rows are there."""
    monkeypatch.setattr("plumeline.store.batches.LONGEST_S", 10.0)
    row = Row(store, dict.fromkeys(("a", "b", "c"), put)).go()
    assert row.commits == [{}], "nobody was told before"
    assert row.told == dict.fromkeys(("first", "a", "b", "c"), "done")
    assert kept(store) == {"first", "a", "b", "c"}


def test_one_that_fails_is_taken_back_alone(store, monkeypatch):
    """The one in the middle raises: its row is gone, it is told its own error, the others stand."""
    monkeypatch.setattr("plumeline.store.batches.LONGEST_S", 10.0)
    row = Row(store, {"a": put, "b": fails, "c": put}).go()
    assert isinstance(row.told.pop("b"), ValueError)
    assert set(row.told.values()) == {"done"}
    assert kept(store) == {"first", "a", "c"}
    assert len(row.commits) == 1


def test_the_last_that_fails_leaves_the_others_committed(store, monkeypatch):
    """The same at the end of the row."""
    monkeypatch.setattr("plumeline.store.batches.LONGEST_S", 10.0)
    row = Row(store, {"a": put, "b": fails}).go()
    assert isinstance(row.told.pop("b"), ValueError)
    assert set(row.told.values()) == {"done"}
    assert kept(store) == {"first", "a"}


def test_where_all_is_taken_back_all_are_told(store, monkeypatch):
    """As SQLite does on a full disk: the whole transaction is gone, nobody is told "done", the next write goes well."""
    monkeypatch.setattr("plumeline.store.batches.LONGEST_S", 10.0)

    def loses_all(link, name):
        link.exec_driver_sql("ROLLBACK")
        raise ValueError(name)

    row = Row(store, {"a": put, "b": loses_all, "c": put}).go()
    assert not [name for name in ("first", "a", "b") if row.told[name] == "done"]
    assert row.told["c"] == "done"
    assert "c" in kept(store)
    assert not {"first", "a"} & kept(store)


def test_a_commit_that_fails_fails_for_all_in_words(store, monkeypatch):
    """A deferred foreign key stands for the disk: SQLite refuses the commit, and none of the three rows is there."""
    monkeypatch.setattr("plumeline.store.batches.LONGEST_S", 10.0)

    def breaks_the_commit(link, name):
        link.exec_driver_sql("PRAGMA defer_foreign_keys=ON")
        link.exec_driver_sql("INSERT INTO binned_pond VALUES ('nowhere', '', '')")

    row = Row(store, {"a": put, "b": breaks_the_commit}).go()
    assert all(isinstance(told, Exception) for told in row.told.values()), row.told
    assert kept(store) == set()
    with store.database.transaction() as link:
        put(link, "next")
    assert kept(store) == {"next"}


def test_where_the_one_that_commits_is_interrupted_nobody_is_told_done(store, monkeypatch):
    """Ctrl-C in the midst of the commit: all is taken back, each hears that nothing was saved, the next goes well."""
    monkeypatch.setattr("plumeline.store.batches.LONGEST_S", 10.0)

    def interrupted(link):
        if link.get_execution_options().get("writing"):
            raise KeyboardInterrupt

    class Interrupted(Row):
        def _write(self, name, body):
            try:
                super()._write(name, body)
            except KeyboardInterrupt as error:
                self.told[name] = error

    row = Interrupted(store, {"a": put, "b": put})
    event.listen(store.database.engine, "commit", interrupted)
    row.go()
    event.remove(store.database.engine, "commit", interrupted)
    assert isinstance(row.told.pop("b"), KeyboardInterrupt)
    assert {str(told) for told in row.told.values()} == {"the commit was interrupted; nothing was saved"}
    assert kept(store) == set()
    with store.database.transaction() as link:
        put(link, "next")
    assert kept(store) == {"next"}


def test_a_row_has_an_end(store, monkeypatch):
    """After so many writes the row is committed and the next begins: the first is not kept waiting by who comes."""
    monkeypatch.setattr("plumeline.store.batches.LONGEST_S", 10.0)
    monkeypatch.setattr("plumeline.store.batches.MOST_WRITES", 2)
    row = Row(store, dict.fromkeys(("a", "b", "c"), put)).go()
    assert len(row.commits) == 2
    assert kept(store) == {"first", "a", "b", "c"}


def test_one_that_waited_too_long_is_refused_in_words_and_leaves_the_queue(path, clock):
    """Its turn does not come: SQLite says who holds the file, and the writer that held it is not disturbed."""
    from plumeline.store import open_store

    store = open_store(path, clock=clock)
    store.database._batches._longest_s = 0.1
    event.listen(store.database.engine, "checkout", lambda link, *_: link.execute("PRAGMA busy_timeout=50"))
    told = []

    def second():
        try:
            with store.database.transaction() as link:
                put(link, "second")
        except StoreError as error:
            told.append(str(error))

    with store.database.transaction() as link:
        put(link, "first")
        other = threading.Thread(target=second)
        other.start()
        other.join(BUSY_MS / 1000)
        assert len(told) == 1
        assert "another program holds the database" in told[0]
        # whoever comes now still waits for the first, and shares its commit
        store.database._batches._longest_s = 10.0
        late = threading.Thread(target=second)
        late.start()
        while late.is_alive() and not store.database._batches._queue:
            time.sleep(0.01)
    late.join(BUSY_MS / 1000)
    assert len(told) == 1
    with store.database.transaction() as link:
        put(link, "third")
    assert kept(store) == {"first", "second", "third"}
    store.close()


def test_many_writers_lose_nothing(store):
    """Twelve threads, ten writes each, every third of them failing: each answer agrees with what is kept."""
    done, lock = set(), threading.Lock()

    def work(number):
        for turn in range(10):
            name = f"{number} {turn}"
            try:
                with store.database.transaction() as link:
                    put(link, name)
                    if (number + turn) % 3 == 0:
                        raise ValueError(name)
            except ValueError:
                continue
            with lock:
                done.add(name)

    threads = [threading.Thread(target=work, args=(number,)) for number in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert kept(store) == done
    assert len(done) == 80


def test_a_large_write_shuts_nobody_out_before_its_commit(store):
    """Eight megabytes in a transaction that is still open: somebody else reads meanwhile.

    SQLite's memory for changed pages is two megabytes unless told otherwise, and beyond it writes them to the file in
    the midst of a transaction: nobody may read any more, while its commit waits for who has begun to.
    """
    read = threading.Event()

    def look():
        kept(store)
        read.set()

    with store.database.transaction() as link:
        put(link, "first")
        for number in range(8):
            link.execute(
                insert(blob).values(
                    sha256=f"{number:064x}", size_bytes=1_000_000, content=bytes([number]) * 1_000_000
                )
            )
        reader = threading.Thread(target=look)
        reader.start()
        assert read.wait(BUSY_MS / 3000)
    reader.join()
    assert kept(store) == {"first"}


class Interrupted(threading.Event):
    """A turn whose waiting ends by Ctrl-C, before it comes or just after."""

    after = False

    def wait(self, timeout=None):
        if self.after:
            super().wait(timeout)
        raise KeyboardInterrupt


class Late(threading.Event):
    """A turn that comes in the moment in which the patience ends."""

    def wait(self, timeout=None):
        super().wait(timeout)
        return False


def waiting_by(monkeypatch, kind):
    """Let those who wait from now on wait in this way."""

    class Waits(batches._Waiting):
        def __init__(self):
            super().__init__()
            self.turn = kind()

    monkeypatch.setattr(batches, "_Waiting", Waits)


@pytest.mark.parametrize("follows", [False, True], ids=["a turn of its own", "a turn in another's commit"])
@pytest.mark.parametrize("after", [False, True], ids=["before its turn", "as its turn came"])
def test_one_who_is_interrupted_while_waiting_stops_nobody(store, monkeypatch, after, follows):
    """Ctrl-C while it waits: its row is not there, the first one's is, and who writes next is not kept waiting."""
    monkeypatch.setattr(batches, "LONGEST_S", 10.0 if follows else -1.0)
    waiting_by(monkeypatch, type("Now", (Interrupted,), {"after": after}))
    ends = []

    def interrupted():
        try:
            with store.database.transaction() as link:
                put(link, "second")
        except KeyboardInterrupt:
            ends.append("interrupted")

    with store.database.transaction() as link:
        put(link, "first")
        other = threading.Thread(target=interrupted)
        other.start()
        if not after:
            other.join(10)
        while after and not store.database._batches._queue:
            time.sleep(0.01)
    other.join(10)
    assert ends == ["interrupted"]
    with store.database.transaction() as link:
        put(link, "third")
    assert kept(store) == {"first", "third"}


def test_a_turn_that_comes_as_the_patience_ends_is_taken(store, monkeypatch):
    """It has left the queue already: it goes on in its turn, and the turn is passed on at its end."""
    monkeypatch.setattr(batches, "LONGEST_S", -1.0)
    waiting_by(monkeypatch, Late)
    row = Row(store, {"a": put}).go()
    assert row.told == {"first": "done", "a": "done"}
    with store.database.transaction() as link:
        put(link, "third")
    assert kept(store) == {"first", "a", "third"}


def test_one_without_a_turn_commits_by_itself_where_the_file_is_free(store):
    """Whoever had the turn never gave it back: after the longest wait SQLite is asked, which lets it write."""
    store.database._batches._longest_s = 0.05
    store.database._batches._busy = True
    with store.database.transaction() as link:
        put(link, "alone")
    assert kept(store) == {"alone"}
    assert store.database._batches._busy, "the turn is not its to give"
