"""From a text with a unit to a number in a wanted unit."""

from __future__ import annotations

import difflib
import math
import re

from plumeline.errors import UnitError
from plumeline.units.numerals import split_number, tidy
from plumeline.units.table import SUFFIXES, UNITS, Unit

CASED = {"ml": "mL", "ma": "mA", "mpa": "MPa"}
"""Spellings in which the case of the first letter changes the size a million-fold."""

NEARLY_AS_LIKE = 0.1
"""A guess may be so much less like what was written than the best one."""
COMPOUNDS: dict[str, tuple[str, ...]] = {
    "length": ("mi", "yd", "ft", "in"),
    "duration": ("week", "d", "h", "min", "s"),
    "mass": ("lb", "oz"),
}
"""Units that may stand one after the other in one value, from large to small."""

AIR_ONLY = ("scfm", "cfm", "icfm", "acfm", "nm3/h", "nm3/hr", "nl/min")
ANGLE = re.compile(
    r"""(?P<lead>[NSEWnsew])?\s*(?P<sign>[+-]?)(?P<deg>\d+(?:\.\d+)?)\s*(?:°|deg(?:rees?)?)?
    (?:\s*(?P<min>\d+(?:\.\d+)?)\s*(?:'|min))?(?:\s*(?P<sec>\d+(?:\.\d+)?)\s*(?:"|s(?:ec)?\b))?
    \s*(?P<tail>[NSEWnsew])?""",
    re.VERBOSE,
)
CURRENCY = re.compile(r"^\s*(?:[$€£]|[A-Z]{3}\s)\s*|\s+[A-Z]{3}(?=\s|/|$)|[$€£]")
PRICE_KINDS = ("price", "price of energy", "price by length")


def _key(spelling: str) -> str:
    """Return a spelling without what people vary: blanks, hyphens between letters, raised digits, case."""
    text = spelling.replace("²", "2").replace("³", "3").replace("^", "").replace("µ", "u").replace("μ", "u")
    text = text.replace("°", "deg").replace("H₂O", "H2O")
    text = re.sub(r"\s*/\s*", "/", text.strip())
    text = re.sub(r"(?<=[A-Za-z])\.(?=\s|$|/)", "", text)
    text = re.sub(r"(?<=[A-Za-z)])[\s-]+(?=[A-Za-z(])", "", text)
    return text.casefold()


def _spelling_index() -> dict[str, list[Unit]]:
    """Return the units under each key."""
    index: dict[str, list[Unit]] = {}
    for unit in UNITS:
        for spelling in unit.spellings:
            units = index.setdefault(_key(spelling), [])
            if unit not in units:
                units.append(unit)
    return index


INDEX = _spelling_index()


def find_units(text: str) -> list[Unit]:
    """Return the units that a spelling may mean, one a kind; none when it is unknown."""
    key = _key(text)
    cased = CASED.get(key)
    if cased and text.strip()[0] != cased[0]:
        return []
    return INDEX.get(key, [])


def wanted(suffix: str) -> Unit:
    """Return the unit that a suffix names."""
    unit = SUFFIXES.get(suffix)
    if unit is None:
        near = difflib.get_close_matches(suffix, SUFFIXES, n=3)
        raise UnitError(f"'{suffix}' is the name of no unit.", remedy=_nearest(near))
    return unit


def _nearest(near: list[str]) -> str:
    return f"Near: {', '.join(near)}." if near else ""


def _article(noun: str) -> str:
    return f"an {noun}" if noun[0] in "aeiou" else f"a {noun}"


def examples(kind: str) -> str:
    """Return the units of a kind, for messages."""
    return ", ".join(unit.spellings[0] for unit in UNITS if unit.kind == kind and not unit.mark)


def match_unit(spelling: str, kind: str, text: str) -> Unit:
    """Return the unit of one kind that a spelling means.

    Raises:
        UnitError: for an unknown unit, naming near ones, or for a unit of another kind.
    """
    units = find_units(spelling)
    for unit in units:
        if unit.kind == kind:
            return unit
    if _key(spelling) in AIR_ONLY:
        raise UnitError(
            f"'{text}' is a flow of air; {_article(kind)} is wanted here.", remedy=_write_in(kind)
        )
    if units:
        raise UnitError(
            f"'{text}' is {_article(units[0].kind)}; {_article(kind)} is wanted here.", remedy=_write_in(kind)
        )
    raise UnitError(
        f"'{spelling}' in '{text}' is no unit that is known here.", remedy=_suggest(spelling, kind)
    )


def _write_in(kind: str) -> str:
    return f"Write it in {examples(kind)}."


def _suggest(spelling: str, kind: str) -> str:
    """Return the units that resemble an unknown one, those of the wanted kind first."""
    of_kind = {_key(s): s for unit in UNITS if unit.kind == kind for s in unit.spellings}
    rest = {_key(s): s for unit in UNITS if unit.kind != kind for s in unit.spellings}
    near = _nearest_units(_key(spelling), of_kind, kind)
    if not near:
        near = [rest[key] for key in difflib.get_close_matches(_key(spelling), rest, n=2, cutoff=0.75)]
    if near:
        return f"Did you mean {' or '.join(near)}? {_write_in(kind)}"
    return _write_in(kind)


