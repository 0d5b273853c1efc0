"""What a diffuser stands on where the bottom is soft.

A weighted base sinks into muck until its membrane lies in it. On thin muck it stands; on more a wide plate carries it;
on deep muck it stands on legs that reach firm bottom. The limits are common practice, no published source.
"""

from __future__ import annotations

from dataclasses import dataclass

from plumeline.notices import Notice, caution
from plumeline.sources.priors import SCORE_95
from plumeline.stages.survey.result import Muck
from plumeline.units import both

THIN_M = 0.10
"""Up to 4 in the usual weighted base stands firm enough: common practice, no published source."""
PLATE_M = 0.45
"""Up to 18 in a wide plate stays on top: common practice, no published source."""


@dataclass(frozen=True)
class Base:
    """What a diffuser stands on.

    Attributes:
        muck_m, muck_se_m: thickness to expect under it, and its standard error.
        upper_m: thickness that is not exceeded 19 times of 20.
        stands_on: in words.
        legs_m: length of legs from firm bottom to the membrane; None where none are wanted.
    """

    muck_m: float
    muck_se_m: float
    upper_m: float
    stands_on: str
    legs_m: float | None


def base_of(muck: Muck | None, x_m: float, y_m: float, base_height_m: float) -> Base | None:
    """Return what a diffuser stands on at a place; None where nothing is known of muck.

    Args:
        muck: of the survey.
        x_m: place in the local plane.
        y_m: place in the local plane.
        base_height_m: height of the membrane over the muck.
    """
    if muck is None:
        return None
    thick_m, error_m = muck.grid.at(x_m, y_m)
    upper_m = thick_m + SCORE_95 * error_m
    if upper_m <= THIN_M:
        return Base(thick_m, error_m, upper_m, "its usual base", None)
    if upper_m <= PLATE_M:
        return Base(thick_m, error_m, upper_m, "a wide base plate", None)
    return Base(thick_m, error_m, upper_m, "a stand with legs to firm bottom", upper_m + base_height_m)


def base_notices(bases: dict[str, Base | None]) -> tuple[Notice, ...]:
    """Return which diffusers the usual base would not carry.

    Args:
        bases: by name of the diffuser.
    """
    known = {name: base for name, base in bases.items() if base is not None}
    legs = {name: base for name, base in known.items() if base.legs_m is not None}
    plates = [name for name, base in known.items() if base.stands_on == "a wide base plate"]
    found: list[Notice] = []
    if legs:
        words = ", ".join(f"{name} {both(base.muck_m, 'm')}" for name, base in legs.items())
        text = (
            f"Deep muck ({words}): a weighted base would sink and bury its membrane. Use a stand with legs to firm "
            "bottom, or move the diffuser (common practice, no published source). Probe there before it is let down."
        )
        found.append(caution("muck-deep", text))
    if plates:
        text = (
            f"Muck under {', '.join(plates)}: put a wide base plate under, or the base sinks (common practice, no "
            "published source)."
        )
        found.append(caution("muck-plate", text))
    return tuple(found)
