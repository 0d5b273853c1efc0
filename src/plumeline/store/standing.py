"""Whether a database can stand where its path says: what bars it, in words, and what would be right."""

from __future__ import annotations

import os
from pathlib import Path

from plumeline.store.places import ANOTHER, file_above, nearest_above
from plumeline.store.store import FILE

HEAD = b"SQLite format 3\0"
"""With what every database of SQLite begins (The SQLite Consortium: Database File Format, 1.3.1)."""
_OTHER = f"{ANOTHER}: --database FILE."


def what_bars(path: Path) -> tuple[str, str] | None:
    """Return why no database can stand at a path, or be used there, and what would be right; None where one can.

    Nothing is made or changed. That a file or a folder is not there yet bars nothing: it can be made.
    """
    try:
        return _of_the_way(path) or (_of_the_file(path) if path.exists() else None)
    except OSError as error:
        return f"the path can't be followed ({error.strerror})", _OTHER


def _of_the_way(path: Path) -> tuple[str, str] | None:
    if above := file_above(path):
        return f"nothing can stand below '{above}': that is a file", _OTHER
    folder = nearest_above(path)
    if not os.access(folder, os.W_OK | os.X_OK):
        missing = "" if folder == path.parent else ", and the rest of the way is not there"
        words = f"who runs this may not write in the folder '{folder}'{missing}"
        return words, f"Give that user the right to write there. Or: {_OTHER}"
    return None


def _of_the_file(path: Path) -> tuple[str, str] | None:
    if path.is_dir():
        return "a folder, not a file", f"Name the file in it: --database {path / FILE}"
    if not path.is_file():
        return "no ordinary file", _OTHER
    if not os.access(path, os.R_OK | os.W_OK):
        return "who runs this may not read and write it", "Give that user the right to read and write it."
    return None


def is_of_sqlite(path: Path) -> bool:
    """Return whether a file begins as a database of SQLite does."""
    with path.open("rb") as file:
        return file.read(len(HEAD)) == HEAD
