"""A backup is restored into a scratch file and asked, as after a real loss, before it counts."""

from __future__ import annotations

import tempfile
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import func, select, text

from plumeline.store.contents import changed_since_saved
from plumeline.store.disk_files import copy_file
from plumeline.store.engine import Database, connect
from plumeline.store.errors import StoreError
from plumeline.store.migrate import upgrade
from plumeline.store.ponds import Ponds, not_binned
from plumeline.store.schema import pond, revision

PREFIX = ".drill-"
PONDS_READ = 20
"""Ponds of which the latest job is read as a page would; of all others every byte is checked against its hash."""


def drill(backup: Path, rows: dict[str, int]) -> None:
    """Restore a backup into a scratch file beside it, bring it to this version, and ask it.

    Args:
        backup: the file.
        rows: how many rows each of its tables holds.

    Raises:
        StoreError: it can't be opened, brought up or read, or it holds something other than was said.
    """
    with tempfile.TemporaryDirectory(prefix=PREFIX, dir=backup.parent) as place:
        scratch = Path(place) / "plumeline.sqlite3"
        copy_file(backup, scratch)
        with closing(connect(scratch)) as link:
            changed = changed_since_saved(link)
        if changed:
            raise _bad(f"{', '.join(changed)} is not what was saved")
        database = Database(scratch)
        try:
            upgrade(database)
            _counted(database, rows)
            _ponds_read(database)
        finally:
            database.close()


def _counted(database: Database, rows: dict[str, int]) -> None:
    with database.reading() as link:
        for name, count in rows.items():
            found = link.execute(text(f'SELECT count(*) FROM "{name}"')).scalar_one()
            if found != count:
                raise _bad(f"restored, {name} has {found} rows of {count}")


def _ponds_read(database: Database) -> None:
    ponds = Ponds(database, lambda: datetime.now(UTC))
    # those in the bin are in no page; every byte of theirs is checked all the same
    shown = revision.join(pond, pond.c.id == revision.c.pond_id)
    latest = select(revision.c.pond_id).select_from(shown).where(not_binned()).group_by(revision.c.pond_id)
    with database.reading() as link:
        idents = link.execute(latest.order_by(func.max(revision.c.saved_at).desc()).limit(PONDS_READ))
        found = list(idents.scalars())
    for ident in found:
        ponds.revision(ident)
        ponds.folder(ident)


def _bad(words: str) -> StoreError:
    return StoreError(f"the backup does not restore: {words}.", remedy="Run: plumeline doctor.")
