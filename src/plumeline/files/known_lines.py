"""The answers about a pond as job.toml has them, and job.toml with other answers: only their own lines change."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from datetime import date
from typing import Any

from pydantic import BaseModel

from plumeline.files.keys import find_key
from plumeline.files.known_places import COMPRESSOR, KEYS, WALLS
from plumeline.files.new_answers import written_value
from plumeline.files.place_text import place_shown
from plumeline.files.placed_lines import split_lines
from plumeline.files.site_questions import QUESTIONS, unanswered
from plumeline.files.toml_lines import comment_of, statements, with_key
from plumeline.files.toml_out import toml_text
from plumeline.files.toml_part import SECTIONS
from plumeline.job.document import ProfilePoint, SiteFacts, Wall
from plumeline.units.reading import convert
from plumeline.units.showing import System, show

_LINE, _WALL = "reading.line", "pond.walls"
_MODELS: dict[str, type[BaseModel]] = {**SECTIONS, "site.facts": SiteFacts, _LINE: ProfilePoint, _WALL: Wall}
_FACTS = "site.facts"
_SHORT_FIELDS = {
    "site.latitude_longitude_elevation": ("latitude_deg", "longitude_deg", "elevation_m"),
    "power.volts_amps": ("available", "volts", "amps"),
    "pond.bank_slope": ("bank_run_number",),
}
"""What the short forms stand for."""
_TWO = ("temperature_degc", "do_mg_l")
"""What a line of [reading] gives."""
_BY_NAME = {one.name: one for one in QUESTIONS}
Raw = dict[str, Any]


def _field(table: str, written: str) -> str:
    """Return the field of the document that a key means; the key itself where it means none."""
    key = find_key(_MODELS[table], written) if table in _MODELS else None
    return key.field if key else written


def _means(path: str, written: str) -> bool:
    """Return whether a key of the table of a path says the same as the path does."""
    table, _, base = path.rpartition(".")
    return written == base or _field(table, written) in _SHORT_FIELDS.get(path, (_field(table, base),))


def _table(raw: Raw, table: str) -> Raw:
    for name in table.split(".") if table else ():
        inner = raw.get(name, {})
        raw = inner if isinstance(inner, dict) else {}
    return raw


def typed_answers(data: bytes, units: System) -> dict[str, str]:
    """Return the answers of job.toml by the name of their question, as they may be typed.

    Args:
        data: the file.
        units: in which a number is shown whose unit stands in its key.
    """
    raw = _parsed(data.decode("utf-8-sig"))
    return {one.name: _typed(raw, one.key, units) or unanswered(one) for one in QUESTIONS}


def _parsed(text: str) -> Raw:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return {}


def _typed(raw: Raw, path: str, units: System) -> str:
    table, _, base = path.rpartition(".")
    there = {key: value for key, value in _table(raw, table).items() if _means(path, key)}
    if path in _SHORT_FIELDS and base not in there:
        fields = {_field(table, key): _words(table, key, value, units) for key, value in there.items()}
        if fields.get("available") == "no":
            return "none"
        found = [fields[name] for name in _SHORT_FIELDS[path] if name != "available" and name in fields]
        return ", ".join(found)
    given = [_words(table, key, value, units) for key, value in there.items() if value not in ("", [])]
    return given[0] if given else ""


def _words(table: str, key: str, value: Any, units: System) -> str:
    """Return a value as it may be typed."""
    path = f"{table}.{key}"
    if path == KEYS[COMPRESSOR]:
        return place_shown(value, units)
    if path == KEYS[WALLS] and isinstance(value, list):
        return "\n".join(_wall_words(wall, units) for wall in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return _number(table, key, value, units)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, list):
        return ", ".join(str(item) for item in value)
    if isinstance(value, dict):
        fields = {_of_line(key): _number(_LINE, key, item, units) for key, item in value.items()}
        return f"{fields.get('temperature_degc', '')}, {fields.get('do_mg_l', '')}"
    text = str(value).strip()
    is_chosen = any(one.key == path and one.choices for one in QUESTIONS)
    return text.lower() if is_chosen else text


def _wall_words(wall: Any, units: System) -> str:
    """Return a wall, a text or a table, as it may be typed."""
    if not isinstance(wall, dict):
        return str(wall).strip()
    ends = [place_shown(wall.get(name, ""), units) for name in ("start", "end")]
    depth = next((_number(_WALL, key, value, units) for key, value in wall.items() if _is_depth(key)), "")
    return "; ".join([*ends, depth])


def _is_depth(key: str) -> bool:
    return _field(_WALL, key) == "depth_m"


def _of_line(key: str) -> str:
    """Return which of a reading's two numbers a key holds; empty for none of them."""
    return "do_mg_l" if key in ("oxygen", "do") else _field(_LINE, key) if _field(_LINE, key) in _TWO else ""


