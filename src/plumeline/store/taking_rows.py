"""Whether an item stands alone, and its rows in their file: in place of an earlier version's, never over another's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from plumeline.errors import InputError, JobFolderError, PlumelineError
from plumeline.files.csv_rows import CsvText, lines_equal, lines_with, opened, row_lines, with_lines
from plumeline.files.field_taking import ID, FieldRows, row_id
from plumeline.store.capture_list import ItemRow
from plumeline.store.captures import State


@dataclass(frozen=True)
class Rows:
    """An item whose rows go into a file.

    Attributes:
        row: the item.
        root_id: id of the item that the first of its edits began from.
        family: its variants and edits that nobody set aside.
        pond_id: the pond.
        number: its revision.
        picked: it was picked over what the office made of an earlier version.
    """

    row: ItemRow
    root_id: str
    family: Sequence[ItemRow]
    pond_id: str
    number: int
    picked: bool


def in_words(error: PlumelineError) -> str:
    """Return why an item was not taken, without words about files that it has none of."""
    if not isinstance(error, JobFolderError):
        return str(error)
    return " ".join(
        f"{fault.where}: {fault.problem} {fault.remedy}".strip() if fault.file == "item" else str(fault)
        for fault in error.faults
    )


def alone(row: ItemRow, family: Sequence[ItemRow]) -> None:
    """Refuse an item beside which others say something else of the same reading.

    Raises:
        InputError: with how many there are.
    """
    variants = [one for one in family if one.item.id == row.item.id]
    if len(variants) > 1:
        numbers = ", ".join(f"no. {one.sequence_number}" for one in variants)
        raise InputError(
            f"this reading came with {len(variants)} contents ({numbers}).",
            remedy="Pick the one that shall stand.",
        )
    edited = {one.item.supersedes for one in family}
    if row.item.id in edited:
        later = max(one.sequence_number for one in family if one.item.supersedes == row.item.id)
        raise InputError(
            f"a later edit of it is here (no. {later}).", remedy="Take that one, or pick this one."
        )
    heads = [one for one in family if one.item.id not in edited]
    if len(heads) > 1:
        numbers = ", ".join(f"no. {one.sequence_number}" for one in heads)
        raise InputError(
            f"this reading was edited in {len(heads)} ways ({numbers}).",
            remedy="Pick the one that shall stand.",
        )


def put_rows(files: dict[str, bytes], rows: FieldRows, asked: Rows) -> tuple[str, ...]:
    """Put an item's rows into its file, in place of those of an earlier version of it that was taken.

    Args:
        files: the folder; changed.
        rows: the rows.
        asked: whose they are.

    Raises:
        InputError: the office changed the earlier version's rows, or they stand elsewhere.
    """
    table = opened(rows.file, files.get(rows.file), rows.columns, rows.wanted)
    lines = row_lines(table, rows.rows)
    name = row_id(asked.root_id)
    taken = [one for one in asked.family if one.state is State.TAKEN and one.taken_path]
    old: tuple[int, ...] = ()
    if taken:
        last = taken[-1]
        if last.pond_id != asked.pond_id or last.taken_path != rows.file:
            words = "into another pond" if last.pond_id != asked.pond_id else f"into {last.taken_path}"
            raise InputError(f"an earlier version of it (no. {last.sequence_number}) was taken {words}.")
        old = lines_with(table, ID, name) or lines_equal(table, last.taken_lines)
        _unchanged(table, old, last, lines, asked)
    elif any(column.name == ID for column in rows.columns) and lines_with(table, ID, name):
        raise InputError(f"{rows.file} holds this reading already.", remedy="Set the item aside.")
    files[rows.file] = with_lines(table, lines, old_rows=old).data
    return lines


def _unchanged(
    table: CsvText, old_rows: Sequence[int], last: ItemRow, new: Sequence[str], asked: Rows
) -> None:
    """Refuse where the office changed the rows of the earlier version and the phone did not know."""
    now = tuple(table.lines[index] for index in old_rows)
    if now == last.taken_lines or asked.picked or asked.row.item.base_number == asked.number:
        return
    raise InputError(
        f"{table.name} was changed in the office since its earlier version was taken: it held "
        f"{' / '.join(last.taken_lines)}, now it holds {' / '.join(now) or 'nothing of it'}, and this item says "
        f"{' / '.join(new)}.",
        remedy="Pick this one, or set it aside.",
    )
