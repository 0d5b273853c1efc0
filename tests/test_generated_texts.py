"""Ten thousand typed texts made of parts whose meaning is known: read as meant or refused, never silently wrong.

The meaning is worked out here from the parts by exact fractions and the definitions of NIST Special Publication 811
(appendix B) and of the international foot; nothing is taken from the program's own table.
"""

from __future__ import annotations

import random
from fractions import Fraction

import pytest

from plumeline.errors import PlumelineError
from plumeline.units import parse

COUNT = 10_000
FT, INCH, PSI = Fraction(3048, 10_000), Fraction(254, 10_000), Fraction("6894.757293168")
UNITS = {
    "m": [
        ("ft", FT), ("feet", FT), ("'", FT), ("in", INCH), ('"', INCH), ("yd", 3 * FT), ("m", Fraction(1)),
        ("cm", Fraction(1, 100)), ("mm", Fraction(1, 1000)), ("mi", 5280 * FT),
    ],
    "m2": [
        ("acre", 43_560 * FT**2), ("acres", 43_560 * FT**2), ("ha", Fraction(10_000)), ("m2", Fraction(1)),
        ("sq ft", FT**2),
    ],
    "m3": [("acre-ft", 43_560 * FT**3), ("m3", Fraction(1)), ("gal", 231 * INCH**3)],
    "mg_l": [("mg/L", Fraction(1)), ("ppm", Fraction(1))],
    "degc": [
        ("degC", (1, 0)), ("°C", (1, 0)), ("degF", (Fraction(5, 9), 32)), ("°F", (Fraction(5, 9), 32)),
        ("F", (Fraction(5, 9), 32)),
    ],
}  # fmt: skip
SPELLED = (
    "plain",
    "point",
    "comma",
    "thousands",
    "parted",
    "fraction",
    "mixed",
    "bare point",
    "ambiguous",
    "double",
    "power",
)


def number(chance, how):
    """Return a text and the number that it means, or None where it may mean more than one."""
    whole, tenths, high = chance.randint(0, 60), chance.randint(0, 99), chance.choice((2, 4, 8, 16))
    part = chance.randrange(1, high)
    return {
        "plain": (f"{whole}", Fraction(whole)),
        "point": (f"{whole}.{tenths:02d}", whole + Fraction(tenths, 100)),
        "comma": (f"{whole},{tenths:02d}", whole + Fraction(tenths, 100)),
        "thousands": (f"{whole + 1},{tenths:03d},000", Fraction((whole + 1) * 1000 + tenths) * 1000),
        "parted": (f"{whole + 1}\u202f{tenths:03d}", Fraction((whole + 1) * 1000 + tenths)),
        "fraction": (f"{part}/{high}", Fraction(part, high)),
        "mixed": (f"{whole} {part}/{high}", whole + Fraction(part, high)),
        "bare point": (f".{tenths:02d}", Fraction(tenths, 100)),
        "ambiguous": (f"{whole + 1},{tenths:03d}", None),
        "double": (f"{whole}.{tenths}.{part}", None),
        "power": (f"{whole}e{part % 3}", Fraction(whole) * 10 ** (part % 3)),
    }[how]


def texts(count):
    """Yield texts with the suffix asked for and what they mean; None where only a refusal is right."""
    chance = random.Random(5)
    for _ in range(count):
        suffix, kind = chance.choice(sorted(UNITS)), chance.choice(sorted(UNITS))
        kind = suffix if chance.random() < 0.8 else kind
        spelling, size = chance.choice(UNITS[kind])
        text, value = number(chance, chance.choice(SPELLED))
        sign = "-" if chance.random() < 0.1 else ""
        gap = chance.choice(("", " ")) if spelling not in ("e",) else " "
        means = None if value is None or kind != suffix else (-value if sign else value)
        if means is not None:
            means = (means - size[1]) * size[0] if kind == "degc" else means * size
        if (
            kind == suffix == "m"
            and spelling in ("ft", "feet", "'")
            and chance.random() < 0.3
            and value is not None
        ):
            inches = chance.randint(0, 14)
            more = f"{gap}{inches}{chance.choice((' in', chr(34)))}"
            is_whole = value.denominator == 1
            means = means + (-1 if sign else 1) * inches * INCH if inches < 12 and is_whole else None
            yield f"{sign}{text}{gap}{spelling}{more}", suffix, means, True
        else:
            yield f"{sign}{text}{gap}{spelling}", suffix, means, False


def test_no_text_of_ten_thousand_is_silently_wrong():
    """Each is read as its parts mean, or refused; what means nothing or two things is refused."""
    read, refused, wrong = 0, 0, []
    for text, suffix, means, _ in texts(COUNT):
        try:
            found = parse(text, suffix)
        except PlumelineError:
            refused += 1
            continue
        read += 1
        if means is None or found != pytest.approx(float(means), rel=1e-9, abs=1e-12):
            wrong.append((text, suffix, found, means and float(means)))
    assert not wrong, (len(wrong), wrong[:20])
    assert read > 5_000
    assert refused > 1_500
