"""Backups while the server runs: one an hour where something was saved since, beside the work and not before it."""

from __future__ import annotations

import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta

from plumeline.store import Store
from plumeline.store.backups import all_backups, prune, taken_at, tidy, write_backup
from plumeline.store.doctor import last_written
from plumeline.store.errors import StoreError

EVERY = timedelta(hours=1)
FIRST_LOOK_S = 5.0
LOOK_S = 60.0
LAST_S = 20.0
"""How long a server that ends waits for a backup under way; one left off is taken away later."""


@contextmanager
def backing_up(store: Store) -> Iterator[None]:
    """Write backups by a thread of its own while the block runs; the start is not kept waiting for them."""
    if store.damage:
        yield
        return
    over = threading.Event()
    thread = threading.Thread(target=_keep_looking, args=(store, over), daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join(LAST_S)


def _keep_looking(store: Store, over: threading.Event) -> None:
    said, pause_s = "", FIRST_LOOK_S
    while not over.wait(pause_s):
        pause_s = LOOK_S
        try:
            words = look(store, store.clock())
            gone = store.bin.erase_old()
            if gone:
                print(f"Erased after 30 days in the bin: {', '.join(gone)}", file=sys.stderr, flush=True)
        except (StoreError, OSError) as error:
            words = f"NO BACKUP: {error}"
        # a disk that stays full is told once
        if words and words != said:
            print(words, file=sys.stderr, flush=True)
        said = words or said


def look(store: Store, now: datetime) -> str:
    """Write a backup where one is due, and take away those that need not stay; return what to say.

    Args:
        store: the open database.
        now: the time.

    Raises:
        StoreError: a backup is due and can't be written.
    """
    path = store.database.path
    if not is_due(store, now):
        return ""
    tidy(path)
    made = write_backup(path, now=now, by_itself=True)
    gone = prune(path, made.path)
    return f"Backup: {made.path}" + (f" ({len(gone)} older taken away)" if gone else "")


def is_due(store: Store, now: datetime) -> bool:
    """Tell whether there is something to lose, saved since the last backup, and that is an hour old."""
    newest = next(iter(all_backups(store.database.path)), None)
    if newest is None:
        return bool(store.ponds.count() or any(store.taking.list.counts().values()))
    taken = taken_at(newest)
    # a clock that was set back must not stop the backups
    old = now - taken >= EVERY or taken > now + EVERY
    return old and last_written(store.database.path) > min(taken, now)
