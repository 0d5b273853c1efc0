"""What SQLite says of a file or disk that fails comes to a person in words, with the way out."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy.exc import IntegrityError

from plumeline.store.engine import in_words


@pytest.mark.parametrize(
    ("sqlite_says", "said", "remedy"),
    [
        ("database is locked", "another program holds", "Close it"),
        ("database or disk is full", "the disk is full", "Make room"),
        ("attempt to write a readonly database", "may not be written", "right to write"),
        ("database disk image is malformed", "database is damaged", "plumeline doctor"),
        ("file is not a database", "database is damaged", "plumeline doctor"),
        ("no such table: pond", "database is damaged", "plumeline doctor"),
        ("disk I/O error", "does not read or write", "Look at the disk"),
        ("unable to open database file", "can't be opened", "its folder is there"),
        ("out of memory", "did not do it (out of memory)", "plumeline doctor"),
    ],
)
def test_what_sqlite_says_comes_in_words(sqlite_says, said, remedy):
    """The texts of SQLite's result codes (sqlite.org/rescode.html and sqlite3ErrStr, from memory)."""
    error = in_words(RuntimeError(sqlite_says), Path("ponds.sqlite3"))
    assert said in str(error)
    assert remedy in error.remedy
    assert error.place == "ponds.sqlite3"


def test_a_fault_of_ours_is_not_told_as_one_of_the_disk(store, oak):
    """A key given twice comes out as it is, from a write and from a reading."""
    for scope in (store.database.transaction, store.database.reading):
        with pytest.raises(IntegrityError), scope():
            raise IntegrityError("INSERT", {}, ValueError("UNIQUE constraint failed"))
    assert store.ponds.count() == 0
