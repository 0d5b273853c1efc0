"""A reading's name as a person says it: of what kind, and when it was read."""

from __future__ import annotations

import re
from datetime import datetime

STAMPED = re.compile(r"([a-z]+)-(\d{4}-\d\d-\d\dT\d\d-\d\d)(?:-\d\d)?(?:-(.+))?")


def spoken(ident: str) -> str:
    """Return "the reading of Wed 12 Aug 13:45 (meter m1)" for a name made of kind and clock; any other as it is.

    Args:
        ident: the reading's id.
    """
    found = STAMPED.fullmatch(ident)
    if found is None:
        return ident
    kind, stamp, more = found.groups()
    time = datetime.strptime(stamp, "%Y-%m-%dT%H-%M")
    tail = "" if not more else f" (meter {more})" if kind == "reading" else f" ({more})"
    return f"the {kind} of {time:%a} {time.day} {time:%b %H:%M}{tail}"


def capital(name: str) -> str:
    """Return a name at the head of a sentence; one that somebody gave stays as it was given."""
    return f"The {name[4:]}" if name.startswith("the ") else name
