"""The answer in the truck: what one diffuser lifts, from depth, air and a temperature or a profile."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from plumeline.notices import Notice, note
from plumeline.science.gases import pressure_icao_1993
from plumeline.stages.plume.draws import ALPHA_NUMBER, MEMBERS, Source, prior_draws
from plumeline.stages.plume.engineers import engineers_transfer_kg_s
from plumeline.stages.plume.lift import Lift, check_diffuser, solve_draws, solve_lift
from plumeline.stages.plume.water import Water
from plumeline.stages.plume.words import plume_words
from plumeline.units.showing import System


@dataclass(frozen=True)
class QuickPlume:
    """What one diffuser does.

    Attributes:
        lift: the central case.
        water_flow_p05_m3_s, water_flow_p95_m3_s: 90 % band of the flow, None when α was given.
        surfacing_probability: share of the draws whose first plume surfaces, None when α was given.
        oxygen_transfer_kg_s: oxygen given to the water on the whole way, clean bubbles.
        engineers_transfer_kg_s: the same by the engineers' formula.
        notices: cautions on the profile and on what the figures hold.
        assumptions: what was taken as given.
    """

    lift: Lift
    water_flow_p05_m3_s: float | None
    water_flow_p95_m3_s: float | None
    surfacing_probability: float | None
    oxygen_transfer_kg_s: float
    engineers_transfer_kg_s: float
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]

    def words(self, system: System = "us") -> str:
        """Return one sentence on what will be seen and what happens below."""
        return plume_words(self.lift, self.surfacing_probability, system)

    def as_json(self) -> dict[str, Any]:
        """Return the keys of ``quick plume --json``, all SI; those from the priors only where α was drawn."""
        keys: dict[str, Any] = {
            "water_flow_m3_s": self.lift.water_flow_m3_s,
            "reaches_surface": self.lift.reaches_surface,
            "stall_depth_m": self.lift.stall_depth_m,
            "neutral_depth_m": self.lift.neutral_depth_m,
            "oxygen_transfer_efficiency": self.lift.oxygen_transfer_efficiency,
            "oxygen_transfer_efficiency_to_surface": self.lift.oxygen_transfer_efficiency_to_surface,
            "peels": [asdict(peel) for peel in self.lift.peels],
        }
        if self.surfacing_probability is not None:
            keys["water_flow_p05_m3_s"] = self.water_flow_p05_m3_s
            keys["water_flow_p95_m3_s"] = self.water_flow_p95_m3_s
            keys["surfacing_probability"] = self.surfacing_probability
        return keys


def quick_plume(
    depth_m: float,
    air_m3_s: float,
    water: Water,
    *,
    alpha_number: float | None = None,
    bubble_radius_m: float | None = None,
    disc_radius_m: float = 0.115,
    elevation_m: float = 0.0,
    seed: int = 1,
    members: int = MEMBERS,
) -> QuickPlume:
    """Answer what one diffuser lifts.

    Args:
        depth_m: depth of the membrane below the water surface [m].
        air_m3_s: standard flow of air (68 °F, dry, 14.696 psia) [m³/s].
        water: one temperature, or a profile.
        alpha_number: top-hat entrainment coefficient; None takes 0.075 and gives the band of the priors.
        bubble_radius_m: radius of the bubbles; None takes 1 mm, and draws it for the band [m].
        disc_radius_m: radius of the membrane [m].
        elevation_m: of the pond above sea level [m].
        seed: of the draws.
        members: how many draws.
    Returns:
        The answer.
    Raises:
        RangeError: a value that the plume model does not cover.
    """
    source = Source(disc_radius_m, alpha_number, bubble_radius_m)
    check_diffuser(depth_m, air_m3_s, source)
    pressure = pressure_icao_1993(elevation_m)
    lift = solve_lift(water, depth_m, air_m3_s, source, pressure)
    low = high = share = None
    if alpha_number is None:
        flows, surfaces = solve_draws(water, depth_m, air_m3_s, prior_draws(source, members, seed), pressure)
        low, high = (float(value) for value in np.quantile(flows, (0.05, 0.95)))
        share = float(np.mean(surfaces))
    temperature_degc, do_mg_l, salinity_g_kg = water.means(depth_m)
    transfer = lift.oxygen_supplied_kg_s * lift.oxygen_transfer_efficiency_to_surface
    return QuickPlume(
        lift=lift,
        water_flow_p05_m3_s=low,
        water_flow_p95_m3_s=high,
        surfacing_probability=share,
        oxygen_transfer_kg_s=transfer,
        engineers_transfer_kg_s=engineers_transfer_kg_s(
            depth_m, lift.oxygen_supplied_kg_s, temperature_degc, do_mg_l, salinity_g_kg, pressure
        ),
        notices=(*water.notices(depth_m), *_notices(lift)),
        assumptions=_assumptions(alpha_number, members),
    )


def _notices(lift: Lift) -> tuple[Notice, ...]:
    """Return what the figures do not say by themselves."""
    found = [
        note(
            "bubbles-give-little",
            "Bubbles themselves supply only a few percent of what a pond respires; the oxygen comes from "
            "bringing water to air and light.",
        )
    ]
    if lift.water_flow_m3_s <= 0.0:
        found.append(note("no-plume", "So little air lifts no water that the model can see."))
    return tuple(found)


def _assumptions(alpha_number: float | None, members: int) -> tuple[str, ...]:
    """Return what was taken as given."""
    alpha = ALPHA_NUMBER if alpha_number is None else alpha_number
    found = [
        f"top-hat entrainment coefficient {alpha:g}, Froude number 1.6, bubble core 0.8 of the radius",
        "bubbles of clean water: in pond water 0.4 to 1 of the transfer",
        "still water without wind or current; the water at rest is not changed by the plume",
    ]
    if alpha_number is None:
        found.append(f"band: 5 % to 95 % of {members} draws from the table of priors")
    return tuple(found)
