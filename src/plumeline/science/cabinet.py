"""The air in a cabinet: what a draught through its openings carries, and what the sun adds."""

from __future__ import annotations

import math

GRAVITY_M_S2 = 9.80665
HEAT_CAPACITY_J_KG_K = 1006.0
"""Specific heat of air at constant pressure."""
OPENING_NUMBER = 0.65
"""Discharge coefficient of an opening through which air goes one way."""


def stack_flow_ashrae_2021(
    opening_area_m2: float, height_m: float, rise_k: float, outside_temperature_degc: float
) -> float:
    """Flow of air that rises through a warm cabinet with as much opening below as above.

    Equation: Q = C A √(2 g Δh ΔT/T_i), Δh = H/2 (the neutral level lies midway), C = 0.65, T_i the air inside

    Args:
        opening_area_m2: net free area of the low openings; the high ones have as much [m²].
        height_m: height from the low openings to the high ones, H [m].
        rise_k: air inside over air outside [K].
        outside_temperature_degc: air outside [°C].

    Returns:
        Volume flow [m³/s].

    Valid range: still air outside; openings without fine screens.

    Source: ASHRAE Handbook of Fundamentals 2021, chapter 16, airflow caused by thermal forces (from memory).

    >>> round(stack_flow_ashrae_2021(0.04, 0.5, 10.0, 35.0), 4)
    0.0102
    """
    inside_k = outside_temperature_degc + 273.15 + rise_k
    return (
        OPENING_NUMBER * opening_area_m2 * math.sqrt(2.0 * GRAVITY_M_S2 * 0.5 * height_m * rise_k / inside_k)
    )


def heat_carried_ashrae_2021(flow_m3_s: float, air_density_kg_m3: float, rise_k: float) -> float:
    """Heat that a flow of air carries out of a cabinet.

    Equation: q = ρ c Q ΔT

    Args:
        flow_m3_s: volume flow [m³/s].
        air_density_kg_m3: density of the air that comes in [kg/m³].
        rise_k: air that goes out over air that comes in [K].

    Returns:
        Heat [W].

    Valid range: any.

    Source: ASHRAE Handbook of Fundamentals 2021, chapter 18, sensible heat of air (from memory).

    >>> round(heat_carried_ashrae_2021(0.0472, 1.204, 10.0))
    572
    """
    return air_density_kg_m3 * HEAT_CAPACITY_J_KG_K * flow_m3_s * rise_k


def sol_air_excess_ashrae_2021(
    absorbed_fraction: float, sun_w_m2: float, outside_coefficient_w_m2_k: float
) -> float:
    """How much warmer than the air the outside of a lit wall acts.

    Equation: T_sol-air − T_air = α I/h_o, without what the wall radiates to a clear sky

    Args:
        absorbed_fraction: part of the sun that the surface takes, α [-].
        sun_w_m2: sun on the surface [W/m²].
        outside_coefficient_w_m2_k: heat transfer to air and surroundings, h_o [W/(m² K)].

    Returns:
        Excess over the air [K].

    Valid range: opaque walls.

    Source: ASHRAE Handbook of Fundamentals 2021, chapter 18, sol-air temperature (from memory).

    >>> sol_air_excess_ashrae_2021(0.6, 300.0, 18.0)
    10.0
    """
    return absorbed_fraction * sun_w_m2 / outside_coefficient_w_m2_k


RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "stack_flow_ashrae_2021": {
        "opening_area_m2": (0.0, 20.0),
        "height_m": (0.0, 20.0),
        "rise_k": (0.0, 200.0),
        "outside_temperature_degc": (-40.0, 60.0),
    },
    "heat_carried_ashrae_2021": {
        "flow_m3_s": (0.0, 10.0),
        "air_density_kg_m3": (0.5, 1.6),
        "rise_k": (0.0, 200.0),
    },
    "sol_air_excess_ashrae_2021": {
        "absorbed_fraction": (0.0, 1.0),
        "sun_w_m2": (0.0, 1400.0),
        "outside_coefficient_w_m2_k": (5.0, 50.0),
    },
}
