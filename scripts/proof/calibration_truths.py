"""Truths of the calibration study: ponds of the priors, run under weather of their own, and read by a meter.

A truth starts twenty days before its first reading about a made summer profile, so that its ensemble, which starts
ten days before it about what was read, does not share its start.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray
from scripts.proof.made_ponds import Made

from plumeline.job.document import AirRun, Answer, Bottle, Fish, Job, Profile, ProfilePoint, WeatherHour, When
from plumeline.kernels import column_index as ix
from plumeline.stages.column.grid import Grid
from plumeline.stages.column.looks import Kind
from plumeline.stages.column.march import AirPlan, Columns, march
from plumeline.stages.column.mud import mud_at_start
from plumeline.stages.column.parameters import parameters_of
from plumeline.stages.column.priors import draw_scores, draws_of
from plumeline.stages.column.seen import bottle_numbers
from plumeline.stages.column.start import start_state
from plumeline.stages.column.water import water_read
from plumeline.stages.column.weather import weather_base

Array = NDArray[np.float64]

BEFORE_D = 20  # from the truth's start to its first reading
READ_HOUR = 10  # local
VISITS_D = (2, 4)
RUN_MINUTES = (30, 30, 60, 60)  # of the days from the first reading on
ZONE_H = -4  # of the ponds' clock in summer
AHEAD_D = 7
PONDS = (
    Made("quarter acre, 7 ft", 0.25, 7.0, discs=1),
    Made("half acre, 9 ft", 0.5, 9.0, discs=1),
    Made("one acre, 10 ft", 1.0, 10.0, discs=2),
    Made("1.6 acres, 14 ft", 1.6, 14.0, discs=3),
    Made("three acres, 16 ft, cone", 3.0, 16.0, 2.0, discs=4),
    Made("six acres, 12 ft", 6.0, 12.0, discs=6),
)
"""Sizes and shapes (made up)."""


@dataclass(frozen=True)
class Truth:
    """One pond that is known to the last number, and what was read of it.

    Attributes:
        made: its basin and discs.
        job: what the program is told: readings, bottle, runs, recorded weather, fish.
        columns: the truth at the last reading, with its own weather ahead.
        air: what has run, by steps of the truth's weather.
    """

    made: Made
    job: Job
    columns: Columns
    air: AirPlan


def record(generator: np.random.Generator, start: datetime, days: int) -> tuple[WeatherHour, ...]:
    """Return hourly weather of a summer: warmth, cloud and wind of each day follow those of the day before."""
    found: list[WeatherHour] = []
    warmth, cloud, wind = generator.standard_normal(3)
    level = 24.0 + 2.5 * generator.standard_normal()
    for day in range(days):
        warmth, cloud, wind = (
            keep * before + np.sqrt(1.0 - keep**2) * generator.standard_normal()
            for keep, before in ((0.73, warmth), (0.35, cloud), (0.27, wind))
        )
        shine = float(np.clip(0.7 + 0.22 * cloud, 0.12, 0.98))
        mean, blow = level + 2.5 * warmth, float(np.exp(0.4 * wind))
        for hour in range(24):
            local = (hour + 0.5 + ZONE_H) % 24.0
            sun = max(np.sin((local - 5.9) / 13.6 * np.pi), 0.0) if 5.9 < local < 19.5 else 0.0
            swing = 5.5 * (0.35 + 0.65 * shine) * np.cos((local - 15.5) / 24.0 * 2.0 * np.pi)
            air = mean + swing
            found.append(
                WeatherHour(
                    time=start + timedelta(hours=24 * day + hour + 1),
                    air_temperature_degc=float(air),
                    relative_humidity_fraction=float(
                        np.clip(0.72 - 0.03 * swing + 0.1 * (0.7 - shine), 0.3, 0.98)
                    ),
                    wind_speed_m_s=float(blow * (1.5 + 0.9 * np.cos((local - 14.5) / 24.0 * 2.0 * np.pi))),
                    shortwave_w_m2=float(930.0 * sun**1.2 * shine),
                    cloud_fraction=float(1.0 - shine),
                    pressure_pa=98900.0,
                )
            )
    return tuple(found)


def truth_of(index: int, seed: int, thickness_m: float) -> Truth:
    """Return one truth; its draws, weather and readings are its own.

    Args:
        index: which truth.
        seed: of the study; no ensemble has it.
        thickness_m: of the layers.
    """
    generator = np.random.default_rng([seed, index])
    made = replace(
        PONDS[index % len(PONDS)],
        surface_degc=float(generator.uniform(25.0, 29.5)),
        bottom_degc=float(generator.uniform(13.0, 20.0)),
        thermocline_m=float(generator.uniform(0.28, 0.5) * PONDS[index % len(PONDS)].depth_m),
        bottom_sulphide_mg_l=None,
        bottom_ammonia_mg_l=None,
    )
    grid = made.grid(thickness_m)
    # the first reading is at ten o'clock of the pond's day, on a whole hour of UTC
    first = datetime(2026, 8, 1, READ_HOUR - ZONE_H, tzinfo=UTC)
    start = first - timedelta(days=BEFORE_D)
    days = BEFORE_D + VISITS_D[-1] + AHEAD_D + 2
    hours = record(generator, start.replace(hour=0), days)
    job = made.job(index).model_copy(update={"weather": hours, "observations": ()})
    last_h = 24 * (BEFORE_D + VISITS_D[-1]) + (6 - READ_HOUR)
    end_h = last_h + 24 * AHEAD_D
    base = weather_base(job, start, end_h, made.surface_degc, made.area_m2)
    on = _runs_on(end_h)
    air = made.air(on)
    columns = _columns(job, made, grid, base.hours, start, index, seed)
    readings, bottle, at_end, lost, columns = _read_all(columns, grid, air, first, last_h, generator)
    told = job.model_copy(
        update={
            "observations": (*readings, bottle),
            "runs": tuple(
                AirRun(start=first + timedelta(days=day, minutes=5), minutes=float(minutes))
                for day, minutes in enumerate(RUN_MINUTES)
            ),
            "weather": tuple(hour for hour in hours if hour.time <= at_end),
            "fish": _fish(job.fish, lost, generator),
        }
    )
    return Truth(made, told, columns, air)


def _runs_on(hours: int) -> NDArray[np.bool_]:
    on = np.zeros(hours * ix.STEPS_EACH_HOUR, dtype=bool)
    for day, minutes in enumerate(RUN_MINUTES):
        begun = (BEFORE_D + day) * 24 * ix.STEPS_EACH_HOUR + 1
        on[begun : begun + minutes * ix.STEPS_EACH_HOUR // 60] = True
    return on


def _columns(
    job: Job, made: Made, grid: Grid, weather: Array, start: datetime, index: int, seed: int
) -> Columns:
    """Return the truth at its start: one pond of the priors."""
    profile = made.job().profiles[0]
    scores = draw_scores(1, int(np.random.default_rng([seed, index, 1]).integers(2**31)))
    draws = draws_of(scores)
    state, extinction_1_m, dissolved = start_state(water_read(profile, grid), draws, job, grid)
    draws["chlorophyll"] = state[ix.CHLOROPHYLL].max(axis=0)
    draws["sulphide_share"] = dissolved
    parameters = parameters_of(draws, extinction_1_m, job, made.area_m2, sulphide_read=False)
    own = weather[:, :, None].copy()
    own[ix.AIR_TEMPERATURE] += 0.4 * float(np.random.default_rng([seed, index, 2]).standard_normal())
    none = np.zeros(1, dtype=np.int64)
    mud = mud_at_start(state[ix.TEMPERATURE], job.site, start)
    return Columns(
        grid, state, mud, parameters, own, made.limits(), none.copy(), none - 1,
        none.copy(), np.zeros(1, dtype=np.int64),
    )  # fmt: skip


@dataclass(frozen=True)
class Meter:
    """One meter: its bias in oxygen and temperature, half its own and half the day's."""

    generator: np.random.Generator
    do_mg_l: float
    degc: float

    def profile(self, columns: Columns, depths_m: list[float], time: datetime, when: When | None) -> Profile:
        """Return what the meter reads at some depths, at a place that is not quite the pond's mean."""
        half = np.sqrt(0.5)
        day_mg_l, day_degc = (size * half * self.generator.standard_normal() for size in (0.5, 0.3))
        centre = columns.grid.centre_m
        place = np.exp(-np.abs(np.subtract.outer(depths_m, depths_m)) / 1.0)
        root = np.linalg.cholesky(place + 1e-9 * np.eye(len(depths_m)))
        place_mg_l, place_degc = (
            size * root @ self.generator.standard_normal(len(depths_m)) for size in (0.7, 0.2)
        )
        points = []
        for k, depth in enumerate(depths_m):
            mark = depth + 0.1 * self.generator.standard_normal()
            oxygen = float(np.interp(mark, centre, columns.state[ix.OXYGEN, :, 0]))
            warm = float(np.interp(mark, centre, columns.state[ix.TEMPERATURE, :, 0]))
            share = float(np.clip(oxygen / 2.0, 0.15, 1.0))
            oxygen += share * (
                self.do_mg_l + day_mg_l + place_mg_l[k] + 0.2 * self.generator.standard_normal()
            )
            warm += self.degc + day_degc + place_degc[k] + 0.1 * self.generator.standard_normal()
            points.append(
                ProfilePoint(
                    depth_m=round(depth, 3),
                    temperature_degc=round(warm, 1),
                    do_mg_l=round(max(oxygen, 0.0), 1),
                )
            )
        name = f"reading-{time:%dT%H}{'-' + when.value if when else ''}"
        return Profile(id=name, time=time, points=tuple(points), when=when, meter="A")


