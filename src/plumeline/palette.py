"""The colours, and how far they stand out from each other; the same meaning on every surface."""

from __future__ import annotations

PAPER = "#f4f1e8"
INK = "#1c1c1c"
DEEP = "#0b3c49"
SHALLOW = "#2a9d8f"
WARNING = "#c8553d"
CAUTION = "#e9a03b"
GOOD = "#4c8b3f"

TEXT_COLOURS = (INK, DEEP)
"""The only colours of text on paper."""


def channels(colour: str) -> tuple[int, int, int]:
    """Return red, green and blue, 0 to 255, of a colour written as #rrggbb."""
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def luminance_wcag_2018(colour: str) -> float:
    """Return the relative luminance of a colour, 0 (black) to 1 (white).

    Source: W3C, Web Content Accessibility Guidelines 2.1 (2018), definition of relative luminance.
    """
    red, green, blue = (_linear(part / 255.0) for part in channels(colour))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(share_fraction: float) -> float:
    if share_fraction <= 0.03928:
        return share_fraction / 12.92
    return float(((share_fraction + 0.055) / 1.055) ** 2.4)


def contrast_wcag_2018(one: str, other: str) -> float:
    """Return the contrast of two colours, 1 to 21.

    Source: W3C, Web Content Accessibility Guidelines 2.1 (2018), definition of contrast ratio.
    """
    brighter, darker = sorted((luminance_wcag_2018(one), luminance_wcag_2018(other)), reverse=True)
    return (brighter + 0.05) / (darker + 0.05)


def muck_colour(share_fraction: float) -> str:
    """Return the tint of soft muck from none (0) to the thickest (1): paper to a middle grey, no depth's colour."""
    share = 0.55 * min(max(share_fraction, 0.0), 1.0)
    parts = zip(channels(PAPER), channels(INK), strict=True)
    return "#" + "".join(f"{round(a + share * (b - a)):02x}" for a, b in parts)


def depth_colour(share_fraction: float) -> str:
    """Return the colour of water from shallow (0) to the deepest (1)."""
    share = min(max(share_fraction, 0.0), 1.0)
    parts = zip(channels(SHALLOW), channels(DEEP), strict=True)
    return "#" + "".join(f"{round(a + share * (b - a)):02x}" for a, b in parts)
