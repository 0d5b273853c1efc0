"""Fittings: velocity heads lost, by name and count."""

from __future__ import annotations

import difflib

from plumeline.errors import InputError
from plumeline.science.pipe import rough_friction_factor_nikuradse_1933
from plumeline.sources import read_table
from plumeline.stages.air.barbs import BARB, typical_barb_loss_number

FITTING_ROUGHNESS_M = 4.572e-5
"""Roughness of clean steel, 0.00015 ft, with which the equivalent lengths of fittings go (Crane TP-410)."""


def fitting_loss_number(name: str, bore_m: float, *, threaded: bool = False) -> float:
    """Return the velocity heads lost in one fitting: K = n f_T, or the value of small threaded ones.

    Raises:
        InputError: the table has no such fitting.
    """
    if name == BARB:
        return typical_barb_loss_number(bore_m)
    table = {row["name"]: row for row in read_table("fittings")}
    if name not in table:
        known = [*table, BARB]
        near = difflib.get_close_matches(name, known, n=3) or sorted(known)
        raise InputError(
            f"there is no fitting named {name!r}.", remedy=f"Near names: {', '.join(near)}.", place="fittings"
        )
    row = table[name]
    if threaded and row["threaded_loss_number"]:
        return float(row["threaded_loss_number"])
    rough = rough_friction_factor_nikuradse_1933(FITTING_ROUGHNESS_M / bore_m)
    return float(row["equivalent_length_number"]) * rough


def fittings_loss_number(
    fittings: tuple[tuple[str, int], ...], bore_m: float, *, threaded: bool = False
) -> float:
    """Return the velocity heads lost in fittings by name and count.

    Raises:
        InputError: the table has no such fitting.
    """
    return sum(count * fitting_loss_number(name, bore_m, threaded=threaded) for name, count in fittings)
