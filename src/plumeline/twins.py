"""What a picture shows, once more as a table: for whoever can't see the picture, made of the picture's own data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from plumeline.units.showing import decimals, plain

MOST_ROWS = 60
"""A table beside a picture has no more rows; what is left out is said."""

Row = Mapping[str, Any]


@dataclass(frozen=True)
class Column:
    """A column of a table beside a picture.

    Attributes:
        key: the field of the picture's data.
        head: the words over it, with the unit.
        digits: decimals; by default as many as show the column's largest number to three figures.
        of: the field of the picture's data where that spreads over several columns; empty where it is the key.
    """

    key: str
    head: str
    digits: int | None = None
    of: str = ""


@dataclass(frozen=True)
class Twin:
    """A table that says what a picture shows.

    Attributes:
        title: what the table is of.
        keys: the field of the picture's data that each column holds.
        heads: the words over each column.
        rows: the cells, as texts; the first names its row.
        align: one letter a column, "l" for words and "r" for numbers.
        note: what was left out, and what has no row; may be empty.
    """

    title: str
    keys: tuple[str, ...]
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    align: str
    note: str = ""


def twin_of(
    title: str,
    columns: Sequence[Column],
    rows: Sequence[Row],
    *,
    by: str = "",
    most: int = MOST_ROWS,
    note: str = "",
) -> Twin:
    """Return the table of a picture's data.

    Args:
        title: what the table is of.
        columns: the fields to show, in order.
        rows: the picture's data; a field may be a number, a text, or None for nothing there.
        by: a field whose values part the rows into groups, each thinned by itself.
        most: rows at most.
        note: what has no row.
    """
    kept = _thinned(rows, [column.key for column in columns], by, most)
    if len(kept) < len(rows):
        said = f"{len(kept)} of {len(rows)} points of the picture, the least and greatest of each column among them."
        note = f"{note} {said}".strip()
    numeric = [_is_numeric(column, rows) for column in columns]
    digits = [
        _digits(column, rows) if is_number else 0 for column, is_number in zip(columns, numeric, strict=True)
    ]
    return Twin(
        title,
        tuple(column.of or column.key for column in columns),
        tuple(column.head for column in columns),
        tuple(
            tuple(_cell(row[column.key], places) for column, places in zip(columns, digits, strict=True))
            for row in kept
        ),
        "".join("r" if is_number else "l" for is_number in numeric),
        note,
    )


def _is_numeric(column: Column, rows: Sequence[Row]) -> bool:
    found = [row[column.key] for row in rows if row[column.key] is not None]
    return bool(found) and not any(isinstance(value, str) for value in found)


def _digits(column: Column, rows: Sequence[Row]) -> int:
    if column.digits is not None:
        return column.digits
    return decimals(max(abs(row[column.key]) for row in rows if row[column.key] is not None))


def _cell(value: object, digits: int) -> str:
    if value is None:
        return "–"
    return value if isinstance(value, str) else plain(float(value), digits)  # type: ignore[arg-type]


def _thinned(rows: Sequence[Row], keys: Sequence[str], by: str, most: int) -> list[Row]:
    """Return at most so many rows: the ends and even steps of each group, and the extremes of each column."""
    if len(rows) <= most:
        return list(rows)
    groups: dict[object, list[int]] = {}
    for index, row in enumerate(rows):
        groups.setdefault(row[by] if by else "", []).append(index)
    kept = _extremes(rows, keys)
    each = max(2, (most - len(kept)) // len(groups))
    for found in groups.values():
        step = (len(found) - 1) / (each - 1)
        kept |= {found[round(step * n)] for n in range(each)}
    return [rows[index] for index in sorted(kept)]


def _extremes(rows: Sequence[Row], keys: Sequence[str]) -> set[int]:
    found: set[int] = set()
    for key in keys:
        numbers = [index for index, row in enumerate(rows) if isinstance(row[key], int | float)]
        if numbers:
            found |= {pick(numbers, key=lambda index: rows[index][key]) for pick in (min, max)}
    return found
