"""Barbs and insert fittings: their bore is narrower than the tubing's, and that costs pressure."""

from __future__ import annotations

import math

from plumeline.science.pipe import friction_factor_churchill_1977, resistance_number_crane_2009
from plumeline.science.shore import contraction_loss_number_crane_2009, expansion_loss_number_borda_1766
from plumeline.sources import read_table

BARB = "barb"
"""Name of the fitting with which a job puts a barb into the network."""
BARB_ROUGHNESS_M = 1.5e-6
TYPICAL_REYNOLDS_NUMBER = 1e4
"""In the tubing, where a barb stands in the network as a fitting of one loss at any flow."""


def barb_loss_number(
    bore_m: float, barb_bore_m: float, barb_length_m: float, reynolds_number: float
) -> float:
    """Return what one barb loses, in velocity heads of the tubing: in over a sharp edge, along, and out again.

    Args:
        bore_m: of the tubing [m].
        barb_bore_m: of the barb [m].
        barb_length_m: of its bore [m].
        reynolds_number: in the tubing.
    """
    ratio_number = (barb_bore_m / bore_m) ** 2
    if ratio_number >= 1.0:
        return 0.0
    friction = friction_factor_churchill_1977(
        reynolds_number * bore_m / barb_bore_m, BARB_ROUGHNESS_M / barb_bore_m
    )
    changes = contraction_loss_number_crane_2009(ratio_number) + expansion_loss_number_borda_1766(
        ratio_number
    )
    return resistance_number_crane_2009(friction, barb_length_m, barb_bore_m, changes) / ratio_number**2


def barb_of(bore_m: float) -> tuple[float, float]:
    """Return bore and length [m] of the usual barb for a bore of tubing: the nearest of the table."""
    rows = read_table("barbs")
    row = min(rows, key=lambda row: abs(math.log(float(row["tubing_bore_m"]) / bore_m)))
    return float(row["barb_bore_m"]), float(row["barb_length_m"])


def typical_barb_loss_number(bore_m: float) -> float:
    """Return what one barb in a bore loses in turbulent flow, as a fitting of the network."""
    barb_m, length_m = barb_of(bore_m)
    return barb_loss_number(bore_m, barb_m, length_m, TYPICAL_REYNOLDS_NUMBER)
