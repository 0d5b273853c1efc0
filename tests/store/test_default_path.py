"""Where the database stands when nobody names a place (freedesktop's base directories; Apple's folder of programs)."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from plumeline.store.store import default_path


@pytest.fixture
def home(tmp_path, monkeypatch):
    for name in ("PLUMELINE_HOME", "XDG_DATA_HOME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    return tmp_path


def test_a_named_place_goes_before_all(home, monkeypatch):
    """PLUMELINE_HOME moves it whole."""
    monkeypatch.setenv("PLUMELINE_HOME", str(home / "ponds"))
    assert default_path() == home / "ponds" / "plumeline.sqlite3"


def test_on_linux_it_follows_the_base_directories(home, monkeypatch):
    """XDG Base Directory Specification: XDG_DATA_HOME, else ~/.local/share."""
    monkeypatch.setattr(sys, "platform", "linux")
    assert default_path() == home / ".local" / "share" / "plumeline" / "plumeline.sqlite3"
    monkeypatch.setenv("XDG_DATA_HOME", str(home / "data"))
    assert default_path() == home / "data" / "plumeline" / "plumeline.sqlite3"


def test_on_a_mac_it_stands_with_what_programs_keep(home, monkeypatch):
    """~/Library/Application Support, as Apple's guide to the file system says (from memory)."""
    monkeypatch.setattr(sys, "platform", "darwin")
    assert default_path() == home / "Library" / "Application Support" / "plumeline" / "plumeline.sqlite3"
