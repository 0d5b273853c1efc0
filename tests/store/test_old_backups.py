"""A backup of every step of the tables, as the program of that day made it, comes back whole under the present one."""

from __future__ import annotations

import gzip
import json
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

import pytest
from scripts.dump_old_stores import COMMITS
from tests.web.browsers import HOST

from plumeline.store import open_store
from plumeline.store.backups import restore, write_backup
from plumeline.store.migrate import known, newest

OLD = Path(__file__).parent / "old"
STEPS = sorted(COMMITS)
NOW = datetime(2026, 9, 1, tzinfo=UTC)


def brought_back(step, folder):
    """Restore the backup of a step into an empty folder; return the database's place and what must be found in it."""
    backup = folder / "usb stick" / "ponds.sqlite3"
    backup.parent.mkdir()
    with closing(sqlite3.connect(backup)) as link:
        link.executescript(gzip.decompress((OLD / f"{step}.sql.gz").read_bytes()).decode("utf-8"))
        assert link.execute("SELECT version_num FROM alembic_version").fetchone() == (step,)
    database = folder / "plumeline.sqlite3"
    restore(backup, database, now=NOW)
    return database, json.loads((OLD / f"{step}.json").read_text(encoding="utf-8"))


def lost(before, after, place=""):
    """Name every place of the older document whose value is no longer there; fields that came since are no loss."""
    if isinstance(before, dict) and isinstance(after, dict):
        return [name for key in before for name in lost(before[key], after.get(key), f"{place}/{key}")]
    if isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        pairs = zip(before, after, strict=True)
        return [name for i, (one, other) in enumerate(pairs) for name in lost(one, other, f"{place}/{i}")]
    return [] if before == after else [place]


def test_there_is_a_backup_of_every_step():
    """A new step of the tables needs the backup of an older program beside it."""
    assert set(STEPS) == known()
    assert STEPS[-1] == newest()


@pytest.mark.parametrize("step", STEPS)
def test_it_restores_and_every_row_and_file_is_there(step, tmp_path):
    """Every row of every table that it had, every revision's files to the byte, the job equal in every field."""
    database, found = brought_back(step, tmp_path)
    store = open_store(database)
    assert not store.damage
    (pond,) = store.ponds.rows()
    assert [pond.name] == found["names"]
    for number, files in found["files"].items():
        kept = store.ponds.folder(pond.id, int(number)).files
        assert {name: sha256(data).hexdigest() for name, data in kept.items()} == files
    job = json.loads(store.ponds.revision(pond.id).job.model_dump_json())
    assert lost(found["job"], job) == []
    store.close()
    with closing(sqlite3.connect(database)) as link:
        assert link.execute("SELECT version_num FROM alembic_version").fetchone() == (newest(),)
        counts = {
            name: link.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for name in found["rows"]
        }
    assert counts == found["rows"]


@pytest.mark.parametrize("step", STEPS)
def test_it_shows_its_ponds_and_takes_a_save_and_a_backup(step, tmp_path):
    """The list, the pond and its history are shown; a save on it is kept, and a backup of it reads back."""
    from starlette.testclient import TestClient

    from plumeline.web.app import make_app

    database, found = brought_back(step, tmp_path)
    store = open_store(database)
    (pond,) = store.ponds.rows()
    asked = TestClient(make_app(store), base_url=HOST)
    for path in ("/", f"/ponds/{pond.id}", f"/ponds/{pond.id}/history", "/captures"):
        answer = asked.get(path)
        assert answer.status_code == 200, path
    assert found["names"][0] in asked.get("/").text
    job = store.ponds.revision(pond.id).job.model_copy(update={"name": "Hollow Oak again"})
    saved = store.ponds.save_job(pond.id, job, expected_number=3, author="office", reason="")
    store.close()
    made = write_backup(database, now=NOW)
    assert (saved.number, made.rows["revision"]) == (4, found["rows"]["revision"] + 1)


@pytest.mark.parametrize("step", STEPS)
def test_what_was_accepted_is_there_with_its_papers_where_they_were_noted(step, tmp_path):
    """From 0003 on there is one acceptance; it names quote and plan from 0006 on, and none before; the quote opens."""
    database, _found = brought_back(step, tmp_path)
    store = open_store(database)
    (pond,) = store.ponds.rows()
    accepted = store.links.accepted(pond.id)
    assert len(accepted) == (1 if step >= "0003" else 0)
    for one in accepted:
        assert (one.name, one.number) == ("A Customer", 3)
        noted = (one.quote_number, one.run_id is not None, one.plan_made_at is not None)
        assert noted == ((1, True, True) if step >= "0006" else (None, False, False))
    if step >= "0006":
        assert store.quotes.file(pond.id, 1, "us") == b"%PDF-1.7 a quote"
        assert store.quotes.latest(pond.id, 3).run_id == accepted[0].run_id
    store.close()
