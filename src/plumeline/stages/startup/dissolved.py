"""What the water dissolves, and the stop readings that must not lie over it."""

from __future__ import annotations

import math

import numpy as np

from plumeline.kernels import column_index as ix
from plumeline.science.gases import do_saturation_benson_krause_1984
from plumeline.stages.column import NEAR_SURFACE_M, Columns


def most_dissolved_mg_l(columns: Columns, pressure_pa: float) -> float:
    """Return the oxygen that the middle pond's water 0.6 m down holds in equilibrium with the air [mg/L].

    No stop reading lies over it: a reading over it is a bloom's surplus, and to stop at it would stop on most days.

    Args:
        columns: the ponds as they stand.
        pressure_pa: of the air over them.
    """
    near = columns.grid.layer_at(NEAR_SURFACE_M)
    temperature_degc = float(np.median(columns.state[ix.TEMPERATURE, near]))
    salinity_g_kg = float(np.median(columns.state[ix.SALT, near]))
    return do_saturation_benson_krause_1984(
        min(max(temperature_degc, 0.0), 40.0), min(max(salinity_g_kg, 0.0), 40.0), pressure_pa
    )


def early_stop_mg_l(limit_mg_l: float, above_mg_l: float, most_mg_l: float) -> float:
    """Return the reading that stops a run early: so much over the fish's limit, but never over what the water holds.

    Where the water holds less than the limit itself, the limit stands: to stop lower would let the fish suffocate.

    Args:
        limit_mg_l: the fish's oxygen limit.
        above_mg_l: how far over it the rule stops.
        most_mg_l: what the water dissolves.
    """
    return max(limit_mg_l, min(limit_mg_l + above_mg_l, shown_down_mg_l(most_mg_l)))


def shown_down_mg_l(reading_mg_l: float) -> float:
    """Return a reading to the tenth of a meter, rounded down: what is over saturation is over it on paper too."""
    return math.floor(10.0 * reading_mg_l + 1e-9) / 10.0


def shown_up_mg_l(reading_mg_l: float) -> float:
    """Return a reading to the tenth of a meter, rounded up: never less careful than it was worked out."""
    return math.ceil(10.0 * reading_mg_l - 1e-9) / 10.0
