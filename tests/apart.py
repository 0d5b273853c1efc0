"""Coroutines run in a thread of their own: a browser's driver leaves a loop running in the main one."""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor


def run_apart(coroutine):
    """Run a coroutine to its end and return its result."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, coroutine).result()
