"""The column alone: from the profile before a time, along the weather, with or without air.

Members stand at the reading as it was read, each with its own draws of every rate, unless they are asked to be
conditioned on what was read and seen before (`draw_ensemble`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from plumeline.errors import InputError
from plumeline.job.document import Job, Profile
from plumeline.kernels import column_index as ix
from plumeline.notices import Notice, caution, note
from plumeline.stages.column.case import screened
from plumeline.stages.column.climate import lasting_degc
from plumeline.stages.column.grid import Basin, Grid, make_grid
from plumeline.stages.column.march import AirPlan, Columns, march
from plumeline.stages.column.members import draw_ensemble, parameters_of
from plumeline.stages.column.mud import mud_at_start
from plumeline.stages.column.past_air import PastAir, runs_of
from plumeline.stages.column.priors import draw_priors
from plumeline.stages.column.refuge import refuge_for
from plumeline.stages.column.run_air import RunAir, air_plan, past_blows
from plumeline.stages.column.sun import hour_before
from plumeline.stages.column.water import first_state, water_read
from plumeline.stages.column.weather import member_weather, weather_base
from plumeline.stages.reading import latest_profile

Array = NDArray[np.float64]
Draws = dict[str, Array]

MOST_DAYS = 366
LONG_LEAD_D = 10
ALSO = {
    # other states that can be asked for: the name that stands in files and on the command line
    "salinity_g_kg": ix.SALT,
    "chlorophyll_ug_l": ix.CHLOROPHYLL,
    "debt_a_mg_l": ix.DEBT_A,
    "sulphide_mg_l": ix.SULPHIDE,
    "debt_c_mg_l": ix.DEBT_C,
    "ammonia_mg_l": ix.AMMONIA,
    "alkalinity_mol_m3": ix.ALKALINITY,
    "carbon_mol_m3": ix.CARBON,
}
QUANTILES = (0.5, 0.05, 0.95)


@dataclass(frozen=True)
class Series:
    """One quantity by hour and depth: median, 5 % and 95 % of the members (hours, depths)."""

    name: str
    median: tuple[tuple[float, ...], ...]
    p05: tuple[tuple[float, ...], ...]
    p95: tuple[tuple[float, ...], ...]


@dataclass(frozen=True)
class ColumnRun:
    """Hourly profiles of a run.

    Attributes:
        times: ends of the hours, on the pond's clock.
        depth_m: depths asked for.
        series: temperature, oxygen, and what else was asked for.
        members: simulated ponds.
        conditioned: whether they were chosen by what was read and seen before.
        reading_time: time of the profile that the run starts from.
        air_words: the air, in plain words.
        notices: what had to be assumed.
        assumptions: in plain words.
    """

    times: tuple[datetime, ...]
    depth_m: tuple[float, ...]
    series: tuple[Series, ...]
    members: int
    conditioned: bool
    reading_time: datetime
    air_words: str
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]


@dataclass(frozen=True)
class Standing:
    """Members that stand at a reading, with the weather ahead of them.

    Attributes:
        columns: the members, at hour `columns.hour` of their weather.
        start: start of hour 0 of the weather, UTC.
        notices: what had to be assumed.
        assumptions: in plain words.
    """

    columns: Columns
    start: datetime
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]


def profile_before(job: Job, moment: datetime) -> Profile:
    """Return the last profile at or before a moment.

    Raises:
        InputError: none is that early.
    """
    early = [profile for profile in job.profiles if profile.time <= moment]
    if early:
        return early[-1]
    first = latest_profile(job) if not job.profiles else job.profiles[0]
    raise InputError(
        f"the run can't start at {moment:%Y-%m-%d %H:%M}: the first profile was read at "
        f"{first.time:%Y-%m-%d %H:%M}.",
        remedy="Start at or after it, or add an earlier profile.",
        place="--from",
    )


def standing(
    job: Job,
    grid: Grid,
    limits: Array,
    members: int,
    seed: int,
    hour_count: int,
    change: Callable[[Draws], None] | None = None,
) -> Standing:
    """Return members drawn from the priors alone, standing at the job's last profile.

    Args:
        job: the job; its last profile is the reading.
        grid: the layers.
        limits: limits of the refuge (LIMITS).
        members: members wanted.
        seed: seed of all draws.
        hour_count: hours of weather from the reading's hour on.
        change: changes the draws in place, for a study that holds some of them.
    """
    profile = latest_profile(job)
    water = water_read(profile, grid)
    start = hour_before(profile.time, job.site.time_zone)
    surface_degc = lasting_degc(job, profile.time, grid.centre_m, water.temperature_degc)
    base = weather_base(job, start, hour_count, surface_degc, float(grid.area_m2[0]))
    draws = draw_priors(members, seed)
    if change is not None:
        change(draws)
    state, extinction_1_m = first_state(water, draws, job, seed + 7)
    draws["chlorophyll"] = state[ix.CHLOROPHYLL].max(axis=0)
    nothing = np.zeros(members, dtype=np.int64)
    sulphide_read = not np.isnan(water.sulphide_mg_l).all()
    columns = Columns(
        grid,
        state,
        mud_at_start(state[ix.TEMPERATURE], job.site, profile.time),
        parameters_of(draws, extinction_1_m, job, float(grid.area_m2[0]), sulphide_read),
        member_weather(base, members, seed + 13, _known_hours(job, start)),
        limits,
        nothing.copy(),
        nothing - 1,
        nothing.copy(),
        np.zeros(1, dtype=np.int64),
    )
    return Standing(columns, start, base.notices, tuple(water.assumed))


def _known_hours(job: Job, start: datetime) -> int:
    """Return how many hours from `start` lie before the end of the job's day: up to there weather is a record."""
    zone = ZoneInfo(job.site.time_zone)
    end = datetime.combine(job.date + timedelta(days=1), time(0), zone).astimezone(UTC)
    return max(round((end - start).total_seconds() / 3600.0), 0)


