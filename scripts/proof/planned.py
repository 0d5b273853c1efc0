"""The one place where the robustness study touches the program: a job made of readings, and the planner's orders."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
from scripts.proof.crew import CLOCK_H, MIXED_K, Field, Orders, Step
from tests.truth import names as n
from tests.truth.laws import acidity
from tests.truth.meter import Bottle as TrueBottle
from tests.truth.meter import Meter, Surveyed, bottle
from tests.truth.pond import BURN_IN_D, Pond
from tests.truth.weather import as_read, forecast

from plumeline.job.document import (
    AirRun,
    Answer,
    Bottle,
    Fish,
    Job,
    OxygenReading,
    Profile,
    ProfilePoint,
    Site,
    SmellStrength,
    WeatherHour,
    Wishes,
)
from plumeline.job.document import Pond as JobPond
from plumeline.notices import Severity
from plumeline.stages.column import refuge_for
from plumeline.stages.startup import startup
from plumeline.stages.startup.families import unlike
from plumeline.stages.startup.promise import upper95
from plumeline.stages.startup.schedule import Gate, Schedule, growing, on_grid, steady

EPOCH = datetime(2026, 7, 19, tzinfo=UTC)
"""Midnight at which a truth's weather starts: day 200 of the year, local time at longitude 0."""
FORECAST_D = 7
PLANNED_D = 14
"""Days that the planner looks ahead inside the proof."""
STANDARD_MOL_M3 = 101325.0 / (8.314462618 * 293.15)
MEMBERS = 100
FISH = Fish(species=("bluegill",), gasping_at_dawn=Answer.NO, kill_this_season=Answer.NO)


def at_hour(hour: int) -> datetime:
    """Return the time of an hour of the truth's weather."""
    return EPOCH + timedelta(hours=hour)


def refuge_limits(area_m2: float, depth_m: tuple[float, ...]) -> np.ndarray:
    """Return the refuge's limits in the truth's order: the fish's, and the body they need, as the plan has them."""
    refuge = refuge_for(FISH, area_m2, depth_m)
    limits = refuge.limits
    return np.array(
        [
            limits.oxygen_mg_l,
            limits.max_temperature_degc,
            limits.unionized_ammonia_mg_l,
            limits.hydrogen_sulphide_mg_l,
            refuge.volume_fraction,
            refuge.thickness_m,
        ]
    )


@dataclass(frozen=True)
class Survey:
    """What the crew knows before the first run, at one in the afternoon of the survey's day.

    Attributes:
        shape: the surveyed shape.
        readings: of that day, as the crew's book has them.
        bottle: the bottle test of bottom water.
        secchi_m, ph, sulphide_mg_l, ammonia_mg_l, alkalinity_mg_l: where two, at the surface and near the bottom.
        record: weather as the station has it, of past and (unseen) future.
        climate: mean day of that record (WEATHER, 24).
        seed: of the truth.
    """

    pond: Pond
    shape: Surveyed
    readings: tuple[dict[str, Any], ...]
    bottle: TrueBottle
    secchi_m: float
    ph: tuple[float, float]
    sulphide_mg_l: float
    ammonia_mg_l: tuple[float, float]
    alkalinity_mg_l: float
    record: np.ndarray
    climate: np.ndarray
    seed: int


def survey_of(pond: Pond, seed: int, limit_mg_l: float) -> Survey:
    """Survey a pond: dawn oxygen, a profile at one o'clock, a bottle, Secchi disc, pH, and field kits."""
    field = Field(pond.copy(), Meter.of(seed), limit_mg_l)
    draw = np.random.default_rng((seed, 80))
    field.hours(field.pond.hour + 6)
    field.read_oxygen("dawn")
    field.hours(field.pond.hour + CLOCK_H - 7)
    field.read_profile("before")
    p, now = pond.numbers, field.pond
    bottom_m = now.shape.max_depth_m - 0.4
    top, low = now.at(0, 0.3), now.at(0, bottom_m)
    light = p[n.P_WATER_LIGHT] + p[n.P_CHL_LIGHT] * top[n.CHL]
    record = as_read(pond.weather, seed)
    days = record[:, : 24 * BURN_IN_D].reshape(n.WEATHER, BURN_IN_D, 24)
    acid = [float(acidity(w[n.T], w[n.ALK], w[n.DIC])) + float(draw.normal(0.0, 0.1)) for w in (top, low)]
    return Survey(
        pond,
        Surveyed.of(pond, seed),
        tuple(field.readings),
        bottle(now, bottom_m, seed),
        # 1.44 over the extinction (Holmes 1970, turbid water), read within a tenth
        max(1.44 / light * float(draw.lognormal(0.0, 0.1)), 0.1),
        (round(acid[0], 1), round(acid[1], 1)),
        round(float(low[n.HS]) * float(draw.lognormal(0.0, 0.25)), 2),
        tuple(round(float(w[n.NH4]) * float(draw.lognormal(0.0, 0.25)), 2) for w in (top, low)),  # type: ignore[arg-type]
        round(50.0 * float(top[n.ALK]) * float(draw.lognormal(0.0, 0.1)), 0),
        record,
        days.mean(axis=1),
        seed,
    )


