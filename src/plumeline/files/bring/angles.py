"""Degrees as people write them: decimal, with minutes, with minutes and seconds, with a direction."""

from __future__ import annotations

import re

from plumeline.units.numerals import tidy

_NUMBER = r"\d+(?:[.,]\d+)?"
_ANGLE = re.compile(
    rf"""(?P<lead>[NSEWnsew])?\s*(?P<sign>[+-])?\s*(?P<deg>{_NUMBER})
    (?:\s*(?:°|(?i:deg(?:rees?)?|d)|:|-|\s)\s*(?P<min>{_NUMBER}))?
    (?:\s*(?:'|(?i:min|m)|:|-|\s)\s*(?P<sec>{_NUMBER}))?
    \s*(?(sec)(?:"|sec|s)?|(?(min)(?:'|(?i:min|m))?|(?:°|(?i:deg(?:rees?)?|d))?))
    \s*(?P<tail>[NSEWnew])?""",
    re.VERBOSE,
)
"""The last sign of a unit may stand or be left out: 35 54 36.7 N, 35°54'36.7\"N, 35-54.612N, 35.91. A small s at the
end is that of seconds, a large one is south."""


def angle_deg(text: str) -> float | None:
    """Return degrees, south and west below zero; None where the text is no angle.

    Args:
        text: such as ``35 54.612 N``, ``79°43'13.4"W``, ``-79.7204``.
    """
    found = _ANGLE.fullmatch(tidy(text))
    if found is None or (found["lead"] and found["tail"]):
        return None
    whole, minutes, seconds = (float((found[key] or "0").replace(",", ".")) for key in ("deg", "min", "sec"))
    broken = (found["min"] and whole % 1) or (found["sec"] and minutes % 1)
    if minutes >= 60 or seconds >= 60 or whole > 180 or broken:
        return None
    side = (found["lead"] or found["tail"] or "").upper()
    if side and found["sign"]:
        return None
    size = whole + minutes / 60 + seconds / 3600
    return -size if found["sign"] == "-" or side in ("S", "W") else size
