"""The Secchi depth in job.toml, changed in its one line; every other line and comment stays."""

from __future__ import annotations

import json
import re
import tomllib
from typing import Any

from plumeline.errors import InputError
from plumeline.files.placed_lines import split_lines

KEY = "secchi_depth"
_HEAD = re.compile(r"^\s*\[\s*(?P<name>[^\[\]]+?)\s*\]\s*(#.*)?$")
_LINE = re.compile(
    r'^(?P<lead>\s*)secchi_depth(_\w+)?\s*=\s*(?P<value>"(?:[^"\\]|\\.)*"|\'[^\']*\'|[^#\s]+)(?P<rest>\s*(#.*)?)$'
)


def with_secchi(data: bytes, value: str) -> bytes:
    """Return job.toml with another Secchi depth.

    Args:
        data: the file.
        value: the depth with its unit ("2 ft").

    Raises:
        InputError: the line can't be found without doubt; nothing is changed.
    """
    text = data.decode("utf-8-sig")
    before = "\ufeff" if data.startswith(b"\xef\xbb\xbf") else ""
    lines, end = split_lines(text)
    at = next((index for index, line in enumerate(lines) if _head(line) == "pond"), None)
    if at is None:
        raise _by_hand(value)
    new = f"{KEY} = {json.dumps(value, ensure_ascii=False)}"
    for index in range(at + 1, len(lines)):
        if _head(lines[index]):
            break
        found = _LINE.match(lines[index])
        if found:
            lines[index] = f"{found['lead']}{new}{found['rest']}"
            break
    if not any(line.strip().startswith(new) for line in lines):
        lines.insert(at + 1, new)
    changed = end.join(lines)
    if _without(text) != _without(changed) or _secchi(changed) != [value]:
        raise _by_hand(value)
    return (before + changed).encode()


def _head(line: str) -> str:
    found = _HEAD.match(line)
    return found["name"] if found else ("[[" if line.strip().startswith("[[") else "")


def _parsed(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return {}


def _without(text: str) -> dict[str, Any]:
    """Return what a file says but for the Secchi depth."""
    found = _parsed(text)
    pond = found.get("pond")
    if isinstance(pond, dict):
        found["pond"] = {key: value for key, value in pond.items() if not key.startswith(KEY)}
    return found


def _secchi(text: str) -> list[Any]:
    pond = _parsed(text).get("pond")
    return [value for key, value in pond.items() if key.startswith(KEY)] if isinstance(pond, dict) else []


def _by_hand(value: str) -> InputError:
    return InputError(
        f"the Secchi depth {value} can't be put into job.toml as it is written.",
        remedy=f"Write it there by hand ({KEY} under [pond]), then set this item aside.",
    )
