"""Results that take seconds the first time: each worked out once beside the answers, which do not wait for it long."""

from __future__ import annotations

import threading
from collections.abc import Callable, Hashable
from concurrent.futures import Future, wait
from typing import Generic, TypeVar

K = TypeVar("K", bound=Hashable)
V = TypeVar("V")


class UnderWay(Generic[K, V]):
    """What is being worked out, by its key; a process that ends does not wait for it."""

    def __init__(self) -> None:
        self._doing: dict[K, Future[V]] = {}
        self._lock = threading.Lock()

    def of(self, key: K, make: Callable[[], V], wait_s: float) -> V | None:
        """Return a result, or None while it is still being worked out; who asks again finds the same work.

        Args:
            key: what the result depends on.
            make: works it out; what it raises is raised to who asks once it is over.
            wait_s: how long an answer waits for it.
        """
        with self._lock:
            future = self._doing.get(key)
            if future is None:
                future = self._doing[key] = Future()
                threading.Thread(target=_work, args=(future, make), name="under-way", daemon=True).start()
        wait([future], wait_s)
        if not future.done():
            return None
        with self._lock:
            if self._doing.get(key) is future:
                del self._doing[key]
        return future.result()


def _work(future: Future[V], make: Callable[[], V]) -> None:
    try:
        found = make()
    except BaseException as error:
        future.set_exception(error)
    else:
        future.set_result(found)
