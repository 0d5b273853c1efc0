"""Eight clients write while four read, through the real server (`make soak`: 500 writes each, both journals)."""

from __future__ import annotations

import sqlite3
from contextlib import closing

from tests.browser.conftest import Server
from tests.many_clients import at_once, prepared

CLIENTS, WRITES = 8, 20


def test_eight_clients_and_four_readers_meet_no_lock(tmp_path):
    """Every write is answered as done and is there; no answer says that the database is locked."""
    server = Server(tmp_path)
    ponds = prepared(server.database, CLIENTS)
    server.start()
    try:
        times = at_once(server, ponds, writes=WRITES, readers=4)
    finally:
        server.stop()
    assert times.refused == []
    with closing(sqlite3.connect(server.database)) as link:
        held = link.execute("SELECT count(*) FROM capture_item").fetchone()[0]
        saved = link.execute("SELECT count(*) FROM revision").fetchone()[0]
    assert (held, saved) == (len(times.items_s), CLIENTS + len(times.saves_s))
    assert held + saved == CLIENTS * (WRITES + 1)
    assert times.reads_s
