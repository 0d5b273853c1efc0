"""The power goes in the middle of every write of the store: what was acknowledged is there (`make soak`: 10,000)."""

from __future__ import annotations

import pytest
from tests.disk import after_cut
from tests.power import cuts, record, transactions_lost

CUTS = 100


@pytest.mark.parametrize("journal", ["truncate", "wal"])
def test_a_power_cut_takes_nothing_that_was_acknowledged(journal):
    """Both journals with synchronous=FULL: after each cut the database is sound and is the state before or after."""
    recorded = record(journal)
    found = cuts(recorded, CUTS, seed=11)
    assert [one for one in found if not one.kept] == []
    assert sum(one.twice for one in found) > CUTS // 10
    # between two transactions nothing is under way; enough cuts must fall within one
    assert len({one.acknowledged for one in found}) > CUTS // 4


def test_the_cuts_see_it_where_commits_do_not_wait_for_the_disk():
    """The write-ahead journal with synchronous=NORMAL, as many set it: acknowledged transactions are lost."""
    found = cuts(record("wal", "NORMAL"), CUTS, seed=12)
    lost = [one for one in found if transactions_lost(one)]
    assert len(lost) > CUTS // 2
    # it forgets, but does not spoil the file
    assert all(one.sound == "ok" for one in found)


def test_the_cuts_see_it_where_the_disk_does_not_wait_at_all():
    """The rollback journal with synchronous=OFF: files are spoilt, or hold what was never a state."""
    found = cuts(record("truncate", "OFF"), CUTS, seed=13)
    assert any(one.state is None for one in found)


class Coin:
    """Chance that always says the same."""

    def __init__(self, value):
        self.value = value

    def random(self):
        return self.value


def test_the_disk_loses_only_what_was_not_flushed():
    """By hand: of two writes one was flushed; the other comes to the disk or does not."""
    log = [
        ("write", "a", 0, b"one"),
        ("sync", "a", False),
        ("write", "a", 3, b"two"),
        ("write", "b", 0, b"x"),
    ]
    assert after_cut(log, 4, Coin(0.1)) == {"a": b"one"}
    assert after_cut(log, 4, Coin(0.9)) == {"a": b"onetwo", "b": b"x"}
    assert after_cut(log, 1, Coin(0.1)) == {}
    gone = [*log[:2], ("truncate", "a", 1), ("sync", "a", False), ("delete", "a")]
    assert after_cut(gone, 5, Coin(0.1)) == {"a": b"o"}
    assert after_cut(gone, 5, Coin(0.9)) == {}
    flushed = [*gone, ("write", "b", 0, b"x"), ("sync", "b", True)]
    assert after_cut(flushed, 7, Coin(0.1)) == {"b": b"x"}
