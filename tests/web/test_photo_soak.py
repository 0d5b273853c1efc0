"""Photos through connections of which a fifth break: every one arrives (`make soak` sends 2,000)."""

from __future__ import annotations

import sqlite3
from contextlib import closing

from tests.browser.conftest import Server
from tests.photo_soak import soak


def test_twenty_photos_arrive_though_a_fifth_of_the_connections_break(tmp_path):
    """20 of 20 are held with the hash of the phone's file, none twice, no part left over."""
    server = Server(tmp_path).start()
    try:
        found = soak(server, photos_count=20, size_bytes=1_200_000, broken_share=0.2, phones_count=2, seed=1)
    finally:
        server.stop()
    assert found["photos"] == 20
    assert found["cut"] > 0
    assert found["lost_replies"] > 0
    with closing(sqlite3.connect(server.database)) as link:
        tables = ("capture_item", "capture_photo", "capture_part")
        counts = [link.execute(f"SELECT count(*) FROM {name}").fetchone()[0] for name in tables]
    assert counts == [20, 20, 0]