def _observation(survey: Survey, index: int, reading: dict[str, Any], first: bool) -> Profile | OxygenReading:
    time = at_hour(reading["hour"])
    if reading["kind"] == "oxygen":
        return OxygenReading(
            id=f"o{index}", time=time, depth_m=reading["depth"], do_mg_l=tuple(reading["oxygen"]),
            when=reading["when"], meter="M1",
        )  # fmt: skip
    last = len(reading["depth"]) - 1
    points: list[ProfilePoint] = []
    for k, (z, t, o) in enumerate(
        zip(reading["depth"], reading["temperature"], reading["oxygen"], strict=True)
    ):
        more: dict[str, Any] = {}
        if first and k in (0, last):
            more["ph"] = survey.ph[0 if k == 0 else 1]
            more["alkalinity_mg_l"] = survey.alkalinity_mg_l
            more["ammonia_mg_l"] = survey.ammonia_mg_l[0 if k == 0 else 1]
        if first and k == last:
            more["sulphide_mg_l"] = survey.sulphide_mg_l
            foul = survey.sulphide_mg_l > 0.5
            more["smell"] = SmellStrength.STRONG if foul else SmellStrength.FAINT
            if survey.sulphide_mg_l < 0.05:
                more["smell"] = SmellStrength.NONE
        points.append(ProfilePoint(depth_m=z, temperature_degc=t, do_mg_l=o, **more))
    return Profile(id=f"p{index}", time=time, points=tuple(points), when=reading["when"], meter="M1")


def _weather(survey: Survey, now: int) -> tuple[WeatherHour, ...]:
    """Return the record of the last ten days and the forecast of the next seven, as known at an hour."""
    told = forecast(survey.pond.weather, survey.climate, now, FORECAST_D, survey.seed + now)
    hours: list[WeatherHour] = []
    for hour in range(max(now - 240, 0), now + 24 * FORECAST_D):
        air, vapour, wind, sun, cloud = survey.record[:, hour] if hour < now else told[:, hour - now]
        full = 6.112 * float(np.exp(17.67 * air / (air + 243.5)))
        hours.append(
            WeatherHour(
                time=at_hour(hour + 1),
                air_temperature_degc=float(air),
                relative_humidity_fraction=float(min(vapour / full, 1.0)),
                wind_speed_m_s=float(max(wind, 0.0)),
                shortwave_w_m2=float(min(max(sun, 0.0), 1400.0)),
                cloud_fraction=float(cloud),
            )
        )
    return tuple(hours)


def accepted(members: int) -> Wishes:
    """Return what the owner accepts, 5 % of a job and 2 % of a day, for so few simulated ponds.

    The planner accepts by upper 95 % bounds, and of 100 ponds not one may then be lost on any day: the bound of 0 of
    100 is 3 %. So the bounds of 5 and of 2 lost in 100 stand for the risks themselves here.
    """
    bounds = [upper95(round(risk * members), members) for risk in (0.05, 0.02)]
    return Wishes(longest_start_up_d=PLANNED_D, job_risk=bounds[0], day_risk=bounds[1])


def job_of(survey: Survey, field: Field | None, wishes: Wishes) -> Job:
    """Return the job as it is known at the survey, or later with what the crew wrote down since."""
    readings = list(survey.readings) + (list(field.readings) if field else [])
    now = int(readings[-1]["hour"])
    seen = [reading for reading in readings if reading["hour"] <= now]
    test = survey.bottle
    profile_at = next(int(r["hour"]) for r in seen if r["kind"] == "profile")
    observations: list[Any] = [
        _observation(survey, k, r, first=r["hour"] == profile_at) for k, r in enumerate(seen)
    ]
    observations.append(
        Bottle(
            id="b1", time=at_hour(profile_at), depth_m=test.depth_m, bottom_do_mg_l=test.bottom,
            surface_do_mg_l=test.surface, after_15min_mg_l=test.after_15min, after_24h_mg_l=test.after_24h,
            surface_after_24h_mg_l=test.surface_after_24h,
        )
    )  # fmt: skip
    runs = [
        AirRun(
            start=at_hour(start),
            minutes=min(minutes, 60 * (now - start)),
            diffusers=tuple(f"D{d + 1}" for d in some),
        )
        for start, minutes, some in (field.runs if field else [])
        if now > start
    ]
    return Job(
        id="truth",
        name=survey.pond.kind.name,
        date=date(2026, 7, 31),
        site=Site(latitude_deg=36.0, longitude_deg=0.0, elevation_m=200.0, time_zone="UTC"),
        pond=JobPond(
            area_m2=survey.shape.area_at(0.0),
            max_depth_m=survey.shape.max_depth_m,
            secchi_depth_m=survey.secchi_m,
        ),
        fish=FISH,
        wishes=wishes,
        observations=tuple(observations),
        runs=tuple(runs),
        weather=_weather(survey, now),
    )


