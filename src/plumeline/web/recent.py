"""Results kept in memory: those asked for last, each made once."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

K = TypeVar("K", bound=Hashable)
V = TypeVar("V")


class Recent(Generic[K, V]):
    """The results asked for last; who asks for one that is being made waits for it, and nobody else does."""

    def __init__(self, most: int) -> None:
        """Keep at most so many."""
        self._most = most
        self._made: OrderedDict[K, V] = OrderedDict()
        self._making: dict[K, threading.Lock] = {}
        self._lock = threading.Lock()

    def of(self, key: K, make: Callable[[], V]) -> V:
        """Return the result of a key, made where it is not kept; what raises is not kept.

        Args:
            key: what the result depends on.
            make: makes it.
        """
        with self._lock:
            if key in self._made:
                self._made.move_to_end(key)
                return self._made[key]
            making = self._making.setdefault(key, threading.Lock())
        with making:
            with self._lock:
                if key in self._made:
                    return self._made[key]
            try:
                found = make()
            except BaseException:
                with self._lock:
                    self._making.pop(key, None)
                raise
            with self._lock:
                self._made[key] = found
                self._making.pop(key, None)
                while len(self._made) > self._most:
                    self._made.popitem(last=False)
            return found
