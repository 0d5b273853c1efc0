"""Friction and pressure of gas in pipes: isothermal compressible flow, Darcy friction factors throughout."""

from __future__ import annotations

import math

CRANE_REFERENCE_PRESSURE_PA = 114.7 * 6894.757293168
"""Absolute pressure of the handbook's table of pressure drops: 100 psig."""
CRANE_REFERENCE_TEMPERATURE_K = 288.7055555555556
"""Temperature of the handbook's table of pressure drops: 60 °F."""


def reynolds_number_reynolds_1883(mass_flow_kg_s: float, bore_m: float, viscosity_pa_s: float) -> float:
    """Reynolds number of a mass flow in a round pipe; it does not depend on pressure.

    Equation:
        Re = 4 ṁ/(π D μ)

    Args:
        mass_flow_kg_s: mass flow [kg/s].
        bore_m: inside diameter [m].
        viscosity_pa_s: dynamic viscosity [Pa s].

    Returns:
        Reynolds number [-].

    Valid range: any flow; see RANGE for what was checked.

    Source: Reynolds 1883, Phil. Trans. R. Soc. 174:935 (from memory), written for a mass flow.

    >>> round(reynolds_number_reynolds_1883(1.47751e-3, 0.0209296, 1.884e-5))
    4771
    """
    return 4.0 * mass_flow_kg_s / (math.pi * bore_m * viscosity_pa_s)


def friction_factor_poiseuille_1840(reynolds_number: float) -> float:
    """Darcy friction factor of laminar flow in a round pipe.

    Equation: f = 64 / Re

    Args:
        reynolds_number: Reynolds number [-].

    Returns:
        Darcy friction factor [-].

    Valid range: Re below about 2,000.

    Source: Hagen–Poiseuille law (Poiseuille 1840), any text on fluid mechanics.

    >>> friction_factor_poiseuille_1840(1000.0)
    0.064
    """
    return 64.0 / reynolds_number


def friction_factor_colebrook_1939(reynolds_number: float, relative_roughness_fraction: float) -> float:
    """Darcy friction factor of turbulent flow in a round pipe, solved for by Newton's method.

    Equation: 1/√f = −2 log10(ε/(3.7 D) + 2.51/(Re √f))

    Args:
        reynolds_number: Reynolds number [-].
        relative_roughness_fraction: roughness over bore, ε/D [-].

    Returns:
        Darcy friction factor [-].

    Valid range: Re 2,000 to 1e8, ε/D 0 to 0.05; below Re 4,000 any turbulent law is uncertain by 30 %.

    Source: Colebrook 1939, J. Inst. Civ. Eng. 11:133.

    >>> round(friction_factor_colebrook_1939(10000.0, 1.5e-6 / 0.02093), 5)
    0.03099
    """
    rough = relative_roughness_fraction / 3.7
    smooth = 2.51 / reynolds_number
    x = 7.0
    for _ in range(50):
        inside = rough + smooth * x
        step = (x + 2.0 * math.log10(inside)) / (1.0 + 2.0 * smooth / (math.log(10.0) * inside))
        # The left side is concave in x: a step too far to the left is cut short, then all steps lead right.
        x = max(x - step, 0.1 * x)
        if abs(step) < 1e-14 * x:
            break
    return 1.0 / (x * x)


def friction_factor_churchill_1977(reynolds_number: float, relative_roughness_fraction: float) -> float:
    """Darcy friction factor of laminar, transitional and turbulent flow in one smooth curve.

    Equation:
        f = 8 ((8/Re)^12 + (A + B)^(−1.5))^(1/12); A = (2.457 ln(1/((7/Re)^0.9 + 0.27 e)))^16; B =
        (37530/Re)^16; e = ε/D, roughness over bore

    Args:
        reynolds_number: Reynolds number [-].
        relative_roughness_fraction: roughness over bore, ε/D [-].

    Returns:
        Darcy friction factor [-].

    Valid range: Re above 0 to 1e8, ε/D 0 to 0.05; between Re 2,000 and 4,000 uncertain by 30 %.

    Source: Churchill 1977, Chem. Eng. 84(24):91 (constants from memory; equal to the `fluids` library's).

    >>> round(friction_factor_churchill_1977(4740.0, 1.5e-6 / 0.02093), 4)
    0.0386
    """
    if reynolds_number < 100.0:
        # (37530/Re)^16 overflows at a vanishing flow, where the law is 64/Re to every digit kept here.
        return 64.0 / reynolds_number
    A = (2.457 * math.log(1.0 / ((7.0 / reynolds_number) ** 0.9 + 0.27 * relative_roughness_fraction))) ** 16
    B = (37530.0 / reynolds_number) ** 16
    return float(8.0 * ((8.0 / reynolds_number) ** 12 + (A + B) ** -1.5) ** (1.0 / 12.0))


