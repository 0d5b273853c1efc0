"""Keys of job.toml found and changed line by line; every other line and comment stays as somebody wrote it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Sequence
from dataclasses import dataclass

_HEAD = re.compile(r"^\s*(?P<marks>\[\[?)\s*(?P<name>[^\[\]]+?)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"""^\s*(["']?)(?P<key>[\w-]+)\1\s*=""")


@dataclass(frozen=True)
class Statement:
    """A head or a key with its value.

    Attributes:
        table: the table that it stands in, such as "site.facts"; "" at the top, "[[air.trunk" in a list of tables.
        key: empty for a head, and for a dotted key.
        first: its first line, from 0.
        last: the line behind it.
    """

    table: str
    key: str
    first: int
    last: int


def statements(lines: Sequence[str]) -> list[Statement] | None:
    """Return the statements of a file, None where a value has no end."""
    found: list[Statement] = []
    table, first = "", 0
    while first < len(lines):
        text = lines[first].strip()
        if not text or text.startswith("#"):
            first += 1
            continue
        if head := _HEAD.match(lines[first]):
            name = re.sub(r"\s*\.\s*", ".", head["name"])
            table = name if head["marks"] == "[" else f"[[{name}"
            found.append(Statement(table, "", first, first + 1))
            first += 1
            continue
        last = _end(lines, first)
        if last is None:
            return None
        key = _KEY.match(lines[first])
        found.append(Statement(table, key["key"] if key else "", first, last))
        first = last
    return found


def _end(lines: Sequence[str], first: int) -> int | None:
    """Return the line behind a key and its value, which may run over many lines."""
    for last in range(first + 1, len(lines) + 1):
        # a list that goes on needs no look: a long one would be read as often as it has lines
        if not lines[last - 1].rstrip().endswith((",", "[")) and _is_whole("\n".join(lines[first:last])):
            return last
    return None


def _is_whole(text: str) -> bool:
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return False
    return True


def comment_of(line: str) -> str:
    """Return the comment at the end of a line with the blanks before it; empty where it has none."""
    quote = ""
    at = 0
    while at < len(line):
        mark = line[at]
        if quote:
            if mark == "\\" and quote == '"':
                at += 1
            elif mark == quote:
                quote = ""
        elif mark in "\"'":
            quote = mark
        elif mark == "#":
            return line[len(line[:at].rstrip()) :]
        at += 1
    return ""


def with_key(
    lines: Sequence[str], table: str, written: str, stands_for: Callable[[str], bool]
) -> list[str] | None:
    """Return the lines with one key of a table written anew.

    Args:
        lines: of the file.
        table: as in ``Statement``.
        written: key and value, on one line.
        stands_for: whether a key that is there means the same; every such line goes, its comment stays.

    Returns:
        The lines, or None where they can't be told apart.
    """
    there = statements(lines)
    if there is None:
        return None
    own = [one for one in there if one.table == table and one.key and stands_for(one.key)]
    if not own:
        return _with_new(list(lines), table, written, there)
    found: list[str] = []
    gone = {row: one for one in own for row in range(one.first, one.last)}
    for row, line in enumerate(lines):
        one = gone.get(row)
        if one is None:
            found.append(line)
            continue
        comment = comment_of(line)
        if row == own[0].first:
            lead = line[: len(line) - len(line.lstrip())]
            found.append(f"{lead}{written}{comment}")
        elif comment:
            found.append(comment.strip())
    return found


def _with_new(lines: list[str], table: str, written: str, there: Sequence[Statement]) -> list[str]:
    """Return the lines with a key that was not there: at its table's end, or in a table of its own."""
    inside = [one for one in there if one.table == table]
    parent = table.rpartition(".")[0]
    above = [one for one in there if parent and one.table == parent]
    if inside:
        at, new = inside[-1].last, [written]
    elif not table:
        at, new = next((one.first for one in there if not one.key), 0), [written, ""]
    elif above:
        at, new = above[-1].last, ["", f"[{table}]", written]
    else:
        at = max((row + 1 for row, line in enumerate(lines) if line.strip()), default=0)
        new = ["", f"[{table}]", written]
    return [*lines[:at], *new, *lines[at:]]
