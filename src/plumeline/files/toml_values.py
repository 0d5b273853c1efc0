"""One value of job.toml: from what TOML holds to what the document wants, with faults in plain words."""

from __future__ import annotations

import types
import typing
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import Enum
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel

from plumeline.errors import InputError, PlumelineError
from plumeline.files.findings import Findings, near
from plumeline.files.keys import AIR_FLOWS, NEEDS_NO_UNIT, PRESSURE_DIFFERENCES, Key
from plumeline.files.limits import Limits, limits_of
from plumeline.files.place_text import PLACE_TYPED, place_of, understood
from plumeline.job.document import LocalPoint, Point, Wall
from plumeline.units import SUFFIXES, convert, echo, parse, parse_air, show, typed_suffix
from plumeline.units.showing import plain

JOB_FILE = "job.toml"


class Missing(Enum):
    """Stands for a value that is not there: left empty, or at fault."""

    EMPTY = "empty"
    FAULTY = "faulty"


@dataclass(frozen=True)
class At:
    """Where in the file a value stands, and what of the document it fills."""

    path: str
    model: type[BaseModel]
    key: Key
    findings: Findings

    def fault(self, problem: str, remedy: str) -> Missing:
        """Add a fault here and return the mark for it."""
        self.findings.fault(JOB_FILE, self.path, problem, remedy)
        return Missing.FAULTY


_PLACE_KINDS: set[Any] = {Point, LocalPoint}


def plain_kind(annotation: Any) -> Any:
    """Return the annotation without ``Annotated`` and ``None``."""
    while True:
        if get_origin(annotation) is Annotated:
            annotation = get_args(annotation)[0]
        elif get_origin(annotation) in (Union, types.UnionType):
            left = [part for part in get_args(annotation) if part is not type(None)]
            if set(left) == _PLACE_KINDS:
                return Point
            annotation = left[0]
        else:
            return annotation


def read_value(annotation: Any, raw: Any, at: At, read_part: PartReader | None = None) -> Any:
    """Return ``raw`` as the document wants it, or a ``Missing``."""
    kind = plain_kind(annotation)
    if raw == "" and kind is not str:
        return Missing.EMPTY
    if kind is Point:
        return read_place(raw, at)
    if get_origin(kind) is tuple:
        return _read_list(kind, raw, at, read_part)
    if get_origin(kind) is Literal:
        return _read_word(raw, at, list(get_args(kind)))
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        if read_part is None or not (isinstance(raw, dict) or (kind is Wall and isinstance(raw, str))):
            return at.fault("must be a table of keys.", f"Write it as [{at.path}].")
        return read_part(kind, raw, at.path)
    if isinstance(kind, type) and issubclass(kind, Enum):
        word = _read_word(raw, at, [entry.value for entry in kind])
        return word if isinstance(word, Missing) else kind(word)
    return _SIMPLE[kind](raw, at)


class PartReader(typing.Protocol):
    """Reads a whole part (a table, of a wall a text too) of the document."""

    def __call__(self, model: type[BaseModel], raw: dict[str, Any] | str, path: str) -> Any:
        """Return the part, or a ``Missing``."""


def _read_word(raw: Any, at: At, words: list[str]) -> Any:
    if isinstance(raw, str) and raw.strip().lower() in words:
        return raw.strip().lower()
    close = near(str(raw), words)
    hint = f'Did you mean "{close}"? ' if close else ""
    return at.fault(f"{raw!r} is not one of the answers.", f"{hint}Use one of: {', '.join(words)}.")


def _read_text(raw: Any, at: At) -> Any:
    if isinstance(raw, str):
        return raw
    return at.fault(f"{raw!r} is not a text.", 'Put it in quotes: "...".')


def _read_truth(raw: Any, at: At) -> Any:
    if isinstance(raw, bool):
        return raw
    if isinstance(raw, str) and raw.strip().lower() in ("yes", "no"):
        return raw.strip().lower() == "yes"
    if (
        isinstance(raw, str)
        and raw.strip().lower() == "unknown"
        and at.model.model_fields[at.key.field].default is None
    ):
        return Missing.EMPTY
    return at.fault(f"{raw!r} is neither true nor false.", "Write true or false, without quotes.")


def _read_date(raw: Any, at: At) -> Any:
    if isinstance(raw, datetime):
        return raw.date()
    if isinstance(raw, date):
        return raw
    try:
        return date.fromisoformat(str(raw))
    except ValueError:
        return at.fault(f"{raw!r} is not a date.", "Write year-month-day, as 2026-08-11.")