def rough_friction_factor_nikuradse_1933(relative_roughness_fraction: float) -> float:
    """Darcy friction factor of fully rough flow: the f_T of fitting coefficients K = n f_T.

    Equation: f = 0.25 / log10(ε/(3.7 D))²

    Args:
        relative_roughness_fraction: roughness over bore, ε/D [-].

    Returns:
        Darcy friction factor [-].

    Valid range: ε/D 1e-5 to 0.05.

    Source: Nikuradse 1933, VDI-Forschungsheft 361 (rough limit of Colebrook 1939); as used by Crane TP-410.

    >>> round(rough_friction_factor_nikuradse_1933(4.572e-5 / 0.0157988), 3)
    0.026
    """
    return float(0.25 / math.log10(relative_roughness_fraction / 3.7) ** 2)


def resistance_number_crane_2009(
    friction_factor_number: float, length_m: float, bore_m: float, minor_loss_number: float
) -> float:
    """Velocity heads lost in a pipe and its fittings.

    Equation: K = f L/D + ΣK

    Args:
        friction_factor_number: Darcy friction factor [-].
        length_m: length of pipe [m].
        bore_m: inside diameter [m].
        minor_loss_number: sum of the fittings' loss coefficients [-].

    Returns:
        Velocity heads [-].

    Valid range: any.

    Source: Crane TP-410 (2009), from memory.

    >>> resistance_number_crane_2009(0.02, 10.0, 0.02, 1.5)
    11.5
    """
    return friction_factor_number * length_m / bore_m + minor_loss_number


def upstream_pressure_isothermal_crane_2009(
    mass_flow_kg_s: float,
    outlet_pressure_pa: float,
    resistance_number: float,
    bore_m: float,
    gas_constant_j_kg_k: float,
    temperature_k: float,
) -> float:
    """Absolute pressure at the inlet of a pipe from its outlet pressure and mass flow, isothermal.

    Equation: p1² − p2² = G² R T [f L/D + ΣK + 2 ln(p1/p2)], G = 4 ṁ/(π D²), solved for p1 by
    Newton's method; [f L/D + ΣK] is the resistance number

    Args:
        mass_flow_kg_s: mass flow [kg/s].
        outlet_pressure_pa: absolute pressure at the outlet [Pa].
        resistance_number: f L/D + ΣK [-].
        bore_m: inside diameter [m].
        gas_constant_j_kg_k: specific gas constant [J/(kg K)].
        temperature_k: temperature of the gas [K].

    Returns:
        Absolute inlet pressure [Pa]; infinity where the flow would be choked at the outlet (p2² < G² R T).

    Valid range: subsonic flow, p2² > G² R T.

    Source: Crane TP-410 (2009), eq. for isothermal compressible flow, as quoted in `fluids.isothermal_gas`.

    >>> round(upstream_pressure_isothermal_crane_2009(1.47751e-3, 1e5, 239.0, 0.02093, 287.055, 308.15))
    101931
    """
    G = 4.0 * mass_flow_kg_s / (math.pi * bore_m * bore_m)
    C = G * G * gas_constant_j_kg_k * temperature_k
    y = outlet_pressure_pa * outlet_pressure_pa
    if y <= C:
        return math.inf
    x = y + C * resistance_number
    for _ in range(60):
        step = (x - y - C * (resistance_number + math.log(x / y))) / (1.0 - C / x)
        x -= step
        if abs(step) <= 1e-15 * x:
            break
    return math.sqrt(x)


