"""One pipe alone: the pressure that a flow of air loses on its way, isothermal and compressible."""

from __future__ import annotations

import math
from dataclasses import dataclass

from plumeline.errors import ModelError, RangeError
from plumeline.notices import Notice, caution
from plumeline.science.air import (
    GAS_CONSTANT_J_KG_K,
    STANDARD_PRESSURE_PA,
    STANDARD_TEMPERATURE_K,
    density_clapeyron_1834,
    viscosity_sutherland_1893,
)
from plumeline.science.pipe import (
    downstream_pressure_isothermal_crane_2009,
    friction_factor_churchill_1977,
    resistance_number_crane_2009,
    reynolds_number_reynolds_1883,
)
from plumeline.stages.checked import checked

TRANSITION_REYNOLDS_NUMBER = (2000.0, 4000.0)


@dataclass(frozen=True)
class SinglePipe:
    """What one pipe does to a flow of air.

    Attributes:
        pressure_drop_pa: inlet less outlet pressure [Pa].
        velocity_m_s: mean velocity at the inlet [m/s].
        outlet_velocity_m_s: mean velocity at the outlet, where the air has expanded [m/s].
        reynolds_number: 4 ṁ/(π D μ), the same along the pipe.
        friction_factor_number: Darcy friction factor by Churchill 1977.
        outlet_pressure_pa: absolute pressure at the outlet [Pa].
        notices: warnings.
        assumptions: what was taken as given.
    """

    pressure_drop_pa: float
    velocity_m_s: float
    outlet_velocity_m_s: float
    reynolds_number: float
    friction_factor_number: float
    outlet_pressure_pa: float
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]


def single_pipe(
    standard_flow_m3_s: float,
    length_m: float,
    bore_m: float,
    inlet_pressure_pa: float,
    air_pressure_pa: float,
    temperature_degc: float,
    roughness_m: float,
) -> SinglePipe:
    """Return the pressure drop of a flow of air along one pipe of constant temperature.

    Args:
        standard_flow_m3_s: flow at 68 °F, dry, 14.696 psia [m³/s].
        length_m: length of the pipe [m].
        bore_m: inside diameter [m].
        inlet_pressure_pa: gauge pressure at the inlet [Pa].
        air_pressure_pa: absolute pressure of the air around [Pa].
        temperature_degc: temperature of the air in the pipe [°C].
        roughness_m: roughness of the wall [m].

    Raises:
        RangeError: an argument is outside the range in which the relations hold.
        ModelError: the pipe can't carry so much air from that inlet pressure.
    """
    if roughness_m >= 0.05 * bore_m:
        raise RangeError(
            f"a roughness of {1000 * roughness_m:g} mm in a bore of {1000 * bore_m:g} mm is over its 5 %.",
            remedy="Check the unit of the roughness; drawn tubing has 0.0015 mm.",
        )
    temperature_k = temperature_degc + 273.15
    viscosity_pa_s, _ = checked(viscosity_sutherland_1893, temperature_k=temperature_k)
    mass_flow_kg_s = standard_flow_m3_s * density_clapeyron_1834(STANDARD_PRESSURE_PA, STANDARD_TEMPERATURE_K)
    reynolds_number, _ = checked(
        reynolds_number_reynolds_1883,
        mass_flow_kg_s=mass_flow_kg_s,
        bore_m=bore_m,
        viscosity_pa_s=viscosity_pa_s,
    )
    friction = friction_factor_churchill_1977(reynolds_number, roughness_m / bore_m)
    inlet_pa = inlet_pressure_pa + air_pressure_pa
    outlet_pa, _ = checked(
        downstream_pressure_isothermal_crane_2009,
        mass_flow_kg_s=mass_flow_kg_s,
        inlet_pressure_pa=inlet_pa,
        resistance_number=resistance_number_crane_2009(friction, length_m, bore_m, 0.0),
        bore_m=bore_m,
        gas_constant_j_kg_k=GAS_CONSTANT_J_KG_K,
        temperature_k=temperature_k,
    )
    if math.isnan(outlet_pa):
        raise ModelError(
            "the pipe can't carry that much air from that inlet pressure: it would have no pressure left.",
            remedy="Use a wider or shorter pipe, less air, or more pressure.",
        )
    mass_flux = mass_flow_kg_s / (math.pi / 4 * bore_m**2)
    return SinglePipe(
        pressure_drop_pa=inlet_pa - outlet_pa,
        velocity_m_s=mass_flux / density_clapeyron_1834(inlet_pa, temperature_k),
        outlet_velocity_m_s=mass_flux / density_clapeyron_1834(outlet_pa, temperature_k),
        reynolds_number=reynolds_number,
        friction_factor_number=friction,
        outlet_pressure_pa=outlet_pa,
        notices=_notices(reynolds_number, outlet_pa, air_pressure_pa),
        assumptions=("a straight pipe without fittings", "air of the same temperature all along"),
    )


def _notices(reynolds_number: float, outlet_pa: float, air_pressure_pa: float) -> tuple[Notice, ...]:
    """Return the warnings: flow between laminar and turbulent, an outlet under the air's pressure."""
    out = []
    low, high = TRANSITION_REYNOLDS_NUMBER
    if low < reynolds_number < high:
        out.append(
            caution(
                "pipe-transition",
                f"The Reynolds number {reynolds_number:.0f} lies between laminar and turbulent flow: "
                "the drop is uncertain by 30 %.",
            )
        )
    if outlet_pa < air_pressure_pa:
        out.append(
            caution(
                "pipe-no-pressure-left",
                "The pressure at the outlet is below the air's: the inlet pressure can't drive so much air.",
            )
        )
    return tuple(out)
