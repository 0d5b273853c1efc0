"""Whether what is kept is what was saved: every file and every job against the hash taken at its saving.

SQLite's own look finds broken pages, not a bit that turned inside a text.
"""

from __future__ import annotations

import hashlib
import sqlite3

MOST = 5

FILES = "SELECT sha256, content FROM blob"
JOBS = "SELECT job_sha256, job, pond_id, number FROM revision"


def changed_since_saved(link: sqlite3.Connection) -> list[str]:
    """Return, in words, what differs from what was saved, five at most; the database must have its tables."""
    found: list[str] = []
    texts, link.text_factory = link.text_factory, bytes
    try:
        for name, data in link.execute(FILES):
            if not _is(name, data):
                found.append(f"the content of file {_shown(name)[:12]}")
        for name, data, pond_id, number in link.execute(JOBS):
            if not _is(name, data):
                found.append(f"the job of revision {_shown(number)} of {_shown(pond_id)[:80]}")
    finally:
        link.text_factory = texts
    return found[:MOST]


def _is(name: object, data: object) -> bool:
    return isinstance(data, bytes) and hashlib.sha256(data).hexdigest().encode() == name


def _shown(value: object) -> str:
    return value.decode(errors="replace") if isinstance(value, bytes) else str(value)
