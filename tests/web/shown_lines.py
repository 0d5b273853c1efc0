"""A second reader of the lines that a page shows: numbers with units and arithmetic, worked out anew.

It shares the sizes of the units with the program and the functions of the science, nothing else: it reads the text.
"""

from __future__ import annotations

import importlib
import inspect
import math
import pkgutil
import re

from scipy import stats

import plumeline.science
from plumeline.units import SUFFIXES
from plumeline.workings.formulas import RELATIONS
from plumeline.workings.quantities import units_by_label

SCIENCE = {
    name: function
    for module in pkgutil.iter_modules(plumeline.science.__path__)
    for name, function in inspect.getmembers(
        importlib.import_module(f"plumeline.science.{module.name}"), inspect.isfunction
    )
}
PLAIN = {
    "sqrt": math.sqrt, "exp": math.exp, "ln": math.log, "log10": math.log10, "abs": abs, "min": min, "max": max,
    "ceil": lambda x: math.ceil(x - 1e-9),
    "normal": lambda x: (1.0 + math.erf(x / math.sqrt(2.0))) / 2.0,
    "binomial": lambda most, draws, chance: float(stats.binom.cdf(round(most), round(draws), chance)),
    "sin": lambda x: math.sin(math.radians(x)), "cos": lambda x: math.cos(math.radians(x)),
}  # fmt: skip
UNITS = sorted((label for label in units_by_label() if label), key=len, reverse=True)
FEET = re.compile(r"(\d+) ft (\d+) in(?!\w)")
NUMBER = re.compile(r"\d+(?:[,\u202f]\d{3})*(?:\.\d+)?(?:e[+-]?\d+)?")
NAME = re.compile(r"[a-z_][a-z_0-9]*")
AFTER = re.compile(r"[\w²³⁴/]")


def bare(number):
    """Return a number without the marks between its thousands."""
    return number.replace(",", "").replace("\u202f", "")


def tokens(text):
    """Yield numbers in base units, names and signs."""
    at = 0
    while at < len(text):
        if text[at].isspace():
            at += 1
            continue
        feet, number, name = FEET.match(text, at), NUMBER.match(text, at), NAME.match(text, at)
        if feet:
            yield (int(feet[1]) * 12 + int(feet[2])) * 0.0254
            at = feet.end()
        elif number:
            value, at = float(bare(number.group())), number.end()
            unit = next((u for u in UNITS if text.startswith((f" {u}", u), at) and _ends(text, at, u)), "")
            if unit:
                at = text.index(unit, at) + len(unit)
            found = units_by_label()[unit]
            yield value * found.scale_number + found.offset_number
        elif name:
            yield name.group()
            at = name.end()
        else:
            yield text[at]
            at += 1


def _ends(text, at, unit):
    end = at + len(unit) + (1 if text[at] == " " else 0)
    return not AFTER.match(text, end)


class Reader:
    """Recursive descent over + − × / ^ and calls."""

    def __init__(self, text) -> None:
        self.rest = list(tokens(text))

    def next(self, *wanted):
        if self.rest and isinstance(self.rest[0], str) and self.rest[0] in wanted:
            return self.rest.pop(0)
        return None

    def sum(self):
        value = self.product()
        while sign := self.next("+", "−"):
            value = value + self.product() if sign == "+" else value - self.product()
        return value

    def product(self):
        value = self.signed()
        while sign := self.next("×", "/"):
            value = value * self.signed() if sign == "×" else value / self.signed()
        return value

    def signed(self):
        return -self.signed() if self.next("−") else self.power()

    def power(self):
        value = self.single()
        return value ** self.signed() if self.next("^") else value

    def single(self):
        first = self.rest.pop(0)
        if isinstance(first, float):
            return first
        if first == "(":
            value = self.sum()
            assert self.next(")")
            return value
        assert self.next("("), f"no bracket after {first!r}"
        arguments = [self.sum()]
        while self.next(","):
            arguments.append(self.sum())
        assert self.next(")")
        return PLAIN[first](*arguments) if first in PLAIN else called(first, arguments)


def called(name, arguments):
    """Work out a relation of the science: each argument in the unit its name ends in."""
    function = SCIENCE[name]
    own = []
    for value, argument in zip(arguments, inspect.signature(function).parameters, strict=False):
        suffix = suffix_of(argument)
        unit = units_by_label()[SUFFIXES[suffix].spellings[0]] if suffix and suffix != "fraction" else None
        own.append((value - unit.offset_number) / unit.scale_number if unit else value)
    result = RELATIONS[name].suffix
    unit = units_by_label()[SUFFIXES[result].spellings[0] if result in SUFFIXES else result]
    return float(function(*own)) * unit.scale_number + unit.offset_number


def suffix_of(argument):
    """Return the unit at the end of an argument's name."""
    strange = r"_(w_m_k|w_m2_k|m_k_w|j_kg_k|mol_m3|l_mg|ohm_per_m|kg_m)$"
    if re.search(strange, argument):
        return ""
    parts = argument.split("_")
    return next((end for i in range(len(parts)) if (end := "_".join(parts[i:])) in SUFFIXES), "")


def worked_again(line):
    """Return what a shown line comes to, in base units."""
    reader = Reader(line)
    value = reader.sum()
    assert not reader.rest, reader.rest
    return value


def shown_value(text):
    """Return a shown result in base units, and the size of one step of its last digit."""
    feet = FEET.fullmatch(text)
    if feet:
        return (int(feet[1]) * 12 + int(feet[2])) * 0.0254, 0.0254
    sign = -1.0 if text[0] in "-−" else 1.0
    text = text.lstrip("-−+")
    number = NUMBER.match(text)
    label = text[number.end() :].strip()
    unit = units_by_label()[label]
    body, _, power = bare(number.group()).partition("e")
    step = 10.0 ** (int(power or 0) - len(body.partition(".")[2]))
    if label == "ft" and "." not in body and 1 <= float(body) < 100:
        step = 1 / 12  # a tape's feet are right to the inch
    return sign * float(
        bare(number.group())
    ) * unit.scale_number + unit.offset_number, step * unit.scale_number
