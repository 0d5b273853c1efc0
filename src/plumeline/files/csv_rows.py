"""Rows put into a CSV file that somebody else wrote: its columns, units, marks, comments and line ends stay."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from plumeline.errors import InputError
from plumeline.files.findings import Findings
from plumeline.files.headers import Column, Header, match_headers
from plumeline.files.tables import without_round_off
from plumeline.units import SUFFIXES, convert

Row = Mapping[str, str | float]
"""Cells by the name of their column; numbers in the unit of that name."""
_BOM = "\ufeff"


@dataclass(frozen=True)
class CsvText:
    """A CSV file as lines, with where its heading stands.

    Attributes:
        name: of the file.
        lines: without line ends.
        heading: index of the heading's line.
        end: the line end.
        delimiter: between cells.
        headers: what each cell of the heading means.
        before: a byte-order mark, or nothing.
    """

    name: str
    lines: tuple[str, ...]
    heading: int
    end: str
    delimiter: str
    headers: tuple[Header | None, ...]
    before: str = ""

    @property
    def data(self) -> bytes:
        """Return the file."""
        return (self.before + self.end.join((*self.lines, ""))).encode()


def opened(name: str, data: bytes | None, columns: tuple[Column, ...], wanted: Sequence[str]) -> CsvText:
    """Return a file ready for rows: made where there is none, with every column that is wanted.

    Args:
        name: of the file.
        data: what is in it; None where there is none.
        columns: those that such a file may have.
        wanted: names of columns that rows will fill; one that is missing is added at the end of the heading.

    Raises:
        InputError: its heading can't be read.
    """
    by_name = {column.name: column for column in columns}
    text = (data or b"").decode("utf-8-sig", errors="strict")
    if not text.strip():
        text = ",".join(by_name[one].header for one in wanted) + "\n"
    end = "\r\n" if "\r\n" in text else "\n"
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    while lines and not lines[-1].strip():
        lines.pop()
    heading = _heading(lines)
    delimiter = max((",", ";", "\t"), key=lines[heading].count)
    found = _understood(name, lines[heading], delimiter, columns)
    there = {header.column.name for header in found if header is not None}
    missing = [by_name[one] for one in wanted if one not in there]
    if missing:
        lines[heading] += "".join(f"{delimiter}{column.header}" for column in missing)
        found = _understood(name, lines[heading], delimiter, columns)
    before = _BOM if (data or b"").startswith(b"\xef\xbb\xbf") else ""
    return CsvText(name, tuple(lines), heading, end, delimiter, found, before)


def _heading(lines: Sequence[str]) -> int:
    for index, line in enumerate(lines):
        if line.strip(" ,;\t") and line.lstrip()[0] != "#" and not (index == 0 and line.startswith("sep=")):
            return index
    raise InputError("the file has no heading row.", remedy="Give it one, or take it away.")


def _understood(
    name: str, line: str, delimiter: str, columns: tuple[Column, ...]
) -> tuple[Header | None, ...]:
    findings = Findings()
    cells = next(csv.reader([line], delimiter=delimiter))
    found = match_headers(name, (1, cells), columns, findings)
    if found is None:
        words = "; ".join(str(fault) for fault in findings.all_faults())
        raise InputError(f"the heading of {name} can't be read: {words}", remedy="Mend it, then again.")
    return tuple(found)


def row_lines(table: CsvText, rows: Sequence[Row]) -> tuple[str, ...]:
    """Return rows as lines of a file, each number in the unit of the file's column.

    Args:
        table: the file.
        rows: cells by column.
    """
    return tuple(_line(table, row) for row in rows)


def _line(table: CsvText, row: Row) -> str:
    cells = [_cell(header, row) for header in table.headers]
    stream = io.StringIO()
    csv.writer(stream, delimiter=table.delimiter, lineterminator="").writerow(cells)
    line = stream.getvalue()
    # a first cell that begins with the mark of a comment would hide the row
    return f'"{cells[0]}"{line[len(cells[0]) :]}' if line.startswith("#") else line


def _cell(header: Header | None, row: Row) -> str:
    if header is None or header.column.name not in row:
        return ""
    value = row[header.column.name]
    if isinstance(value, str):
        # marks that nobody sees (a zero byte, a line end of any kind) would make the file unreadable
        return " ".join("".join(mark if mark.isprintable() else " " for mark in value).split())
    column = header.column
    if header.unitless:
        return f"{value:.12g} {SUFFIXES[column.suffix].spellings[0]}"
    if header.given != column.suffix and column.suffix in SUFFIXES:
        value = convert(value, column.suffix, header.given)
    return f"{without_round_off(value):.12g}"


def with_lines(table: CsvText, new: Sequence[str], *, old_rows: Sequence[int] = ()) -> CsvText:
    """Return a file with new lines: where the old ones stood, else at its end.

    Args:
        table: the file.
        new: the lines.
        old_rows: indices of the lines that they replace.
    """
    old = set(old_rows)
    at = min(old) if old else len(table.lines)
    lines = [line for index, line in enumerate(table.lines) if index < at and index not in old]
    lines += new
    lines += [line for index, line in enumerate(table.lines) if index >= at and index not in old]
    return CsvText(
        table.name, tuple(lines), table.heading, table.end, table.delimiter, table.headers, table.before
    )


def lines_with(table: CsvText, column: str, value: str) -> tuple[int, ...]:
    """Return the indices of lines whose cell of a column is a value.

    Args:
        table: the file.
        column: name of the column.
        value: the cell.
    """
    place = next(
        (index for index, one in enumerate(table.headers) if one and one.column.name == column), None
    )
    if place is None:
        return ()
    found = []
    for index in range(table.heading + 1, len(table.lines)):
        line = table.lines[index]
        if value in line and not line.lstrip().startswith("#"):
            cells = next(csv.reader([line], delimiter=table.delimiter), [])
            if place < len(cells) and cells[place].strip() == value:
                found.append(index)
    return tuple(found)


def lines_equal(table: CsvText, wanted: Sequence[str]) -> tuple[int, ...]:
    """Return the indices of lines that are these, each once; none where one of them is not there."""
    left = list(range(table.heading + 1, len(table.lines)))
    found = []
    for line in wanted:
        at = next((index for index in left if table.lines[index] == line), None)
        if at is None:
            return ()
        left.remove(at)
        found.append(at)
    return tuple(found)
