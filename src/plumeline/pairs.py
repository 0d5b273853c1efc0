"""A value in a sentence, in both systems of units, until it is known which one the reader thinks in.

A sentence is written by a stage, which knows no reader; each surface knows one. So a value goes into a sentence
as a pair, US and SI, between marks that take no room and show nothing; a surface takes the side that it needs
(`said`), and one that does not ask shows both, "12 ft 6 in (3.81 m)" (`unmarked`).
"""

from __future__ import annotations

import re
from typing import Literal

MARK = "\u2060"
"""Word joiner: no width, no line break, in no text of ours otherwise."""

PAIR = re.compile(f"{MARK}([^{MARK}]*){MARK} \\({MARK}([^{MARK}]*){MARK}\\)")


def pair(us: str, si: str) -> str:
    """Return a value as it stands in a sentence: one text where the two are alike."""
    return us if us == si else f"{MARK}{us}{MARK} ({MARK}{si}{MARK})"


def said(text: str, units: Literal["us", "si"]) -> str:
    """Return a sentence in one system of units."""
    return PAIR.sub(r"\1" if units == "us" else r"\2", text).replace(MARK, "")


def unmarked(text: str) -> str:
    """Return a sentence with both sides of each value, SI in brackets."""
    return text.replace(MARK, "")
