"""The bin of the store: away, back whole, erased for good; and a form sent twice."""

from __future__ import annotations

from datetime import timedelta

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import func, select

from plumeline.errors import InputError
from plumeline.store import migrate, open_store
from plumeline.store.backups import restore, write_backup
from plumeline.store.engine import Database
from plumeline.store.errors import NotThereError
from plumeline.store.folder import Folder
from plumeline.store.runs import RunState
from plumeline.store.schema import blob, metadata, revision, revision_file
from plumeline.store.store import damage_of


@pytest.fixture
def pond(store, oak):
    return store.ponds.add(oak, author="office", reason="demo")


def test_a_database_of_the_step_before_gets_the_tables(path):
    """They are the ones that this version speaks of."""
    path.parent.mkdir(parents=True)
    path.touch()
    database = Database(path)
    with database.transaction() as link:
        config = migrate._config()
        config.attributes["connection"] = link
        command.upgrade(config, "0004")
    database.close()
    store = open_store(path)
    try:
        assert store.bin.all() == ()
        with store.database.reading() as link:
            differ = compare_metadata(MigrationContext.configure(link), metadata)
        assert not [one for one in differ if "binned" in str(one) or "sent_once" in str(one)]
    finally:
        store.close()


def test_a_pond_in_the_bin_is_nowhere_and_comes_back_whole(store, oak, pond):
    """No list, no revision, no folder, no run, no link; after undo each as it was, to the byte."""
    run = store.runs.ask(pond.pond_id, 1, "test")
    store.bin.put(pond.pond_id, "Ada")
    (row,) = store.bin.all()
    assert (row.id, row.name, row.binned_by) == (pond.pond_id, pond.job.name, "Ada")
    assert row.goes_at - row.binned_at == timedelta(days=30)
    assert store.ponds.rows() == ()
    assert store.ponds.count() == 0
    assert store.runs.get(run.id).state == RunState.CANCELLED
    calls = (
        lambda: store.ponds.revision(pond.pond_id),
        lambda: store.ponds.revision(pond.pond_id, 1),
        lambda: store.ponds.revisions(pond.pond_id),
        lambda: store.ponds.folder(pond.pond_id, 1),
        lambda: store.ponds.save_files(pond.pond_id, oak.files, expected_number=1, author="", reason=""),
        lambda: store.runs.ask(pond.pond_id, 1, "test"),
        lambda: store.links.make(pond.pond_id, "Ada"),
        lambda: store.bin.put(pond.pond_id, "Ada"),
    )
    for call in calls:
        with pytest.raises(NotThereError):
            call()
    store.bin.take_back(pond.pond_id)
    assert store.ponds.folder(pond.pond_id).files == oak.files
    assert store.ponds.revision(pond.pond_id) == pond
    with pytest.raises(NotThereError):
        store.bin.take_back(pond.pond_id)


def test_a_backup_is_written_while_a_pond_is_in_the_bin_and_holds_it(store, oak, pond, path, clock, tmp_path):
    """It reads back before it counts; restored, the pond comes out of the bin with every file."""
    other = store.ponds.add(oak, author="office", reason="import")
    store.bin.put(pond.pond_id, "Ada")
    made = write_backup(path, now=clock())
    assert made.rows["binned_pond"] == 1
    again = tmp_path / "elsewhere" / "plumeline.sqlite3"
    restore(made.path, again, now=clock())
    brought = open_store(again)
    assert [row.id for row in brought.ponds.rows()] == [other.pond_id]
    brought.bin.take_back(pond.pond_id)
    assert brought.ponds.folder(pond.pond_id).files == oak.files
    brought.close()


def test_a_new_pond_of_the_same_name_does_not_take_the_place_of_the_binned_one(store, oak, pond):
    """Its id is another, so that both can be there after undo."""
    store.bin.put(pond.pond_id, "")
    again = store.ponds.add(oak, author="", reason="")
    store.bin.take_back(pond.pond_id)
    assert {row.id for row in store.ponds.rows()} == {pond.pond_id, again.pond_id}


def test_erasing_needs_the_name_and_leaves_the_other_pond_whole(store, oak, pond, path):
    """Files that both have stay; nothing is left of the one, and no row belongs to nothing."""
    other = store.ponds.add(
        Folder("other", {**oak.files, "notes.txt": b"of the other"}), author="", reason=""
    )
    store.ponds.save_files(
        pond.pond_id, {**oak.files, "mine.txt": b"mine"}, expected_number=1, author="", reason=""
    )
    store.links.make(pond.pond_id, "Ada")
    store.runs.ask(pond.pond_id, 2, "test")
    with pytest.raises(NotThereError):
        store.bin.erase(pond.pond_id, pond.job.name)
    store.bin.put(pond.pond_id, "")
    with pytest.raises(InputError, match="not the pond's"):
        store.bin.erase(pond.pond_id, "another")
    assert len(store.bin.all()) == 1
    store.bin.erase(pond.pond_id, f" {pond.job.name} ")
    assert store.bin.all() == ()
    assert store.ponds.folder(other.pond_id).files["notes.txt"] == b"of the other"
    with store.database.reading() as link:
        left = link.execute(
            select(func.count()).select_from(revision).where(revision.c.pond_id == pond.pond_id)
        )
        assert left.scalar_one() == 0
        named = set(link.execute(select(revision_file.c.sha256)).scalars())
        assert set(link.execute(select(blob.c.sha256)).scalars()) == named
        assert b"mine" not in set(link.execute(select(blob.c.content)).scalars())
    assert damage_of(path) == ""


def test_after_thirty_days_and_not_before_it_is_erased(store, clock, pond):
    """By the server's clock."""
    store.bin.put(pond.pond_id, "")
    clock.time += timedelta(days=30, seconds=-60)
    assert store.bin.erase_old() == []
    clock.time += timedelta(seconds=120)
    assert store.bin.erase_old() == [pond.job.name]
    assert store.bin.all() == ()


def test_a_form_sent_twice_makes_one_pond_and_with_another_folder_two(store, oak):
    """The key counts together with what was sent; without a key each is a pond."""
    one = store.ponds.add(oak, author="", reason="", form_key="k")
    assert store.ponds.add(oak, author="", reason="", form_key="k").pond_id == one.pond_id
    more = Folder(oak.name, {**oak.files, "notes.txt": b"new"})
    assert store.ponds.add(more, author="", reason="", form_key="k").pond_id != one.pond_id
    for _ in range(2):
        store.ponds.add(oak, author="", reason="")
    assert store.ponds.count() == 4
