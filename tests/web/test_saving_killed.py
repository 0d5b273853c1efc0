"""The real server is killed while a client saves (`make soak`: 1,000 kills): what was answered is there."""

from __future__ import annotations

from tests.browser.conftest import Server
from tests.killed_saving import killed_while_saving


def test_a_kill_of_the_server_loses_no_save_that_was_answered(tmp_path):
    """SIGKILL among saves and while it starts: each answered revision is there with its content, the file sound."""
    found = killed_while_saving(Server(tmp_path), kills=4, seed=4, at_start_share=0.3)
    assert found["kills"] == 4
    assert found["saves"] >= 2
