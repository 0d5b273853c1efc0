"""Results kept in memory: made once, whoever asks; one being made holds up nobody who asks for another."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest

from plumeline.web.recent import Recent


def test_the_one_asked_for_longest_ago_goes_first():
    """Three in room for two: the one not asked for lately is made again, the other is not."""
    kept, made = Recent(2), []

    def asked(key):
        return kept.of(key, lambda: made.append(key) or key)

    for key in ("a", "b", "a", "c", "a", "b"):
        assert asked(key) == key
    assert made == ["a", "b", "c", "b"]


def test_many_who_ask_at_once_wait_for_one_making_and_others_do_not_wait():
    """Eight ask for one that is held up: it is made once; another key is answered meanwhile."""
    kept, made, go = Recent(4), [], threading.Event()

    def slow():
        made.append("slow")
        assert go.wait(20)
        return "slow"

    with ThreadPoolExecutor(8) as pool:
        asked = [pool.submit(kept.of, "slow", slow) for _ in range(7)]
        assert pool.submit(kept.of, "quick", lambda: "quick").result(20) == "quick"
        go.set()
        assert {one.result(20) for one in asked} == {"slow"}
    assert made == ["slow"]


def test_what_fails_is_not_kept():
    """The next who asks makes it anew."""
    kept = Recent(2)
    with pytest.raises(ValueError, match="no"):
        kept.of("a", lambda: int("no"))
    assert kept.of("a", lambda: 1) == 1
