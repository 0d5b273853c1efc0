"""Guessing made slow: after ten wrong tries each further one of that name and address waits a second."""

from __future__ import annotations

import asyncio
from collections import defaultdict
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from limits import RateLimitItemPerMinute
from limits.storage import MemoryStorage
from limits.strategies import MovingWindowRateLimiter

from plumeline.errors import InputError

WRONG_TRIES = 10
WRONG_TRIES_OF_ADDRESS = 100
WINDOW_MIN = 15
WAIT_S = 1.0
MOST_WAITING = 5
MOST_HASHES = 2
"""Slow hashes made at once: each takes 64 MB and a core."""


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
        self._hashes = asyncio.Semaphore(MOST_HASHES)

    @asynccontextmanager
    async def turn(self, name: str, address: str) -> AsyncIterator[None]:
        """Let one try of a name and address through at a time, after a second where too many were wrong.

        Tries sent at once stand in a row, so that each is counted before the next is looked at. Those of others go on.

        Raises:
            TooManyTriesError: several of them wait already.
        """
        key = _key(name, address)
        async with self._in_row(key):
            has_waited = not self._wrong.test(self._of_name, key)
            if has_waited:
                await asyncio.sleep(WAIT_S)
            while True:
                if not has_waited and self._is_guessing(address):
                    has_waited = True
                    async with self._in_row(address):
                        await asyncio.sleep(WAIT_S)
                async with self._hashes:
                    # other names of this address may have been tried while this one stood here
                    if has_waited or not self._is_guessing(address):
                        yield
                        return

    def was_wrong(self, name: str, address: str) -> None:
        """Count a wrong try; inside its turn."""
        self._wrong.hit(self._of_name, _key(name, address))
        self._wrong.hit(self._of_address, address)

    def _is_guessing(self, address: str) -> bool:
        return not self._wrong.test(self._of_address, address)

    @asynccontextmanager
    async def _in_row(self, key: str) -> AsyncIterator[None]:
        if self._waiting[key] >= MOST_WAITING:
            raise TooManyTriesError("too many tries at once.", remedy="Wait a minute, then try again.")
        self._waiting[key] += 1
        try:
            async with self._turns[key]:
                yield
        finally:
            self._waiting[key] -= 1
            if not self._waiting[key]:
                del self._waiting[key]
                self._turns.pop(key, None)


def _key(name: str, address: str) -> str:
    return f"{address} {' '.join(name.split()).casefold()}"
