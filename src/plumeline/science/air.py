"""Air: its properties, standard flows, compression, cooling along a line, and the energy it stores."""

from __future__ import annotations

import math

GAS_CONSTANT_J_KG_K = 287.055
"""Specific gas constant of dry air."""
HEAT_CAPACITY_J_KG_K = 1006.0
"""Specific heat of dry air at constant pressure, near 300 K."""
HEAT_RATIO_NUMBER = 1.4
"""Ratio of specific heats of dry air."""
PRANDTL_NUMBER = 0.71
"""Prandtl number of air, 0 to 100 °C."""
STANDARD_PRESSURE_PA = 14.696 * 6894.757293168
"""Pressure of standard air as this trade counts it: 14.696 psia."""
STANDARD_TEMPERATURE_K = 293.15
"""Temperature of standard air as this trade counts it: 68 °F, dry."""


def viscosity_sutherland_1893(temperature_k: float) -> float:
    """Dynamic viscosity of air.

    Equation:
        μ = 1.716e-5 (T/273.15)^1.5 383.55/(T + 110.4); T in K, μ in Pa·s

    Args:
        temperature_k: temperature [K].

    Returns:
        Dynamic viscosity [Pa s].

    Valid range: 170 to 1,900 K.

    Source: Sutherland 1893, Phil. Mag. 36:507; constants as in U.S. Standard Atmosphere 1976 and White 2006.

    >>> round(viscosity_sutherland_1893(308.15) * 1e5, 3)
    1.884
    """
    return float(1.716e-5 * (temperature_k / 273.15) ** 1.5 * 383.55 / (temperature_k + 110.4))


def conductivity_us_standard_atmosphere_1976(temperature_k: float) -> float:
    """Thermal conductivity of air.

    Equation:
        k = 2.64638e-3 T^1.5/(T + 245.4 × 10^(−12/T)); T in K, k in W/(m·K)

    Args:
        temperature_k: temperature [K].

    Returns:
        Thermal conductivity [W/(m K)].

    Valid range: 180 to 500 K.

    Source: U.S. Standard Atmosphere 1976, eq. 53 (from memory; equal to the `fluids` library's).

    >>> round(conductivity_us_standard_atmosphere_1976(288.15), 5)
    0.02533
    """
    return float(2.64638e-3 * temperature_k**1.5 / (temperature_k + 245.4 * 10.0 ** (-12.0 / temperature_k)))


def density_clapeyron_1834(pressure_pa: float, temperature_k: float) -> float:
    """Density of dry air as an ideal gas.

    Equation:
        ρ = p/(R T); R = 287.055 J/(kg·K); p absolute in Pa, T in K

    Args:
        pressure_pa: absolute pressure [Pa].
        temperature_k: temperature [K].

    Returns:
        Density [kg/m³].

    Valid range: 2e4 to 2e6 Pa, 230 to 480 K, within 1 %.

    Source: ideal gas law (Clapeyron 1834), R = 287.055 J/(kg K).

    >>> round(density_clapeyron_1834(STANDARD_PRESSURE_PA, STANDARD_TEMPERATURE_K), 4)
    1.2041
    """
    return pressure_pa / (GAS_CONSTANT_J_KG_K * temperature_k)


def standard_flow_iso_1217_2009(
    intake_flow_m3_s: float, intake_pressure_pa: float, vapour_pressure_pa: float, intake_temperature_k: float
) -> float:
    """Standard flow (68 °F, dry, 14.696 psia) of a volume flow at the compressor's intake.

    Equation: q_std = q_in ((p_in − p_v)/p_std) (T_std/T_in)

    Args:
        intake_flow_m3_s: volume flow at the intake, after the filter [m³/s].
        intake_pressure_pa: absolute pressure there [Pa].
        vapour_pressure_pa: partial pressure of water vapour there [Pa]; 0 for dry air.
        intake_temperature_k: temperature there [K].

    Returns:
        Standard flow of dry air [m³/s].

    Valid range: 5e4 to 1.1e5 Pa, 230 to 330 K.

    Source: ISO 1217:2009 annexes on free air delivery (from memory); ideal gas.

    >>> round(standard_flow_iso_1217_2009(4.5, STANDARD_PRESSURE_PA, 0.0, 308.15), 3)
    4.281
    """
    return (
        intake_flow_m3_s
        * (intake_pressure_pa - vapour_pressure_pa)
        / STANDARD_PRESSURE_PA
        * STANDARD_TEMPERATURE_K
        / intake_temperature_k
    )


