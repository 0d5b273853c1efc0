"""Guessing made slow: after ten wrong tries each further one of that name and address waits a second."""

from __future__ import annotations

import asyncio
from collections import defaultdict

from limits import RateLimitItemPerMinute
from limits.storage import MemoryStorage
from limits.strategies import MovingWindowRateLimiter

from plumeline.errors import InputError

WRONG_TRIES = 10
WRONG_TRIES_OF_ADDRESS = 100
WINDOW_MIN = 15
WAIT_S = 1.0
MOST_WAITING = 5


class TooManyTriesError(InputError):
    """More tries wait than are let in."""


class Tries:
    """The wrong tries of the last quarter of an hour, in memory: a restart forgets them."""

    def __init__(self) -> None:
        self._wrong = MovingWindowRateLimiter(MemoryStorage())
        self._of_name = RateLimitItemPerMinute(WRONG_TRIES, WINDOW_MIN)
        self._of_address = RateLimitItemPerMinute(WRONG_TRIES_OF_ADDRESS, WINDOW_MIN)
        self._turns: defaultdict[str, asyncio.Lock] = defaultdict(asyncio.Lock)
        self._waiting: defaultdict[str, int] = defaultdict(int)

    async def wait(self, name: str, address: str) -> None:
        """Return at once, or after a second where there were too many wrong tries; one at a time, others go on.

        Raises:
            TooManyTriesError: several of them wait already.
        """
        key = f"{address} {name.casefold()}"
        open_still = self._wrong.test(self._of_name, key) and self._wrong.test(self._of_address, address)
        if open_still:
            return
        if self._waiting[key] >= MOST_WAITING:
            raise TooManyTriesError("too many tries at once.", remedy="Wait a minute, then try again.")
        self._waiting[key] += 1
        try:
            async with self._turns[key]:
                await asyncio.sleep(WAIT_S)
        finally:
            self._waiting[key] -= 1
            if not self._waiting[key]:
                del self._waiting[key]
                self._turns.pop(key, None)

    def was_wrong(self, name: str, address: str) -> None:
        """Count a wrong try."""
        self._wrong.hit(self._of_name, f"{address} {name.casefold()}")
        self._wrong.hit(self._of_address, address)
