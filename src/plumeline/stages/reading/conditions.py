"""Weather about the time of a profile: air pressure and wind."""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from plumeline.job.document import Job, WeatherHour
from plumeline.science.gases import pressure_icao_1993
from plumeline.science.stability import (
    friction_velocity_read_2011,
    lake_number_imberger_patterson_1990,
    wedderburn_number_imberger_patterson_1990,
)
from plumeline.stages.reading.profile import Lines
from plumeline.stages.reading.result import WindCheck
from plumeline.stages.reading.strata import layer_density_kg_m3
from plumeline.units import both

NEAR_H = 3.0
"""Hours before and after the profile whose weather counts."""


def aware(time: datetime, time_zone: str) -> datetime:
    """Return a time with its offset; one without an offset is in ``time_zone``."""
    if time.tzinfo is not None:
        return time
    try:
        return time.replace(tzinfo=ZoneInfo(time_zone))
    except (ZoneInfoNotFoundError, ValueError):
        return time.replace(tzinfo=ZoneInfo("UTC"))


def hours_near(job: Job, time: datetime) -> tuple[WeatherHour, ...]:
    """Return the weather hours that end within three hours of a time."""
    zone = job.site.time_zone
    at = aware(time, zone)
    near = timedelta(hours=NEAR_H)
    return tuple(hour for hour in job.weather if abs(aware(hour.time, zone) - at) <= near)


def station_pressure_pa(job: Job, time: datetime) -> tuple[float, str]:
    """Return the air pressure at the pond [Pa] and what it rests on.

    Args:
        job: site and weather
        time: when

    Returns:
        the mean of the hours about that time, or the standard atmosphere's at the pond's elevation
    """
    read = [hour.pressure_pa for hour in hours_near(job, time) if hour.pressure_pa is not None]
    if read:
        return sum(read) / len(read), "Air pressure: as recorded about the time of the profile."
    elevation = job.site.elevation_m
    return pressure_icao_1993(elevation), f"Air pressure: standard atmosphere at {both(elevation, 'm')}."


def wind_check(
    job: Job,
    time: datetime,
    lines: Lines,
    *,
    stability_j_m2: float,
    area_m2: float,
    volume_centre_depth_m: float,
) -> WindCheck | None:
    """Return Lake Number and Wedderburn number under the wind about the time of the profile.

    Args:
        job: weather
        time: when
        lines: the profile
        stability_j_m2: Schmidt stability [J/m²]
        area_m2: surface area [m²]
        volume_centre_depth_m: depth of the centre of volume [m]

    Returns:
        the check; None where no wind is known. Numbers are None when the column is mixed or the air is still.
    """
    hours = hours_near(job, time)
    if not hours:
        return None
    wind = sum(hour.wind_speed_m_s for hour in hours) / len(hours)
    friction = friction_velocity_read_2011(wind, lines.density_kg_m3[0])
    layers = lines.strata
    top, bottom = layers.metalimnion_top_m, layers.metalimnion_bottom_m
    if top is None or bottom is None or friction <= 0.0:
        return WindCheck(wind, friction, None, None)
    upper = layer_density_kg_m3(lines.depth_m, lines.density_kg_m3, lines.depth_m[0], top)
    deep = layer_density_kg_m3(lines.depth_m, lines.density_kg_m3, bottom, lines.depth_m[-1])
    length = 2.0 * math.sqrt(area_m2 / math.pi)
    return WindCheck(
        wind,
        friction,
        lake_number_imberger_patterson_1990(
            stability_j_m2, top, bottom, deep, friction, area_m2, volume_centre_depth_m
        ),
        # layered right up to the first reading: there is no mixed layer for the wind to tilt
        wedderburn_number_imberger_patterson_1990(deep - upper, deep, top, friction, length)
        if top > lines.depth_m[0]
        else None,
    )