def intake_flow_iso_1217_2009(
    standard_flow_m3_s: float,
    intake_pressure_pa: float,
    vapour_pressure_pa: float,
    intake_temperature_k: float,
) -> float:
    """Volume flow at a state of the air that carries a standard flow: the inverse of the standard flow.

    Equation:
        q_in = q_std (p_std/(p_in − p_v)) (T_in/T_std); p_std = 14.696 × 6894.757293168; T_std = 293.15
        K; pressures absolute in Pa

    Args:
        standard_flow_m3_s: standard flow of dry air [m³/s].
        intake_pressure_pa: absolute pressure there [Pa].
        vapour_pressure_pa: partial pressure of water vapour there [Pa]; 0 for dry air.
        intake_temperature_k: temperature there [K].

    Returns:
        Volume flow at that state [m³/s].

    Valid range: 5e4 to 1e6 Pa, 230 to 480 K.

    Source: ISO 1217:2009 annexes on free air delivery (from memory); ideal gas.

    >>> psi = 6894.757293168
    >>> round(intake_flow_iso_1217_2009(2.6, 20.696 * psi, 0.0, 308.15), 3)
    1.941
    """
    return (
        standard_flow_m3_s
        * STANDARD_PRESSURE_PA
        / (intake_pressure_pa - vapour_pressure_pa)
        * intake_temperature_k
        / STANDARD_TEMPERATURE_K
    )


def discharge_temperature_mills_2004(
    intake_temperature_k: float, pressure_ratio_number: float, compression_efficiency: float
) -> float:
    """Temperature of the air as it leaves a compressor.

    Equation:
        T2 = T1 (1 + (r^((k − 1)/k) − 1)/η); k = 1.4; T in K

    Args:
        intake_temperature_k: temperature at the intake [K].
        pressure_ratio_number: absolute outlet pressure over absolute intake pressure, r [-].
        compression_efficiency: isentropic efficiency, η [-].

    Returns:
        Outlet temperature [K].

    Valid range: r 1 to 4, η 0.2 to 1, no heat lost in the machine.

    Source: Mills 2004, Pneumatic Conveying Design Guide, as quoted at powderprocess.net.

    >>> round((discharge_temperature_mills_2004(308.15, 20.696 / 14.696, 1.0) - 273.15) * 1.8 + 32.0, 1)
    152.0
    """
    exponent = (HEAT_RATIO_NUMBER - 1.0) / HEAT_RATIO_NUMBER
    return float(
        intake_temperature_k * (1.0 + (pressure_ratio_number**exponent - 1.0) / compression_efficiency)
    )


def adiabatic_power_perry_2008(
    intake_pressure_pa: float, intake_flow_m3_s: float, pressure_ratio_number: float
) -> float:
    """Power of an ideal adiabatic compression in one stage.

    Equation:
        W = p1 V1 (k/(k − 1)) (r^((k − 1)/k) − 1); k = 1.4; p1 absolute in Pa, V1 in m³/s, W in W

    Args:
        intake_pressure_pa: absolute pressure at the intake [Pa].
        intake_flow_m3_s: volume flow at the intake [m³/s].
        pressure_ratio_number: absolute outlet pressure over absolute intake pressure, r [-].

    Returns:
        Power given to the air [W].

    Valid range: r 1 to 4.

    Source: Perry & Green 2008, Chemical Engineers' Handbook, section 10 (from memory); the horsepower form
        stands at engineeringtoolbox.com (horsepower of compressed air).

    >>> round(adiabatic_power_perry_2008(101325.35, 2.6 * 4.719474432e-4, 20.696 / 14.696), 1)
    44.7
    """
    exponent = (HEAT_RATIO_NUMBER - 1.0) / HEAT_RATIO_NUMBER
    return float(intake_pressure_pa * intake_flow_m3_s / exponent * (pressure_ratio_number**exponent - 1.0))


def isothermal_power_perry_2008(
    intake_pressure_pa: float, intake_flow_m3_s: float, pressure_ratio_number: float
) -> float:
    """Power of an ideal isothermal compression: the least that any machine needs.

    Equation: W = p1 V1 ln r

    Args:
        intake_pressure_pa: absolute pressure at the intake [Pa].
        intake_flow_m3_s: volume flow at the intake [m³/s].
        pressure_ratio_number: absolute outlet pressure over absolute intake pressure, r [-].

    Returns:
        Power given to the air [W].

    Valid range: r 1 to 10.

    Source: Perry & Green 2008, Chemical Engineers' Handbook, section 10 (from memory).

    >>> round(isothermal_power_perry_2008(101325.35, 2.6 * 4.719474432e-4, 20.696 / 14.696), 1)
    42.6
    """
    return intake_pressure_pa * intake_flow_m3_s * math.log(pressure_ratio_number)


