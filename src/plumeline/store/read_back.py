"""Rows that can't be what was saved are said to be damaged, not shown as something else."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import wraps
from typing import ParamSpec, TypeVar

from sqlalchemy.exc import NoResultFound

from plumeline.store.errors import DamagedError

Given = ParamSpec("Given")
Found = TypeVar("Found")


def read_back(function: Callable[Given, Found]) -> Callable[Given, Found]:
    """Let a function that makes values of rows say that the database is damaged where no value can be made.

    What stands in a row was checked when it was saved: a time that is none, or a word that is not of its list, has
    turned on the disk since.
    """

    @wraps(function)
    def reading(*given: Given.args, **named: Given.kwargs) -> Found:
        try:
            return function(*given, **named)
        except (ValueError, KeyError, TypeError, NoResultFound) as error:
            raise DamagedError(f"a row can't be read back ({type(error).__name__})") from error

    return reading


def as_saved(data: bytes, sha256: str, what: str) -> None:
    """Refuse a content that is not what was saved.

    Raises:
        DamagedError: its hash differs from the one taken then.
    """
    if hashlib.sha256(data).hexdigest() != sha256:
        raise DamagedError(f"{what} is not what was saved")
