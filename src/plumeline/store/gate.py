"""Who reads and who commits take turns inside the process, where the journal does not let them go on side by side.

With the rollback journal a commit must wait until nobody reads. SQLite waits by looking again after 1, 2, 5 … 100 ms,
and whoever comes in between goes first; eight writers and a few readers so kept one waiting for a second. Here each
is woken when it is its turn. Other processes are still waited for in SQLite's way.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager


class Gate:
    """Lets many in together or one alone, in the order in which they came.

    Args:
        longest_s: after so long one goes on without its turn, and it is SQLite that says no.
    """

    def __init__(self, longest_s: float) -> None:
        self._longest_s = longest_s
        self._change = threading.Condition()
        self._queue: deque[tuple[object, bool]] = deque()
        self._together = 0
        self._alone = False
        self._mine = threading.local()

    @property
    def inside(self) -> bool:
        """Whether this thread is in together with others."""
        return bool(getattr(self._mine, "depth", 0))

    @contextmanager
    def together(self) -> Iterator[None]:
        """Be in with others that are not alone; within itself it is not waited for."""
        depth: int = getattr(self._mine, "depth", 0)
        if not depth:
            self._enter(alone=False)
        self._mine.depth = depth + 1
        try:
            yield
        finally:
            self._mine.depth = depth
            if not depth:
                self._leave(alone=False)

    @contextmanager
    def alone(self) -> Iterator[None]:
        """Be in while nobody else is; one who is in together does not wait for itself."""
        if self.inside:
            yield
            return
        entered = self._enter(alone=True)
        try:
            yield
        finally:
            if entered:
                self._leave(alone=True)

    def _enter(self, *, alone: bool) -> bool:
        """Wait for a turn; return whether it came."""
        ticket, until = object(), time.monotonic() + self._longest_s
        with self._change:
            self._queue.append((ticket, alone))
            came = True
            try:
                while came and not self._turn_of(ticket, alone):
                    came = self._change.wait(until - time.monotonic()) or time.monotonic() < until
            finally:
                # one that is interrupted while it waits must not keep its place before the others
                self._queue.remove((ticket, alone))
                self._change.notify_all()
            if alone:
                self._alone = self._alone or came
            else:
                self._together += 1
        return came

    def _turn_of(self, ticket: object, alone: bool) -> bool:
        if self._alone or (alone and self._together):
            return False
        for other, other_alone in self._queue:
            if other is ticket:
                return True
            if alone or other_alone:
                return False
        return False

    def _leave(self, *, alone: bool) -> None:
        with self._change:
            if alone:
                self._alone = False
            else:
                self._together -= 1
            self._change.notify_all()
