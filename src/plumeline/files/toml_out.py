"""Parts of the document as TOML text: keys are field names with their unit, numbers at full precision."""

from __future__ import annotations

import json
from datetime import date
from enum import Enum
from typing import Any

from pydantic import BaseModel


def toml_text(text: str) -> str:
    """Return a TOML basic string."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def toml_value(value: Any) -> str:
    """Return a value of the document as TOML; parts become inline tables, lists of them one a line."""
    if isinstance(value, BaseModel):
        return _inline(value)
    if isinstance(value, tuple):
        items = [toml_value(item) for item in value]
        if value and isinstance(value[0], BaseModel | tuple):
            return "[\n" + "".join(f"  {item},\n" for item in items) + "]"
        return f"[{', '.join(items)}]"
    if isinstance(value, Enum):
        return toml_text(str(value.value))
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return toml_text(value)
    if isinstance(value, date):
        return value.isoformat()
    return repr(value)


def _inline(part: BaseModel) -> str:
    entries = [f"{name} = {_one_line(value)}" for name, value in part if value is not None]
    return "{ " + ", ".join(entries) + " }" if entries else "{}"


def _one_line(value: Any) -> str:
    """Return a value without line breaks, which an inline table may not hold."""
    if isinstance(value, tuple):
        return f"[{', '.join(_one_line(item) for item in value)}]"
    return toml_value(value)


def toml_section(name: str, part: BaseModel, leave: frozenset[str] = frozenset()) -> str:
    """Return a part as a table, what is not known left out; ``leave`` names fields that stand elsewhere."""
    rows = [
        f"{field} = {toml_value(value)}\n"
        for field, value in part
        if value is not None and field not in leave
    ]
    return f"[{name}]\n" + "".join(rows)