def _read_stamp(raw: Any, at: At) -> Any:
    try:
        stamp = raw if isinstance(raw, datetime) else datetime.fromisoformat(str(raw))
    except ValueError:
        return at.fault(f"{raw!r} is not a time.", "Write it as 2026-08-11T10:30:00-04:00.")
    if stamp.tzinfo is None:
        return at.fault(
            f"{raw!s} does not say its offset.", "Write it with one, as 2026-08-11T10:30:00-04:00."
        )
    return stamp


def _read_whole(raw: Any, at: At) -> Any:
    number = read_number(raw, at)
    if isinstance(number, Missing):
        return number
    if number != int(number):
        return at.fault(f"{raw!r} is not a whole number.", "Write a whole number.")
    return int(number)


def read_number(raw: Any, at: At) -> Any:
    """Return a number in the unit of the field, checked against the limits of the document."""
    value = _number_in_field_unit(raw, at)
    if isinstance(value, Missing):
        return value
    limits = limits_of(at.model, at.key.field)
    broken = limits.broken_by(value, _unit_words(at.key.suffix))
    if broken:
        return at.fault(*_beyond(raw, value, limits, at.key))
    if isinstance(raw, str) and at.key.suffix:
        at.findings.echo(f"{at.path}: {_echo(raw, value, at)}")
    return value


def _beyond(raw: Any, value: float, limits: Limits, key: Key) -> tuple[str, str]:
    """Return what is wrong with a number beyond its limits and what would be right, in the unit that was typed."""
    suffix = key.suffix
    if isinstance(raw, str) and suffix and key.field not in AIR_FLOWS:
        typed = typed_suffix(raw, suffix)
        if typed and typed != suffix:
            value = convert(value, suffix, typed)
            low, high = (float(f"{convert(end, suffix, typed):.4g}") for end in (limits.low, limits.high))
            limits, suffix = replace(limits, low=low, high=high), typed
    broken = limits.broken_by(value, _unit_words(suffix))
    return broken, limit_remedy(limits, suffix)


def limit_remedy(limits: Limits, suffix: str) -> str:
    """Return what would be right for a number beyond its limits."""
    unit = _unit_words(suffix)
    if limits.high < float("inf"):
        return (
            f"Give a value from {limits.low:g} to {limits.high:g} {unit}".rstrip()
            + "; check its unit and its sign."
        )
    if limits.low == -float("inf"):
        return "Give a plain number, or leave the key out."
    sign = "more than" if limits.above else "of at least"
    return f"Give a value {sign} {limits.low:g} {unit}".rstrip() + "; check its sign."


TWO_UNITS = {
    "length": ("ft", "m"),
    "area": ("acre", "m²"),
    "temperature": ("degF", "degC"),
    "pressure": ("psi", "kPa"),
}
"""What a number without a unit may have been measured in: to name one alone would turn 84 °F into 84 °C."""


def _unit_words(suffix: str) -> str:
    return SUFFIXES[suffix].spellings[0] if suffix and suffix != "fraction" else ""


def _echo(raw: str, value: float, at: At) -> str:
    if at.key.field in AIR_FLOWS:
        return f"{raw.strip()} = {plain(value * 3600.0)} m³/h ({AIR_FLOWS[at.key.field]})"
    try:
        return echo(raw, at.key.suffix)
    except PlumelineError:
        return f"{raw.strip()} = {show(value, at.key.suffix, 'si')}"


def _number_in_field_unit(raw: Any, at: At) -> Any:
    key = at.key
    if isinstance(raw, bool) or not isinstance(raw, int | float | str):
        return at.fault(f"{raw!r} is not a number.", _example(at))
    if isinstance(raw, str):
        return _number_from_text(raw, at)
    if key.suffix and not key.given and key.suffix not in NEEDS_NO_UNIT:
        number_words = f"{raw:.12g}"
        units = TWO_UNITS.get(SUFFIXES[key.suffix].kind, (_unit_words(key.suffix),))
        ways = " or ".join(f'"{number_words} {unit}"' for unit in units)
        measured = ", as it was measured" if len(units) > 1 else ""
        return at.fault(
            f"{number_words} has no unit.",
            f"Write {key.base} = {ways}{measured}, or {key.field} = {number_words}.",
        )
    number = float(raw)
    if key.given and key.given != key.suffix:
        return convert(number, key.given, key.suffix)
    return number


def _number_from_text(raw: str, at: At) -> Any:
    key = at.key
    try:
        if key.field in AIR_FLOWS:
            return _air_flow(raw, at)
        if key.field == "first_hour_h" or key.field == "last_hour_h":
            return _clock_hours(raw)
        if not key.suffix:
            return float(raw)
        if _bare(raw):
            return _number_in_field_unit(float(raw), at)
        return parse(raw, key.suffix, gauge=None if key.field in PRESSURE_DIFFERENCES else True)
    except PlumelineError as error:
        return at.fault(error.message, error.remedy or _example(at))
    except ValueError:
        return at.fault(f"{raw!r} is not a number.", _example(at))