def _nearest_units(written: str, of_kind: dict[str, str], kind: str) -> list[str]:
    """Return the spellings most like a word, one a unit; one far behind the best is no guess any more."""
    found: dict[str, str] = {}
    close = difflib.get_close_matches(written, of_kind, n=6, cutoff=0.55)
    best = max((_likeness(written, key) for key in close), default=0.0)
    for key in close:
        unit = next(unit for unit in find_units(of_kind[key]) if unit.kind == kind)
        if _likeness(written, key) >= best - NEARLY_AS_LIKE:
            found.setdefault(unit.suffix, of_kind[key])
    return list(found.values())[:3]


def _likeness(written: str, key: str) -> float:
    return difflib.SequenceMatcher(None, written, key).ratio()


def as_number(value: float | int, place: str = "") -> float:
    """Return a bare number as a finite float.

    Raises:
        UnitError: for NaN, infinity or a truth value.
    """
    if isinstance(value, bool) or not math.isfinite(value):
        raise UnitError(f"'{value}' is not a number that can be used.", place=place)
    return float(value)


def parse(value: str | float | int, suffix: str, *, gauge: bool | None = True) -> float:
    """Return a value in the unit that ``suffix`` names; a bare number is in that unit already.

    Args:
        value: a number, or a text such as "12 ft 6 in", "3/4 in", "72 degF", "8 psig", "35° 12' 30\\" N".
        suffix: the ending of the field's name: ``m``, ``m3_s``, ``degc`` ...
        gauge: for pressures: True where the pressure is over that of the air, False where it is absolute,
            None where it is a difference. A text that says the other is refused; "psi" alone goes along.

    Raises:
        UnitError: when it is no number, has an unknown unit or one of another kind, or has two readings.
    """
    goal = wanted(suffix)
    if isinstance(value, int | float):
        return as_number(value)
    text = tidy(value)
    if not text:
        raise UnitError("there is no value.", remedy=f"Write a number with its unit: {examples(goal.kind)}.")
    if goal.kind == "angle":
        return _angle(text)
    number, rest = split_number(without_currency(text, goal))
    if not rest:
        return number
    if goal.kind in COMPOUNDS and not find_units(rest):
        total = _compound(text, goal.kind)
        if total is not None:
            return float(f"{total / goal.scale:.15g}")
    if rest[0].isdigit():
        raise UnitError(f"'{text}' holds two numbers and no unit between them.", remedy="Write one number.")
    unit = match_unit(rest, goal.kind, text)
    if unit.kind == "pressure":
        _check_mark(unit, gauge, text)
    return _from_unit(number, unit, goal, text)


def typed_suffix(text: str, suffix: str) -> str:
    """Return the suffix of the unit that a value was typed in; empty for a bare number or one of several units.

    Args:
        text: what was typed.
        suffix: of the unit that is wanted.
    """
    kind = wanted(suffix).kind
    try:
        _, rest = split_number(tidy(text))
    except UnitError:
        return ""
    return next((unit.suffix for unit in find_units(rest) if unit.kind == kind), "")


def without_currency(text: str, goal: Unit) -> str:
    """Return the text of a price without its currency (``prices.currency`` states it); other texts as is."""
    return CURRENCY.sub("", text).strip() if goal.kind in PRICE_KINDS else text


def _from_unit(number: float, unit: Unit, goal: Unit, text: str) -> float:
    if unit is goal:
        result = number
    else:
        result = float(f"{(number * unit.scale + unit.offset - goal.offset) / goal.scale:.15g}")
    if not math.isfinite(result):
        raise UnitError(f"'{text}' is too large to be a number here.")
    if unit.kind == "temperature" and number * unit.scale + unit.offset < -273.15 - 1e-9:
        raise UnitError(f"'{text}' is below absolute zero (-273.15 °C).")
    return result


def _check_mark(unit: Unit, gauge: bool | None, text: str) -> None:
    """Refuse a pressure that says gauge where absolute is wanted, and the other way round."""
    asked = {True: "gauge", False: "absolute", None: ""}[gauge]
    if not unit.mark or unit.mark == asked:
        return
    if gauge is None:
        message, remedy = "a difference of pressures is wanted", "Write psi or kPa alone."
    elif gauge:
        message, remedy = "a gauge pressure (over the air's) is wanted", "Write psig, psi or kPa."
    else:
        message = "an absolute pressure is wanted"
        remedy = "Add the air's pressure (about 14.7 psi at sea level) and write psia."
    raise UnitError(f"'{text}' is {_article(unit.mark)} pressure; {message} here.", remedy=remedy)


