"""Climate days: what a pond's weather is taken to be where none was given, and the light of a clear sky."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from plumeline.job.document import Job
from plumeline.kernels import column_index as ix
from plumeline.science.gases import pressure_icao_1993
from plumeline.science.heat import (
    STEFAN_BOLTZMANN_W_M2_K4,
    clear_sky_emissivity_brutsaert_1975,
    free_convection_tva_1972,
    longwave_emitted_stefan_1879,
    moist_air_density_bulk_hipsey_2019,
    sky_emissivity_crawford_1999,
    specific_humidity_bulk_hipsey_2019,
)
from plumeline.science.water import vapour_pressure_bolton_1980
from plumeline.stages.column.shade import Shade, shade

Array = NDArray[np.float64]

SKIN_TO_M, SKIN_K = 1.0, 1.0
NOON_H, EVENING_H = 12, 20
"""A warm skin: hours in which it stands, how much warmer than the mean to what depth. Judgement."""
TYPICAL_WIND_RATIO = 0.6  # the middle of the prior, as the next
TYPICAL_FREE_CONVECTION = 1.7


def clear_sky_w_m2(job: Job, times: list[datetime]) -> Array:
    """Return clear-sky shortwave at the given times (Haurwitz 1945, through pvlib's solar position)."""
    import pandas as pd  # heavy: only where solar geometry is asked for
    from pvlib.clearsky import haurwitz
    from pvlib.solarposition import get_solarposition

    index = pd.DatetimeIndex(times)
    place = job.site
    sun = get_solarposition(index, place.latitude_deg, place.longitude_deg, altitude=place.elevation_m)
    return np.array(haurwitz(sun["apparent_zenith"])["ghi"], dtype=float)


def sky_w_m2(air_temperature_degc: float, vapour_pa: float, cloud_fraction: float) -> float:
    clear = clear_sky_emissivity_brutsaert_1975(max(vapour_pa, 100.0), air_temperature_degc)
    emissivity = sky_emissivity_crawford_1999(min(clear, 1.0), cloud_fraction)
    return emissivity * STEFAN_BOLTZMANN_W_M2_K4 * (air_temperature_degc + 273.15) ** 4


def _net_heat_w_m2(column: Array, surface_degc: float) -> float:
    """Return the heat that a surface of this temperature gains in an hour of weather, light included."""
    air, vapour, wind, shortwave, sky, pressure = (float(value) for value in column)
    over = TYPICAL_WIND_RATIO * wind
    wet = vapour_pressure_bolton_1980(surface_degc)
    moist = specific_humidity_bulk_hipsey_2019(wet, pressure)
    moist -= specific_humidity_bulk_hipsey_2019(vapour, pressure)
    rho = moist_air_density_bulk_hipsey_2019(air, vapour, pressure)
    rho_surface = moist_air_density_bulk_hipsey_2019(surface_degc, wet, pressure)
    still = free_convection_tva_1972(air, rho, rho_surface)
    still *= TYPICAL_FREE_CONVECTION
    both = math.hypot(still, rho * 1005.0 * 1.3e-3 * over)
    lost = both * (surface_degc - air) + both / 1005.0 * (2.501e6 - 2370.0 * surface_degc) * moist
    return 0.92 * shortwave + 0.97 * sky - longwave_emitted_stefan_1879(surface_degc) - lost


def _climate_day(
    light_w_m2: Array, shine_fraction: float, mean_degc: float, pressure_pa: float, horizon: Shade
) -> Array:
    """Return one climate day (WEATHER, 24): its light, its clearness and the mean of its air are given."""
    day = np.empty((ix.WEATHER, 24))
    swing = 6.0 * (0.3 + 0.7 * shine_fraction)
    mean = mean_degc - 2.0 * (1.0 - shine_fraction)
    vapour = vapour_pressure_bolton_1980(mean - swing - 0.5)
    for h in range(24):
        air = mean + swing * math.cos((h + 0.5 - 15.5) / 24.0 * 2.0 * math.pi)
        wind = 1.5 + 0.7 * math.cos((h + 0.5 - 14.5) / 24.0 * 2.0 * math.pi)
        sky = sky_w_m2(air, vapour, min(max(1.0 - shine_fraction, 0.0), 1.0))
        day[:, h] = [air, vapour, wind, float(light_w_m2[h]), sky, pressure_pa]
    day[ix.SKY] = horizon.longwave(day[ix.SKY], day[ix.AIR_TEMPERATURE])
    return day


def lasting_degc(job: Job, read: datetime, centre_m: Array, temperature_degc: Array) -> float:
    """Return the temperature that the surface keeps over the day: of an afternoon's warm skin the mean to a metre.

    Read after noon, the top of a still pond is hotter than it will be by night; air that kept it so would be too warm.

    Args:
        job: where the pond lies.
        read: time of the reading.
        centre_m: middles of the layers (layers).
        temperature_degc: of the layers (layers).
    """
    top_degc = float(temperature_degc[0])
    near = centre_m <= max(SKIN_TO_M, float(centre_m[0]))
    mean_degc = float(temperature_degc[near].mean())
    local = read.astimezone(ZoneInfo(job.site.time_zone))
    skin = NOON_H <= local.hour < EVENING_H and top_degc - mean_degc > SKIN_K
    return mean_degc if skin else top_degc


def climate_days(job: Job, day: datetime, surface_degc: float, area_m2: float, count: int = 12) -> Array:
    """Return days of falling clearness as they reach the pond: a clear one first, a dark one last.

    The mean of the air is the one at which such days, taken together, keep the surface as warm as it was
    read; ± 6 °C over a clear day and less under cloud; vapour of the night's dew point; wind 0.8 m/s by night
    and 2.2 by day. All are assumptions, stated where they are used.
    """
    zone = ZoneInfo(job.site.time_zone)
    midnight = day.astimezone(zone).replace(hour=0, minute=30, second=0, microsecond=0)
    hours = [midnight + timedelta(hours=h) for h in range(24)]
    clear = clear_sky_w_m2(job, hours)
    horizon = shade(job, area_m2, hours)
    pressure = pressure_icao_1993(job.site.elevation_m)
    shines = [0.95 - 0.65 * i / (count - 1) for i in range(count)]
    lights = [horizon.sunlight(clear * shine) for shine in shines]

    def days(mean_degc: float) -> Array:
        pairs = zip(lights, shines, strict=True)
        return np.array([_climate_day(light, shine, mean_degc, pressure, horizon) for light, shine in pairs])

    def gain(mean_degc: float) -> float:
        hours = days(mean_degc)
        return float(np.mean([[_net_heat_w_m2(d[:, h], surface_degc) for h in range(24)] for d in hours]))

    low, high = surface_degc - 25.0, surface_degc + 15.0
    balance = brentq(gain, low, high) if gain(low) < 0.0 < gain(high) else surface_degc - 2.5
    return days(float(balance))
