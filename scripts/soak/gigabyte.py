"""A database of one gigabyte: how long a start, a backup that is restored and asked, and a restore take."""

from __future__ import annotations

import random
import shutil
import sqlite3
import threading
import time
from contextlib import closing
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

from scripts.soak.row import Row
from tests.every_write import small_oak

from plumeline.store import open_store
from plumeline.store.backups import restore, write_backup

TITLE = "A database of a gigabyte"
SIZE, QUICK_SIZE, FILE_BYTES = 1_000_000_000, 20_000_000, 200_000
RESTORE_S = 120.0
MB = 1e6


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Fill a database with files as large as an hour-by-hour weather file, back it up while one writes, restore it."""
    place = work / "big"
    shutil.rmtree(place, ignore_errors=True)
    path = place / "plumeline.sqlite3"
    store = open_store(path)
    pond = store.ponds.add(small_oak(), author="", reason="").pond_id
    store.close()
    _fill(path, QUICK_SIZE if quick else SIZE)
    started_s, store = _timed(lambda: open_store(path))
    writer = _Writer(store, pond)
    writer.start()
    backup_s, made = _timed(lambda: write_backup(path, now=datetime.now(UTC)))
    writer.over.set()
    writer.join()
    if writer.failed:
        raise writer.failed
    store.close()
    restore_s, _ = _timed(lambda: restore(made.path, path, now=datetime.now(UTC)))
    size_mb = made.path.stat().st_size / MB
    shutil.rmtree(place)
    return {
        "size_mb": size_mb, "start_s": started_s, "backup_s": backup_s, "restore_s": restore_s,
        "saves": len(writer.seconds), "longest_save_s": max(writer.seconds, default=0.0),
    }  # fmt: skip


def _timed(work: Any) -> tuple[float, Any]:
    begun = time.monotonic()
    found = work()
    return time.monotonic() - begun, found


def _fill(path: Path, size_bytes: int) -> None:
    """Put files into the table of contents, named by their hash as all are."""
    chance = random.Random(1)
    with closing(sqlite3.connect(path)) as link, link:
        for _ in range(size_bytes // FILE_BYTES):
            data = chance.randbytes(FILE_BYTES)
            link.execute("INSERT INTO blob VALUES (?, ?, ?)", (sha256(data).hexdigest(), len(data), data))


class _Writer(threading.Thread):
    """Keeps what stands against a pond, again and again, and how long each took."""

    def __init__(self, store: Any, pond: str) -> None:
        super().__init__(daemon=True)
        self._store, self._pond = store, pond
        self.over, self.seconds, self.failed = threading.Event(), list[float](), None

    def run(self) -> None:
        while not self.over.wait(0.05):
            try:
                seconds, _ = _timed(lambda: self._store.ponds.stands(self._pond, 1, (), "0"))
            except Exception as error:
                self.failed = error
                return
            self.seconds.append(seconds)


def rows(results: dict[str, Any]) -> list[Row]:
    """Return the times."""
    size, restore_s = f"{results['size_mb']:.0f} MB", results["restore_s"]
    held = f"{results['saves']} saves meanwhile, none refused, the longest {results['longest_save_s']:.1f} s"
    return [
        Row(f"restore of {size}", f"{restore_s:.1f} s", f"{RESTORE_S:.0f} s", restore_s <= RESTORE_S),
        Row(
            f"backup of {size}, restored into a scratch file and asked",
            f"{results['backup_s']:.1f} s; {held}",
        ),
        Row(f"start on {size}, every page looked at", f"{results['start_s']:.1f} s"),
    ]