def column_run(
    job: Job,
    basin: Basin,
    max_depth_m: float,
    first: datetime,
    last: datetime,
    depth_m: Sequence[float],
    *,
    air: RunAir,
    members: int,
    seed: int,
    condition: bool = False,
    also: Sequence[str] = (),
) -> ColumnRun:
    """Run the column alone, and return its hourly profiles from `first` to `last`.

    Args:
        job: the job; the run starts from its last profile at or before `first`.
        basin: hypsograph of the pond.
        max_depth_m: greatest depth [m].
        first: time from which profiles are wanted, with an offset.
        last: time to which.
        depth_m: depths wanted (depths) [m].
        air: what air runs and when.
        members: simulated ponds.
        seed: seed of all draws.
        condition: choose them by what was read and seen before, as the start-up plan does.
        also: further states, by their names in `ALSO`.

    Raises:
        InputError: no profile so early, an end before the start, a depth under the bottom.
        ModelError: a state turned unphysical.
    """
    grid = make_grid(basin, max_depth_m)
    _check(first, last, depth_m, max_depth_m)
    # members that no reading speaks for stand on one profile alone: not on one that is left out
    job, doubted = (job, ()) if condition else screened(job)
    reading = profile_before(job, first)
    until = tuple(item for item in job.observations if item.time <= reading.time)
    runs, told = runs_of(job)
    runs = tuple(run for run in runs if run.start < first)
    job = job.model_copy(update={"observations": until, "runs": runs})
    limits = refuge_for(job.fish, float(grid.area_m2[0]), air.depth_m).as_array()
    begun = hour_before(reading.time, job.site.time_zone)
    hours = int(np.ceil((last.astimezone(UTC) - begun).total_seconds() / 3600.0))
    if condition:
        past = PastAir(np.array(air.depth_m), np.array(air.air_mol_s), air.names)
        drawn = draw_ensemble(job, grid, limits, members, seed, hours, past)
        stand = Standing(drawn.columns, drawn.start, drawn.notices, drawn.assumptions)
    else:
        stand = standing(job, grid, limits, members, seed, hours)
    columns, zero = stand.columns, stand.start
    begin = max(int((first.astimezone(UTC) - zero).total_seconds() // 3600), columns.hour)
    end = columns.weather.shape[1]
    end = min(end, int(np.ceil((last.astimezone(UTC) - zero).total_seconds() / 3600.0)))
    air = replace(air, blows=(*past_blows(runs, air, reading.time), *air.blows))
    plan = air_plan(air, zero, columns.weather.shape[1])
    values = _hourly(columns, plan, begin, end, depth_m, also)
    zone = ZoneInfo(job.site.time_zone)
    times = tuple((zero + timedelta(hours=h + 1)).astimezone(zone) for h in range(begin, end))
    lead_d = (first - reading.time).total_seconds() / 86400.0
    return ColumnRun(
        times,
        tuple(depth_m),
        tuple(_series(name, value) for name, value in values.items()),
        columns.members,
        condition,
        reading.time,
        air.words,
        (*stand.notices, *doubted, *told, *_said(lead_d, condition)),
        stand.assumptions,
    )


def _check(first: datetime, last: datetime, depth_m: Sequence[float], max_depth_m: float) -> None:
    if last <= first:
        raise InputError(
            f"the run ends at {last:%Y-%m-%d %H:%M}, not after its start at {first:%Y-%m-%d %H:%M}.",
            remedy="Give a later end.",
            place="--to",
        )
    if last - first > timedelta(days=MOST_DAYS):
        raise InputError(
            f"the run is {(last - first).days} days long; {MOST_DAYS} is the most.",
            remedy="Give an earlier end.",
            place="--to",
        )
    deep = [depth for depth in depth_m if depth > max_depth_m]
    if deep:
        raise InputError(
            f"{deep[0]:.2f} m is deeper than the pond, {max_depth_m:.2f} m.",
            remedy="Give depths within the pond.",
            place="--depths",
        )


def _said(lead_d: float, condition: bool) -> tuple[Notice, ...]:
    said: tuple[Notice, ...] = ()
    if lead_d > LONG_LEAD_D:
        said += (
            caution(
                "reading-old",
                f"The profile that the run starts from is {lead_d:.0f} days older than the first hour shown: by "
                "then it tells little. A later profile would tell more.",
            ),
        )
    if not condition:
        said += (
            note(
                "not-conditioned",
                "The simulated ponds are drawn from the whole range of rates that ponds have; what was read and "
                "seen before the profile does not narrow them.",
            ),
        )
    return said


def _hourly(
    columns: Columns,
    plan: AirPlan,
    begin_index: int,
    end_index: int,
    depth_m: Sequence[float],
    also: Sequence[str],
) -> dict[str, Array]:
    """Return each quantity by name (hours, depths, members), for the hours `begin_index` to `end_index` - 1."""
    grid = columns.grid
    if not also:
        run = march(columns, plan, end_index, keep_profiles=True)
        found = run.snapshots[:, begin_index:end_index]
    else:
        rows = [ix.TEMPERATURE, ix.OXYGEN, *(ALSO[name] for name in also)]
        columns = march(columns, plan, begin_index).after if begin_index > columns.hour else columns
        kept: list[Array] = []
        for hour in range(begin_index, end_index):
            columns = march(columns, plan, hour + 1).after
            kept.append(columns.state[rows])
        found = np.array(kept).transpose(1, 0, 2, 3)
    names = ("temperature_degc", "do_mg_l", *also)
    return {name: at_depths(values, grid, depth_m) for name, values in zip(names, found, strict=True)}


def at_depths(values: Array, grid: Grid, depth_m: Sequence[float]) -> Array:
    """Return values by layer (hours, layers, members) at depths, linear between the layers' middles."""
    asked = np.clip(np.asarray(depth_m, dtype=float), grid.centre_m[0], grid.centre_m[-1])
    above = np.clip(np.searchsorted(grid.centre_m, asked, side="right") - 1, 0, grid.layers - 2)
    share = (asked - grid.centre_m[above]) / (grid.centre_m[above + 1] - grid.centre_m[above])
    share = share[None, :, None]
    return np.asarray((1.0 - share) * values[:, above] + share * values[:, above + 1])


def _series(name: str, values: Array) -> Series:
    """Return median, 5 % and 95 % of values (hours, depths, members)."""
    middle, low, high = np.quantile(values, QUANTILES, axis=2)
    parts = [tuple(tuple(float(number) for number in row) for row in part) for part in (middle, low, high)]
    return Series(name, *parts)


def default_depths(max_depth_m: float) -> tuple[float, ...]:
    """Return depths to show where none are asked for: 1 ft, then every 2 ft (4 ft in a deep pond) to the bottom."""
    foot = 0.3048
    step = 2.0 if max_depth_m <= 24.0 * foot else 4.0
    depths = [foot]
    while depths[-1] + step * foot < max_depth_m:
        depths.append(depths[-1] + step * foot)
    return tuple(depths)


def day_start(day: date, time_zone: str) -> datetime:
    """Return the midnight that begins a day on the pond's clock."""
    return datetime.combine(day, time(0), ZoneInfo(time_zone))
