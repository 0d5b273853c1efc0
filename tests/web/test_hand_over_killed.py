"""The real server is killed in the middle of a hand-over, then all is sent again: rows = items made."""

from __future__ import annotations

from tests.browser.conftest import Server
from tests.killed import killed_while_handing_over


def test_a_kill_in_the_middle_of_a_hand_over_loses_and_doubles_nothing(tmp_path):
    """SIGKILL among items and parts: what was acknowledged is there, what is sent again is held once."""
    server = Server(tmp_path).start()
    try:
        found = killed_while_handing_over(server, kills=3, items_count=40, photos_count=4, seed=3, most_s=0.6)
    finally:
        server.stop()
    assert (found["items"], found["photos"]) == (120, 12)
    assert found["in_the_middle"] >= 1
