"""Writes that wait for each other share one commit: flushing the disk takes longest, and once is enough for all.

One writes at a time, in the order of their coming. Where others wait when one is done, it hands its transaction on
and waits for the commit of the last; nobody is told "done" before that commit is on the disk. One that fails within
such a row is taken back alone, to its savepoint; where the commit itself fails, it fails for all of them.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, suppress

from sqlalchemy import Connection, Engine, RootTransaction
from sqlalchemy.exc import SQLAlchemyError

MOST_WRITES = 16
LONGEST_S = 0.1
"""After so many writes, or so long, a row is ended: those in it wait for their answer."""
SAVEPOINT = "own_part"


class Batch:
    """One transaction that several write in, one after another."""

    def __init__(self, link: Connection, whole: RootTransaction) -> None:
        self.link = link
        self.whole = whole
        self.count = 1
        self.began_s = time.monotonic()
        self.over = threading.Event()
        self.error: BaseException | None = None

    @property
    def is_open(self) -> bool:
        """Whether another may still join."""
        return self.count < MOST_WRITES and time.monotonic() - self.began_s < LONGEST_S


class _Waiting:
    """One that waits for its turn, and the transaction that it is to join; None to begin one."""

    def __init__(self) -> None:
        self.turn = threading.Event()
        self.batch: Batch | None = None


class Batches:
    """The writes of one process.

    Args:
        engine: gives connections that begin a write.
        committing: held around a commit.
        longest_s: after so long one goes on without its turn, and it is SQLite that says no.
    """

    def __init__(
        self, engine: Engine, committing: Callable[[], AbstractContextManager[None]], longest_s: float
    ) -> None:
        self._engine = engine
        self._committing = committing
        self._longest_s = longest_s
        self._lock = threading.Lock()
        self._busy = False
        self._queue: deque[_Waiting] = deque()

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """Give a connection that may write; all of it is on the disk when the block ends well, else nothing of it."""
        waiting, mine = self._come()
        if waiting.batch is not None:
            yield from self._joined(waiting.batch)
        else:
            yield from self._led(mine)

    def _come(self) -> tuple[_Waiting, bool]:
        """Wait for a turn; return what came of it, and whether it came."""
        found = _Waiting()
        with self._lock:
            if not self._busy:
                self._busy = True
                return found, True
            self._queue.append(found)
        try:
            came = found.turn.wait(self._longest_s)
        except BaseException:
            if not self._given_up(found):
                self._refuse(found)
            raise
        return found, came or not self._given_up(found)

    def _given_up(self, waiting: _Waiting) -> bool:
        """Leave the queue; return whether there was still a place to leave."""
        with self._lock:
            if waiting in self._queue:
                self._queue.remove(waiting)
                return True
        return False

    def _refuse(self, waiting: _Waiting) -> None:
        """Pass a turn on that came to one who was interrupted."""
        if waiting.batch is None:
            self._next()
        else:
            self._ended(waiting.batch)

    def _next(self) -> None:
        """Let the one that waits longest begin a transaction of its own."""
        with self._lock:
            if self._queue:
                self._queue.popleft().turn.set()
            else:
                self._busy = False

    def _led(self, mine: bool) -> Iterator[Connection]:
        """Begin a transaction; where nobody waits at its end, or it had no turn, commit it."""
        try:
            link = self._engine.connect().execution_options(writing=True)
            try:
                batch = Batch(link, link.begin())
            except BaseException:
                link.close()
                raise
            try:
                yield link
            except BaseException:
                _undone(batch)
                raise
        except BaseException:
            if mine:
                self._next()
            raise
        if mine:
            self._ended(batch)
        else:
            self._commit(batch)
        _told(batch)

    def _joined(self, batch: Batch) -> Iterator[Connection]:
        """Write within the transaction of others; one that fails is taken back alone."""
        try:
            batch.link.exec_driver_sql(f"SAVEPOINT {SAVEPOINT}")
            yield batch.link
            batch.link.exec_driver_sql(f"RELEASE {SAVEPOINT}")
        except BaseException as error:
            self._taken_back(batch, error)
            raise
        self._ended(batch)
        _told(batch)

    def _taken_back(self, batch: Batch, error: BaseException) -> None:
        """Take one's own part back; where SQLite has already taken all back, as on a full disk, it fails for all."""
        try:
            batch.link.exec_driver_sql(f"ROLLBACK TO {SAVEPOINT}")
            batch.link.exec_driver_sql(f"RELEASE {SAVEPOINT}")
        except BaseException:
            batch.error = error
            _undone(batch)
            batch.over.set()
            self._next()
        else:
            self._ended(batch)

    def _ended(self, batch: Batch) -> None:
        """Hand the transaction to the one that waits longest, or commit it for all who wrote in it."""
        with self._lock:
            following = self._queue.popleft() if self._queue and batch.is_open else None
            if following:
                batch.count += 1
                following.batch = batch
        if following:
            following.turn.set()
            return
        try:
            self._commit(batch)
        finally:
            self._next()

    def _commit(self, batch: Batch) -> None:
        try:
            with self._committing():
                batch.whole.commit()
        except BaseException as error:
            batch.error = error
            _undone(batch)
            if not isinstance(error, Exception):
                raise
        finally:
            batch.link.close()
            batch.over.set()


def _undone(batch: Batch) -> None:
    """Take all of a transaction back; where SQLite has done so already, there is nothing to take."""
    with suppress(SQLAlchemyError):
        batch.whole.rollback()
    batch.link.close()


def _told(batch: Batch) -> None:
    """Wait for the commit and raise what became of it.

    Raises:
        SQLAlchemyError: it failed.
        RuntimeError: whoever committed was interrupted.
    """
    batch.over.wait()
    if isinstance(batch.error, Exception):
        raise batch.error
    if batch.error is not None:
        raise RuntimeError("the commit was interrupted; nothing was saved") from batch.error
