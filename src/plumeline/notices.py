"""Warnings as values: a code, a severity and words, shown by every surface."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from plumeline.pairs import said


class Severity(StrEnum):
    """How much a notice matters: a note informs, a caution changes the plan, a danger can hurt."""

    NOTE = "note"
    CAUTION = "caution"
    DANGER = "danger"


@dataclass(frozen=True)
class Notice:
    """One warning value; `text` holds its numbers in both systems (`plumeline.pairs`)."""

    code: str
    severity: Severity
    text: str

    def said(self, units: Literal["us", "si"]) -> str:
        """Return the text in one system of units."""
        return said(self.text, units)


def note(code: str, text: str) -> Notice:
    """Return a notice that informs."""
    return Notice(code, Severity.NOTE, text)


def caution(code: str, text: str) -> Notice:
    """Return a notice that should change what is done."""
    return Notice(code, Severity.CAUTION, text)


def danger(code: str, text: str) -> Notice:
    """Return a notice of something that can hurt people or kill fish."""
    return Notice(code, Severity.DANGER, text)
