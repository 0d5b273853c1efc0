"""Text tables that fit an 80-column terminal."""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from plumeline.pairs import unmarked

WIDTH = 80
GAP = "  "
LEAST_COLUMN = 8


@dataclass(frozen=True)
class Part:
    """What a text of a terminal was made of, for surfaces that set it in their own way.

    Attributes:
        title: the line above; empty without one.
        heads: heads of the columns; empty for names with values and for sentences.
        rows: the cells; one a row for sentences.
        align: one letter a column, "l" or "r".
    """

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    align: str


class Block(str):
    """A text for a terminal that remembers the parts it was made of."""

    __slots__ = ("parts",)
    parts: tuple[Part, ...]

    def __new__(cls, text: str, parts: Sequence[Part]) -> Block:
        """Return a text with its parts."""
        found = super().__new__(cls, text)
        found.parts = tuple(parts)
        return found

    def __add__(self, more: str) -> Block:
        """Return both texts, with the parts of both."""
        return Block(str(self) + more, (*self.parts, *parts_of(more)))


def parts_of(text: str) -> tuple[Part, ...]:
    """Return the parts of a text; one of plain sentences where it remembers none."""
    if isinstance(text, Block):
        return text.parts
    joined = " ".join(text.split())
    return (Part("", (), ((joined,),), "l"),) if joined else ()


def cells(text: str) -> int:
    """Return how many cells of a terminal a text takes."""
    wide = sum(1 for mark in text if unicodedata.east_asian_width(mark) in "WF")
    return len(text) + wide - sum(1 for mark in text if unicodedata.combining(mark))


def paragraph(text: str, indent: str = "") -> str:
    """Return a text broken into lines of at most 80 cells, each after the first indented by two more."""
    return textwrap.fill(unmarked(text), WIDTH, initial_indent=indent, subsequent_indent=indent + "  ")


def listing(rows: Sequence[tuple[str, str]], title: str = "") -> str:
    """Return names and values in two columns under a title.

    Args:
        rows: (name, value) pairs.
        title: a line above; none when empty.
    """
    width = min(max((cells(name) for name, _ in rows), default=0), WIDTH // 2)
    out = [title] if title else []
    rows = [(unmarked(name), unmarked(value)) for name, value in rows]
    for name, value in rows:
        room = WIDTH - 2 - width - len(GAP)
        parts = textwrap.wrap(value, room) or [""]
        names = textwrap.wrap(name, width) or [""]
        for i in range(max(len(parts), len(names))):
            left = names[i] if i < len(names) else ""
            right = parts[i] if i < len(parts) else ""
            out.append(f"  {_pad(left, width)}{GAP}{right}".rstrip())
    return Block("\n".join(out), [Part(title, (), tuple(rows), "ll")])


def table(headers: Sequence[str], rows: Sequence[Sequence[str]], *, align: str = "", title: str = "") -> str:
    """Return a table with a rule under its head, no wider than 80 cells; long cells go on in the next line.

    Args:
        headers: one a column; a line break in it is kept.
        rows: texts, one a column.
        align: one letter a column, "l" or "r"; by default the first is left and the rest are right.
        title: a line above; none when empty.
    """
    count = len(headers)
    rows = [[unmarked(cell) for cell in row] for row in rows]
    align = align or "l" + "r" * (count - 1)
    columns = [[headers[i], *(row[i] for row in rows)] for i in range(count)]
    widths = _fit([max(_widest(cell) for cell in column) for column in columns])
    out = [title] if title else []
    out += _row(headers, widths, align)
    out.append(GAP.join("─" * width for width in widths))
    for row in rows:
        out += _row(row, widths, align)
    return Block("\n".join(out), [Part(title, tuple(headers), tuple(map(tuple, rows)), align)])


def _widest(cell: str) -> int:
    return max((cells(line) for line in cell.split("\n")), default=0)


def _fit(widths: list[int]) -> list[int]:
    """Narrow the widest columns until the table fits."""
    room = WIDTH - len(GAP) * (len(widths) - 1)
    widths = list(widths)
    while sum(widths) > room and max(widths) > LEAST_COLUMN:
        widths[widths.index(max(widths))] -= 1
    return widths


def _row(row: Sequence[str], widths: list[int], align: str) -> list[str]:
    broken = [
        [part for line in cell.split("\n") for part in (textwrap.wrap(line, max(width, 1)) or [""])]
        for cell, width in zip(row, widths, strict=True)
    ]
    out = []
    for i in range(max(len(parts) for parts in broken)):
        texts = [
            _pad(parts[i] if i < len(parts) else "", width, side)
            for parts, width, side in zip(broken, widths, align, strict=True)
        ]
        out.append(GAP.join(texts).rstrip())
    return out


def _pad(text: str, width: int, side: str = "l") -> str:
    blank = " " * max(0, width - cells(text))
    return text + blank if side == "l" else blank + text
