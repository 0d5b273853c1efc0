"""Run the column from observed profiles along recorded weather, window by window."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
from scripts.proof.real_water_records import Record

from plumeline.job.document import Fish, Job, Pond, Profile, ProfilePoint, WeatherHour
from plumeline.stages.column.grid import Grid, make_grid
from plumeline.stages.column.march import march, still
from plumeline.stages.column.refuge import refuge_for
from plumeline.stages.column.run import Draws, at_depths, standing

MEAN_WIND_RATIO = 0.63  # of the prior, which is for a station: wind read on the water takes its place


@dataclass(frozen=True)
class Tuned:
    """The two values that may be tuned, one each a lake.

    Attributes:
        extinction_1_m: attenuation of visible light [1/m].
        shelter: where the wind was read on the water, the height of the trees round it, which take wind and sun
            [m]; elsewhere the wind over the water against the record's, trees of 12 m being taken.
    """

    extinction_1_m: float
    shelter: float


TREES_M = 12.0


@dataclass(frozen=True)
class Window:
    """What one window gave: daily quantiles of the members by day and depth.

    Attributes:
        start: the day whose end the run starts from.
        warmth_degc: (quantiles, days, depths).
        do_mg_l: the same of oxygen.
    """

    start: date
    warmth_degc: np.ndarray
    do_mg_l: np.ndarray


QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)


def starting_time(record: Record, day: date) -> datetime:
    """Return when a run of a day starts: at its end, or at noon where single profiles are taken to be read."""
    zone = ZoneInfo(record.site.time_zone)
    if record.at_noon:
        return datetime.combine(day, time(12), zone)
    return datetime.combine(day + timedelta(days=1), time(0), zone)


def starting_profile(record: Record, day: date) -> tuple[ProfilePoint, ...] | None:
    """Return the profile at a run's start; the oxygen of the last manual profile of a fortnight, else typical.

    A depth counts where its sensor has a value then; the film at 0 m is left out.
    """
    end = starting_time(record, day)
    near = record.warmth.loc[end - timedelta(hours=1) : end]
    if near.empty:
        return None
    row = near.iloc[-1].dropna()
    row = row[[depth for depth in row.index if depth > 0.0]]
    if len(row) < 4 or row.index[0] > 1.0 or row.index[-1] < 0.5 * record.max_depth_m:
        return None
    oxygen = oxygen_at(record, end)
    return tuple(
        ProfilePoint(
            depth_m=float(depth),
            temperature_degc=float(value),
            do_mg_l=float(np.interp(depth, oxygen.index.to_numpy(float), oxygen.to_numpy(float))),
        )
        for depth, value in row.items()
    )


def oxygen_at(record: Record, end: datetime, within_days: int = 14) -> pd.Series:
    """Return the oxygen by depth: the last manual profile, its upper metre moved to the sensor's day."""
    early = record.oxygen.loc[pd.Timestamp(end) - pd.Timedelta(days=within_days) : pd.Timestamp(end)]
    read = early.iloc[-1].dropna() if len(early) else record.oxygen.median()
    read = read.astype(float).clip(lower=0.0)
    if record.at_noon:
        return read
    day = pd.Timestamp(end.date() - timedelta(days=1))
    if day in record.surface_do.index and np.isfinite(record.surface_do.loc[day]):
        shift = float(record.surface_do.loc[day]) - float(np.interp(0.25, read.index.to_numpy(float), read))
        share = np.clip(1.5 - np.asarray(read.index, dtype=float), 0.0, 1.0)
        read = (read + shift * share).clip(lower=0.0)
    return read


def job_of(record: Record, day: date, days: int, tuned: Tuned) -> Job | None:
    """Return the lake as a job: the profile of a midnight, and the recorded weather of the days after it."""
    points = starting_profile(record, day)
    if points is None:
        return None
    start = starting_time(record, day)
    end = start + timedelta(days=days)
    hours = record.hours.loc[start + timedelta(minutes=1) : end]
    if len(hours) < 24 * days or hours.isna().any().any():
        return None
    weather = tuple(
        WeatherHour(
            time=stamp.to_pydatetime(),
            air_temperature_degc=row.air_degc,
            relative_humidity_fraction=row.humidity_fraction,
            wind_speed_m_s=row.wind_m_s,
            shortwave_w_m2=row.sun_w_m2,
            longwave_w_m2=row.sky_w_m2,
        )
        for stamp, row in zip(hours.index, hours.itertuples(index=False), strict=True)
    )
    return Job(
        id=record.name.lower().replace(" ", "-"),
        name=record.name,
        date=(end + timedelta(days=1)).date(),
        site=record.site,
        pond=Pond(
            area_m2=record.basin.area_at(0.0),
            max_depth_m=record.max_depth_m,
            secchi_depth_m=1.7 / tuned.extinction_1_m,
            obstacle_height_m=TREES_M if record.wind_over_water_number is None else tuned.shelter,
        ),
        fish=Fish(species=("bluegill",)),
        observations=(Profile(id="start", time=start, points=points),),
        weather=weather,
    )


def grid_of(record: Record) -> Grid:
    """Return the lake's layers."""
    return make_grid(record.basin, record.max_depth_m)


def run_window(
    record: Record, day: date, days: int, tuned: Tuned, *, members: int, seed: int
) -> Window | None:
    """Run one window and return the daily quantiles of its members, or None where its record has a hole."""
    job = job_of(record, day, days, tuned)
    if job is None:
        return None
    grid = grid_of(record)
    area_m2 = float(grid.area_m2[0])

    def hold(draws: Draws) -> None:
        ratio = record.wind_over_water_number or tuned.shelter
        draws["wind_ratio"] *= ratio / MEAN_WIND_RATIO

    limits = refuge_for(job.fish, area_m2, ()).as_array()
    stand = standing(job, grid, limits, members, seed, 24 * days, hold)
    run = march(stand.columns, still(24 * days), 24 * days, keep_profiles=True)
    hourly = run.snapshots.reshape(2, days, 24, grid.layers, members)
    daily = hourly[:, :, -1] if record.at_noon else hourly.mean(axis=2)
    warmth = at_depths(daily[0], grid, record.depths_m)
    oxygen = at_depths(daily[1], grid, (0.25, *record.depths_m))
    return Window(
        day,
        np.quantile(warmth, QUANTILES, axis=2),
        np.quantile(oxygen, QUANTILES, axis=2),
    )
