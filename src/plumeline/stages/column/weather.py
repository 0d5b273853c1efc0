"""The weather of every member: the record where there is one, other days of it beyond, or a climate day."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from plumeline.job.document import Job, WeatherHour
from plumeline.kernels import column_index as ix
from plumeline.notices import Notice, caution
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

Array = NDArray[np.float64]

CLIMATE_NOTE = (
    "No weather was given: each simulated pond has climate days made from the latitude and the date, with air "
    "that keeps the surface as warm as it was read, and cloudy spells drawn at random."
)
TYPICAL_WIND_RATIO = 0.6  # the middle of the prior, as the next
TYPICAL_FREE_CONVECTION = 1.7


@dataclass(frozen=True)
class WeatherBase:
    """Hourly weather from `start` on, as far as it is known, and the whole days to draw others from.

    Attributes:
        start: start of hour 0, UTC.
        hours: (WEATHER, hours); NaN where nothing is known.
        days: whole local days of record (days, WEATHER, 24), or climate days of falling clearness.
        local_hour: local clock hour at the start of each hour (hours).
        recorded: whether `days` come from the job's record.
        notices: what had to be assumed.
    """

    start: datetime
    hours: Array
    days: Array
    local_hour: NDArray[np.int64]
    recorded: bool
    notices: tuple[Notice, ...]


def clear_sky_w_m2(job: Job, times: list[datetime]) -> Array:
    """Return clear-sky shortwave at the given times (Haurwitz 1945, through pvlib's solar position)."""
    import pandas as pd  # heavy: only where solar geometry is asked for
    from pvlib.clearsky import haurwitz
    from pvlib.solarposition import get_solarposition

    index = pd.DatetimeIndex(times)
    place = job.site
    sun = get_solarposition(index, place.latitude_deg, place.longitude_deg, altitude=place.elevation_m)
    return np.asarray(haurwitz(sun["apparent_zenith"])["ghi"], dtype=float)


def _sky_w_m2(air_temperature_degc: float, vapour_pa: float, cloud_fraction: float) -> float:
    clear = clear_sky_emissivity_brutsaert_1975(max(vapour_pa, 100.0), air_temperature_degc)
    emissivity = sky_emissivity_crawford_1999(min(clear, 1.0), cloud_fraction)
    return emissivity * STEFAN_BOLTZMANN_W_M2_K4 * (air_temperature_degc + 273.15) ** 4


def _cloud_by_day(job: Job, hours: dict[datetime, WeatherHour]) -> dict[datetime, float]:
    """Return the cloud of each recorded hour: as read, or from the day's sunshine against a clear sky."""
    zone = ZoneInfo(job.site.time_zone)
    stamps = sorted(hours)
    clear = clear_sky_w_m2(job, [stamp - timedelta(minutes=30) for stamp in stamps])
    seen: dict[object, list[float]] = {}
    for stamp, most in zip(stamps, clear, strict=True):
        total = seen.setdefault((stamp - timedelta(minutes=30)).astimezone(zone).date(), [0.0, 0.0])
        total[0] += hours[stamp].shortwave_w_m2
        total[1] += float(most)
    cloud: dict[datetime, float] = {}
    for stamp in stamps:
        given = hours[stamp].cloud_fraction
        sun, most_of_day = seen[(stamp - timedelta(minutes=30)).astimezone(zone).date()]
        ratio = sun / most_of_day if most_of_day > 0.0 else 0.5
        cloud[stamp] = given if given is not None else min(max(1.0 - ratio, 0.0), 1.0)
    return cloud


def _column(job: Job, hour: WeatherHour, cloud_fraction: float) -> list[float]:
    vapour = hour.relative_humidity_fraction * vapour_pressure_bolton_1980(hour.air_temperature_degc)
    sky = hour.longwave_w_m2
    if sky is None:
        sky = _sky_w_m2(hour.air_temperature_degc, vapour, cloud_fraction)
    pressure = hour.pressure_pa or pressure_icao_1993(job.site.elevation_m)
    return [
        hour.air_temperature_degc, vapour, hour.wind_speed_m_s, hour.shortwave_w_m2, sky, pressure,
    ]  # fmt: skip


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


def _climate_day(clear: Array, shine_fraction: float, mean_degc: float, pressure_pa: float) -> Array:
    """Return one climate day (WEATHER, 24): its clearness and the mean of its air are given."""
    day = np.empty((ix.WEATHER, 24))
    swing = 6.0 * (0.3 + 0.7 * shine_fraction)
    mean = mean_degc - 2.0 * (1.0 - shine_fraction)
    vapour = vapour_pressure_bolton_1980(mean - swing - 0.5)
    for h in range(24):
        air = mean + swing * math.cos((h + 0.5 - 15.5) / 24.0 * 2.0 * math.pi)
        wind = 1.5 + 0.7 * math.cos((h + 0.5 - 14.5) / 24.0 * 2.0 * math.pi)
        sky = _sky_w_m2(air, vapour, min(max(1.0 - shine_fraction, 0.0), 1.0))
        day[:, h] = [air, vapour, wind, float(clear[h]) * shine_fraction, sky, pressure_pa]
    return day


def _climate_days(job: Job, day: datetime, surface_degc: float, count: int = 12) -> Array:
    """Return days of falling clearness: a clear one first, a dark one last.

    The mean of the air is the one at which such days, taken together, keep the surface as warm as it was
    read; ± 6 °C over a clear day and less under cloud; vapour of the night's dew point; wind 0.8 m/s by night
    and 2.2 by day. All are assumptions, stated where they are used.
    """
    zone = ZoneInfo(job.site.time_zone)
    midnight = day.astimezone(zone).replace(hour=0, minute=30, second=0, microsecond=0)
    clear = clear_sky_w_m2(job, [midnight + timedelta(hours=h) for h in range(24)])
    pressure = pressure_icao_1993(job.site.elevation_m)
    shines = [0.95 - 0.65 * i / (count - 1) for i in range(count)]

    def days(mean_degc: float) -> Array:
        return np.array([_climate_day(clear, shine, mean_degc, pressure) for shine in shines])

    def gain(mean_degc: float) -> float:
        hours = days(mean_degc)
        return float(np.mean([[_net_heat_w_m2(d[:, h], surface_degc) for h in range(24)] for d in hours]))

    low, high = surface_degc - 25.0, surface_degc + 15.0
    balance = brentq(gain, low, high) if gain(low) < 0.0 < gain(high) else surface_degc - 2.5
    return days(float(balance))


def weather_base(job: Job, start: datetime, hour_count: int, surface_degc: float) -> WeatherBase:
    """Lay the job's record over the hours from `start`, and gather days to draw from beyond it.

    Args:
        job: the job; its weather's stamps are the ends of their hours.
        start: start of hour 0, with an offset, on a whole hour.
        hour_count: hours wanted.
        surface_degc: water temperature at the surface, for the climate day [°C].
    """
    zone = ZoneInfo(job.site.time_zone)
    start = start.astimezone(UTC)
    stamps = [start + timedelta(hours=h + 1) for h in range(hour_count)]
    local = np.array([(start + timedelta(hours=h)).astimezone(zone).hour for h in range(hour_count)])
    record = {hour.time.astimezone(UTC): hour for hour in job.weather}
    values = np.full((ix.WEATHER, hour_count), np.nan)
    notices: list[Notice] = []
    days: list[Array] = []
    if record:
        cloud = _cloud_by_day(job, record)
        columns = {stamp: _column(job, hour, cloud[stamp]) for stamp, hour in record.items()}
        for i, stamp in enumerate(stamps):
            if stamp in columns:
                values[:, i] = columns[stamp]
        days = _whole_days(columns, zone)
    if days:
        missing = int(np.isnan(values[0]).sum())
        if missing:
            notices.append(
                caution(
                    "weather-short",
                    f"{missing} of {hour_count} hours have no weather in weather.csv; each simulated pond takes "
                    f"whole days at random from the {len(days)} days that are there.",
                )
            )
        return WeatherBase(start, values, np.array(days), local, True, tuple(notices))
    notices.append(caution("weather-assumed", CLIMATE_NOTE))
    climate = _climate_days(job, start, surface_degc)
    return WeatherBase(start, values, climate, local, False, tuple(notices))


def _whole_days(columns: dict[datetime, list[float]], zone: ZoneInfo) -> list[Array]:
    """Return the local days of which all 24 hours are there, as (WEATHER, 24)."""
    by_day: dict[object, dict[int, list[float]]] = {}
    for stamp, column in columns.items():
        begun = (stamp - timedelta(hours=1)).astimezone(zone)
        by_day.setdefault(begun.date(), {})[begun.hour] = column
    return [
        np.array([hours[h] for h in range(24)]).T
        for _, hours in sorted(by_day.items(), key=lambda item: str(item[0]))
        if len(hours) == 24
    ]


def member_weather(base: WeatherBase, members: int, seed: int, known_hours: int) -> Array:
    """Return every member's own weather (WEATHER, hours, members).

    The first `known_hours` lie in the past: the record stands but for a small error of place. Later ones are
    a forecast: on day n a member leaves it with a chance of 5 % · n (at most one half), stays away with a
    chance of 60 %, and takes a whole day of record instead; its air temperature is off by an error that
    persists and grows to 2.5 °C. Hours without record are whole drawn days throughout.
    """
    generator = np.random.default_rng(seed)
    hours = base.hours.shape[1]
    weather = np.repeat(base.hours[:, :, None], members, axis=2)
    off = np.zeros(members)
    away = np.zeros(members, dtype=bool)
    drawn = generator.integers(0, len(base.days), members)
    for h in range(hours):
        lead = (h - known_hours) / 24.0
        if h == 0 or base.local_hour[h] == 0:
            chance = 0.0 if lead < 0.0 else min(0.05 * (1.0 + lead), 0.5)
            again = generator.random(members)
            away = np.where(away, again < max(0.6, chance), again < chance)
            if base.recorded:
                drawn = generator.integers(0, len(base.days), members)
            else:
                # climate days keep their character: cloud comes in spells
                step = np.rint(generator.normal(0.0, 2.5, members)).astype(np.int64)
                drawn = np.clip(drawn + step, 0, len(base.days) - 1)
            spread = 0.4 if lead < 0.0 else min(0.8 + 0.15 * lead, 2.5)
            off = 0.7 * off + math.sqrt(1.0 - 0.49) * spread * generator.standard_normal(members)
        other = base.days[drawn, :, int(base.local_hour[h])].T
        unknown = bool(np.isnan(base.hours[0, h]))
        weather[:, h, :] = np.where(unknown | away[None, :], other, weather[:, h, :])
        weather[ix.AIR_TEMPERATURE, h, :] += off
    return weather
