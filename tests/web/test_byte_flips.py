"""A byte of the database turns on the disk: never a silent empty start, never an error of ours (`make soak`: 1,000)."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest
from starlette.testclient import TestClient
from tests.byte_flips import HOST, flips

from plumeline.store import open_store
from plumeline.web.app import make_app

FLIPS = 30


def test_a_turned_byte_is_never_an_empty_start_nor_an_error_of_ours(tmp_path):
    """At thirty places: refused, read only, said on the page it concerns, or of no effect on what is shown."""
    found = flips(tmp_path, FLIPS, seed=4, drawn_every=20)
    assert [one for one in found if one.wrong] == []
    assert {"read only", "said", "not noticed"} >= {one.how for one in found} - {"refused"}
    assert sum(one.how != "not noticed" for one in found) > 2


@pytest.mark.parametrize(
    ("words", "status"),
    [
        ("UPDATE revision SET job = replace(job, 'oak', 'oal')", {"/ponds/{pond}": 503, "/": 200}),
        ("UPDATE revision SET saved_at = '2026-08-1p'", {"/ponds/{pond}": 503, "/": 503}),
        ("UPDATE blob SET content = content || 'x'", {"/ponds/{pond}/files": 503, "/": 200}),
        ("UPDATE pond SET latest_revision = 7", {"/": 200}),
    ],
)
def test_what_turned_inside_a_row_is_said_where_it_would_be_shown(words, status, tmp_path, oak):
    """A job, a time, a file, the pointer to the latest revision: 503 and the way out, or the banner of damage."""
    path = tmp_path / "plumeline.sqlite3"
    store = open_store(path)
    pond = store.ponds.add(oak, author="", reason="").pond_id
    store.close()
    with closing(sqlite3.connect(path)) as link, link:
        link.execute(words)
    store = open_store(path)
    client = TestClient(make_app(store), base_url=HOST, raise_server_exceptions=False)
    for page, wanted in status.items():
        answer = client.get(page.format(pond=pond))
        assert answer.status_code == wanted
        if wanted == 503:
            assert "the database is damaged" in answer.text
            assert "plumeline doctor" in answer.text
    if "latest_revision" in words:
        assert "damaged and open for reading only" in client.get("/").text
    store.close()


@pytest.mark.parametrize(("table", "column"), [("revision", "last_reading_at"), ("capture_item", "words")])
def test_a_turned_byte_in_the_name_of_a_column_is_seen_at_the_start(table, column, tmp_path, oak):
    """SQLite's own check passes such a file; a statement would fail on it only where it is asked."""
    path = tmp_path / "plumeline.sqlite3"
    store = open_store(path)
    pond = store.ponds.add(oak, author="", reason="").pond_id
    store.close()
    with closing(sqlite3.connect(path)) as link, link:
        link.execute(f"ALTER TABLE {table} RENAME COLUMN {column} TO {column[:-1]}q")
        assert link.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    store = open_store(path)
    assert store.damage == f"the table {table} has no {column} any more"
    client = TestClient(make_app(store), base_url=HOST, raise_server_exceptions=False)
    for page in ("/", "/captures", f"/ponds/{pond}/files"):
        answer = client.get(page)
        assert answer.status_code in (200, 503)
        assert "damaged" in answer.text
    store.close()
