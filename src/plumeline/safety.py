"""The safety card: the same few lines on paper, in the shell and on the page, wherever work is done."""

from __future__ import annotations

from typing import Literal

from plumeline.pairs import pair, said

_CARD: tuple[tuple[str, str], ...] = (
    (
        "Bottom water",
        "Where it smells of rotten eggs: stay upwind, two people, never alone. The nose goes numb before the "
        "gas is safe. Take a gas meter into pits and cabinets.",
    ),
    (
        "Scum",
        "It may be toxic: gloves, no spray, keep dogs, children and livestock out, wash afterwards.",
    ),
    (
        "Boat",
        "Life jacket on, kill switch clipped, a plan for cold water or for heat, somebody on the shore.",
    ),
    (
        "Compressed gas",
        "Relief valve set before the first start. Nobody over the pipe at a test. Never "
        f"{pair('100 psi', '690 kPa')} of air in it.",
    ),
    (
        "Electricity",
        "A licensed electrician, GFCI protection, and the power off before anyone enters the water. Somebody "
        "in it who tingles or goes still: stay out, cut the power, reach or throw.",
    ),
    (
        "Trench",
        "First the public utility-locate call and its ticket, private lines by a private locator. No trench, "
        "pipe or anchor in an earthen dam.",
    ),
    (
        "Ice",
        "Moving water makes thin ice: put up signs, and know the law of the place.",
    ),
    (
        "Above all this",
        "Local codes and licensed practice come first.",
    ),
)
"""(title, text) of each line of the card, values in both systems."""


def safety_card(units: Literal["us", "si"]) -> tuple[tuple[str, str], ...]:
    """Return (title, text) of each line of the card in one system of units."""
    return tuple((title, said(text, units)) for title, text in _CARD)


SAFETY_CARD = safety_card("us")
"""The card where nobody has said which units he thinks in."""