def _compound(text: str, kind: str) -> float | None:
    """Return the SI size of a value in several units, such as "12 ft 6 in"; None when it is no such thing."""
    names = COMPOUNDS[kind]
    negative = text.startswith("-")
    rest, total, parts = text.lstrip("+-").strip(), 0.0, list[tuple[float, Unit]]()
    while rest:
        number, rest = split_number(rest)
        spelled = re.match(r"""[A-Za-z]+\.?|'|\"""", rest)
        if spelled is None:
            if rest or not parts or parts[-1][1].suffix != "ft":
                return None
            unit = SUFFIXES["in"]
        else:
            found = [
                unit for unit in find_units(spelled.group()) if unit.kind == kind and unit.suffix in names
            ]
            if not found:
                return None
            unit, rest = found[0], rest[spelled.end() :].lstrip(" ,-")
        if parts:
            _check_part(parts[-1], (number, unit), names, text)
        parts.append((number, unit))
        total += number * unit.scale
    return -total if negative else total


def _check_part(
    before: tuple[float, Unit], this: tuple[float, Unit], names: tuple[str, ...], text: str
) -> None:
    """Refuse "6 in 12 ft", "1.5 ft 6 in" and "12 ft 14 in"."""
    (large, outer), (small, inner) = before, this
    if names.index(inner.suffix) <= names.index(outer.suffix):
        raise UnitError(f"'{text}' does not go from large to small units.")
    if large != int(large):
        raise UnitError(f"'{text}' has a part of a {outer.spellings[0]} before the {inner.spellings[0]}.")
    if small < 0 or small * inner.scale >= outer.scale * (1 - 1e-12):
        raise UnitError(
            f"'{text}': {small:g} {inner.spellings[0]} is not less than one {outer.spellings[0]}."
        )


def _angle(text: str) -> float:
    """Return degrees from decimal degrees or degrees, minutes and seconds, with an optional N, S, E or W."""
    found = ANGLE.fullmatch(text)
    if not found:
        number, rest = split_number(text)
        if rest:
            match_unit(rest, "angle", text)
        return number
    minutes, seconds = float(found["min"] or 0), float(found["sec"] or 0)
    if minutes >= 60 or seconds >= 60:
        raise UnitError(f"'{text}': minutes and seconds of an angle are less than 60.")
    if (found["min"] and "." in found["deg"]) or (found["sec"] and "." in (found["min"] or "")):
        raise UnitError(f"'{text}' has a decimal part before a smaller unit.")
    if found["lead"] and found["tail"]:
        raise UnitError(f"'{text}' names two directions.")
    side = (found["lead"] or found["tail"] or "").upper()
    if side and found["sign"] == "-":
        raise UnitError(f"'{text}' has a sign and a direction.", remedy="Write one of them.")
    size = float(found["deg"]) + minutes / 60 + seconds / 3600
    return -size if found["sign"] == "-" or side in ("S", "W") else size


def not_negative(value: float, text: str, what: str) -> float:
    """Return the value unless it is below zero.

    Args:
        value: the number.
        text: what was written.
        what: what it is, with its article ("a flow of air").

    Raises:
        UnitError: when the value is below zero.
    """
    if value < 0:
        raise UnitError(f"'{text}' is below zero; {what} can't be.")
    return value


def positive(value: float, text: str, what: str) -> float:
    """Return the value unless it is zero or below.

    Args:
        value: the number.
        text: what was written.
        what: what it is, with its article ("a depth").

    Raises:
        UnitError: when the value is not above zero.
    """
    if value <= 0:
        raise UnitError(f"'{text}' is not above zero; {what} must be.")
    return value


def column_factor(from_suffix: str, to_suffix: str) -> tuple[float, float]:
    """Return (factor, offset) with ``value * factor + offset`` in the second unit, for whole columns.

    Raises:
        UnitError: for an unknown suffix, or two that measure different things.
    """
    source, goal = wanted(from_suffix), wanted(to_suffix)
    if source.kind != goal.kind:
        raise UnitError(
            f"'{from_suffix}' is {_article(source.kind)}; {_article(goal.kind)} ('{to_suffix}') is wanted.",
            remedy=f"Use one of: {', '.join(u.suffix for u in UNITS if u.kind == goal.kind)}.",
        )
    if source is goal:
        return 1.0, 0.0
    return source.scale / goal.scale, (source.offset - goal.offset) / goal.scale


def convert(value: float, from_suffix: str, to_suffix: str) -> float:
    """Return a value of one unit in another of the same kind."""
    factor, offset = column_factor(from_suffix, to_suffix)
    return value * factor + offset


def split_header(header: str) -> tuple[str, str]:
    """Split a column header or key into its name and the suffix of its unit.

    ``depth_ft`` gives ("depth", "ft"), ``depth (ft)`` the same, ``time`` gives ("time", "").

    Args:
        header: the header as written.
    """
    text = tidy(header)
    bracket = re.fullmatch(r"(?P<name>[^()\[\]]+?)\s*[(\[](?P<unit>[^()\[\]]+)[)\]]", text)
    if bracket:
        name = re.sub(r"\W+", "_", bracket["name"].strip()).casefold().strip("_")
        units = find_units(bracket["unit"])
        return (name, units[0].suffix) if units else (name, bracket["unit"].strip())
    name = re.sub(r"[\s-]+", "_", text).casefold()
    pieces = name.split("_")
    for start in range(1, len(pieces)):
        suffix = "_".join(pieces[start:])
        if suffix in SUFFIXES:
            return "_".join(pieces[:start]), suffix
    return name, ""
