"""The address that phones know is kept in the database, and comes with every backup."""

from __future__ import annotations

from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext

from plumeline.store import migrate, open_store
from plumeline.store.backups import restore, write_backup
from plumeline.store.engine import Database
from plumeline.store.pairings import Pairing
from plumeline.store.schema import metadata

FIRST = Pairing("https", "pond-office.local", 8621, "AA BB", "pond-office", ("192.168.7.20",))


def test_a_database_of_the_step_before_gets_the_table(path):
    """After a backup; the table is the one that this version speaks of."""
    path.parent.mkdir(parents=True)
    path.touch()
    database = Database(path)
    with database.transaction() as link:
        config = migrate._config()
        config.attributes["connection"] = link
        command.upgrade(config, "0003")
    database.close()
    store = open_store(path)
    try:
        assert store.pairings.latest() is None
        store.pairings.keep(FIRST)
        with store.database.reading() as link:
            differ = compare_metadata(MigrationContext.configure(link), metadata)
        assert not [one for one in differ if "pairing" in str(one)]
    finally:
        store.close()


def test_the_latest_stands_and_the_same_is_kept_once(store):
    """Those before stay: phones may still be there."""
    for one in (FIRST, FIRST, Pairing("https", "other.local", 443), FIRST):
        store.pairings.keep(one)
    found = store.pairings.latest()
    assert found is not None
    assert (found.origin, found.addresses) == ("https://pond-office.local:8621", ("192.168.7.20",))
    with store.database.reading() as link:
        names = link.exec_driver_sql("SELECT host_name FROM pairing ORDER BY number").scalars().all()
    assert names == ["pond-office.local", "other.local", "pond-office.local"]


def test_it_comes_back_with_a_backup(store, path, clock, tmp_path):
    """On another machine the phones' address is known, though the keys are not in it."""
    store.pairings.keep(FIRST)
    made = write_backup(path, now=clock())
    elsewhere = tmp_path / "elsewhere" / "plumeline.sqlite3"
    elsewhere.parent.mkdir()
    restore(made.path, elsewhere, now=clock())
    again = open_store(elsewhere)
    try:
        found = again.pairings.latest()
        assert found is not None
        assert found.origin == FIRST.origin
    finally:
        again.close()


def test_usual_ports_are_left_away_as_browsers_do():
    """The origin is what a browser keeps its data under."""
    assert Pairing("https", "a.test", 443).origin == "https://a.test"
    assert Pairing("http", "a.test", 80).origin == "http://a.test"
    assert Pairing("http", "a.test", 443).origin == "http://a.test:443"
