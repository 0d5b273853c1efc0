"""Water that falls out in a buried line: per day, and along the way."""

from __future__ import annotations

from plumeline.science.air import STANDARD_PRESSURE_PA, STANDARD_TEMPERATURE_K, density_clapeyron_1834
from plumeline.science.condensate import condensate_ashrae_2021

DAY_S = 86400.0


def condensate_kg_d(
    flow_standard_m3_s: float,
    pressure_pa: float,
    intake_temperature_degc: float,
    intake_humidity_fraction: float,
    line_temperature_degc: float,
    ambient_pressure_pa: float = STANDARD_PRESSURE_PA,
) -> float:
    """Return the water [kg/d] that has fallen out of the air where it has a line's temperature and pressure.

    Args:
        flow_standard_m3_s: flow of standard dry air [m³/s].
        pressure_pa: gauge pressure at the place [Pa].
        intake_temperature_degc: temperature at the compressor's intake [°C].
        intake_humidity_fraction: relative humidity there.
        line_temperature_degc: temperature of the air at the place [°C]; that of the soil far along a buried line.
        ambient_pressure_pa: absolute pressure of the open air [Pa].
    """
    dry_kg_s = flow_standard_m3_s * density_clapeyron_1834(STANDARD_PRESSURE_PA, STANDARD_TEMPERATURE_K)
    return DAY_S * condensate_ashrae_2021(
        dry_kg_s,
        intake_temperature_degc,
        intake_humidity_fraction,
        ambient_pressure_pa,
        line_temperature_degc,
        ambient_pressure_pa + pressure_pa,
    )
