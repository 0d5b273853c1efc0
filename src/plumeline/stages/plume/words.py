"""What a plume does, in words."""

from __future__ import annotations

from plumeline.stages.plume.lift import Lift
from plumeline.units import both, show
from plumeline.units.showing import System

LIKELY_PROBABILITY = 0.9
AT_SURFACE_M = 0.1
"""Water that comes to rest higher than this stays on top."""


def plume_words(lift: Lift, surfacing_probability: float | None, system: System | None = "us") -> str:
    """Return one sentence on what will be seen at the surface and what happens below.

    Args:
        lift: the central case.
        surfacing_probability: share of the draws that surface, or None.
        system: units of the sentence; None for both, until a surface knows its reader.
    Returns:
        The sentence.
    """
    if lift.water_flow_m3_s <= 0.0:
        return "So little air lifts no water to speak of."

    def said(depth_m: float) -> str:
        return both(depth_m, "m") if system is None else show(depth_m, "m", system)

    rest_m = lift.neutral_depth_m or 0.0
    share = float(lift.reaches_surface) if surfacing_probability is None else surfacing_probability
    if lift.stall_depth_m is None:
        if share >= LIKELY_PROBABILITY and rest_m > AT_SURFACE_M:
            return (
                "Bottom water comes up with the bubbles, heavier than the water there: it spreads round the boil and "
                f"sinks, to rest at about {said(rest_m)}."
            )
        if share >= LIKELY_PROBABILITY:
            return "Bottom water comes up with the bubbles and spreads at the surface."
        return (
            f"Bottom water most likely comes up, but in {100.0 * (1.0 - share):.0f} of 100 draws it turns "
            "back below the surface, and only the bubbles show."
        )
    stall, rest = said(lift.stall_depth_m), said(rest_m)
    sentence = f"Bubbles will show, but bottom water turns back at {stall} and comes to rest at {rest}"
    if surfacing_probability is not None and share > 1.0 - LIKELY_PROBABILITY:
        return f"{sentence}; in {100.0 * share:.0f} of 100 draws it comes up."
    return f"{sentence}."
