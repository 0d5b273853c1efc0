"""Other diffusers in job.toml, changed in their own lines; every other line and every line of comment stays."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Collection, Sequence

from plumeline.files.placed_lines import lines_of
from plumeline.files.toml_lines import statements

KEY = "air.diffusers"


def with_diffuser_names(data: bytes, kept: Collection[str], new: Sequence[str]) -> bytes | None:
    """Return job.toml with some diffusers out and others, of whom only the name is known, in.

    Args:
        data: the file.
        kept: names of those that stay as they are written.
        new: names of those that come, behind them.

    Returns:
        The file, or None where its lines can't be told apart; whether it says what is wanted, the caller looks.
    """
    split = lines_of(data)
    if split is None:
        return None
    lines, end = split
    blocks = _blocks(lines)
    if blocks is None:
        return None
    gone = [(first, last) for first, last, name in blocks if name not in kept]
    stay = [last for _, last, name in blocks if name in kept]
    at = stay[-1] if stay else gone[0][0] if gone else _end(lines)
    added = [
        line for name in new for line in ("", f"[[{KEY}]]", f"name = {json.dumps(name, ensure_ascii=False)}")
    ]
    if added and not stay and gone:
        added = [*added[1:], ""]
    found: list[str] = []
    for index, line in enumerate(lines):
        if index == at:
            found += added
        inside = any(first <= index < last for first, last in gone)
        if not inside or line.lstrip().startswith("#"):
            found.append(line)
    if at >= len(lines):
        found += added
    return end.join(found).encode()


def _end(lines: Sequence[str]) -> int:
    """Return the line behind the last one that says something."""
    return max((index + 1 for index, line in enumerate(lines) if line.strip()), default=0)


def _blocks(lines: Sequence[str]) -> list[tuple[int, int, str]] | None:
    """Return first line, line behind the last one that says something, and name of each diffuser's table."""
    there = statements(lines)
    if there is None:
        return None
    found: list[tuple[int, int, str]] = []
    for one in there:
        if one.table == f"[[{KEY}" and lines[one.first].lstrip().startswith("["):
            found.append((one.first, one.last, ""))
        elif found and (one.table == f"[[{KEY}" or one.table.lstrip("[").startswith(f"{KEY}.")):
            first, _, name = found[-1]
            if one.key == "name" and one.table == f"[[{KEY}":
                name = str(tomllib.loads("\n".join(lines[one.first : one.last]))["name"])
            found[-1] = (first, one.last, name)
    return found
