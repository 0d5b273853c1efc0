"""`pond.keep_rows` in job.toml, changed in its own line; every other line and comment stays."""

from __future__ import annotations

import re
from collections.abc import Collection

from plumeline.files.placed_lines import lines_of

_HEAD = re.compile(r"^\s*\[\[?\s*([\w.\- \"']+?)\s*\]\]?\s*(#.*)?$")
_KEPT = re.compile(r"^\s*keep_rows\s*=")
_WHOLE = re.compile(r"^(?P<lead>\s*keep_rows\s*=\s*)\[[\d\s,]*\](?P<rest>\s*(#.*)?)$")


def with_keep_rows(data: bytes, rows: Collection[int]) -> bytes | None:
    """Return job.toml with other rows kept, or None where its line can't be found without doubt.

    Args:
        data: the file.
        rows: of soundings.csv, that stay although cleaning would leave them out.
    """
    split = lines_of(data)
    if split is None:
        return None
    lines, end = split
    words = f"[{', '.join(str(row) for row in sorted(rows))}]"
    section, head_index = "", None
    for index, line in enumerate(lines):
        if head := _HEAD.match(line):
            section = head[1]
            if section == "pond":
                head_index = index
        elif section == "pond" and _KEPT.match(line):
            found = _WHOLE.match(line)
            if found is None:
                return None
            lines[index] = f"{found['lead']}{words}{found['rest']}"
            return end.join(lines).encode()
    if head_index is None:
        return None
    lines.insert(head_index + 1, f"keep_rows = {words}")
    return end.join(lines).encode()
