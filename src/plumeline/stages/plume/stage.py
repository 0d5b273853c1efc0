"""The plume stage: what each diffuser of a job lifts, as bands, with the chance that it breaks through."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from plumeline.errors import InputError
from plumeline.job.document import Job
from plumeline.notices import Notice, caution, note
from plumeline.science.gases import pressure_icao_1993
from plumeline.stages.plume.draws import MEMBERS, Source, prior_draws
from plumeline.stages.plume.engineers import engineers_transfer_kg_s
from plumeline.stages.plume.gas import GasPressure, gas_notices, gas_pressure
from plumeline.stages.plume.lift import Lift, solve_draws, solve_lift
from plumeline.stages.plume.water import Array, Water, water_of_rows
from plumeline.stages.plume.words import LIKELY_PROBABILITY, plume_words
from plumeline.stages.reading.profile import lines_of
from plumeline.units.showing import System

STAY_BELOW = (
    "Hardly any draw brings a plume of this air to the surface. Turnovers and the share served count the water that is "
    "lifted, and here it goes round in the deep water only: they do not mix the pond as it was read. More "
    "air at each diffuser, or diffusers set higher, would break through; the start-up says which."
)
"""Of plumes that all turn back: what turnovers then do not mean."""


@dataclass(frozen=True)
class DiffuserAir:
    """A diffuser as this stage needs it: its name, the depth of its membrane and its standard flow of air."""

    name: str
    depth_m: float
    air_m3_s: float


@dataclass(frozen=True)
class DiffuserPlume:
    """What one diffuser does.

    Attributes:
        name, depth_m, air_m3_s: as given.
        lift: the central case.
        water_flow_p05_m3_s, water_flow_p50_m3_s, water_flow_p95_m3_s: first plume, from the priors.
        surfacing_probability: share of the draws whose first plume surfaces.
        oxygen_transfer_kg_s: oxygen given to the water on the whole way, clean bubbles.
        engineers_transfer_kg_s: the same by the engineers' formula.
    """

    name: str
    depth_m: float
    air_m3_s: float
    lift: Lift
    water_flow_p05_m3_s: float
    water_flow_p50_m3_s: float
    water_flow_p95_m3_s: float
    surfacing_probability: float
    oxygen_transfer_kg_s: float
    engineers_transfer_kg_s: float

    def words(self, system: System | None = "us") -> str:
        """Return one sentence on what will be seen and what happens below; None: lengths in both systems."""
        return plume_words(self.lift, self.surfacing_probability, system)


@dataclass(frozen=True)
class PlumeResult:
    """What all diffusers lift.

    Attributes:
        diffusers: one for each diffuser, in the order given.
        water_flow_m3_s: sum of the first plumes, central case.
        water_flow_p05_m3_s, water_flow_p95_m3_s: band of that sum; one draw holds for all diffusers.
        notices: cautions.
        assumptions: what was taken as given.
        gas: what the pond comes to with the air on day and night; None where its size was not asked.
    """

    diffusers: tuple[DiffuserPlume, ...]
    water_flow_m3_s: float
    water_flow_p05_m3_s: float
    water_flow_p95_m3_s: float
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]
    gas: GasPressure | None = None


def with_gas(job: Job, found: PlumeResult, surface_m2: float, volume_m3: float) -> PlumeResult:
    """Return the plumes with the gas pressure that the pond comes to under them; arguments as in `gas_pressure`."""
    gas = _gas(job, found.diffusers, surface_m2, volume_m3)
    return replace(found, gas=gas, notices=(*found.notices, *gas_notices(gas)))


def gassed(
    job: Job, diffusers: Sequence[DiffuserAir], surface_m2: float, volume_m3: float
) -> tuple[Notice, ...]:
    """Return what to know of the gas pressure that the pond comes to; arguments as in `gas_pressure`."""
    return gas_notices(_gas(job, diffusers, surface_m2, volume_m3)) if job.profiles else ()


def _gas(
    job: Job, diffusers: Sequence[DiffuserAir | DiffuserPlume], surface_m2: float, volume_m3: float
) -> GasPressure | None:
    """Return the gas pressure under diffusers; None where none of them has air."""
    ends = [(one.depth_m, one.air_m3_s) for one in diffusers if one.air_m3_s > 0.0]
    source, pressure_pa = Source(job.air.disc_radius_m), pressure_icao_1993(job.site.elevation_m)
    return gas_pressure(water_of_job(job), ends, source, pressure_pa, surface_m2, volume_m3) if ends else None


def water_of_job(job: Job) -> Water:
    """Return the water of the job's last profile.

    Raises:
        InputError: the job has no profile.
    """
    profile = job.latest_profile
    if profile is None:
        raise InputError(
            "the job has no profile of temperature, so no plume can be worked out.",
            remedy="Give reading.surface and reading.bottom, or profiles.csv.",
            place="profiles.csv",
        )
    lines = lines_of(profile)
    return water_of_rows(lines.depth_m, lines.temperature_degc, lines.do_mg_l, lines.salinity_g_kg)


def water_flow_by_depth(job: Job, air_m3_s: float) -> Callable[[float], float]:
    """Return what one diffuser lifts as a function of its depth, for the layout.

    Args:
        job: the job, with a profile.
        air_m3_s: standard flow of air of one diffuser [m³/s].
    Returns:
        Depth of the membrane [m] → flow of the first plume, central case [m³/s]; rounds depth to 1 cm.
    Raises:
        InputError: the job has no profile.
    """
    water = water_of_job(job)
    pressure = pressure_icao_1993(job.site.elevation_m)
    source = Source(job.air.disc_radius_m)

    @cache
    def at_centimetre(depth_cm: int) -> float:
        return solve_lift(water, depth_cm / 100.0, air_m3_s, source, pressure).water_flow_m3_s

    return lambda depth_m: at_centimetre(round(depth_m * 100.0))


def plume(
    job: Job, diffusers: Sequence[DiffuserAir], *, seed: int = 1, members: int = MEMBERS
) -> PlumeResult:
    """Work out what each diffuser lifts in the water of the job's last profile.

    Args:
        job: the job, with a profile.
        diffusers: name, depth and air of each.
        seed: of the draws.
        members: how many draws.
    Returns:
        Bands by diffuser and in sum.
    Raises:
        InputError: the job has no profile.
        RangeError: a value that the plume model does not cover.
    """
    water = water_of_job(job)
    pressure = pressure_icao_1993(job.site.elevation_m)
    source = Source(job.air.disc_radius_m)
    draws = prior_draws(source, members, seed)
    total = np.zeros(members)
    found = []
    for diffuser in diffusers:
        one, flows = _one(diffuser, water, source, draws, pressure)
        total += flows
        found.append(one)
    low, high = (float(value) for value in np.quantile(total, (0.05, 0.95)))
    return PlumeResult(
        diffusers=tuple(found),
        water_flow_m3_s=sum(one.lift.water_flow_m3_s for one in found),
        water_flow_p05_m3_s=low,
        water_flow_p95_m3_s=high,
        notices=_notices(water, found),
        assumptions=(
            "top-hat entrainment coefficient 0.075, Froude number 1.6, bubble core 0.8 of the plume's radius",
            "oxygen transfer for bubbles of clean water: in pond water 0.4 to 1 of it",
            "each plume by itself: no wind, no current, no plume beside it",
            f"bands: 5 % to 95 % of {members} draws from the table of priors, one draw for all diffusers",
        ),
    )


def _one(
    diffuser: DiffuserAir, water: Water, source: Source, draws: Array, surface_pressure_pa: float
) -> tuple[DiffuserPlume, Array]:
    """Return what one diffuser does, and its flow in every draw."""
    depth_m, air_m3_s = diffuser.depth_m, diffuser.air_m3_s
    lift = solve_lift(water, depth_m, air_m3_s, source, surface_pressure_pa)
    flows, surfaces = solve_draws(water, depth_m, air_m3_s, draws, surface_pressure_pa)
    low, middle, high = (float(value) for value in np.quantile(flows, (0.05, 0.5, 0.95)))
    temperature_degc, do_mg_l, salinity_g_kg = water.means(depth_m)
    return DiffuserPlume(
        name=diffuser.name,
        depth_m=depth_m,
        air_m3_s=air_m3_s,
        lift=lift,
        water_flow_p05_m3_s=low,
        water_flow_p50_m3_s=middle,
        water_flow_p95_m3_s=high,
        surfacing_probability=float(np.mean(surfaces)),
        oxygen_transfer_kg_s=lift.oxygen_supplied_kg_s * lift.oxygen_transfer_efficiency_to_surface,
        engineers_transfer_kg_s=engineers_transfer_kg_s(
            depth_m, lift.oxygen_supplied_kg_s, temperature_degc, do_mg_l, salinity_g_kg, surface_pressure_pa
        ),
    ), flows


def _notices(water: Water, found: Sequence[DiffuserPlume]) -> tuple[Notice, ...]:
    """Return the cautions on the profile and on plumes that turn back."""
    notices: list[Notice] = []
    if found:
        notices.extend(water.notices(max(one.depth_m for one in found)))
    if found and max(one.surfacing_probability for one in found) < 1.0 - LIKELY_PROBABILITY:
        notices.append(caution("plumes-stay-below", STAY_BELOW))
    for one in found:
        if one.surfacing_probability < LIKELY_PROBABILITY:
            notices.append(caution("plume-turns-back", f"{one.name}: {one.words(None)}"))
    notices.append(
        note(
            "bubbles-give-little",
            "Bubbles themselves supply only a few percent of what a pond respires; the oxygen comes from "
            "bringing water to air and light.",
        )
    )
    return tuple(notices)
