"""One line of the page: what was tried, what was found, and its limit."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """A figure with its limit.

    Attributes:
        what: what was tried, with how often.
        found: the figure.
        limit: what it must be.
        held: whether it is; None where there is no limit.
    """

    what: str
    found: str
    limit: str = ""
    held: bool | None = None

    @property
    def verdict(self) -> str:
        """Return the word for it."""
        return {True: "holds", False: "**DOES NOT HOLD**", None: ""}[self.held]


def none_of(what: str, count: int, wrong: str) -> Row:
    """Return the row of something that must never happen."""
    return Row(what, f"{count} {wrong}", "0", count == 0)
