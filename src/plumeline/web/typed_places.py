"""Places and depths typed on the pages of plan and shore, each number with its unit, and the steps of their buttons."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from typing import Annotated, Any

from pydantic import Field

from plumeline.errors import InputError, PlumelineError
from plumeline.units import far_away, parse, show
from plumeline.units.showing import System

Metres = Annotated[float, Field(ge=-100_000.0, le=100_000.0)]
Typed = Annotated[str, Field(max_length=100_000)]
"""What was typed, to be shown again: longer than any length, which is told at its field."""
LONGEST_LENGTH_LETTERS = 40
NUDGES = {
    "us": ((0.3048, "1 ft"), (1.524, "5 ft"), (6.096, "20 ft")),
    "si": ((0.1, "0.1 m"), (1.0, "1 m"), (5.0, "5 m")),
}
"""What one tap of a move button may move: metres, and their words."""


def length_words(value_m: float, units: System) -> str:
    """Return a length as the page writes it: to a tenth of a foot or a centimetre."""
    return show(value_m, "m", units, 1 if units == "us" else 2)


def has_no_unit(text: str) -> bool:
    """Return whether a text is a bare number: it would be taken in the unit of the files, which nobody typed."""
    bare = re.sub(r"[0-9.]e[+-]?[0-9]", "", text)
    return bool(text.strip()) and not any(mark.isalpha() or mark in "'\"′″" for mark in bare)


def typed_length(text: str, label: str) -> float:
    """Return a typed length in metres.

    Raises:
        InputError: it is none, or has no unit.
    """
    if len(text.strip()) > LONGEST_LENGTH_LETTERS:
        raise InputError(
            f"{label}: '{text.strip()[:LONGEST_LENGTH_LETTERS]}…' is longer than any length is written.",
            remedy="Write 12 ft, or 3.7 m.",
        )
    if has_no_unit(text):
        raise InputError(f"{label}: '{text.strip()[:40]}' has no unit.", remedy="Write 12 ft, or 3.7 m.")
    try:
        return parse(text, "m")
    except PlumelineError as error:
        raise InputError(f"{label}: {error}") from error


def read_spot(row: dict[str, Any], label: str) -> dict[str, Any]:
    """Return a place or a sounding with what was typed read as metres; what was typed is no longer a saved one.

    Raises:
        InputError: it is no length, or a depth is below zero or above 200 m.
    """
    found = dict(row)
    for typed, field in (("east", "x_m"), ("north", "y_m"), ("depth", "depth_m")):
        text = found.pop(typed, None)
        if text is not None:
            found[field] = typed_length(text, f"{label}, {typed}")
            found["index"] = None
    depth_m = found.get("depth_m")
    if depth_m is not None and not 0.0 <= depth_m <= 200.0:
        raise InputError(
            f"{label}: a depth lies between 0 and 200 m below the water.", remedy="Depths are positive down."
        )
    if max(abs(found["x_m"]), abs(found["y_m"])) > 100_000.0:
        raise InputError(f"{label} lies more than {far_away(100_000.0)} away.")
    return found


def lines_of(rows: list[dict[str, Any]], units: System) -> str:
    """Return places or soundings as text: one a line, east, north and where it has one the depth."""
    return "\n".join(_line(row, units) for row in rows)


def _line(row: dict[str, Any], units: System) -> str:
    values = [row["x_m"], row["y_m"], *([row["depth_m"]] if "depth_m" in row else [])]
    return ", ".join(length_words(value, units) for value in values)


def rows_of(text: str, saved: list[dict[str, Any]], units: System, what: str) -> list[dict[str, Any]]:
    """Return the places or soundings of a text; a line as it was shown is the saved one, to the last digit.

    Args:
        text: one a line.
        saved: what the page showed.
        units: in which units.
        what: "corner" or "sounding", for messages.

    Raises:
        InputError: a line has too few or too many parts, or one is no length.
    """
    shown = defaultdict(list)
    for row in saved:
        shown[_line(row, units)].append(row)
    names = ("east", "north", "depth") if what == "sounding" else ("east", "north")
    found = []
    for number, line in enumerate(text.replace(";", ",").splitlines(), start=1):
        words = " ".join(line.split())
        if not words:
            continue
        if shown[words]:
            found.append(shown[words].pop(0))
            continue
        parts = [part.strip() for part in words.split(",")]
        if len(parts) != len(names):
            raise InputError(
                f"{what}s, line {number}: '{words[:60]}' has {len(parts)} part{'s' * (len(parts) != 1)}.",
                remedy=f"Write {', '.join(names)}, with commas between and a unit at each: 12.5 ft, -40 ft.",
            )
        row = {"x_m": 0.0, "y_m": 0.0, **dict(zip(names, parts, strict=True))}
        found.append(read_spot(row, f"{what}s, line {number}"))
    return found


def places_words(places_xy: Sequence[tuple[float, float]], units: System) -> str:
    """Return places in one line: east, north; east, north."""
    return "; ".join(f"{length_words(x_m, units)}, {length_words(y_m, units)}" for x_m, y_m in places_xy)


def places_of(text: str, label: str, most_count: int) -> list[dict[str, float]]:
    """Return the places of one line of text: east, north; east, north; each number with its unit.

    Raises:
        InputError: one is no place, or there are more than ``most_count``.
    """
    found = []
    for number, words in enumerate((part for part in text.split(";") if part.strip()), start=1):
        parts = [part.strip() for part in words.split(",")]
        if len(parts) != 2:
            raise InputError(
                f"{label}, bend {number}: '{words.strip()[:60]}' has {len(parts)} part{'s' * (len(parts) != 1)}.",
                remedy="Write east, north of the middle, with units, and ; between bends: 12 ft, -4 ft; 9 ft, 5 ft.",
            )
        spot = read_spot(
            {"x_m": 0.0, "y_m": 0.0, "east": parts[0], "north": parts[1]}, f"{label}, bend {number}"
        )
        found.append({"x_m": spot["x_m"], "y_m": spot["y_m"]})
    if len(found) > most_count:
        raise InputError(f"{label}: it has {len(found)} bends.", remedy=f"A line has at most {most_count}.")
    return found
