"""From an SI number to a text for people, in US or SI units, and back to them what was understood."""

from __future__ import annotations

import math
from typing import Literal

from plumeline.errors import UnitError
from plumeline.pairs import pair
from plumeline.units.numerals import grouped, split_number, tidy
from plumeline.units.reading import convert, find_units, parse, wanted, without_currency
from plumeline.units.table import DAY_S, SUFFIXES

System = Literal["us", "si"]

STEPS: dict[tuple[str, System], tuple[tuple[float, str], ...]] = {
    ("length", "us"): ((0.3048, "in"), (math.inf, "ft")),
    ("length", "si"): ((1e-3, "um"), (0.1, "mm"), (1e4, "m"), (math.inf, "km")),
    ("area", "us"): ((404.7, "ft2"), (math.inf, "acre")),
    ("area", "si"): ((1e5, "m2"), (math.inf, "ha")),
    ("volume", "us"): ((123.3, "gal"), (math.inf, "acre_ft")),
    ("volume", "si"): ((0.1, "l"), (math.inf, "m3")),
    ("temperature", "us"): ((math.inf, "degf"),),
    ("temperature", "si"): ((math.inf, "degc"),),
    ("pressure", "us"): ((math.inf, "psi"),),
    ("pressure", "si"): ((1000.0, "pa"), (math.inf, "kpa")),
    ("water flow", "us"): ((math.inf, "gpm"),),
    ("water flow", "si"): ((math.inf, "l_s"),),
    ("speed", "us"): ((math.inf, "ft_s"),),
    ("speed", "si"): ((math.inf, "m_s"),),
    ("concentration", "us"): ((math.inf, "mg_l"),),
    ("concentration", "si"): ((math.inf, "mg_l"),),
    ("mass", "us"): ((math.inf, "lb"),),
    ("mass", "si"): ((math.inf, "kg"),),
    ("power", "us"): ((1000.0, "w"), (math.inf, "kw")),
    ("power", "si"): ((1000.0, "w"), (math.inf, "kw")),
    ("duration", "us"): ((120.0, "s"), (7200.0, "min"), (2 * DAY_S, "h"), (math.inf, "d")),
    ("duration", "si"): ((120.0, "s"), (7200.0, "min"), (2 * DAY_S, "h"), (math.inf, "d")),
    ("fraction", "us"): ((math.inf, "pct"),),
    ("fraction", "si"): ((math.inf, "pct"),),
    ("price by length", "us"): ((math.inf, "per_ft"),),
    ("price by length", "si"): ((math.inf, "per_m"),),
}
"""Up to which SI size a value of a kind is shown in which unit."""

FIXED = {"temperature": 1, "concentration": 2, "angle": 5}
"""Kinds shown with a fixed number of decimals; all else gets three figures, and whole numbers from 100 up."""

TRIMMED = ("duration", "fraction", "voltage", "current", "angle")
"""Kinds shown without zeros at the end: "15 min", "120 V"."""

FEET_INCHES_M = (0.3048, 30.48)
"""Lengths in this span (1 to 100 ft) are shown in feet and whole inches, as a tape reads."""


def decimals(value: float, figures: int = 3) -> int:
    """Return how many decimals show a value to so many figures, none from 100 up."""
    if value == 0 or not math.isfinite(value):
        return 0
    rounded = float(f"{abs(value):.{figures - 1}e}")
    return max(0, figures - 1 - math.floor(math.log10(rounded)))


def plain(value: float, digits: int | None = None) -> str:
    """Return a number with so many decimals, by default three figures; never "-0", never an exponent.

    From 10,000 on its thousands are parted by a narrow space, which can be read in one way only.
    """
    text = f"{value:.{decimals(value) if digits is None else digits}f}"
    return text.lstrip("-") if float(text) == 0 else grouped(text)


def _number(value: float, kind: str, digits: int | None) -> str:
    if digits is not None:
        return plain(value, digits)
    text = plain(value, FIXED.get(kind))
    return text.rstrip("0").rstrip(".") if kind in TRIMMED and "." in text else text


def _feet_inches(value_m: float) -> str:
    inches = round(abs(value_m) / SUFFIXES["in"].scale)
    feet, rest = divmod(inches, 12)
    text = f"{feet} ft {rest} in" if rest else f"{feet} ft"
    return f"-{text}" if value_m < 0 else text


