"""Numbers with units as they stand in a text: read from it, and written into it with a wanted count of figures."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache

from plumeline.units import SUFFIXES
from plumeline.units.air import SCFM_M3_S
from plumeline.units.numerals import ungrouped
from plumeline.units.showing import STEPS, System, plain

NUMBER = r"[-−+]?\d+(?:[,\u202f]\d{3})*(?:\.\d+)?(?:e[+-]?\d+)?"
FEET_INCHES = re.compile(r"(-?)(\d+) ft (\d+) in(?![\w²³/])")
HOURS_MINUTES = re.compile(r"(\d+) h (\d{2})(?!\d)")
SO_MANY = re.compile(r" (?:\d|a hundred|ten\b|twenty\b)")
CLOCK = re.compile(r"([01]\d|2[0-3]):([0-5]\d)(?![\d:])")
INCHES = 12.0
MINUTES = 60.0
FIGURES_MOST = 15


@dataclass(frozen=True)
class Unit:
    """A unit as it is written.

    Attributes:
        label: how it is written; empty for a bare number.
        kind: what it measures; two numbers can be the same only within one kind.
        scale_number, offset_number: from a number in it to one in the base unit of its kind: scale × number + offset.
    """

    label: str
    kind: str
    scale_number: float
    offset_number: float = 0.0


MORE = (
    Unit("scfm", "air flow", SCFM_M3_S),
    Unit("cfm", "intake flow", SCFM_M3_S),
    Unit("m³/h standard", "air flow", 1 / 3600),
    Unit("m³/h of standard air", "air flow", 1 / 3600),
    Unit("Nm³/h", "normal flow", 1 / 3600),
    Unit("million gal", "volume", SUFFIXES["mgal"].scale),
    Unit("kPa gauge", "pressure", 1e3),
    Unit("kPa absolute", "pressure", 1e3),
    Unit("Pa gauge", "pressure", 1.0),
    Unit("Pa absolute", "pressure", 1.0),
    Unit("Pa·s", "viscosity", 1.0),
    Unit("J/m²", "stability", 1.0),
    Unit("1/s²", "buoyancy", 1.0),
    Unit("J", "energy", 1.0),
    Unit("kJ", "energy", 1e3),
    Unit("kWh", "energy", 3.6e6),
    Unit("m²/m", "area by depth", 1.0),
    Unit("mol/m³", "amount", 1.0),
    Unit("kg·m", "moment of mass", 1.0),
    Unit("m⁴", "way times water", 1.0),
    Unit("kg/m⁴", "density gradient", 1.0),
    Unit("m/s²", "acceleration", 1.0),
    Unit("sq in", "area", SUFFIXES["in2"].scale),
    Unit("lb/ft", "mass by length", SUFFIXES["lb"].scale / SUFFIXES["ft"].scale),
    Unit("kg/m", "mass by length", 1.0),
    Unit("W/K", "conductance", 1.0),
    Unit("Ω/m", "resistance by length", 1.0),
    Unit("°F apart", "temperature difference", 5.0 / 9.0),
    Unit("°C apart", "temperature difference", 1.0),
    Unit("o'clock", "hour of the day", 1.0),
)
"""Units that no field carries, but that stand on pages or in lines."""


@cache
def units_by_label() -> dict[str, Unit]:
    """Return every unit by how it is written, the units of the house first."""
    found = {unit.spellings[0]: coherent(suffix) for suffix, unit in SUFFIXES.items()}
    return found | {unit.label: unit for unit in MORE} | {"": BARE}


@cache
def coherent(suffix: str) -> Unit:
    """Return the unit of a suffix, sized so that products of the base units of all kinds need no factor."""
    unit = SUFFIXES[suffix]
    scale = unit.scale * COHERENT.get(unit.kind, 1.0)
    return Unit(unit.spellings[0] if suffix != "fraction" else "", unit.kind, scale, unit.offset)


COHERENT = {
    "concentration": 1e-3,
    "rate": 1 / 86400.0,
    "price by time": 12 / (365.25 * 86400.0),
    "price of energy": 1 / 3.6e6,
}
"""What turns the base unit of a kind in the house's table into that of the SI: kg/m³, 1/s."""


FLOWS: dict[str, dict[System, str]] = {
    "air": {"us": "scfm", "si": "m³/h standard"},
    "intake": {"us": "cfm", "si": "m³/h"},
}
"""Flows of air in m³/s, standard and at the intake, and how each system writes them."""

BARE = Unit("", "number", 1.0)


@cache
def _labels() -> re.Pattern[str]:
    labels = sorted((label for label in units_by_label() if label), key=lambda label: -len(label))
    return re.compile(r"\s?(" + "|".join(re.escape(label) for label in labels) + r")(?![\w²³⁴])")


@dataclass(frozen=True)
class Quantity:
    """A number as it stands in a text.

    Attributes:
        start, end: where, with its unit.
        text: as it stands, with its unit.
        number: the number in the text's own unit; feet and inches as inches.
        unit: its unit; bare where none is written.
        digits: how many digits are written; fewer than none for "2.4e3" and the like.
    """

    start: int
    end: int
    text: str
    number: float
    unit: Unit
    digits: int

    @property
    def step(self) -> float:
        """The size of one step of the last digit, in the text's unit."""
        return 10.0**-self.digits

    def bare(self) -> Quantity:
        """Return the first number alone: what follows may be a word ("3.2 in still water")."""
        written = re.match(NUMBER, self.text)
        assert written is not None
        body = _typed(written.group())
        digits = len(body.partition("e")[0].partition(".")[2]) - int(body.partition("e")[2] or 0)
        return Quantity(self.start, self.start + written.end(), written.group(), float(body), BARE, digits)

    def fits(self, base_number: float, unit: Unit) -> bool:
        """Return whether a number in the base unit of a kind is written as this text, to its last digit."""
        own = (base_number - unit.offset_number) / unit.scale_number
        return math.isfinite(own) and abs(own - self.number) <= self.step * (0.5 + 1e-6)


