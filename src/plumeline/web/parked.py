"""Files that were sent and not taken yet: kept for a while beside the server, the oldest let go first."""

from __future__ import annotations

import re
import secrets
import shutil
import weakref
from collections import OrderedDict
from pathlib import Path
from tempfile import mkdtemp
from threading import Lock

from plumeline.errors import InputError

MOST_FILES = 8
"""A file is at most as large as an upload; so many are given room at once."""
LONGEST_NAME = 80


class Parked:
    """Files by a key that nobody guesses; gone with the server."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._folder: Path | None = None
        self._places: OrderedDict[str, tuple[str, Path]] = OrderedDict()

    def put(self, pond_id: str, name: str, data: bytes) -> str:
        """Keep a file and return its key.

        Args:
            pond_id: the pond for which it was sent.
            name: as the sender calls it; only its letters are kept.
            data: what is in it.

        Raises:
            InputError: it is empty.
        """
        if not data.strip():
            raise InputError("the file is empty.", remedy="Copy it again from the device.")
        key = secrets.token_hex(16)
        plain = re.sub(r"[^\w.() -]", "_", name).lstrip(". ")[-LONGEST_NAME:] or "file"
        with self._lock:
            if self._folder is None:
                self._folder = Path(mkdtemp(prefix="plumeline-parked-"))
                weakref.finalize(self, shutil.rmtree, self._folder, True)
            place = self._folder / key
            place.mkdir()
            (place / plain).write_bytes(data)
            self._places[key] = (pond_id, place / plain)
            while len(self._places) > MOST_FILES:
                _, (_, old) = self._places.popitem(last=False)
                shutil.rmtree(old.parent, ignore_errors=True)
        return key

    def get(self, pond_id: str, key: str) -> Path:
        """Return where a file lies.

        Raises:
            InputError: it is not kept any more, or was sent for another pond.
        """
        with self._lock:
            owner, path = self._places.get(key, ("", Path()))
        if owner != pond_id or not path.is_file():
            raise InputError("the file is not kept here any more.", remedy="Choose it again.")
        return path