def twelve(last_min: int) -> tuple[Schedule, ...]:
    """Return the planner's candidates inside the proof, at most twelve: to begin, or to go on after a run."""
    clock, days = float(CLOCK_H), PLANNED_D
    daily = Gate()
    if last_min <= 0:
        found = [
            growing(1440, 2.0, clock, days), steady(480, 2, clock), steady(240, 2, clock), steady(60, 4, clock),
            growing(240, 2.0, clock, days), growing(120, 2.0, clock, days), growing(60, 2.0, clock, days),
            growing(60, 3.0, clock, days), growing(30, 2.0, clock, days), growing(15, 2.0, clock, days),
            replace(growing(60, 2.0, clock, days), name="60 min, times 2, read daily", visit_every_d=1, gate=daily),
            replace(growing(15, 1.5, clock, days), name="15 min, times 1.5, read daily", visit_every_d=1, gate=daily),
        ]  # fmt: skip
    else:
        last = min(last_min, 1380)
        base = growing(last, 2.0, clock, days)
        found = [
            growing(1440, 2.0, clock, days),
            *(growing(on_grid(last * f), g, clock, days) for f in (1.0, 2.0, 0.5, 0.25) for g in (2.0, 3.0)),
            replace(growing(1440, 2.0, clock, days), name="24 h a day, after a rest", wait_d=2),
            replace(base, name=f"{base.name}, read daily", visit_every_d=1, gate=daily),
            replace(base, name=f"{base.name}, after a rest", wait_d=2),
            steady(60, 4, clock), steady(240, 2, clock),
        ]  # fmt: skip
    return unlike(found)[:12]


@dataclass(frozen=True)
class Planned:
    """The planner's answer: orders, and what it promised."""

    orders: Orders
    told: dict[str, Any]


def plan(
    survey: Survey, field: Field | None, *, members: int = MEMBERS, candidates: int = 12, full: bool = False
) -> Planned:
    """Ask the planner.

    Args:
        survey: what was known at the survey.
        field: the crew's book since then, or None at the survey.
        members: of both ensembles.
        candidates: the most that are searched.
        full: with its own candidates and its own numbers of members, as the command has them.
    """
    wishes = Wishes(longest_start_up_d=PLANNED_D) if full else accepted(members)
    job = job_of(survey, field, wishes)
    pond, shape = survey.pond, survey.shape
    flows = tuple(float(g) / STANDARD_MOL_M3 for g in pond.gas)
    depths = tuple(float(d) * shape.depth_factor for d in pond.depth_of)
    last = field.runs[-1][1] if field and field.runs else 0
    size: dict[str, Any] = {}
    if not full:
        size = {
            "search_members": members,
            "fresh_members": members,
            "schedules": twelve(last)[:candidates],
            "brief": True,
        }
    volume = shape.volume_below(0.0)
    found = startup(
        job, shape, shape.area_at(0.0), volume, 0.06 * volume, shape.max_depth_m, depths, flows,
        seed=survey.seed % 10_000 + 1, **size,
    )  # fmt: skip
    return Planned(orders_of(found), told_by(found))


def without_own_stops(orders: Orders) -> Orders:
    """Return orders with the stop rule of all arms alone."""
    return replace(
        orders,
        fallen_mg_l=0.0,
        mixed_k=MIXED_K,
        steps=tuple(replace(step, stop_mg_l=()) for step in orders.steps),
    )


def orders_of(found: Any) -> Orders:
    """Return the plan's policy as orders for the crew.

    A card that says not to start is not started by; a pause ends with the reading that it names.
    """
    policy = found.policy
    steps = tuple(Step(day.minutes, day.diffusers, day.visit, day.stop_do_mg_l) for day in policy.days)
    forbidden = any(item.code == "worse-than-no-air" for item in found.notices)
    return Orders(
        policy.name,
        steps,
        int(policy.start_hour_h),
        policy.wait_d,
        policy.gate_do_mg_l,
        policy.gate_repeats,
        forbidden,
        found.hold_until is not None,
        policy.fallen_mg_l,
        policy.mixed_k,
    )


def told_by(found: Any) -> dict[str, Any]:
    """Return what the plan says of itself."""
    return {
        "name": found.name,
        "risk": found.risk.risk,
        "baseline": found.risk.baseline_risk,
        "kept": found.promise_kept,
        "failing": found.already_failing,
        "stated": found.risk_stated,
        "effective": found.effective_members,
        "days": found.days_to_complete,
        "visits": found.expected_visits_number,
        "bound_by": list(found.bound_by),
        "notices": sorted({i.code for i in found.notices if i.severity is not Severity.NOTE}),
    }
