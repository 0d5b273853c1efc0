"""The bottle test: how much oxygen a litre of bottom water takes up once it meets oxygen."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from plumeline.job.document import Bottle
from plumeline.notices import Notice, caution
from plumeline.units import both

CENSORED_BELOW_MG_L = 1.0
"""A mixture that falls under this has run short of oxygen: its demand is a lower bound (design)."""

READING_ERROR_MG_L = 0.2
"""Standard error of one reading in a bottle; the meter's bias cancels (optical meters state ±0.1 to 0.2)."""

GAINED_MG_L = 2.0 * math.sqrt(2.0) * READING_ERROR_MG_L
"""A rise between two readings that their errors don't explain: two standard errors of a difference."""


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


def bottle_demand(bottle: Bottle, called: str = "") -> BottleResult:
    """Return the immediate (15 min) and fast (24 h) oxygen demand of the bottom water in a bottle test.

    With a part s of bottom water in the mixture, DO₀ = s·bottom + (1 − s)·surface, and
    immediate = (DO₀ − M₁₅)/s, fast = ((DO₀ − M₂₄) − (1 − s)(S₀ − S₂₄))/s: at one to one that is twice the
    drop, and at one to three four times. The surface bottle is the control, for a bloom respires too; one that
    gained oxygen is none. The fast demand is never less than the immediate one, which is part of it.

    Args:
        bottle: the readings [mg/L]
        called: what the notices call it; by its depth when empty

    Returns:
        demands per litre of bottom water [mg/L], never below zero, with notices

    Source:
        Stoichiometry of a two-part mixture; common practice of bottle tests, no published source.
    """
    s = bottle.bottom_share
    where = called or f"the bottle at {both(bottle.depth_m, 'm')}"
    if s <= 0.0:
        lost = caution(
            "bottle-without-bottom-water", f"In {where} there is no bottom water: it tells nothing."
        )
        return BottleResult(bottle.depth_m, None, None, (lost,))
    start = start_mg_l(bottle)
    early, late = bottle.after_15min_mg_l, bottle.after_24h_mg_l
    immediate: Demand | None = None
    fast: Demand | None = None
    notices = list(_odd(bottle, start, where))
    if early is not None:
        immediate = _demand(start - early, s, early, 0.0)
        notices += _below_zero(start - early, "15 min", where)
    if late is not None:
        control = 0.0
        if bottle.surface_after_24h_mg_l is not None:
            # a surface bottle that gained oxygen stood in light: it is no control, and its gain no debt
            control = max((1.0 - s) * (bottle.surface_do_mg_l - bottle.surface_after_24h_mg_l), 0.0)
        else:
            notices.append(
                caution(
                    "bottle-without-control",
                    f"With {where} no surface bottle was kept: what the bloom breathed is counted as debt.",
                )
            )
        # once the mixture has run short it took less than it would have, whenever that was
        least = late if early is None else min(early, late)
        fast = _demand(start - late - control, s, least, 1.0 - s)
        notices += _below_zero(start - late - control, "24 h", where)
        if immediate is not None and fast.demand_mg_l < immediate.demand_mg_l:
            # what is taken up within 15 min is taken up within 24 h
            fast = replace(fast, demand_mg_l=immediate.demand_mg_l)
    if any(part is not None and part.censored for part in (immediate, fast)):
        notices.append(
            caution(
                "bottle-ran-short",
                f"The mixture in {where} fell under {CENSORED_BELOW_MG_L:g} mg/L: the demand is at least what is "
                f"shown. Repeat with one part of bottom water to {weaker_parts_count(s)} of surface water.",
            )
        )
    return BottleResult(bottle.depth_m, immediate, fast, tuple(notices))


def start_mg_l(bottle: Bottle) -> float:
    """Return the oxygen of the mixture at filling, before any of it is taken up [mg/L]."""
    s = bottle.bottom_share
    return s * bottle.bottom_do_mg_l + (1.0 - s) * bottle.surface_do_mg_l


def weaker_parts_count(bottom_share: float) -> int:
    """Return to how many parts of surface water one part of bottom water goes when a bottle ran short.

    After one to one that is one to three; after that, twice as much again.
    """
    return 3 if bottom_share > 0.25 + 1e-9 else math.ceil(2.0 / bottom_share - 1e-9) - 1


def _demand(
    drop_mg_l: float, bottom_share_fraction: float, least_mg_l: float, control_fraction: float
) -> Demand:
    """Scale a drop in the mixture to a litre of bottom water; `least_mg_l` is the lowest it was read at."""
    s = bottom_share_fraction
    # start (two readings weighted s and 1 - s), end, and the control's two readings
    readings = s**2 + (1.0 - s) ** 2 + 1.0 + 2.0 * control_fraction**2
    return Demand(
        demand_mg_l=max(drop_mg_l / s, 0.0),
        standard_error_mg_l=READING_ERROR_MG_L * math.sqrt(readings) / s,
        censored=least_mg_l < CENSORED_BELOW_MG_L,
    )


def _below_zero(drop_mg_l: float, after: str, where: str) -> list[Notice]:
    """Say that a demand came out below zero and is shown as none."""
    if drop_mg_l >= 0.0:
        return []
    text = (
        f"In {where} the oxygen did not fall within {after} beyond the control: the demand is shown as none."
    )
    return [caution("bottle-no-demand", text)]


def _odd(bottle: Bottle, start_do_mg_l: float, where: str) -> list[Notice]:
    """Name readings that a dark, full bottle can't give."""
    found: list[Notice] = []
    if bottle.bottom_do_mg_l > bottle.surface_do_mg_l + GAINED_MG_L:
        text = f"In {where} the bottom water holds more oxygen than the surface water: were the two swapped?"
        found.append(caution("bottle-upside-down", text))
    surface, control = bottle.surface_do_mg_l, bottle.surface_after_24h_mg_l
    late, before = bottle.after_24h_mg_l, bottle.after_15min_mg_l
    rises = (
        ("the mixture", start_do_mg_l, before),
        ("the mixture", start_do_mg_l if before is None else before, late),
        ("the surface bottle", surface, control),
    )
    for what, earlier, later in rises:
        if later is not None and later > earlier + GAINED_MG_L:
            text = (
                f"In {where} the oxygen of {what} rose from {earlier:.1f} to {later:.1f} mg/L: light, a bubble "
                "of air or the meter. Fill to the brim, wrap it dark, and repeat."
            )
            found.append(caution("bottle-gained-oxygen", text))
    if control is not None and control < CENSORED_BELOW_MG_L:
        text = (
            f"With {where} the surface bottle itself ran short of oxygen: the bloom breathes more than it shows, "
            "so the demand of the bottom water is overstated."
        )
        found.append(caution("bottle-control-ran-short", text))
    return found