def nusselt_number_gnielinski_2013(reynolds_number: float) -> float:
    """Nusselt number of air inside a pipe: laminar, transition, turbulent.

    Equation:
        Nu = 3.66 + s (N − 3.66); s = min(max((Re − 2300)/1700, 0), 1); N = (f/8) (X − 1000) Pr/(1 +
        12.7 √(f/8) (Pr^(2/3) − 1)); f = (0.79 ln X − 1.64)^(−2); X = max(Re, 4000); Pr = 0.71; laminar
        up to 2300, turbulent from 4000, straight between

    Args:
        reynolds_number: Reynolds number [-].

    Returns:
        Nusselt number [-].

    Valid range: Re above 0 to 5e6, smooth pipe, well past its entrance; wall at one temperature.

    Source: Gnielinski 2013, Int. J. Heat Mass Transfer 63:134 (with Gnielinski 1976), from memory.

    >>> round(nusselt_number_gnielinski_2013(4657.0), 1)
    15.7
    """
    Re = max(reynolds_number, 4000.0)
    f = (0.79 * math.log(Re) - 1.64) ** -2
    turbulent = float(
        (f / 8.0)
        * (Re - 1000.0)
        * PRANDTL_NUMBER
        / (1.0 + 12.7 * math.sqrt(f / 8.0) * (PRANDTL_NUMBER ** (2.0 / 3.0) - 1.0))
    )
    share = min(max((reynolds_number - 2300.0) / 1700.0, 0.0), 1.0)
    return 3.66 + share * (turbulent - 3.66)


def shape_factor_incropera_2007(centre_depth_m: float, outside_diameter_m: float) -> float:
    """Conduction shape factor of a buried pipe, per metre of its length.

    Equation:
        S = 2 π/acosh(2 z/D)

    Args:
        centre_depth_m: depth of the pipe's centre under the surface [m].
        outside_diameter_m: outside diameter [m].

    Returns:
        Shape factor per metre of pipe [-].

    Valid range: z over D/2; pipe much longer than its depth; surface of the ground at one temperature.

    Source: Incropera et al. 2007, Fundamentals of Heat and Mass Transfer, table 4.1 case 2 (from memory).

    >>> round(shape_factor_incropera_2007(18.525 * 0.0254, 1.05 * 0.0254), 4)
    1.4762
    """
    return 2.0 * math.pi / math.acosh(2.0 * centre_depth_m / outside_diameter_m)


def line_conductance_incropera_2007(
    inside_coefficient_w_m2_k: float,
    bore_m: float,
    outside_diameter_m: float,
    wall_conductivity_w_m_k: float,
    outside_resistance_m_k_w: float,
) -> float:
    """Heat conductance from the air in a pipe to its surroundings, per metre of pipe.

    Equation:
        UA′ = 1/(1/(h_i π D_i) + ln(D_o/D_i)/(2 π k_p) + R_o)

    Args:
        inside_coefficient_w_m2_k: heat transfer coefficient inside [W/(m² K)].
        bore_m: inside diameter [m].
        outside_diameter_m: outside diameter [m].
        wall_conductivity_w_m_k: thermal conductivity of the wall [W/(m K)].
        outside_resistance_m_k_w: 1/(S k_soil) when buried, 1/(h_o π D_o) in air [m K/W].

    Returns:
        Conductance per metre [W/(m K)].

    Valid range: any.

    Source: Incropera et al. 2007, Fundamentals of Heat and Mass Transfer, ch. 3 (from memory).

    >>> round(line_conductance_incropera_2007(20.3, 0.0209296, 0.02667, 0.147, 0.677), 2)
    0.59
    """
    return 1.0 / (
        1.0 / (inside_coefficient_w_m2_k * math.pi * bore_m)
        + math.log(outside_diameter_m / bore_m) / (2.0 * math.pi * wall_conductivity_w_m_k)
        + outside_resistance_m_k_w
    )


def cooling_length_incropera_2007(mass_flow_kg_s: float, conductance_w_m_k: float) -> float:
    """Length of pipe over which the excess temperature of the air falls to 1/e.

    Equation:
        L_c = ṁ c_p/UA′; c_p = 1006 J/(kg·K); ṁ in kg/s, UA′ in W/(m·K)

    Args:
        mass_flow_kg_s: mass flow [kg/s].
        conductance_w_m_k: heat conductance per metre of pipe [W/(m K)].

    Returns:
        Cooling length [m].

    Valid range: any.

    Source: Incropera et al. 2007, Fundamentals of Heat and Mass Transfer, ch. 8 (from memory).

    >>> round(cooling_length_incropera_2007(1.47751e-3, 0.592) / 0.3048, 1)
    8.2
    """
    return mass_flow_kg_s * HEAT_CAPACITY_J_KG_K / conductance_w_m_k


