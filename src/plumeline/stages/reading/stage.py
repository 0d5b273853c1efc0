"""From the latest profile and the basin to the water as it stands, weighed with the basin's real shape."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Protocol

import numpy as np

from plumeline.errors import InputError
from plumeline.job.document import Bottle, Job, Profile
from plumeline.notices import Notice, Severity, note
from plumeline.stages.limits import refuge_limits
from plumeline.stages.reading.bottle import bottle_demand
from plumeline.stages.reading.conditions import aware, hours_near, station_pressure_pa, wind_check
from plumeline.stages.reading.debt import Debt, oxygen_debt
from plumeline.stages.reading.findings import findings
from plumeline.stages.reading.layers import layers_of
from plumeline.stages.reading.mixing import MixedChemistry, mixed_chemistry
from plumeline.stages.reading.profile import Lines, lines_of, odd_notices
from plumeline.stages.reading.result import MixedNow, Reading
from plumeline.stages.reading.shares import shares_of
from plumeline.stages.reading.slices import BasinByDepth, Slices, crossings_m, slices_of
from plumeline.stages.reading.strata import schmidt_stability_j_m2, volume_centre_m

HYPOXIC_MG_L = 2.0
WIND_WORDS = "Wind: as recorded; banks and trees let less reach the water, so the Lake Number is a low bound."
BOTTLE_AGE_D = 10
"""Bottles older or younger than this against the profile say nothing about that day's water (judgement)."""


class SurveyLike(Protocol):
    """What the reading needs of a survey."""

    @property
    def hypsograph(self) -> BasinByDepth:
        """Area and volume by depth."""


@dataclass(frozen=True, eq=False)
class _Weighed:
    """A profile with the basin it is weighed with."""

    profile: Profile
    lines: Lines
    slices: Slices
    volume_m3: float
    mixed_temperature_degc: float
    oxygen_kg: float
    debt: Debt
    notices: tuple[Notice, ...]


def latest_profile(job: Job) -> Profile:
    """Return the latest profile that shows layers.

    Raises:
        InputError: the job has none.
    """
    latest = job.latest_profile
    if latest is None:
        raise InputError(
            "the job has no reading of temperature and oxygen.",
            remedy="Fill in profiles.csv, or reading.surface and reading.bottom in job.toml.",
            place="profiles.csv",
        )
    return latest


def _weigh(job: Job, survey: SurveyLike) -> _Weighed:
    """Cut the basin at the profile's corners and sum temperature, oxygen and debt over it."""
    profile = latest_profile(job)
    lines = lines_of(profile)
    slices = slices_of(survey.hypsograph, lines.corners_m())
    volume = float(slices.volume_m3.sum())
    temperature = slices.integral(lines.line(lines.temperature_degc)) / volume
    oxygen = slices.integral(lines.line(lines.do_mg_l)) / 1000.0
    used, notices = _bottles(job, profile)
    debt, heard = oxygen_debt(lines, slices, used, temperature)
    return _Weighed(profile, lines, slices, volume, temperature, oxygen, debt, (*notices, *heard))


def _bottles(job: Job, profile: Profile) -> tuple[tuple[Bottle, ...], tuple[Notice, ...]]:
    """Return the bottles of the days about the profile, the latest at each depth."""
    zone = job.site.time_zone
    at, span = aware(profile.time, zone), timedelta(days=BOTTLE_AGE_D)
    near = [bottle for bottle in job.bottles if abs(aware(bottle.time, zone) - at) <= span]
    latest = {bottle.depth_m: bottle for bottle in near}
    left = len(job.bottles) - len(near)
    if not left:
        return tuple(latest.values()), ()
    count = f"{left} bottle test{'s' if left > 1 else ''}"
    text = f"{count} more than {BOTTLE_AGE_D} days from the profile left out."
    return tuple(latest.values()), (note("bottle-left-out", text),)


def mixed_now(job: Job, survey: SurveyLike) -> MixedNow:
    """Return the whole pond if it all turned over now.

    Args:
        job: profile, bottles
        survey: the basin

    Returns:
        temperature [°C], oxygen before and after the first day's debt [mg/L], the debt [kg]

    Raises:
        InputError: the job has no profile, or two readings at one depth.
    """
    return _mixed(_weigh(job, survey))


def mixed_chemistry_now(job: Job, survey: SurveyLike) -> tuple[MixedChemistry | None, tuple[Notice, ...]]:
    """Return pH and ammonia of the whole pond if it all turned over now.

    Args:
        job: the profile, with pH, alkalinity and ammonia where read
        survey: the basin

    Returns:
        the chemistry, None where pH and alkalinity contradict each other, and cautions

    Raises:
        InputError: the job has no profile, or two readings at one depth.
    """
    return _chemistry(_weigh(job, survey))


