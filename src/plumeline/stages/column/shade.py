"""What banks and trees all round a pond take from its sun and give to its sky."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Job
from plumeline.science.heat import (
    STEFAN_BOLTZMANN_W_M2_K4,
    open_sky_fraction_howell_1982,
    sunlit_fraction_circle,
)

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Shade:
    """The pond's horizon over some hours.

    Attributes:
        open_fraction: part of what the pond sees that is sky.
        lit_fraction: part of the pond on which the sun can shine in each hour (hours).
        zenith_deg: the sun's distance from overhead (hours).
        day_index: day of the year of each hour (hours).
    """

    open_fraction: float
    lit_fraction: Array
    zenith_deg: Array
    day_index: NDArray[np.int64]

    def sunlight(self, whole_w_m2: Array) -> Array:
        """Return the sunlight on the pond, in the mean over its surface (hours) [W/m²].

        Direct light falls where no shadow lies, diffuse light comes from the open part of the sky; they are
        parted by Erbs et al. 1982 (through pvlib). Hours without a record stay so.
        """
        if self.open_fraction >= 1.0:
            return whole_w_m2
        from pvlib.irradiance import erbs  # heavy: only where there is shade

        known = np.nan_to_num(whole_w_m2)
        diffuse = np.asarray(erbs(known, self.zenith_deg, self.day_index)["dhi"], dtype=float)
        diffuse = np.clip(np.nan_to_num(diffuse), 0.0, known)
        shaded = self.lit_fraction * (known - diffuse) + self.open_fraction * diffuse
        return np.where(np.isnan(whole_w_m2), np.nan, shaded)

    def longwave(self, sky_w_m2: Array, air_degc: Array) -> Array:
        """Return the longwave that comes down on the pond: what is not open sky is as warm as the air [W/m²]."""
        around = STEFAN_BOLTZMANN_W_M2_K4 * (air_degc + 273.15) ** 4
        return self.open_fraction * sky_w_m2 + (1.0 - self.open_fraction) * around


def shade(job: Job, area_m2: float, middles: list[datetime]) -> Shade:
    """Return the horizon of a job's pond in the hours of which the middles are given.

    Args:
        job: site, and the height of banks and trees.
        area_m2: surface area [m²].
        middles: middle of each hour, with an offset.
    """
    import pandas as pd  # heavy: only where solar geometry is asked for
    from pvlib.solarposition import get_solarposition

    index = pd.DatetimeIndex(middles)
    place = job.site
    day_index = np.asarray(index.day_of_year, dtype=np.int64)
    height_m = job.pond.obstacle_height_m
    if height_m <= 0.0:
        return Shade(1.0, np.ones(len(middles)), np.zeros(len(middles)), day_index)
    sun = get_solarposition(index, place.latitude_deg, place.longitude_deg, altitude=place.elevation_m)
    elevation_deg = np.asarray(sun["apparent_elevation"], dtype=float)
    lit = np.array([sunlit_fraction_circle(area_m2, height_m, float(beta)) for beta in elevation_deg])
    zenith_deg = np.asarray(sun["zenith"], dtype=float)
    return Shade(open_sky_fraction_howell_1982(area_m2, height_m), lit, zenith_deg, day_index)
