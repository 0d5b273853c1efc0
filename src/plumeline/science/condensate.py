"""Water in compressed air: how much of it the air holds, and what falls out as the line cools."""

from __future__ import annotations

from plumeline.science.water import vapour_pressure_bolton_1980

MOLAR_MASS_RATIO_NUMBER = 0.621945
"""Molar mass of water over that of dry air."""


def humidity_ratio_ashrae_2021(vapour_pressure_pa: float, pressure_pa: float) -> float:
    """Mass of water vapour per mass of dry air.

    Equation: w = 0.621945 p_v / (p − p_v)

    Args:
        vapour_pressure_pa: partial pressure of the vapour [Pa].
        pressure_pa: absolute pressure of the moist air [Pa].

    Returns:
        Humidity ratio [kg of water per kg of dry air].

    Valid range: vapour pressure well under the pressure.

    Source: ASHRAE Handbook Fundamentals 2021, ch. 1 (psychrometrics; constant from memory).

    >>> round(humidity_ratio_ashrae_2021(2339.0, 101325.0), 5)
    0.0147
    """
    return MOLAR_MASS_RATIO_NUMBER * vapour_pressure_pa / (pressure_pa - vapour_pressure_pa)


def condensate_ashrae_2021(
    dry_mass_flow_kg_s: float,
    intake_temperature_degc: float,
    intake_humidity_fraction: float,
    intake_pressure_pa: float,
    line_temperature_degc: float,
    line_pressure_pa: float,
) -> float:
    """Water that falls out of air between a compressor's intake and a place on the line.

    Equation:
        ṁ_w = ṁ_a max(0, w_1 − w_2); w_1 = 0.621945 φ e_1/(p_1 − φ e_1); w_2 = 0.621945 e_2/(p_2 − e_2);
        e_1 = 611.2 exp(17.67 t_1/(t_1 + 243.5)); e_2 = 611.2 exp(17.67 t_2/(t_2 + 243.5)) (Bolton
        1980); 1 at the intake, 2 in the line; t in °C, p absolute in Pa

    Args:
        dry_mass_flow_kg_s: mass flow of dry air [kg/s].
        intake_temperature_degc: temperature at the intake [°C].
        intake_humidity_fraction: relative humidity at the intake [-].
        intake_pressure_pa: absolute pressure at the intake [Pa].
        line_temperature_degc: temperature of the air at the place [°C].
        line_pressure_pa: absolute pressure at the place [Pa].

    Returns:
        Mass of water [kg/s]; 0 where the air still holds all of it.

    Valid range: −10 to 45 °C at the intake, 0 to 45 °C in the line (over ice the air holds less still).

    Source: mass balance with the humidity ratio of ASHRAE Handbook Fundamentals 2021, ch. 1; saturation
        pressure by Bolton 1980.

    >>> psi = 6894.757293168
    >>> kg_s = condensate_ashrae_2021(1.47751e-3, 35.0, 0.6, 14.696 * psi, 15.5556, 20.696 * psi)
    >>> round(kg_s * 86400.0, 2)
    1.74
    """
    vapour_pa = intake_humidity_fraction * vapour_pressure_bolton_1980(intake_temperature_degc)
    drawn_in = humidity_ratio_ashrae_2021(vapour_pa, intake_pressure_pa)
    held = humidity_ratio_ashrae_2021(vapour_pressure_bolton_1980(line_temperature_degc), line_pressure_pa)
    return dry_mass_flow_kg_s * max(0.0, drawn_in - held)


RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "humidity_ratio_ashrae_2021": {
        "vapour_pressure_pa": (0.0, 1e4),
        "pressure_pa": (3e4, 2e6),
    },
    "condensate_ashrae_2021": {
        "dry_mass_flow_kg_s": (0.0, 1.0),
        "intake_temperature_degc": (-10.0, 45.0),
        "intake_humidity_fraction": (0.0, 1.0),
        "intake_pressure_pa": (5e4, 1.1e5),
        "line_temperature_degc": (0.0, 45.0),
        "line_pressure_pa": (5e4, 1e6),
    },
}
