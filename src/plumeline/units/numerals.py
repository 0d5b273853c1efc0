"""Reading the number at the start of a text: decimals, fractions, mixed numbers, commas."""

from __future__ import annotations

import math
import re
from fractions import Fraction

from plumeline.errors import UnitError

VULGAR = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5",
    "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
THIN = "\u202f"
"""Narrow no-break space: parts the thousands of a number that is shown, as ISO 80000-1 (7.3.1) has it."""
GROUPED_THIN = re.compile(r"(?<![\d.,])[1-9]\d{0,2}(?:[\u202f\u2009\u00a0]\d{3})+(?!\d|\s*/\s*\d)")
LOOKALIKES = str.maketrans({
    "′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"', "−": "-", "–": "-", "⁄": "/", "\u00a0": " ",
    "\u202f": " ", "\u2009": " ", "\t": " ", "º": "°", "˚": "°", "μ": "µ", "\ufeff": None,
})  # fmt: skip

MIXED = re.compile(r"(?P<sign>[+-]?)(?:(?P<whole>\d+)(?:\s+|-))?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)(?![\d.,])")
DECIMAL = re.compile(r"[+-]?(?:\d[\d.,]*|[.,]\d+)(?:[eE][+-]?\d+)?")

GROUPED = re.compile(r"[1-9]\d{0,2}(?:,\d{3})+")
COMMA_DECIMAL = re.compile(r"\d*,\d+")
POINT_DECIMAL = re.compile(r"(?:\d+\.?\d*|\.\d+)")
GROUPED_POINT = re.compile(r"[1-9]\d{0,2}(?:,\d{3})+\.\d+")
GROUPED_COMMA = re.compile(r"[1-9]\d{0,2}(?:\.\d{3})+,\d+")


def tidy(text: str) -> str:
    """Return the text with look-alike marks made plain, fractions spelled out and white space evened.

    Thousands parted by spaces that no key types, as they are shown, are one number; parted by plain spaces they
    may be two.
    """
    text = GROUPED_THIN.sub(lambda found: ungrouped(found.group()), text)
    for mark, spelled in VULGAR.items():
        text = text.replace(mark, f" {spelled}")
    return " ".join(text.translate(LOOKALIKES).split()).replace("''", '"')


def grouped(number: str) -> str:
    """Return a decimal number with its thousands parted where it has five figures or more before the point."""
    whole, point, rest = number.partition(".")
    sign = whole[: len(whole) - len(whole.lstrip("-+"))]
    figures = whole[len(sign) :]
    if len(figures) < 5 or not figures.isdigit():
        return number
    return f"{sign}{int(figures):,}".replace(",", THIN) + point + rest


def ungrouped(number: str) -> str:
    """Return a number without what parts its thousands."""
    return re.sub(r"[\u202f\u2009\u00a0]", "", number)


def split_number(text: str) -> tuple[float, str]:
    """Split a tidy text into the number it starts with and the rest.

    Args:
        text: a text that has been through ``tidy``.

    Returns:
        The number, and what follows it without surrounding blanks.

    Raises:
        UnitError: where the text starts with no number, with one that can be read in two ways, or with one
            that is too large.
    """
    mixed = MIXED.match(text)
    if mixed:
        return _mixed(mixed, text), text[mixed.end() :].strip()
    found = DECIMAL.match(text)
    if not found:
        raise UnitError(f"'{text}' does not start with a number.", remedy="Write a number, then its unit.")
    value = _decimal(found.group())
    if not math.isfinite(value):
        raise UnitError(f"'{found.group()}' is too large to be a number here.")
    return value, text[found.end() :].strip()


def _mixed(found: re.Match[str], text: str) -> float:
    """Return the value of a fraction or mixed number."""
    top, bottom = int(found["top"]), int(found["bottom"])
    if bottom == 0:
        raise UnitError(f"'{text}' divides by zero.")
    whole = int(found["whole"] or 0)
    if found["whole"] and top >= bottom:
        raise UnitError(f"'{found.group()}' is no mixed number.", remedy="Write it as a decimal.")
    size = float(whole + Fraction(top, bottom))
    return -size if found["sign"] == "-" else size


def _decimal(text: str) -> float:
    """Return the value of a decimal number, by the rule for commas that the package states."""
    body, power = text.lstrip("+-"), ""
    exponent = re.search(r"[eE]", body)
    if exponent:
        body, power = body[: exponent.start()], body[exponent.start() :]
    if POINT_DECIMAL.fullmatch(body):
        plain = body
    elif GROUPED_POINT.fullmatch(body):
        plain = body.replace(",", "")
    elif GROUPED_COMMA.fullmatch(body):
        plain = body.replace(".", "").replace(",", ".")
    elif GROUPED.fullmatch(body):
        if body.count(",") == 1:
            joined, pointed = body.replace(",", ""), body.replace(",", ".")
            raise UnitError(
                f"'{body}' can be read as {joined} or as {pointed}.",
                remedy=f"Write {joined} or {pointed}.",
            )
        plain = body.replace(",", "")
    elif COMMA_DECIMAL.fullmatch(body):
        plain = body.replace(",", ".")
    else:
        raise UnitError(f"'{text}' is not a number.", remedy="Use one point for the decimals: 1234.5.")
    size = float(plain + power)
    return -size if text.startswith("-") else size
