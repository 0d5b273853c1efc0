"""CSV files with a heading row: units in headers and cells, semicolons, decimal commas, comments."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from plumeline.errors import PlumelineError
from plumeline.files.findings import Findings
from plumeline.files.headers import Column, Header, match_headers
from plumeline.files.text_in import read_text
from plumeline.units import SUFFIXES, column_factor, parse

NOT_KNOWN = frozenset({"", "-", "nan", "na", "n/a", "null", "none", "?"})
"""Cells that say: not measured. Never zero."""

_DECIMAL_COMMA = re.compile(r"[+-]?\d*,\d+")


def without_round_off(value: float) -> float:
    """Return a converted value to 12 figures: 82.4 °F is 28 °C and not 28.000000000000007.

    A job must not depend on the unit that it was written in, not even in the last bit: a plan is a search, and a
    search can turn on it.
    """
    return float(f"{value:.12g}")


@dataclass
class Table:
    """Columns of a CSV file by their name in the document; a cell that is not known is None or ''."""

    name: str
    rows: list[int] = field(default_factory=list)
    numbers: dict[str, list[float | None]] = field(default_factory=dict)
    texts: dict[str, list[str]] = field(default_factory=dict)

    def text(self, name: str, index: int) -> str:
        """Return a cell of a text column, empty when the column is not there."""
        column = self.texts.get(name)
        return column[index] if column else ""

    def number(self, name: str, index: int) -> float | None:
        """Return a cell of a number column, None when it is not known."""
        column = self.numbers.get(name)
        return column[index] if column else None


def read_table(path: Path, columns: tuple[Column, ...], findings: Findings) -> Table | None:
    """Return the table, or None when there is no file, no row, or no way to read it (faults say why).

    Rows with a fault are left out of the table.
    """
    if not path.exists():
        return None
    text = read_text(path, findings)
    if text is None:
        return None
    lines = text.split("\n")
    numbers = _line_numbers(lines)
    if not numbers:
        findings.fault(path.name, "", "has no heading row.", f"Write: {_heading(columns)}.")
        return None
    delimiter = _delimiter(lines[numbers[0] - 1])
    try:
        grid = list(_records(lines, numbers, delimiter))
    except csv.Error as error:
        findings.fault(path.name, "", f"is not a CSV file ({error}).", "Export it as CSV UTF-8 text.")
        return None
    headers = match_headers(path.name, grid[0], columns, findings)
    if headers is None:
        return None
    if len(grid) == 1:
        findings.note("no-rows", f"{path.name} has a heading and no rows: it counts as not there.")
        return None
    return _Reader(path.name, delimiter, headers, findings).read(grid)


def _heading(columns: tuple[Column, ...]) -> str:
    return ",".join(column.header for column in columns if column.required)


def _line_numbers(lines: list[str]) -> list[int]:
    """Return the numbers of the lines that hold data: not blank, not a comment, not a ``sep=`` line."""
    return [
        number
        for number, line in enumerate(lines, start=1)
        if line.strip(" ,;\t") and line.lstrip()[0] != "#" and not (number == 1 and line.startswith("sep="))
    ]


def _delimiter(heading: str) -> str:
    counts = {mark: heading.count(mark) for mark in (",", ";", "\t")}
    return max(counts, key=lambda mark: counts[mark])


def _records(lines: list[str], numbers: list[int], delimiter: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader((lines[number - 1] for number in numbers), delimiter=delimiter)
    for cells in reader:
        yield numbers[min(reader.line_num, len(numbers)) - 1], cells


@dataclass
class _Reader:
    """Reads the cells of one file once its headers are known."""

    file: str
    delimiter: str
    headers: list[Header | None]
    findings: Findings
    bad: set[int] = field(default_factory=set)

    def read(self, grid: list[tuple[int, list[str]]]) -> Table:
        width = len(self.headers)
        records = []
        for row, cells in grid[1:]:
            if len(cells) > width and any(cell.strip() for cell in cells[width:]):
                self._too_many(row, len(cells), width)
                self.bad.add(row)
            else:
                records.append((row, cells + [""] * (width - len(cells)) if len(cells) < width else cells))
        rows = [row for row, _ in records]
        table = Table(self.file, rows)
        for index, header in enumerate(self.headers):
            if header is None:
                continue
            cells = [entry[index] for _, entry in records]
            if header.column.kind == "number":
                table.numbers[header.column.name] = self._numbers(header, rows, cells)
            else:
                table.texts[header.column.name] = self._texts(header, rows, cells)
        return self._without_bad(table)

    def _without_bad(self, table: Table) -> Table:
        if not self.bad:
            return table
        keep = [index for index, row in enumerate(table.rows) if row not in self.bad]
        return Table(
            table.name,
            [table.rows[index] for index in keep],
            {name: [cells[index] for index in keep] for name, cells in table.numbers.items()},
            {name: [cells[index] for index in keep] for name, cells in table.texts.items()},
        )

    def _too_many(self, row: int, count: int, width: int) -> None:
        remedy = "Remove the extra cells."
        if self.delimiter == ",":
            remedy = "Decimal commas need semicolons between columns; or use decimal points."
        problem = f"has {count} cells, the heading has {width}."
        self.findings.fault(self.file, f"row {row}", problem, remedy, kind="too many cells")

    def _texts(self, header: Header, rows: list[int], cells: list[str]) -> list[str]:
        found = [cell.strip() for cell in cells]
        if header.column.required:
            for row, cell in zip(rows, found, strict=True):
                if not cell:
                    self._fault(row, header, "has no value.", f"Fill it: {header.column.example}.")
        return found

    def _numbers(self, header: Header, rows: list[int], cells: list[str]) -> list[float | None]:
        quick = self._quick(header, cells)
        if quick is not None:
            return list(quick)
        return [self._number(header, row, cell.strip()) for row, cell in zip(rows, cells, strict=True)]

    def _quick(self, header: Header, cells: list[str]) -> list[float] | None:
        """Return a column of plain numbers within the limits, or None: then each cell is looked at."""
        if header.unitless:
            return None
        try:
            values = list(map(float, cells))
        except ValueError:
            return None
        if not all(map(math.isfinite, values)) or any("_" in cell for cell in cells):
            return None
        if header.given != header.column.suffix:
            factor, offset = column_factor(header.given, header.column.suffix)
            values = [without_round_off(value * factor + offset) for value in values]
        limits = header.column.limits
        for extreme in (min(values, default=limits.high), max(values, default=limits.high)):
            if limits.broken_by(extreme, ""):
                return None
        return values

    def _number(self, header: Header, row: int, cell: str) -> float | None:
        column = header.column
        if cell.lower() in NOT_KNOWN:
            if column.required and not column.blank_ok:
                said = f"{cell!r} is not a number." if cell else "has no value."
                self._fault(row, header, said, f"Fill it, as {column.example}, or remove the row.")
            return None
        try:
            value = self._value(header, row, cell)
        except PlumelineError as error:
            self._fault(row, header, error.message, error.remedy or f"Write it as {column.example}.")
            return None
        if value is None:
            return None
        broken = column.limits.broken_by(value, column.unit_words)
        if broken:
            if header.given and header.given != column.suffix:
                # what was written, where it became another number
                broken = f"{cell} {SUFFIXES[header.given].spellings[0]} = {broken}"
            self._fault(row, header, broken, column.limit_remedy)
            return None
        return value

    def _value(self, header: Header, row: int, cell: str) -> float | None:
        column = header.column
        if self.delimiter != "," and _DECIMAL_COMMA.fullmatch(cell):
            cell = cell.replace(",", ".")
        try:
            bare = float(cell) if "_" not in cell else math.nan
        except ValueError:
            if column.suffix:
                return parse(cell, column.suffix, gauge=column.gauge)
            bare = math.nan
        if not math.isfinite(bare):
            self._fault(row, header, f"{cell!r} is not a number.", f"Write it as {column.example}.")
            return None
        if header.unitless:
            remedy = (
                f"Call the column {column.header} (or with the unit it is in), or write units in the cells."
            )
            self._fault(row, header, f"{cell!r} has no unit, and neither has the heading.", remedy)
            return None
        if header.given != column.suffix:
            factor, offset = column_factor(header.given, column.suffix)
            return without_round_off(bare * factor + offset)
        return bare

    def _fault(self, row: int, header: Header, problem: str, remedy: str) -> None:
        self.bad.add(row)
        where = f"row {row}, {header.written}"
        self.findings.fault(self.file, where, problem, remedy, kind=f"in column {header.written}")