def _read_all(
    columns: Columns, grid: Grid, air: AirPlan, first: datetime, last_h: int, generator: np.random.Generator
) -> tuple[list[Profile], Bottle, datetime, bool, Columns]:
    """Run the truth through its readings: a profile and a bottle, a visit before and at shut-off, a dawn."""
    half = np.sqrt(0.5)
    meter = Meter(
        generator, 0.5 * half * generator.standard_normal(), 0.3 * half * generator.standard_normal()
    )
    deep = float(grid.interface_depth_m[-1])
    every = [float(z) for z in np.linspace(0.3, deep - 0.3, 9)]
    few = [0.6, 0.45 * deep, deep - 0.4]
    read_h = 24 * BEFORE_D
    columns = march(columns, air, read_h - 240 + 48).after
    nothing = np.zeros(1, dtype=np.int64)
    columns = replace(columns, under_steps=nothing.copy(), failed_step=nothing - 1)
    columns = march(columns, air, read_h).after
    found = [meter.profile(columns, every, first, None)]
    bottle = _bottle(columns, found[0], first, generator)
    visit_h = read_h + 24 * VISITS_D[0]
    columns = march(columns, air, visit_h).after
    visit = first + timedelta(days=VISITS_D[0])
    found.append(meter.profile(columns, few, visit, When.BEFORE))
    columns = march(columns, air, visit_h + 1).after
    found.append(meter.profile(columns, few, visit + timedelta(hours=1), When.SHUT_OFF))
    columns = march(columns, air, last_h).after
    end = first + timedelta(hours=last_h - read_h)
    found.append(meter.profile(columns, every, end, When.DAWN))
    lost = bool(columns.failed_step[0] >= 0)
    return found, bottle, end, lost, replace(columns, under_steps=nothing.copy(), failed_step=nothing - 1)


