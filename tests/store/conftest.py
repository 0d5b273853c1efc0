"""A database in a temporary folder, with a clock that ticks a second a look."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from plumeline.demo import demo_folder
from plumeline.store import open_store, read_folder


class Clock:
    """A clock that goes on by a second each time it is looked at."""

    def __init__(self) -> None:
        self.time = datetime(2026, 8, 11, 12, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.time += timedelta(seconds=1)
        return self.time


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def path(tmp_path):
    return tmp_path / "home" / "plumeline.sqlite3"


@pytest.fixture
def store(path, clock, empty_database):
    path.parent.mkdir()
    path.write_bytes(empty_database)
    found = open_store(path, clock=clock)
    yield found
    found.close()


@pytest.fixture(scope="session")
def oak():
    return read_folder(demo_folder())
