"""A home folder, a database, a machine that says what the test wants of itself."""

from __future__ import annotations

import argparse

import pytest

from plumeline.store import open_store
from plumeline.web.lan import reach


@pytest.fixture
def store(tmp_path):
    found = open_store(tmp_path / "plumeline.sqlite3")
    yield found
    found.close()


class Machine:
    """What a machine says of itself."""

    name = "oak-office"
    addresses = ("192.168.7.20",)


@pytest.fixture
def machine(monkeypatch):
    found = Machine()
    monkeypatch.setattr(reach, "machine_name", lambda: found.name)
    monkeypatch.setattr(reach, "default_host_name", lambda: f"{found.name}.local")
    monkeypatch.setattr(reach, "private_addresses", lambda _host: found.addresses)
    return found


@pytest.fixture
def asked():
    """The options of `serve`, those of nothing asked for where none is named."""
    none = {
        "lan": False, "name": None, "port": None, "certificate_port": None, "move": False, "plain_http": False,
        "behind_proxy": None, "host": None,
    }  # fmt: skip
    return lambda **given: argparse.Namespace(**(none | given))
