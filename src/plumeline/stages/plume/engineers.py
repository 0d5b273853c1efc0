"""Oxygen transfer of a diffuser the engineers' way, to stand beside the plume's own."""

from __future__ import annotations

from plumeline.science.gases import STANDARD_PRESSURE_PA, do_saturation_benson_krause_1984
from plumeline.science.plume import oxygen_transfer_rate_asce_2006, saturation_at_depth_asce_2006
from plumeline.science.water import vapour_pressure_benson_krause_1980

STANDARD_TRANSFER_PER_M = 0.015 / 0.3048
"""Share of its oxygen that one fine-bubble disc gives to clean water without oxygen, by metre of depth: 1.5 %
a foot (judgement; 0.9 to 2.1)."""

EFFECTIVE_DEPTH_FRACTION = 0.35
"""Depth at which saturation counts, over the diffuser's: the middle of 0.25 to 0.44 (recalled)."""


def engineers_transfer_kg_s(
    depth_m: float,
    oxygen_supplied_kg_s: float,
    temperature_degc: float,
    do_mg_l: float,
    salinity_g_kg: float,
    surface_pressure_pa: float,
    alpha_factor_number: float = 1.0,
) -> float:
    """Return the oxygen that a disc gives to the water by the engineers' formula.

    Args:
        depth_m: depth of the membrane [m].
        oxygen_supplied_kg_s: oxygen in the air [kg/s].
        temperature_degc: mean temperature of the water over the diffuser [°C].
        do_mg_l: mean oxygen there [mg/L].
        salinity_g_kg: mean salt there [g/kg].
        surface_pressure_pa: air pressure [Pa].
        alpha_factor_number: αF; 1 for clean water and a clean membrane [-].
    Returns:
        Oxygen transfer rate [kg/s].
    """
    at_20 = do_saturation_benson_krause_1984(20.0, 0.0, STANDARD_PRESSURE_PA)
    fresh, salt = (
        do_saturation_benson_krause_1984(temperature_degc, salinity, STANDARD_PRESSURE_PA)
        for salinity in (0.0, salinity_g_kg)
    )
    return oxygen_transfer_rate_asce_2006(
        standard_rate_kg_s=STANDARD_TRANSFER_PER_M * depth_m * oxygen_supplied_kg_s,
        alpha_factor_number=alpha_factor_number,
        temperature_degc=temperature_degc,
        saturation_20_mg_l=saturation_at_depth_asce_2006(
            at_20, depth_m, EFFECTIVE_DEPTH_FRACTION, vapour_pressure_benson_krause_1980(20.0)
        ),
        saturation_ratio_number=fresh / at_20,
        salinity_factor_number=salt / fresh,
        pressure_ratio_number=surface_pressure_pa / STANDARD_PRESSURE_PA,
        do_mg_l=do_mg_l,
    )
