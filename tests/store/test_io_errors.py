"""The disk refuses one thing asked of it in the middle of a write: old state or new (`make soak`: every call)."""

from __future__ import annotations

import random

import pytest
from sqlalchemy import event
from tests.io_errors import KINDS, Bench


@pytest.fixture(scope="module", params=["truncate", "wal"])
def bench(request, tmp_path_factory):
    """A store whose disk can be set back to before each write."""
    found = Bench(tmp_path_factory.mktemp(request.param), request.param)
    yield found
    found.close()


@pytest.fixture
def save(bench):
    """What there was before a save."""
    return next(one for one in bench.befores if one.name == "save files again")


def test_a_save_whose_disk_fails_at_any_call_is_kept_whole_or_not_at_all(bench, save):
    """Call by call, once and from there on: the state before or after, words instead of a fault, then again."""
    for kind in KINDS:
        calls, refused, wrong = bench.all_calls(save, kind, step=4)
        assert wrong == []
        assert calls > 10
        assert refused > calls // 8


def test_every_write_whose_disk_fails_is_kept_whole_or_not_at_all(bench):
    """Each write of the store, one call of each in one way, both by chance."""
    chance, came = random.Random(5), 0
    for one in bench.befores:
        kind = chance.choice(list(KINDS))
        found = bench.failing(one, chance.randint(1, 14), kind)
        assert found.wrong == "", (one.name, kind)
        came += found.came
    assert came > len(bench.befores) // 2


def test_a_store_that_writes_row_by_row_is_caught(bench, save):
    """Without BEGIN each row is kept by itself: states that never were are seen."""
    database = bench.store.database
    event.remove(database.engine, "begin", database._begin)
    try:
        _, _, wrong = bench.all_calls(save, "one call fails", step=5)
    finally:
        event.listen(database.engine, "begin", database._begin)
    assert any("never was" in words for words in wrong)