def line_temperature_incropera_2007(
    start_temperature_degc: float,
    surroundings_temperature_degc: float,
    distance_m: float,
    cooling_length_m: float,
) -> float:
    """Temperature of the air along a line that cools towards its surroundings.

    Equation: T(x) = T_g + (T_0 − T_g) exp(−x/L_c)

    Args:
        start_temperature_degc: temperature at the start [°C].
        surroundings_temperature_degc: temperature of soil or open air [°C].
        distance_m: distance along the line [m].
        cooling_length_m: cooling length [m].

    Returns:
        Temperature [°C].

    Valid range: any.

    Source: Incropera et al. 2007, Fundamentals of Heat and Mass Transfer, ch. 8 (from memory).

    >>> round(line_temperature_incropera_2007(80.2, 21.1, 1.524, 2.5), 1)
    53.2
    """
    excess = start_temperature_degc - surroundings_temperature_degc
    return surroundings_temperature_degc + excess * math.exp(-distance_m / cooling_length_m)


def stored_energy_crowl_1992(volume_m3: float, pressure_pa: float, ambient_pressure_pa: float) -> float:
    """Work that compressed air can do when its pipe bursts: isothermal, less pushing back the atmosphere.

    Equation: E = p1 V ln(p1/pa) − pa V (p1/pa − 1)

    Args:
        volume_m3: volume of the pipe [m³].
        pressure_pa: absolute pressure in it [Pa].
        ambient_pressure_pa: absolute pressure outside [Pa].

    Returns:
        Energy [J].

    Valid range: pressure at or over ambient.

    Source: Crowl 1992, J. Loss Prev. Process Ind. 5:109, availability of a compressed gas (from memory).

    >>> psi = 6894.757293168
    >>> round(stored_energy_crowl_1992(0.0451, 114.696 * psi, 14.696 * psi) / 1000.0)
    42
    """
    ratio = pressure_pa / ambient_pressure_pa
    return pressure_pa * volume_m3 * math.log(ratio) - ambient_pressure_pa * volume_m3 * (ratio - 1.0)


RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "viscosity_sutherland_1893": {"temperature_k": (170.0, 1900.0)},
    "conductivity_us_standard_atmosphere_1976": {"temperature_k": (180.0, 500.0)},
    "density_clapeyron_1834": {"pressure_pa": (2e4, 2e6), "temperature_k": (230.0, 480.0)},
    "standard_flow_iso_1217_2009": {
        "intake_flow_m3_s": (0.0, 10.0),
        "intake_pressure_pa": (5e4, 1.1e5),
        "vapour_pressure_pa": (0.0, 1e4),
        "intake_temperature_k": (230.0, 330.0),
    },
    "intake_flow_iso_1217_2009": {
        "standard_flow_m3_s": (0.0, 10.0),
        "intake_pressure_pa": (5e4, 1e6),
        "vapour_pressure_pa": (0.0, 1e4),
        "intake_temperature_k": (230.0, 480.0),
    },
    "discharge_temperature_mills_2004": {
        "intake_temperature_k": (230.0, 340.0),
        "pressure_ratio_number": (1.0, 4.0),
        "compression_efficiency": (0.2, 1.0),
    },
    "adiabatic_power_perry_2008": {
        "intake_pressure_pa": (5e4, 1.1e5),
        "intake_flow_m3_s": (0.0, 1.0),
        "pressure_ratio_number": (1.0, 10.0),
    },
    "isothermal_power_perry_2008": {
        "intake_pressure_pa": (5e4, 1.1e5),
        "intake_flow_m3_s": (0.0, 1.0),
        "pressure_ratio_number": (1.0, 10.0),
    },
    "nusselt_number_gnielinski_2013": {"reynolds_number": (1e-3, 5e6)},
    "shape_factor_incropera_2007": {"centre_depth_m": (0.05, 3.0), "outside_diameter_m": (0.005, 0.09)},
    "line_conductance_incropera_2007": {
        "inside_coefficient_w_m2_k": (1.0, 500.0),
        "bore_m": (0.005, 0.08),
        "outside_diameter_m": (0.081, 0.1),
        "wall_conductivity_w_m_k": (0.1, 400.0),
        "outside_resistance_m_k_w": (0.01, 10.0),
    },
    "cooling_length_incropera_2007": {
        "mass_flow_kg_s": (0.0, 0.1),
        "conductance_w_m_k": (0.01, 10.0),
    },
    "line_temperature_incropera_2007": {
        "start_temperature_degc": (-20.0, 200.0),
        "surroundings_temperature_degc": (-20.0, 60.0),
        "distance_m": (0.0, 2000.0),
        "cooling_length_m": (0.05, 1000.0),
    },
    "stored_energy_crowl_1992": {
        "volume_m3": (0.0, 10.0),
        "pressure_pa": (1.1e5, 2e6),
        "ambient_pressure_pa": (5e4, 1.1e5),
    },
}
