"""The weather of every member: the record where there is one, other days of it beyond, or climate days.

The past stands as recorded but for a small error of place. Ahead, a forecast has errors that persist and grow;
where nothing is known, runs of whole days are drawn from the record (near the same time of year where it is
long enough) or from climate days, with a spell of its own for each member: warmer or cooler, stiller or
windier, brighter or duller than what was drawn, day after day, so that hot, cloudy, still weeks are among them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Job, WeatherHour
from plumeline.kernels import column_index as ix
from plumeline.kernels.weather_shift import shift_weather
from plumeline.notices import Notice, caution
from plumeline.science.gases import pressure_icao_1993
from plumeline.science.water import vapour_pressure_bolton_1980
from plumeline.stages.column.climate import clear_sky_w_m2, climate_days, sky_w_m2
from plumeline.stages.column.shade import shade

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

CLIMATE_NOTE = (
    "No weather was given: each simulated pond has climate days made from the latitude and the date, with air "
    "that keeps the surface as warm as it was read, and cloudy spells drawn at random."
)
SEASON_D = 30  # days of year on either side from which days are drawn
FEW_DAYS = 15  # fewer days than this say little of what a summer can bring
SAME_SPELL_PROBABILITY = 0.65  # that tomorrow follows the drawn day as it did in the record


@dataclass(frozen=True)
class WeatherBase:
    """Hourly weather from `start` on, as far as it is known, and the whole days to draw others from.

    Attributes:
        start: start of hour 0, UTC.
        hours: (WEATHER, hours); NaN where nothing is known.
        days: whole local days of record (days, WEATHER, 24), or climate days of falling clearness.
        day_index: date of each of those days, as date.toordinal(); empty for climate days.
        local_hour: local clock hour at the start of each hour (hours).
        local_day_index: local date of each hour (hours), as date.toordinal().
        clear_w_m2: sunlight under a clear sky in each hour (hours) [W/m²].
        recorded: whether `days` come from the job's record.
        notices: what had to be assumed.
    """

    start: datetime
    hours: Array
    days: Array
    day_index: Ints
    local_hour: Ints
    local_day_index: Ints
    clear_w_m2: Array
    recorded: bool
    notices: tuple[Notice, ...]


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
        sky = sky_w_m2(hour.air_temperature_degc, vapour, cloud_fraction)
    pressure = hour.pressure_pa or pressure_icao_1993(job.site.elevation_m)
    return [
        hour.air_temperature_degc, vapour, hour.wind_speed_m_s, hour.shortwave_w_m2, sky, pressure,
    ]  # fmt: skip


def _shaded(job: Job, area_m2: float, columns: dict[datetime, list[float]]) -> dict[datetime, list[float]]:
    """Return the recorded hours as they reach the pond behind its banks and trees."""
    stamps = list(columns)
    values = np.array([columns[stamp] for stamp in stamps]).T
    horizon = shade(job, area_m2, [stamp - timedelta(minutes=30) for stamp in stamps])
    values[ix.SHORTWAVE] = horizon.sunlight(values[ix.SHORTWAVE])
    values[ix.SKY] = horizon.longwave(values[ix.SKY], values[ix.AIR_TEMPERATURE])
    return {stamp: [float(number) for number in row] for stamp, row in zip(stamps, values.T, strict=True)}


def _on_hour(columns: dict[datetime, list[float]], stamp: datetime) -> Array | None:
    """Return the weather of the hour that ends at `stamp`, from records that may end at other minutes.

    In a zone of half hours a record on UTC hours and a run on the pond's own hours lie half an hour apart:
    the hour is then the mean of the two that it overlaps, each by its part.
    """
    if stamp in columns:
        return np.array(columns[stamp])
    for minutes in (30, 45, 15):
        early, late = stamp - timedelta(minutes=minutes), stamp + timedelta(minutes=60 - minutes)
        if early in columns and late in columns:
            share = minutes / 60.0
            return (1.0 - share) * np.array(columns[early]) + share * np.array(columns[late])
    return None


def weather_base(
    job: Job, start: datetime, hour_count: int, surface_degc: float, area_m2: float
) -> WeatherBase:
    """Lay the job's record over the hours from `start`, and gather days to draw from beyond it.

    All of it is weather as it reaches the pond behind its banks and trees (shade.py).

    Args:
        job: the job; its weather's stamps are the ends of their hours.
        start: start of hour 0, with an offset, on a whole hour (of UTC or of the pond's clock).
        hour_count: hours wanted.
        surface_degc: water temperature at the surface, for the climate day [°C].
        area_m2: surface area of the pond [m²].
    """
    zone = ZoneInfo(job.site.time_zone)
    start = start.astimezone(UTC)
    begins = [start + timedelta(hours=h) for h in range(hour_count)]
    local = [moment.astimezone(zone) for moment in begins]
    clock = np.array([moment.hour for moment in local])
    day_index = np.array([moment.date().toordinal() for moment in local])
    middles = [moment + timedelta(minutes=30) for moment in begins]
    clear = shade(job, area_m2, middles).sunlight(clear_sky_w_m2(job, middles))
    record = {hour.time.astimezone(UTC): hour for hour in job.weather}
    values = np.full((ix.WEATHER, hour_count), np.nan)
    notices: list[Notice] = []
    days: dict[date, Array] = {}
    if record:
        cloud = _cloud_by_day(job, record)
        columns = _shaded(
            job, area_m2, {stamp: _column(job, hour, cloud[stamp]) for stamp, hour in record.items()}
        )
        for i, moment in enumerate(begins):
            known = _on_hour(columns, moment + timedelta(hours=1))
            if known is not None:
                values[:, i] = known
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
        dated = np.array([day.toordinal() for day in days])
        return WeatherBase(
            start,
            values,
            np.array(list(days.values())),
            dated,
            clock,
            day_index,
            clear,
            True,
            tuple(notices),
        )
    notices.append(caution("weather-assumed", CLIMATE_NOTE))
    climate = climate_days(job, start, surface_degc, area_m2)
    none = np.zeros(0, dtype=np.int64)
    return WeatherBase(start, values, climate, none, clock, day_index, clear, False, tuple(notices))


def _whole_days(columns: dict[datetime, list[float]], zone: ZoneInfo) -> dict[date, Array]:
    """Return the local days of which all 24 clock hours are there, by date, as (WEATHER, 24).

    A day of 23 hours is none; of a day of 25 the hour that comes twice counts once.
    """
    by_day: dict[date, dict[int, list[float]]] = {}
    for stamp, column in columns.items():
        begun = (stamp - timedelta(hours=1)).astimezone(zone)
        by_day.setdefault(begun.date(), {})[begun.hour] = column
    return {
        day: np.array([hours[h] for h in range(24)]).T
        for day, hours in sorted(by_day.items())
        if len(hours) == 24
    }


@dataclass(frozen=True)
class Spread:
    """How far a member's day may lie from what was recorded, forecast or drawn (standard deviations).

    Attributes:
        warmth_k: air temperature.
        wind_number: logarithm of the wind.
        clearness_number: logarithm of the sunlight.
    """

    warmth_k: float
    wind_number: float
    clearness_number: float


PLACE = Spread(0.4, 0.0, 0.0)
"""The record is of a station near by; the wind's own factor is a prior of the pond."""
FIRST_DAY, EACH_DAY, LAST_DAY = Spread(0.9, 0.15, 0.12), Spread(0.3, 0.05, 0.04), Spread(3.0, 0.45, 0.35)
"""Of a forecast on its first day, more each day, and at most: about the spread of a summer's days."""
OTHER_YEAR = Spread(1.2, 0.15, 0.1)
"""Of a day drawn from many: this summer may be another than those of the record."""
FEW = Spread(2.5, 0.4, 0.2)
"""Of a day drawn from few, or of a climate day."""
KEPT = (0.73, 0.27, 0.35)
"""What is left the next day of a departure in warmth, wind and sunlight: measured on 257 summer days of
2007-2009 at a small lake in Wisconsin (data of NTL-LTER; spread 3.2 K, 0.49 and 0.34; hardly correlated)."""
LASTING_FRACTION = 0.4
"""Part of the variance that is a member's own for the whole run: seasons differ, and spells return (judgement)."""


def member_weather(
    base: WeatherBase, members: int, seed: int, known_hours: int, lasting: Array | None = None
) -> Array:
    """Return every member's own weather (WEATHER, hours, members).

    The first `known_hours` lie in the past: there the record stands but for a small error of place. Later ones
    are a forecast: on day n a member leaves it with a chance of 5 % · n (at most one half), stays away with a
    chance of 60 %, and takes drawn days instead; what it keeps has an error that persists and grows. Hours
    without record are drawn days throughout, in runs, each with the member's own spell.

    Args:
        base: what is known.
        members: members wanted.
        seed: of all that is drawn.
        known_hours: hours that lie before now.
        lasting: scores of each member's lasting departure in warmth, wind and clearness (3, members); drawn when
            None.
    """
    generator = np.random.default_rng(seed)
    hours = base.hours.shape[1]
    weather = np.empty((ix.WEATHER, hours, members))
    shifts = np.zeros((3, hours, members))
    drawn_lasting = generator.standard_normal((3, members))
    lasting = drawn_lasting if lasting is None else lasting
    passing = generator.standard_normal((3, members))
    away = np.zeros(members, dtype=bool)
    drawn = _other_days(base, int(base.local_day_index[0]), members, generator)
    kept = np.array(KEPT)[:, None]
    starts = np.flatnonzero(np.diff(base.local_day_index, prepend=base.local_day_index[0] - 1))
    for first, end in zip(starts, [*starts[1:], hours], strict=True):
        lead_d = (first - known_hours) / 24.0
        chance = 0.0 if lead_d < 0.0 else min(0.05 * (1.0 + lead_d), 0.5)
        again = generator.random(members)
        away = np.where(away, again < max(0.6, chance), again < chance)
        drawn = _next_days(base, int(base.local_day_index[first]), drawn, generator)
        passing = kept * passing + np.sqrt(1.0 - kept**2) * generator.standard_normal((3, members))
        spell = math.sqrt(LASTING_FRACTION) * lasting + math.sqrt(1.0 - LASTING_FRACTION) * passing
        span = slice(int(first), int(end))
        other = base.days[drawn][:, :, base.local_hour[span]].transpose(1, 2, 0)
        told = base.hours[:, span, None]
        take = np.isnan(told[0]) | away[None, :]
        weather[:, span, :] = np.where(take[None], other, told)
        by_told, by_drawn = _departure(_told_spread(lead_d), spell), _departure(_drawn_spread(base), spell)
        shifts[:, span, :] = np.where(take[None], by_drawn[:, None, :], by_told[:, None, :])
    shift_weather(weather, base.clear_w_m2, shifts[0], np.exp(shifts[1]), np.exp(shifts[2]))
    return weather


def _departure(spread: Spread, spell: Array) -> Array:
    """Return a day's departures (3, members); the two logarithms so that their factors are 1 in the mean."""
    size = np.array([spread.warmth_k, spread.wind_number, spread.clearness_number])[:, None]
    departure = size * spell
    departure[1:] -= 0.5 * size[1:] ** 2
    return np.asarray(departure)


def _told_spread(lead_d: float) -> Spread:
    """Return the spread about the record (before now) or about the forecast for a day ahead."""
    if lead_d < 0.0:
        return PLACE
    pairs = zip(_parts(FIRST_DAY), _parts(EACH_DAY), _parts(LAST_DAY), strict=True)
    return Spread(*(min(first + lead_d * each, last) for first, each, last in pairs))


def _drawn_spread(base: WeatherBase) -> Spread:
    """Return the spread about a drawn day: little where many were there to draw from."""
    return OTHER_YEAR if base.recorded and len(base.days) >= FEW_DAYS else FEW


def _parts(spread: Spread) -> tuple[float, float, float]:
    return spread.warmth_k, spread.wind_number, spread.clearness_number


def _other_days(base: WeatherBase, day_index: int, members: int, generator: np.random.Generator) -> Ints:
    """Return a day for each member to draw its weather from: of the same time of year, where there are some."""
    among = np.arange(len(base.days))
    if base.recorded:
        apart = np.abs((base.day_index - day_index + 182.625) % 365.25 - 182.625)
        near = np.flatnonzero(apart <= SEASON_D)
        among = near if len(near) >= FEW_DAYS else among
    return np.asarray(generator.choice(among, members), dtype=np.int64)


def _next_days(base: WeatherBase, day_index: int, drawn: Ints, generator: np.random.Generator) -> Ints:
    """Return the day that follows for each member.

    Runs of the record stay whole for some days (Politis & Romano 1994, J. Am. Stat. Assoc. 89:1303), and climate
    days keep their character, for cloud comes in spells.
    """
    if not base.recorded:
        step = np.rint(generator.normal(0.0, 2.5, len(drawn))).astype(np.int64)
        return np.asarray(np.clip(drawn + step, 0, len(base.days) - 1))
    following = np.minimum(drawn + 1, len(base.days) - 1)
    goes_on = base.day_index[following] == base.day_index[drawn] + 1
    goes_on &= generator.random(len(drawn)) < SAME_SPELL_PROBABILITY
    return np.where(goes_on, following, _other_days(base, day_index, len(drawn), generator))
