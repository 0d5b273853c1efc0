"""The bottle test: how much oxygen a litre of bottom water takes up once it meets oxygen."""

from __future__ import annotations

import math
from dataclasses import dataclass

from plumeline.job.document import Bottle
from plumeline.notices import Notice, caution, note

CENSORED_BELOW_MG_L = 1.0
"""A mixture that falls under this has run short of oxygen: its demand is a lower bound (design)."""

READING_ERROR_MG_L = 0.2
"""Standard error of one reading in a bottle; the meter's bias cancels (optical meters state ±0.1 to 0.2)."""


@dataclass(frozen=True)
class Demand:
    """Oxygen taken up by a litre of bottom water.

    Attributes:
        demand_mg_l: the estimate; a lower bound where ``censored``.
        standard_error_mg_l: from the error of the single readings.
        censored: true when the mixture ran short of oxygen.
    """

    demand_mg_l: float
    standard_error_mg_l: float
    censored: bool


@dataclass(frozen=True)
class BottleResult:
    """What one bottle tells; a part is None when its reading was not taken."""

    depth_m: float
    immediate: Demand | None
    fast: Demand | None
    notices: tuple[Notice, ...]


def bottle_demand(bottle: Bottle) -> BottleResult:
    """Return the immediate (15 min) and fast (24 h) oxygen demand of the bottom water in a bottle test.

    With a part s of bottom water in the mixture, DO₀ = s·bottom + (1 − s)·surface, and
    immediate = (DO₀ − M₁₅)/s, fast = ((DO₀ − M₂₄) − (1 − s)(S₀ − S₂₄))/s: at one to one that is twice the
    drop, and at one to three four times. The surface bottle is the control, for a bloom respires too.

    Args:
        bottle: the readings [mg/L]

    Returns:
        demands per litre of bottom water [mg/L], never below zero, with notices

    Source:
        Stoichiometry of a two-part mixture; common practice of bottle tests, no published source.
    """
    s = bottle.bottom_share
    where = f"the bottle at {bottle.depth_m:g} m"
    if s <= 0.0:
        lost = caution(
            "bottle-without-bottom-water", f"In {where} there is no bottom water: it tells nothing."
        )
        return BottleResult(bottle.depth_m, None, None, (lost,))
    start = s * bottle.bottom_do_mg_l + (1.0 - s) * bottle.surface_do_mg_l
    immediate: Demand | None = None
    fast: Demand | None = None
    notices: list[Notice] = []
    if bottle.after_15min_mg_l is not None:
        immediate = _demand(start - bottle.after_15min_mg_l, s, bottle.after_15min_mg_l, 0.0)
    if bottle.after_24h_mg_l is not None:
        control = 0.0
        if bottle.surface_after_24h_mg_l is not None:
            control = (1.0 - s) * (bottle.surface_do_mg_l - bottle.surface_after_24h_mg_l)
        else:
            notices.append(
                note(
                    "bottle-without-control",
                    f"With {where} no surface bottle was kept: what the bloom breathed is counted as debt.",
                )
            )
        fast = _demand(start - bottle.after_24h_mg_l - control, s, bottle.after_24h_mg_l, 1.0 - s)
    if any(part is not None and part.censored for part in (immediate, fast)):
        notices.append(
            caution(
                "bottle-ran-short",
                f"The mixture in {where} fell under {CENSORED_BELOW_MG_L:g} mg/L: the demand is at least "
                "what is shown. Repeat with one part of bottom water to three of surface water.",
            )
        )
    return BottleResult(bottle.depth_m, immediate, fast, tuple(notices))


def _demand(
    drop_mg_l: float, bottom_share_fraction: float, end_mg_l: float, control_fraction: float
) -> Demand:
    """Scale a drop in the mixture to a litre of bottom water."""
    s = bottom_share_fraction
    # start (two readings weighted s and 1 - s), end, and the control's two readings
    readings = s**2 + (1.0 - s) ** 2 + 1.0 + 2.0 * control_fraction**2
    return Demand(
        demand_mg_l=max(drop_mg_l / s, 0.0),
        standard_error_mg_l=READING_ERROR_MG_L * math.sqrt(readings) / s,
        censored=end_mg_l < CENSORED_BELOW_MG_L,
    )