def _bottle(columns: Columns, profile: Profile, time: datetime, generator: np.random.Generator) -> Bottle:
    """Return a bottle test of the bottom water, one to one or weaker, with errors of 0.2 mg/L a reading."""

    def read(value: float) -> float:
        return round(max(value + 0.2 * generator.standard_normal(), 0.0), 1)

    low, top = profile.points[-1], profile.points[0]
    first = Bottle(
        id="bottle", time=time, depth_m=low.depth_m, bottom_do_mg_l=low.do_mg_l, surface_do_mg_l=top.do_mg_l
    )
    found = bottle_numbers(columns, first)
    breath = float(found[Kind.CONTROL][0])
    share = 0.5
    start = share * low.do_mg_l + (1.0 - share) * top.do_mg_l
    fast = share * float(found[Kind.FAST][0]) + (1.0 - share) * breath
    soon = share * float(found[Kind.IMMEDIATE][0])
    return first.model_copy(
        update={
            "after_15min_mg_l": read(start - soon),
            "after_24h_mg_l": read(start - fast),
            "surface_after_24h_mg_l": read(top.do_mg_l - breath),
        }
    )


def _fish(fish: Fish, lost: bool, generator: np.random.Generator) -> Fish:
    """Return what the owner says of the fish: by the chances that the program takes for them."""
    draw = generator.random()
    answer = Answer.UNKNOWN
    if lost and draw < 0.65:
        answer = Answer.YES
    elif not lost and draw < 0.7:
        answer = Answer.NO
    return fish.model_copy(update={"gasping_at_dawn": answer, "kill_this_season": answer})