def show(
    value: float, suffix: str, system: System = "us", digits: int | None = None, *, gauge: bool | None = True
) -> str:
    """Return a value as a text with its unit, in a size that suits it.

    US: lengths from 1 to 100 ft in feet and whole inches, above in feet, below in inches; with ``digits`` in
    decimal feet. Areas in acres, volumes in acre-feet, small ones in ft² and gal; flows of water in gpm;
    pressures in psi with psig or psia as they are; temperatures in °F. Each text can be read back.

    Args:
        value: the number, in the unit that ``suffix`` names.
        suffix: the ending of the field's name.
        system: "us" or "si".
        digits: decimals; by default three figures.
        gauge: for pressures, as in ``parse``.

    Raises:
        UnitError: for an unknown suffix, or a value that is NaN or infinite.
    """
    unit = wanted(suffix)
    if not math.isfinite(value):
        raise UnitError(f"'{value}' can't be shown as {unit.kind}.")
    steps = STEPS.get((unit.kind, system))
    if steps is None:
        return join(_number(value, unit.kind, digits), unit.spellings[0])
    size = value * unit.scale + unit.offset
    if unit.kind == "length" and system == "us" and digits is None and _in_feet(size):
        return _feet_inches(size)
    if size == 0 and unit.kind != "temperature":
        limit_suffix = _zero_suffix(unit.kind, system)
    else:
        limit_suffix = next(name for limit, name in steps if abs(size) < limit)
    shown = convert(value, suffix, limit_suffix)
    label = SUFFIXES[limit_suffix].spellings[0]
    if unit.kind == "pressure":
        label = _marked(label, gauge)
    return join(_number(shown, unit.kind, digits), label)


def _in_feet(size_m: float) -> bool:
    low, high = FEET_INCHES_M
    return low * (1 - 1e-9) <= abs(size_m) < high


def _zero_suffix(kind: str, system: System) -> str:
    """Return the unit in which nothing at all is shown: "0 ft", not "0 in"."""
    usual = {
        "length": ("ft", "m"),
        "area": ("acre", "m2"),
        "volume": ("acre_ft", "m3"),
        "pressure": ("psi", "kpa"),
    }
    if kind in usual:
        return usual[kind][0 if system == "us" else 1]
    return STEPS[kind, system][0][1]


def _marked(label: str, gauge: bool | None) -> str:
    if gauge is None:
        return label
    if label == "psi":
        return "psig" if gauge else "psia"
    return f"{label} gauge" if gauge else f"{label} absolute"


def join(number: str, label: str) -> str:
    """Return number and unit with the space that the unit wants."""
    return f"{number}{label}" if label in ("°", "/kWh", "/m", "/ft") else f"{number} {label}"


def echo(value: str | float | int, suffix: str, *, gauge: bool | None = True) -> str:
    """Return what was written and what was understood: "12 ft 6 in = 3.81 m".

    A value written in SI is answered in US units; a bare number is answered with the unit it was given.

    Args:
        value: what was written.
        suffix: the ending of the field's name.
        gauge: for pressures, as in ``parse``.
    """
    goal = wanted(suffix)
    number = parse(value, suffix, gauge=gauge)
    in_si, in_us = (show(number, suffix, system, gauge=gauge) for system in ("si", "us"))
    if not isinstance(value, str):
        return in_si if in_si == in_us else f"{in_si} = {in_us}"
    text = tidy(value)
    if goal.kind == "angle":
        return text if text.strip("+-").replace(".", "", 1).isdigit() else f"{text} = {in_si}"
    rest = split_number(without_currency(text, goal))[1]
    unit = next((unit for unit in find_units(rest) if unit.kind == goal.kind), None)
    if not rest:
        text, unit = join(text, goal.spellings[0]), goal
    other = in_us if unit is not None and unit.metric else in_si
    same_unit = unit is not None and in_si == in_us and in_si.endswith(unit.spellings[0])
    return text if same_unit else f"{text} = {other}"


MOST_DECIMALS = 6


def both(value: float, suffix: str) -> str:
    """Return a value for a sentence whose reader is not known yet: "187 ft (57.0 m)" where nobody asks."""
    return pair(show(value, suffix, "us"), show(value, suffix, "si"))


def far_away(distance_m: float) -> str:
    """Return a distance for a sentence: in miles and kilometres where feet would run to digits nobody reads."""
    if distance_m < 10_000.0:
        return both(distance_m, "m")
    return pair(f"{plain(distance_m / 1609.344, 0)} miles", f"{plain(distance_m / 1000.0, 0)} km")


def half_band(half: float, suffix: str, system: System) -> str:
    """Return half the width of a band, the "0.30 m" of "± 0.30 m", to two figures: a third one is not known.

    Args:
        half: the number, in the unit that ``suffix`` names.
        suffix: the ending of the field's name.
        system: "us" or "si".
    """
    text = show(half, suffix, system, gauge=None)
    number, _, label = text.partition(" ")
    # whole inches of a tape, and what is whole otherwise, stay
    return join(plain(float(number), decimals(float(number), 2)), label) if "." in number else text


def apart(value: float, other: float, least_decimals: int) -> str:
    """Return a value with the decimals that show on which side of another it lies, up to six.

    Args:
        value: to be written.
        other: what it is compared with beside it, written as exactly.
        least_decimals: decimals where the two differ in them anyway.
    """
    decimals = least_decimals
    while decimals < MOST_DECIMALS and value != other and round(value, decimals) == round(other, decimals):
        decimals += 1
    return f"{value:.{decimals}f}"
