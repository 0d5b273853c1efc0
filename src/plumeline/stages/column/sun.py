"""Dawn and dusk at a place, by the sun and not by the clock."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Site

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

NOON_H, HALF_DAY_H = 12.0, 12.0


@dataclass(frozen=True)
class Daylight:
    """Sunrise and sunset on some days, on the local clock of each day.

    Where the sun does not set (or rise) on a day, the day is taken to run from the hour of its lowest stand to
    the next (or to be the one hour of its highest), so that there is always a dawn and a dusk to plan by.

    Attributes:
        days: the dates.
        dawn_hour_h: clock hour of sunrise of each day (days), summer time included.
        dusk_hour_h: clock hour of sunset of each day (days); over 24 where it falls past midnight.
    """

    days: tuple[date, ...]
    dawn_hour_h: Array
    dusk_hour_h: Array


def daylight(site: Site, days: Sequence[date]) -> Daylight:
    """Return sunrise and sunset on the given days.

    Args:
        site: position and time zone.
        days: local dates.

    Source:
        Reda & Andreas 2004, Solar Energy 76:577 (solar position algorithm, through pvlib).
    """
    import pandas as pd  # heavy: only where solar geometry is asked for
    from pvlib.solarposition import sun_rise_set_transit_spa

    zone = ZoneInfo(site.time_zone)
    # asked for at each day's noon: midnight does not exist on every day of every zone
    noons = [datetime.combine(day, time(12), zone).astimezone(UTC) for day in days]
    index = pd.DatetimeIndex(noons).tz_convert(site.time_zone)
    found = sun_rise_set_transit_spa(index, site.latitude_deg, site.longitude_deg)
    found = found.apply(lambda moments: moments.dt.floor("s"))
    summer = site.latitude_deg * np.array([_declination_sign(day) for day in days]) >= 0.0
    dawn = np.empty(len(days))
    dusk = np.empty(len(days))
    for i, day in enumerate(days):
        rise, transit, fall = (found[name].iloc[i] for name in ("sunrise", "transit", "sunset"))
        if pd.isna(rise) or pd.isna(fall):
            middle = NOON_H if pd.isna(transit) else _clock_h(transit.to_pydatetime(), day)
            dawn[i], dusk[i] = (
                (middle - HALF_DAY_H, middle + HALF_DAY_H) if summer[i] else (middle, middle + 1.0)
            )
            continue
        dawn[i] = _clock_h(rise.to_pydatetime(), day)
        dusk[i] = _clock_h(fall.to_pydatetime(), day)
    return Daylight(tuple(days), np.maximum(dawn, 0.0), np.where(dusk < dawn, dusk + 24.0, dusk))


def _clock_h(moment: datetime, day: date) -> float:
    """Return what the clock on the wall shows, in hours from the midnight that begins `day`."""
    since = moment.replace(tzinfo=None) - datetime.combine(day, time(0))
    return since.total_seconds() / 3600.0


def _declination_sign(day: date) -> float:
    """Return 1 in the northern summer half of the year and -1 in the other."""
    return 1.0 if date(day.year, 3, 20) <= day <= date(day.year, 9, 22) else -1.0


def dawn_hour(site: Site, days: Sequence[date]) -> Ints:
    """Return the whole clock hour in which the sun rises on each day: the water's worst hour ends near it."""
    return np.floor(daylight(site, days).dawn_hour_h).astype(np.int64)


def dusk_hour(site: Site, days: Sequence[date]) -> Ints:
    """Return the whole clock hour in which the sun sets on each day, 0 to 23."""
    return np.floor(daylight(site, days).dusk_hour_h).astype(np.int64) % 24


@dataclass(frozen=True)
class SunHours:
    """Where dawns and dusks lie among the hours of a run.

    Attributes:
        dawn_index: hours of the weather that hold a sunrise, in order.
        dusk_index: hours that hold a sunset.
    """

    dawn_index: Ints
    dusk_index: Ints


def sun_hours(site: Site, start: datetime, hour_count: int) -> SunHours:
    """Return which of `hour_count` hours from `start` hold a sunrise and which a sunset.

    Args:
        site: position and time zone.
        start: start of hour 0, with an offset.
        hour_count: number of hours.
    """
    zone = ZoneInfo(site.time_zone)
    first = start.astimezone(zone).date() - timedelta(days=1)
    days = [first + timedelta(days=n) for n in range(hour_count // 24 + 4)]
    light = daylight(site, days)

    def among(clock_h: Array) -> Ints:
        moments = [
            datetime.combine(day, time(0), zone) + timedelta(hours=float(clock))
            for day, clock in zip(days, clock_h, strict=True)
        ]
        hours = [
            (moment.astimezone(UTC) - start.astimezone(UTC)).total_seconds() / 3600.0 for moment in moments
        ]
        index = np.floor(np.array(hours)).astype(np.int64)
        return np.unique(index[(index >= 0) & (index < hour_count)])

    return SunHours(among(light.dawn_hour_h), among(light.dusk_hour_h))


def hour_before(moment: datetime, time_zone: str) -> datetime:
    """Return the whole hour of the pond's own clock at or before a moment, as UTC.

    In a zone of half or quarter hours that is not a whole hour of UTC; a run that starts here keeps "10 o'clock"
    at the start of an hour of weather.
    """
    local = moment.astimezone(ZoneInfo(time_zone))
    return (
        local - timedelta(minutes=local.minute, seconds=local.second, microseconds=local.microsecond)
    ).astimezone(UTC)
