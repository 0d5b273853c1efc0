"""One process does one thing: a lock file beside the database, let go by the system when the process ends."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from plumeline.store.errors import StoreError
from plumeline.store.places import make_folder_of


@contextmanager
def held(database: Path, what: str) -> Iterator[None]:
    """Hold the lock of a database for one kind of work.

    Args:
        database: the database.
        what: the kind of work: ``serve`` or ``worker``.

    Raises:
        StoreError: another process holds it, or its folder can't be made.
    """
    path = database.with_name(f".{database.name}.{what}.lock")
    make_folder_of(database, "--database")
    with path.open("a+b") as stream:
        try:
            _lock(stream)
        except OSError as error:
            raise StoreError(
                "another plumeline is running on this database.", remedy="Stop it first.", place=str(database)
            ) from error
        yield


def _lock(stream: Any) -> None:
    if os.name == "nt":
        import msvcrt

        stream.seek(0)
        msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
    else:
        import fcntl

        fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
