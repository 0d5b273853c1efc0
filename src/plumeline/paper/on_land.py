"""The route on land and the pipe in the ground, as the paper prints them; None where a job has neither."""

from __future__ import annotations

from typing import Any

from plumeline.pairs import pair
from plumeline.paper.figures import bore, per_cent, pressure, pressure_unit, tape, water_words
from plumeline.paper.tables import kinds_table, low_points_table
from plumeline.stages.air import AirResult
from plumeline.stages.air.old_pipe import OldPipeProof
from plumeline.stages.air.route import RouteResult
from plumeline.stages.air.trench import TrenchPlan
from plumeline.units import show
from plumeline.units.showing import System

UNDATED = (
    "The trench has no date here: that takes the utility-locate ticket's number and its expiry. Do not dig."
)
"""What stands where a dated line may not."""
REFUSED = "The route runs in an earthen dam: no trench, pipe or anchor there. Nothing is dug by this paper."


def route_part(air: AirResult, system: System) -> dict[str, Any] | None:
    """Return what the paper says of the route."""
    found = air.route
    if found is None:
        return None
    return {
        "words": [*_words(found, system), *_trench_words(found.trench, system)],
        "dated": found.trench.dated_line or (REFUSED if found.trench.dam_m else UNDATED),
        "low_points": low_points_table(found, system) if found.low_points else None,
        "alt": "Profile of the air line on land: ground, pipe, low points, crossings, water.",
        "caption": "From the compressor at the left to the water; heights are stretched. Circles: water gathers here.",
    }


def _words(found: RouteResult, system: System) -> list[str]:
    way = "falls" if found.fall_m >= 0.0 else "climbs"
    rest = (
        "all the way, so no water stays in it." if found.slope_to_water else "in all, but water stays in it."
    )
    words = [
        f"Over {tape(found.length_m, system)} the line {way} {show(abs(found.fall_m), 'm', system)} to the water "
        f"({per_cent(abs(found.slope_fraction), 1)}) {rest}",
        f"On a day as hot and damp as the intake's {water_words(found.condensate_kg_d, system)} of water "
        f"falls out in it.",
    ]
    if found.plugged_gauge_pa is not None:
        words.append(
            f"With every low point full the compressor's gauge reads up to "
            f"{pressure(found.plugged_gauge_pa, system)} "
            f"{pressure_unit(system)}."
        )
    return words


def _trench_words(plan: TrenchPlan, system: System) -> list[str]:
    if plan.dam_m:
        return []
    soil = f"{plan.volume_m3 / 0.764554857984:.1f} yd³" if system == "us" else f"{plan.volume_m3:.1f} m³"
    return [
        f"Trench: {tape(plan.length_m, system)}, {show(plan.mean_depth_m, 'm', system)} deep in the mean, "
        f"{soil} of soil "
        "in place."
    ]


def old_pipe_part(air: AirResult, system: System) -> dict[str, Any] | None:
    """Return what the paper says of a pipe that is in the ground already."""
    found = air.old_pipe
    if found is None:
        return None
    return {"words": _proof_words(found, system), "kinds": kinds_table(found, system)}


def _proof_words(found: OldPipeProof, system: System) -> list[str]:
    unit = pressure_unit(system)
    words = [
        f"{found.verdict_words[:1].upper()}{found.verdict_words[1:]}.",
        f"Bore {bore(found.bore_m, system)}, with nine in ten {bore(found.bore_p05_m, system)} to "
        f"{bore(found.bore_p95_m, system)}{' (print line)' if found.printed else ''}.",
    ]
    if found.bands is not None:
        band = found.bands.compressor
        words.append(
            f"Over those bores the compressor's gauge reads {pressure(band.p05_pa, system)} to "
            f"{pressure(band.p95_pa, system)} {unit} with the valves set."
        )
    words.append(
        f"Test with air at {pressure(found.test_pressure_pa, system)} {unit} at most, people clear of "
        f"pipe and ends; never "
        f"at {pair('100 psi', '690 kPa')} ({found.high_test_energy_j / 1000.0:.0f} kJ in this pipe against "
        f"{found.test_energy_j / 1000.0:.2g} kJ)."
    )
    return words
