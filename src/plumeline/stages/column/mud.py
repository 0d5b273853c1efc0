"""How warm the mud under each layer is when a run begins."""

from __future__ import annotations

from datetime import datetime
from math import cos, pi

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Site
from plumeline.kernels import column_index as ix
from plumeline.science.heat import coldest_water_by_latitude, yearly_wave_carslaw_1959

Array = NDArray[np.float64]

WARMEST_DAY = 206  # of the year, north of the equator: the last week of July
YEAR_D = 365.25
LEAST_SHARE = 0.5  # of the year's range by which winter water can tell the summer's


def mud_at_start(water_degc: Array, site: Site, moment: datetime) -> Array:
    """Return the temperature of the mud's slabs (BED_SLABS * layers, members) under water as it stands.

    Each layer's water is taken to go through the year as a cosine that passes through its temperature now and
    is as cold as a mixed pond at winter's end at the bottom of its swing; the mud follows by conduction. In early
    summer the mud is then colder than the water and takes heat from it, in autumn the other way about. Under
    water that stays cold all year the mud is as cold as the water.

    Args:
        water_degc: of each layer (layers, members).
        site: latitude and elevation.
        moment: time of the reading.
    """
    day = moment.timetuple().tm_yday + (YEAR_D / 2.0 if site.latitude_deg < 0.0 else 0.0)
    phase_rad = 2.0 * pi * (day - WARMEST_DAY) / YEAR_D
    coldest_degc = np.minimum(coldest_water_by_latitude(site.latitude_deg, site.elevation_m), water_degc)
    swing_k = (water_degc - coldest_degc) / max(1.0 + cos(phase_rad), LEAST_SHARE)
    mean_degc = water_degc - swing_k * cos(phase_rad)
    diffusivity_m2_s = ix.MUD_CONDUCTIVITY_W_M_K / ix.MUD_HEAT_J_M3_K
    slabs = []
    top_m = 0.0
    for thickness_m in ix.BED_THICKNESS_M:
        # the relation is linear in mean and swing: one factor does for all layers and members
        factor = yearly_wave_carslaw_1959(0.0, 1.0, phase_rad, top_m + 0.5 * thickness_m, diffusivity_m2_s)
        slabs.append(mean_degc + swing_k * factor)
        top_m += thickness_m
    return np.concatenate(slabs)