def _number(table: str, key: str, value: Any, units: System) -> str:
    """Return a number with the unit that its key names."""
    found = find_key(_MODELS[table], key) if table in _MODELS else None
    if isinstance(value, str) or found is None or not (found.given or found.suffix):
        return str(value)
    suffix = found.suffix
    return show(convert(float(value), found.given or suffix, suffix), suffix, units)


def with_answers(data: bytes, changes: Mapping[str, str]) -> bytes | None:
    """Return job.toml with other answers.

    Args:
        data: the file.
        changes: what was typed, by the name of its question; empty takes an answer away.

    Returns:
        The file, or None where it can't take them line by line: nothing else of it may change.
    """
    text = data.decode("utf-8-sig")
    mark = "\ufeff" if data.startswith(b"\xef\xbb\xbf") else ""
    before = _parsed(text)
    wanted = {_BY_NAME[name].key: _value(before, name, words.strip()) for name, words in changes.items()}
    lines, end = split_lines(text)
    if any(path.startswith(_FACTS) for path in wanted):
        lines = _with_own_table(lines)
    if _WALL in wanted:
        lines = _without_tables(lines, _WALL)
    for path, value in wanted.items():
        table, _, base = path.rpartition(".")
        if not any(_means(path, key) for key in _table(before, table)) and value in ('""', "[]", '"unknown"'):
            continue
        changed = with_key(lines, table, f"{base} = {value}", lambda key, path=path: _means(path, key))  # type: ignore[misc]
        if changed is None:
            return None
        lines = changed
    new = end.join(lines)
    return (mark + new).encode() if _says(before, _parsed(new), wanted) else None


def _value(before: Raw, name: str, words: str) -> str:
    """Return an answer as job.toml writes it; what a reading says besides its two numbers stays."""
    path = _BY_NAME[name].key
    table, _, base = path.rpartition(".")
    old = _table(before, table).get(base)
    parts = [part.strip() for part in words.split(",")]
    if isinstance(old, dict) and len(parts) == 2:
        rest = [f"{key} = {_literal(value)}" for key, value in old.items() if not _of_line(key)]
        two = [f"temperature = {toml_text(parts[0])}", f"oxygen = {toml_text(parts[1])}"]
        return f"{{ {', '.join([*rest, *two])} }}"
    return written_value(name, words)


def _literal(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return toml_text(value) if isinstance(value, str) else str(value)


def _with_own_table(lines: list[str]) -> list[str]:
    """Return the lines with facts that stand as one value of [site] in a table of their own."""
    for one in statements(lines) or ():
        if one.table == "site" and one.key == "facts":
            facts = _parsed("\n".join(lines[one.first : one.last])).get("facts")
            rows = (
                [f"{key} = {_literal(value)}" for key, value in facts.items()]
                if isinstance(facts, dict)
                else []
            )
            rest = [*lines[: one.first], *lines[one.last :]]
            inside = [item.last for item in statements(rest) or () if item.table == "site"]
            at = inside[-1] if inside else len(rest)
            return [*rest[:at], "", f"[{_FACTS}]", *rows, *rest[at:]]
    return lines


def _without_tables(lines: list[str], name: str) -> list[str]:
    """Return the lines without the tables of a list of tables; their comments stay."""
    gone = {
        row
        for one in statements(lines) or ()
        if one.table == f"[[{name}" or one.table == name or one.table.startswith(f"{name}.")
        for row in range(one.first, one.last)
    }
    found = [comment_of(line).strip() if row in gone else line for row, line in enumerate(lines)]
    return [line for row, line in enumerate(found) if line or row not in gone]


def _says(before: Raw, after: Raw, wanted: Mapping[str, str]) -> bool:
    """Return whether a file says what is wanted, and of all else what it said before."""
    for path, value in wanted.items():
        table = path.rpartition(".")[0]
        there = [item for key, item in _table(after, table).items() if _means(path, key)]
        read = tomllib.loads(f"x = {value}")["x"]
        if there != [read] and not (not there and read in ("", [], "unknown")):
            return False
    return _without(before, wanted) == _without(after, wanted)


def _without(raw: Raw, wanted: Mapping[str, str], table: str = "") -> Raw:
    """Return what a file says but for some answers, tables with nothing else left out."""
    found: Raw = {}
    for key, value in raw.items():
        if isinstance(value, dict) and not table.startswith("reading"):
            inner = _without(value, wanted, f"{table}.{key}".strip("."))
            if inner:
                found[key] = inner
            continue
        if not any(path.rpartition(".")[0] == table and _means(path, key) for path in wanted):
            found[key] = value
    return found
