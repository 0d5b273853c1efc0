"""Ponds kept in a database: every revision of a job and of its folder's files, and what was computed of them.

The only place that knows SQL. A job folder is the lossless export of a revision.
"""

from plumeline.store.folder import Folder, read_folder, read_zip, write_zip
from plumeline.store.pond_rows import PondRow, Revision
from plumeline.store.ponds import Ponds
from plumeline.store.runs import Run, RunKind, Runs, RunState
from plumeline.store.store import Store, open_store

__all__ = [
    "Folder", "PondRow", "Ponds", "Revision", "Run", "RunKind", "RunState", "Runs", "Store", "open_store",
    "read_folder", "read_zip", "write_zip",
]  # fmt: skip