def _typed(number: str) -> str:
    """Return a number as it stands in a text as a computer reads it."""
    return ungrouped(number).replace(",", "").replace("−", "-")


def read_quantities(text: str) -> list[Quantity]:
    """Return every number of a text with its unit, from left to right; digits inside of words are none."""
    found: list[Quantity] = []
    at = 0
    pattern = re.compile(rf"(?<![\w.,/₀-₉-])(?<!\d[-:]){NUMBER}(?!\d|/\d)")
    while match := pattern.search(text, at):
        quantity = _read_at(text, match)
        at = quantity.end
        found.append(quantity)
    return found


def _read_at(text: str, match: re.Match[str]) -> Quantity:
    for pattern, name in ((HOURS_MINUTES, "min"), (CLOCK, "o'clock")):
        both = pattern.match(text, match.start())
        if both:  # a running time or an hour of the day, to the minute
            minutes = int(both[1]) * MINUTES + int(both[2])
            return Quantity(both.start(), both.end(), both.group(), minutes, units_by_label()[name], 0)
    feet = FEET_INCHES.match(text, match.start())
    if feet:
        inches = (int(feet[2]) * INCHES + int(feet[3])) * (-1 if feet[1] else 1)
        return Quantity(feet.start(), feet.end(), feet.group(), inches, units_by_label()["in"], 0)
    written = _typed(match.group())
    body, _, power = written.partition("e")
    digits = len(body.partition(".")[2]) - int(power or 0)
    label = _labels().match(text, match.end())
    if label and label[1] == "in" and SO_MANY.match(text, label.end()):
        label = None  # "12 in 100" is a share, no length
    end = label.end() if label else match.end()
    unit = units_by_label()[label[1]] if label else BARE
    number = float(written)
    if label and label[1] == "ft" and "." not in body and 1 <= abs(number) < 100:
        # a whole number of feet of a tape is one to the inch
        return Quantity(
            match.start(), end, text[match.start() : end], number * INCHES, units_by_label()["in"], 0
        )
    return Quantity(match.start(), end, text[match.start() : end], number, unit, digits)


def unit_for(value: float, suffix: str, system: System, gauge: bool | None = None) -> Unit:
    """Return the unit in which a value, in the unit that the suffix names, is written; decimal feet.

    Args:
        value: the number, in the unit of the suffix.
        suffix: the ending of a field's name, a unit of `MORE` as it is written, or empty.
        system: "us" or "si".
        gauge: for pressures: over the air's pressure, absolute, or a difference (None).
    """
    known = units_by_label()
    if suffix in FLOWS:
        return known[FLOWS[suffix][system]]
    if suffix not in SUFFIXES:
        return known[suffix]
    unit = SUFFIXES[suffix]
    if suffix in ("k", "fraction", "mph"):
        return coherent(suffix)
    steps = STEPS.get((unit.kind, system))
    if steps is None:
        return known[unit.spellings[0]]
    size = abs(value * unit.scale + unit.offset)
    name = next((name for limit, name in steps if size < limit), steps[-1][1])
    label = SUFFIXES[name].spellings[0]
    if unit.kind == "pressure" and gauge is not None:
        label = {"psi": ("psia", "psig")}.get(label, (f"{label} absolute", f"{label} gauge"))[gauge]
    return known[label]


def base_of(value: float, suffix: str) -> float:
    """Return a value, in the unit that the suffix names, in the base unit of its kind."""
    if suffix in FLOWS:
        return value
    unit = coherent(suffix) if suffix in SUFFIXES else units_by_label()[suffix]
    return value * unit.scale_number + unit.offset_number


def kind_of(suffix: str) -> str:
    """Return what a suffix measures."""
    if suffix in FLOWS:
        return units_by_label()[FLOWS[suffix]["us"]].kind
    unit = SUFFIXES.get(suffix)
    return unit.kind if unit is not None else units_by_label()[suffix].kind


def written(base_number: float, unit: Unit, digits: int) -> tuple[str, float]:
    """Return a number with its unit, to so many digits, and the number in the base unit that this says.

    Zeros at the end of the digits are left out, for they say nothing about a number that is put in.
    """
    own = (base_number - unit.offset_number) / unit.scale_number
    text = f"{own:.{digits}g}" if own and abs(own) < 1e-4 else plain(own, _decimals(own, digits))
    if "e" in text:
        body, power = text.split("e")
        text = f"{body}e{int(power)}"
    elif "." in text:
        text = text.rstrip("0").rstrip(".")
    said = float(ungrouped(text)) * unit.scale_number + unit.offset_number
    text = text.replace("-", "−", 1) if text.startswith("-") else text
    return (f"{text} {unit.label}" if unit.label else text), said


def _decimals(value: float, digits: int) -> int:
    if value == 0.0:
        return 0
    return max(0, digits - 1 - math.floor(math.log10(abs(value))))
