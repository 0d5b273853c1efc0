"""One pipe by itself: the quick answer in the truck."""

from __future__ import annotations

import math
from dataclasses import dataclass

from plumeline.errors import InputError, ModelError
from plumeline.notices import Notice, note
from plumeline.science import air as air_science
from plumeline.science import pipe as pipe_science
from plumeline.science.gases import pressure_icao_1993
from plumeline.stages.air.words import psi, scfm


@dataclass(frozen=True)
class PipeAnswer:
    """Air through one pipe."""

    pressure_drop_pa: float
    velocity_m_s: float
    """Mean velocity at the inlet; it rises along the pipe as the pressure falls."""
    reynolds_number: float
    outlet_pressure_pa: float
    """Gauge pressure at the outlet."""
    notices: tuple[Notice, ...] = ()


def quick_pipe(
    flow_standard_m3_s: float,
    length_m: float,
    bore_m: float,
    inlet_pressure_pa: float,
    temperature_degc: float,
    roughness_m: float = 1.5e-6,
    elevation_m: float = 0.0,
) -> PipeAnswer:
    """Return pressure drop, velocity and Reynolds number of air in one pipe, isothermal and compressible.

    Equation: p1² − p2² = G² R T [f L/D + 2 ln(p1/p2)], f by Churchill 1977.

    Args:
        flow_standard_m3_s: standard flow (68 °F, dry, 14.696 psia) [m³/s].
        length_m: length [m].
        bore_m: inside diameter [m].
        inlet_pressure_pa: gauge pressure at the inlet [Pa].
        temperature_degc: temperature of the air [°C].
        roughness_m: roughness of the wall [m].
        elevation_m: elevation of the place, for its air pressure [m].

    Returns:
        The answer, with a note in the transition from laminar to turbulent.

    Raises:
        InputError: a length or bore not over zero, a flow or gauge pressure below zero, a roughness or
            temperature that no pipe has.
        ModelError: the pipe can't carry that flow at that inlet pressure.
    """
    _check(flow_standard_m3_s, length_m, bore_m, inlet_pressure_pa, temperature_degc, roughness_m)
    ambient_pa = pressure_icao_1993(elevation_m)
    inlet_pa = inlet_pressure_pa + ambient_pa
    if flow_standard_m3_s == 0.0:
        return PipeAnswer(0.0, 0.0, 0.0, inlet_pressure_pa)
    temperature_k = temperature_degc + 273.15
    flow_kg_s = flow_standard_m3_s * air_science.density_clapeyron_1834(
        air_science.STANDARD_PRESSURE_PA, air_science.STANDARD_TEMPERATURE_K
    )
    viscosity_pa_s = air_science.viscosity_sutherland_1893(temperature_k)
    reynolds_number = pipe_science.reynolds_number_reynolds_1883(flow_kg_s, bore_m, viscosity_pa_s)
    friction = pipe_science.friction_factor_churchill_1977(reynolds_number, roughness_m / bore_m)
    resistance = pipe_science.resistance_number_crane_2009(friction, length_m, bore_m, 0.0)
    outlet_pa = pipe_science.downstream_pressure_isothermal_crane_2009(
        flow_kg_s, inlet_pa, resistance, bore_m, air_science.GAS_CONSTANT_J_KG_K, temperature_k
    )
    if not math.isfinite(outlet_pa) or outlet_pa < ambient_pa:
        raise ModelError(
            f"this pipe can't carry {scfm(flow_standard_m3_s)} from {psi(inlet_pressure_pa)}: friction would "
            "take more pressure than there is.",
            remedy="Take a larger bore, a shorter line, less air or a higher inlet pressure.",
            place="--inlet-pressure",
        )
    density_kg_m3 = air_science.density_clapeyron_1834(inlet_pa, temperature_k)
    velocity_m_s = flow_kg_s / (density_kg_m3 * 0.25 * math.pi * bore_m**2)
    notices = []
    if 2000.0 < reynolds_number < 4000.0:
        words = "Between laminar and turbulent (Re 2000 to 4000): friction is uncertain by 30 %."
        notices.append(note("air-transition", words))
    return PipeAnswer(
        inlet_pa - outlet_pa, velocity_m_s, reynolds_number, outlet_pa - ambient_pa, tuple(notices)
    )


def _check(
    flow_standard_m3_s: float,
    length_m: float,
    bore_m: float,
    inlet_pressure_pa: float,
    temperature_degc: float,
    roughness_m: float,
) -> None:
    """Refuse what no pipe can be."""
    bad: list[tuple[bool, str, str, str]] = [
        (not length_m > 0.0, "--length", f"a length of {length_m:g} m", "Give a length over zero."),
        (
            not 0.0005 <= bore_m <= 1.0,
            "--bore",
            f"a bore of {bore_m * 1000:g} mm",
            "Give the inside diameter.",
        ),
        (
            not flow_standard_m3_s >= 0.0,
            "--air",
            f"a flow of {flow_standard_m3_s:g} m³/s",
            "Air does not flow backwards here.",
        ),
        (
            not inlet_pressure_pa >= 0.0,
            "--inlet-pressure",
            f"a gauge pressure of {inlet_pressure_pa:g} Pa",
            "Give a gauge pressure of zero or more.",
        ),
        (
            not -60.0 <= temperature_degc <= 200.0,
            "--temperature",
            f"air at {temperature_degc:g} °C",
            "Give −60 to 200 °C.",
        ),
        (
            not 0.0 <= roughness_m <= 0.05 * bore_m,
            "--roughness",
            f"a roughness of {roughness_m * 1000:g} mm in a bore of {bore_m * 1000:g} mm",
            "Plastic has 0.0015 mm, steel 0.046 mm.",
        ),
    ]
    for wrong, place, what, remedy in bad:
        if wrong:
            raise InputError(f"{what} can't be.", remedy=remedy, place=place)