def _bare(raw: str) -> bool:
    try:
        float(raw)
    except ValueError:
        return False
    return True


def _air_flow(raw: str, at: At) -> Any:
    if _bare(raw):
        return _number_in_field_unit(float(raw), at)
    wanted = AIR_FLOWS[at.key.field]
    flow = parse_air(raw, "intake" if wanted == "intake" else "standard")
    if wanted == "intake":
        if flow.basis == "intake":
            return flow.flow_m3_s
        at.findings.note(
            "curve-basis",
            f"{at.path}: {raw.strip()} is taken as the volume drawn in at the maker's test (sea level, "
            "68 °F); at the site the machine draws the same volume of thinner air.",
        )
        return flow.standard_m3_s()
    if flow.basis == "intake":
        return at.fault(
            f"{raw.strip()} does not say at which pressure and temperature.",
            'Write it as standard air: "1.3 scfm" (68 °F, dry, 14.696 psia).',
        )
    return flow.standard_m3_s()


def _clock_hours(raw: str) -> float:
    hours, _, minutes = raw.strip().removesuffix("h").partition(":")
    return float(hours) + (float(minutes) / 60.0 if minutes else 0.0)


def _example(at: At) -> str:
    examples = {"m": "12 ft 6 in", "m2": "1.6 acre", "pa": "8 psig", "degc": "72 degF", "w": "0.5 hp"}
    if at.key.field in AIR_FLOWS:
        return 'Write a number with its unit, as "1.3 scfm".'
    if not at.key.suffix:
        return "Write a plain number, without quotes."
    example = examples.get(at.key.suffix) or f"3.5 {_unit_words(at.key.suffix)}".rstrip()
    return f'Write a number with its unit, as "{example}".'


def _read_list(kind: Any, raw: Any, at: At, read_part: PartReader | None) -> Any:
    if not isinstance(raw, list):
        if plain_kind(get_args(kind)[0]) is str and isinstance(raw, str):
            raw = [word.strip() for word in raw.split(",") if word.strip()]
        else:
            return at.fault("must be a list.", "Put the entries in square brackets, or in [[...]] tables.")
    items, whole = [], True
    for index, entry in enumerate(raw, start=1):
        found = read_value(get_args(kind)[0], entry, replace(at, path=f"{at.path}[{index}]"), read_part)
        whole = whole and not isinstance(found, Missing)
        items.append(found)
    return tuple(items) if whole else Missing.FAULTY


PLACE_HINT = "Write { longitude_deg = -79.72, latitude_deg = 35.91 }, or { x_m = 12.0, y_m = -30.5 }."
_PLACE_NAMES = {"lon": "longitude_deg", "lat": "latitude_deg", "longitude": "longitude_deg",
                "latitude": "latitude_deg", "x": "x_m", "y": "y_m"}  # fmt: skip


def read_place(raw: Any, at: At) -> Any:
    """Return a place: a text, or a table of longitude and latitude, or of metres east and north of the site."""
    if isinstance(raw, str):
        return _typed_place(raw, at)
    if not isinstance(raw, dict):
        return at.fault(f"{raw!r} is not a place.", PLACE_HINT)
    named: dict[str, Any] = {_PLACE_NAMES.get(str(name), str(name)): value for name, value in raw.items()}
    if set(named) not in ({"longitude_deg", "latitude_deg"}, {"x_m", "y_m"}):
        return at.fault(f"has the keys {', '.join(raw) or 'none'}.", PLACE_HINT)
    if any(isinstance(value, bool) or not isinstance(value, int | float) for value in named.values()):
        return at.fault("holds something that is not a number.", PLACE_HINT)
    model: type[Point] | type[LocalPoint] = LocalPoint if "x_m" in named else Point
    for name, value in named.items():
        broken = limits_of(model, name).broken_by(float(value), "°" if model is Point else "m")
        if broken:
            return at.fault(f"{name}: {broken}", "Longitude and latitude may have changed places.")
    return model(**{name: float(value) for name, value in named.items()})


def _typed_place(raw: str, at: At) -> Any:
    try:
        found = place_of(raw)
    except InputError as error:
        return at.fault(error.message, error.remedy or PLACE_TYPED)
    at.findings.echo(f"{at.path}: {understood(found)}")
    return found


_SIMPLE: dict[Any, Callable[[Any, At], Any]] = {
    str: _read_text,
    bool: _read_truth,
    datetime: _read_stamp,
    date: _read_date,
    int: _read_whole,
    float: read_number,
}
