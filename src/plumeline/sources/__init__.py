"""Tables a person might dispute: each a CSV with a sidecar that cites it, and one way to read them."""

from __future__ import annotations

import csv
import tomllib
from functools import cache
from importlib import resources
from typing import Any

from plumeline.errors import InputError


def table_names() -> tuple[str, ...]:
    """Return the names of all tables, sorted, without their ending."""
    files = resources.files(__name__).iterdir()
    return tuple(sorted(file.name[:-4] for file in files if file.name.endswith(".csv")))


@cache
def _rows(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of one table, read once."""
    if name not in table_names():
        raise InputError(f"there is no table {name!r}.", remedy=f"Known tables: {', '.join(table_names())}.")
    text = resources.files(__name__).joinpath(f"{name}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def read_table(name: str) -> list[dict[str, str]]:
    """Return the rows of a table as texts by column; an empty text means not stated.

    Args:
        name: name of the table without its ending, such as "pipes".

    Returns:
        One dict a row, in the order of the file.

    Raises:
        InputError: no table has that name.
    """
    return [dict(row) for row in _rows(name)]


def read_sidecar(name: str) -> dict[str, Any]:
    """Return a sidecar: ``title``, ``citation`` (list), ``licence``, ``sha256`` and notes."""
    text = resources.files(__name__).joinpath(f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