def downstream_pressure_isothermal_crane_2009(
    mass_flow_kg_s: float,
    inlet_pressure_pa: float,
    resistance_number: float,
    bore_m: float,
    gas_constant_j_kg_k: float,
    temperature_k: float,
) -> float:
    """Absolute pressure at the outlet of a pipe from its inlet pressure and mass flow, isothermal.

    Equation: p1² − p2² = G² R T [f L/D + ΣK + 2 ln(p1/p2)], G = 4 ṁ/(π D²), solved for p2 by
    Newton's method; [f L/D + ΣK] is the resistance number

    Args:
        mass_flow_kg_s: mass flow [kg/s].
        inlet_pressure_pa: absolute pressure at the inlet [Pa].
        resistance_number: f L/D + ΣK [-].
        bore_m: inside diameter [m].
        gas_constant_j_kg_k: specific gas constant [J/(kg K)].
        temperature_k: temperature of the gas [K].

    Returns:
        Absolute outlet pressure [Pa]; NaN where the pipe cannot carry that flow at that inlet pressure.

    Valid range: subsonic flow, p2² > G² R T.

    Source: Crane TP-410 (2009), eq. for isothermal compressible flow, as quoted in `fluids.isothermal_gas`.

    >>> round(downstream_pressure_isothermal_crane_2009(1.47751e-3, 101931.0, 239.0, 0.02093, 287.055, 308.0))
    100001
    """
    G = 4.0 * mass_flow_kg_s / (math.pi * bore_m * bore_m)
    C = G * G * gas_constant_j_kg_k * temperature_k
    x = inlet_pressure_pa * inlet_pressure_pa
    y = x - C * resistance_number
    for _ in range(60):
        if y <= C:
            return math.nan
        step = (y - x + C * (resistance_number + math.log(x / y))) / (1.0 - C / y)
        y -= step
        if abs(step) <= 1e-15 * x:
            break
    return math.sqrt(y) if y > C else math.nan


def pressure_drop_correction_crane_1957(
    table_drop_pa: float, pressure_pa: float, temperature_k: float
) -> float:
    """Pressure drop from the handbook's table value at 100 psig and 60 °F, carried to another state.

    Equation: Δp = Δp100 (114.7/(P + 14.7)) ((460 + t)/520), P in psig, t in °F; here in absolute SI units

    Args:
        table_drop_pa: drop in the table [Pa].
        pressure_pa: absolute pressure of the air [Pa].
        temperature_k: temperature of the air [K].

    Returns:
        Pressure drop [Pa].

    Valid range: drops under a tenth of the absolute pressure.

    Source: Crane TP-410, note to the table "Flow of air through Schedule 40 steel pipe" (from memory).

    >>> psi = 6894.757293168
    >>> round(pressure_drop_correction_crane_1957(0.027 * psi, 20.7 * psi, 308.15) / psi, 4)
    0.1597
    """
    return (
        table_drop_pa
        * CRANE_REFERENCE_PRESSURE_PA
        / pressure_pa
        * temperature_k
        / CRANE_REFERENCE_TEMPERATURE_K
    )


RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "reynolds_number_reynolds_1883": {
        "mass_flow_kg_s": (0.0, 1.0),
        "bore_m": (0.002, 1.0),
        "viscosity_pa_s": (5e-6, 5e-5),
    },
    "friction_factor_poiseuille_1840": {"reynolds_number": (1e-3, 2100.0)},
    "friction_factor_colebrook_1939": {
        "reynolds_number": (2000.0, 1e8),
        "relative_roughness_fraction": (0.0, 0.05),
    },
    "friction_factor_churchill_1977": {
        "reynolds_number": (1e-3, 1e8),
        "relative_roughness_fraction": (0.0, 0.05),
    },
    "rough_friction_factor_nikuradse_1933": {"relative_roughness_fraction": (1e-5, 0.05)},
    "resistance_number_crane_2009": {
        "friction_factor_number": (0.005, 10.0),
        "length_m": (0.0, 5000.0),
        "bore_m": (0.002, 1.0),
        "minor_loss_number": (0.0, 1e6),
    },
    "upstream_pressure_isothermal_crane_2009": {
        "mass_flow_kg_s": (0.0, 1.0),
        "outlet_pressure_pa": (3e4, 3e6),
        "resistance_number": (0.0, 1e6),
        "bore_m": (0.002, 1.0),
        "gas_constant_j_kg_k": (180.0, 600.0),
        "temperature_k": (230.0, 480.0),
    },
    "downstream_pressure_isothermal_crane_2009": {
        "mass_flow_kg_s": (0.0, 1.0),
        "inlet_pressure_pa": (3e4, 3e6),
        "resistance_number": (0.0, 1e6),
        "bore_m": (0.002, 1.0),
        "gas_constant_j_kg_k": (180.0, 600.0),
        "temperature_k": (230.0, 480.0),
    },
    "pressure_drop_correction_crane_1957": {
        "table_drop_pa": (0.0, 1e5),
        "pressure_pa": (3e4, 3e6),
        "temperature_k": (230.0, 480.0),
    },
}