def _chemistry(weighed: _Weighed) -> tuple[MixedChemistry | None, tuple[Notice, ...]]:
    return mixed_chemistry(weighed.lines, weighed.slices, weighed.mixed_temperature_degc)


def _mixed(weighed: _Weighed) -> MixedNow:
    """Return the mixed column of a weighed profile."""
    first, volume = weighed.debt.first_day, weighed.volume_m3

    def after_mg_l(debt_kg: float) -> float:
        return max(weighed.oxygen_kg - debt_kg, 0.0) * 1000.0 / volume

    return MixedNow(
        temperature_degc=weighed.mixed_temperature_degc,
        do_mg_l=weighed.oxygen_kg * 1000.0 / volume,
        do_after_debt_mg_l=after_mg_l(first.central_kg),
        debt_kg=first.central_kg,
        do_after_debt_low_mg_l=after_mg_l(first.high_kg),
        do_after_debt_high_mg_l=after_mg_l(first.low_kg),
        debt_low_kg=first.low_kg,
        debt_high_kg=first.high_kg,
        debt_total_kg=weighed.debt.total.central_kg,
        volume_m3=volume,
    )


def reading(job: Job, survey: SurveyLike, *, hypoxic_below_mg_l: float = HYPOXIC_MG_L) -> Reading:
    """Read the water column of the latest profile over the basin's real hypsograph.

    Args:
        job: profile, bottles, weather, fish
        survey: the basin
        hypoxic_below_mg_l: threshold of the hypoxic share [mg/L]

    Returns:
        the reading

    Raises:
        InputError: the job has no profile, or two readings at one depth.
    """
    limits, heard = refuge_limits(job.fish)
    weighed = _weigh(job, survey)
    lines, slices = weighed.lines, weighed.slices
    pressure, pressure_words = station_pressure_pa(job, weighed.profile.time)
    layers, assumed = layers_of(lines, pressure, limits)
    full = [layer.do_saturation_mg_l for layer in layers]
    short = [sat - layer.do_mg_l for sat, layer in zip(full, layers, strict=True)]
    cut = slices_of(survey.hypsograph, (*lines.depth_m, *crossings_m(lines.depth_m, short, 0.0)))
    missing = cut.integral(lambda z: np.maximum(lines.line(short)(z), 0.0))
    wind_words = (WIND_WORDS,) if hours_near(job, weighed.profile.time) else ()
    stability = schmidt_stability_j_m2(slices, lines.line(lines.density_kg_m3))
    centre = volume_centre_m(slices)
    frequencies = [
        layer.buoyancy_frequency_squared_per_s2
        for layer in layers
        if layer.buoyancy_frequency_squared_per_s2 is not None
    ]
    result = Reading(
        time=weighed.profile.time,
        profile_id=weighed.profile.id,
        pressure_pa=pressure,
        layers=layers,
        strata=lines.strata,
        stability_j_m2=stability,
        volume_centre_depth_m=centre,
        max_buoyancy_frequency_squared_per_s2=max(frequencies, default=None),
        wind=wind_check(
            job,
            weighed.profile.time,
            lines,
            stability_j_m2=stability,
            area_m2=float(slices.top_m2[0]),
            volume_centre_depth_m=centre,
        ),
        shares=shares_of(survey.hypsograph, lines, layers, limits, hypoxic_below_mg_l),
        limits=limits,
        oxygen_kg=weighed.oxygen_kg,
        oxygen_at_saturation_kg=slices.integral(lines.line(full)) / 1000.0,
        deficit_kg=missing / 1000.0,
        debt=weighed.debt,
        mixed_now=_mixed(weighed),
        mixed_chemistry=_chemistry(weighed)[0],
        bottles=tuple(bottle_demand(bottle) for bottle in _bottles(job, weighed.profile)[0]),
        notices=(),
        assumptions=(pressure_words, *assumed, *wind_words),
    )
    odd = odd_notices(lines, float(slices.bottom_m[-1]))
    return _with_notices(result, (*findings(job, result), *odd, *weighed.notices, *heard))


def _with_notices(result: Reading, notices: tuple[Notice, ...]) -> Reading:
    """Return the reading with its notices, the gravest first."""
    order = (Severity.DANGER, Severity.CAUTION, Severity.NOTE)
    return replace(result, notices=tuple(sorted(notices, key=lambda notice: order.index(notice.severity))))
