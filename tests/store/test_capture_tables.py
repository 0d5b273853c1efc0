"""The tables of field capture: an older database gets them and loses nothing."""

from __future__ import annotations

import sqlite3
from contextlib import closing

from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext

from plumeline.store import migrate, open_store
from plumeline.store.capture_tables import CAPTURE_TABLES
from plumeline.store.engine import Database
from plumeline.store.schema import metadata


def at_step(path, step):
    """Make a database as it was at a step."""
    path.parent.mkdir(parents=True)
    path.touch()
    database = Database(path)
    with database.transaction() as link:
        config = migrate._config()
        config.attributes["connection"] = link
        command.upgrade(config, step)
        link.exec_driver_sql(
            "INSERT INTO pond (id, name, latest_revision, created_at, folder_name) VALUES ('oak', 'Oak', 0, '', '')"
        )
    database.close()


def test_a_database_of_the_step_before_gets_the_tables(path):
    """The pond of before is there, after a backup; the tables are those that this version speaks of."""
    at_step(path, "0001")
    store = open_store(path)
    try:
        assert store.ponds.count() == 1
        with store.database.reading() as link:
            differ = compare_metadata(MigrationContext.configure(link), metadata)
            assert not [one for one in differ if any(name in str(one) for name in CAPTURE_TABLES)]
    finally:
        store.close()
    assert list((path.parent / "backups").glob("*.sqlite3"))
    with closing(sqlite3.connect(path)) as link:
        found = {row[0] for row in link.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
        assert set(CAPTURE_TABLES) <= found
        made = link.execute("SELECT sql FROM sqlite_schema WHERE name = 'capture_item'").fetchone()[0]
        assert "AUTOINCREMENT" in made
