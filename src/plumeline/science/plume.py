"""Bubble plumes: slip, transfer and start by Wüest 1992; the pure plume; the engineers' transfer.

The entrainment coefficient α is the top-hat one everywhere (√2 times the Gaussian one).
"""

from __future__ import annotations

import math

RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "slip_velocity_wuest_1992": {"radius_m": (0.0, 0.02)},
    "mass_transfer_wuest_1992": {"radius_m": (0.0, 0.02)},
    "bubble_rate_wuest_1992": {"gas_flow_m3_s": (0.0, 0.1), "radius_m": (1e-4, 0.02)},
    "initial_velocity_wuest_1992": {
        "froude_number": (0.5, 3.0),
        "source_radius_m": (0.01, 5.0),
        "gas_flow_m3_s": (0.0, 0.1),
        "slip_velocity_m_s": (0.0, 0.5),
    },
    "plume_radius_morton_1956": {"alpha_number": (0.03, 0.15), "height_m": (0.0, 200.0)},
    "plume_flow_morton_1956": {
        "alpha_number": (0.03, 0.15),
        "buoyancy_flux_m4_s3": (0.0, 1.0),
        "height_m": (0.0, 200.0),
    },
    "plume_velocity_morton_1956": {
        "alpha_number": (0.03, 0.15),
        "buoyancy_flux_m4_s3": (0.0, 1.0),
        "height_m": (0.01, 200.0),
    },
    "saturation_at_depth_asce_2006": {
        "surface_saturation_mg_l": (4.0, 15.0),
        "depth_m": (0.0, 10.0),
        "depth_fraction": (0.25, 0.45),
        "vapour_pressure_pa": (600.0, 6000.0),
    },
    "oxygen_transfer_rate_asce_2006": {
        "standard_rate_kg_s": (0.0, 1.0),
        "alpha_factor_number": (0.1, 1.0),
        "temperature_degc": (0.0, 35.0),
        "saturation_20_mg_l": (8.0, 15.0),
        "saturation_ratio_number": (0.7, 1.7),
        "salinity_factor_number": (0.7, 1.0),
        "pressure_ratio_number": (0.6, 1.1),
        "do_mg_l": (0.0, 15.0),
    },
}


def slip_velocity_wuest_1992(radius_m: float) -> float:
    """Return the rise velocity of a bubble through the water around it.

    Equation:
        w_b = 4474 r^1.357 for r < 0.7 mm; 0.23 for 0.7 mm ≤ r < 5.1 mm; 4.202 r^0.547 above
    Args:
        radius_m: radius of the sphere of equal volume, r [m].
    Returns:
        Slip velocity, w_b [m/s].
    Valid range:
        Radius 0 to 20 mm, air in water; it steps by 1.8 % at 0.7 mm and at 5.1 mm.
    Source:
        Wüest, Brooks & Imboden 1992, Water Resour. Res. 28:3235, Table 1.

    >>> slip_velocity_wuest_1992(0.001)
    0.23
    """
    if radius_m < 0.7e-3:
        return 4474.0 * math.pow(radius_m, 1.357)
    if radius_m < 5.1e-3:
        return 0.23
    return 4.202 * math.pow(radius_m, 0.547)


def mass_transfer_wuest_1992(radius_m: float) -> float:
    """Return the liquid-side transfer velocity of a bubble's surface, for oxygen and nitrogen alike.

    Equation:
        K_L = 0.6 r for r < 0.667 mm; 4e-4 above
    Args:
        radius_m: radius of the bubble, r [m].
    Returns:
        Transfer velocity, K_L [m/s].
    Valid range:
        Radius 0 to 20 mm, clean water; a surface film lowers it (a prior, not part of the relation).
    Source:
        Wüest, Brooks & Imboden 1992, Water Resour. Res. 28:3235, Table 1.

    >>> mass_transfer_wuest_1992(0.0005)
    0.0003
    """
    if radius_m < 0.667e-3:
        return 0.6 * radius_m
    return 4.0e-4


def bubble_rate_wuest_1992(gas_flow_m3_s: float, radius_m: float) -> float:
    """Return how many bubbles leave the diffuser each second.

    Equation:
        N = V̇ / (4/3 π r³)
    Args:
        gas_flow_m3_s: gas flow at the pressure and temperature of the diffuser, V̇ [m³/s].
        radius_m: radius of the bubbles there, r [m].
    Returns:
        Bubble rate, N [1/s].
    Valid range:
        Any positive radius.
    Source:
        Wüest, Brooks & Imboden 1992, Water Resour. Res. 28:3235 (N is constant along the rise).

    >>> round(bubble_rate_wuest_1992(1e-4, 0.001))
    23873
    """
    return gas_flow_m3_s / (4.0 / 3.0 * math.pi * radius_m**3)


def initial_velocity_wuest_1992(
    froude_number: float, source_radius_m: float, gas_flow_m3_s: float, slip_velocity_m_s: float
) -> float:
    """Return the water velocity with which a bubble plume starts.

    Equation:
        w₀ = Fr √(2 λb₀ g (ρ_a − ρ_p)/ρ_p) with (ρ_a − ρ_p)/ρ_p = V_g/(1 − V_g),
        V_g = V̇/(π (λb₀)² (w₀ + w_b)); hence w₀² (w₀ + w_b − c) = 2 Fr² λb₀ g c, c = V̇/(π (λb₀)²)
    Args:
        froude_number: densimetric Froude number of the source, Fr [-].
        source_radius_m: radius of the bubble core at the source, λb₀ [m].
        gas_flow_m3_s: gas flow at local pressure and temperature, V̇ [m³/s].
        slip_velocity_m_s: slip velocity of the bubbles, w_b [m/s].
    Returns:
        Initial velocity, w₀ [m/s].
    Valid range:
        Any positive flow; the root is unique.
    Source:
        Wüest, Brooks & Imboden 1992, Water Resour. Res. 28:3235, initial conditions.

    >>> round(initial_velocity_wuest_1992(1.6, 0.115, 4.65e-4, 0.23), 3)
    0.34
    """
    g = 9.80665
    c = gas_flow_m3_s / (math.pi * source_radius_m**2)
    K: float = 2.0 * froude_number**2 * source_radius_m * g * c
    if K <= 0.0:
        return 0.0
    slip = slip_velocity_m_s - c
    w: float = max(-slip, 0.0) + K ** (1.0 / 3.0)  # at or above the root, where Newton falls onto it steadily
    for _ in range(60):
        change = (w * w * (w + slip) - K) / (w * (3.0 * w + 2.0 * slip))
        w -= change
        if abs(change) < 1e-14 * w:
            break
    return w


def plume_radius_morton_1956(alpha_number: float, height_m: float) -> float:
    """Return the top-hat radius of a pure plume in still water of one density.

    Equation:
        b = 6/5 α z
    Args:
        alpha_number: top-hat entrainment coefficient, α [-].
        height_m: height over the virtual origin, z [m].
    Returns:
        Radius, b [m].
    Valid range:
        Far from the source (z/b₀ ≥ 50), Boussinesq.
    Source:
        Morton, Taylor & Turner 1956, Proc. R. Soc. A 234:1, similarity solution.

    >>> round(plume_radius_morton_1956(0.1, 3.0), 3)
    0.36
    """
    return 6.0 / 5.0 * alpha_number * height_m


def plume_flow_morton_1956(alpha_number: float, buoyancy_flux_m4_s3: float, height_m: float) -> float:
    """Return the volume flow of a pure plume in still water of one density.

    Equation:
        Q = (6α/5) (9α/10)^(1/3) π^(2/3) B^(1/3) z^(5/3)
    Args:
        alpha_number: top-hat entrainment coefficient, α [-].
        buoyancy_flux_m4_s3: buoyancy flux, B = g V̇ for bubbles without slip [m⁴/s³].
        height_m: height over the virtual origin, z [m].
    Returns:
        Volume flow, Q [m³/s].
    Valid range:
        Far from the source (z/b₀ ≥ 50), Boussinesq.
    Source:
        Morton, Taylor & Turner 1956, Proc. R. Soc. A 234:1, similarity solution.

    >>> round(plume_flow_morton_1956(0.1, 1e-3, 3.0), 5)
    0.07198
    """
    return float(
        (6.0 * alpha_number / 5.0)
        * (9.0 * alpha_number / 10.0) ** (1.0 / 3.0)
        * math.pi ** (2.0 / 3.0)
        * buoyancy_flux_m4_s3 ** (1.0 / 3.0)
        * height_m ** (5.0 / 3.0)
    )


def plume_velocity_morton_1956(alpha_number: float, buoyancy_flux_m4_s3: float, height_m: float) -> float:
    """Return the top-hat velocity of a pure plume in still water of one density.

    Equation:
        w = Q/(π b²) = 5/(6α) (9α/10)^(1/3) π^(-1/3) B^(1/3) z^(-1/3)
    Args:
        alpha_number: top-hat entrainment coefficient, α [-].
        buoyancy_flux_m4_s3: buoyancy flux, B [m⁴/s³].
        height_m: height over the virtual origin, z [m].
    Returns:
        Velocity, w [m/s].
    Valid range:
        Far from the source (z/b₀ ≥ 50), Boussinesq.
    Source:
        Morton, Taylor & Turner 1956, Proc. R. Soc. A 234:1, similarity solution.

    >>> round(plume_velocity_morton_1956(0.1, 1e-3, 3.0), 4)
    0.1768
    """
    return float(
        5.0
        / (6.0 * alpha_number)
        * (9.0 * alpha_number / 10.0) ** (1.0 / 3.0)
        * math.pi ** (-1.0 / 3.0)
        * buoyancy_flux_m4_s3 ** (1.0 / 3.0)
        * height_m ** (-1.0 / 3.0)
    )


def saturation_at_depth_asce_2006(
    surface_saturation_mg_l: float, depth_m: float, depth_fraction: float, vapour_pressure_pa: float
) -> float:
    """Return the oxygen content to which clean water over a submerged diffuser tends, C*∞20.

    Equation:
        C*∞20 = C*s20 (1 + f d ρg/(P_s − P_v)), ρ = 998.2 kg/m³, P_s = 101325 Pa
    Args:
        surface_saturation_mg_l: saturation at the surface at 20 °C and 1 atm, C*s20 [mg/L].
        depth_m: depth of the diffuser, d [m].
        depth_fraction: effective depth as a part of the diffuser's, f [-].
        vapour_pressure_pa: vapour pressure at 20 °C, P_v [Pa].
    Returns:
        Saturation at infinite time, C*∞20 [mg/L].
    Valid range:
        f 0.25 to 0.44 (recalled), depth to 10 m.
    Source:
        ASCE/EWRI 2-06, Measurement of oxygen transfer in clean water; EPA/625/1-89/023.

    >>> round(saturation_at_depth_asce_2006(9.092, 3.6576, 0.35, 2339.0), 2)
    10.24
    """
    return surface_saturation_mg_l * (
        1.0 + depth_fraction * depth_m * 998.2 * 9.80665 / (101325.0 - vapour_pressure_pa)
    )


def oxygen_transfer_rate_asce_2006(
    standard_rate_kg_s: float,
    alpha_factor_number: float,
    temperature_degc: float,
    saturation_20_mg_l: float,
    saturation_ratio_number: float,
    salinity_factor_number: float,
    pressure_ratio_number: float,
    do_mg_l: float,
) -> float:
    """Return the oxygen that an aerator gives to the water in the field, the engineers' way.

    Equation:
        OTR = αF SOTR θ^(T − 20) (τ β Ω C*∞20 − C)/C*∞20, θ = 1.024
    Args:
        standard_rate_kg_s: rate in clean water at 20 °C, 1 atm and no oxygen, SOTR [kg/s].
        alpha_factor_number: ratio of transfer in this water with a used diffuser to clean water, αF [-].
        temperature_degc: water temperature, T [°C].
        saturation_20_mg_l: saturation at the diffuser's depth, C*∞20 [mg/L].
        saturation_ratio_number: surface saturation at T over that at 20 °C, τ [-].
        salinity_factor_number: saturation in this water over that in clean water, β [-].
        pressure_ratio_number: pressure correction of the saturation, Ω [-].
        do_mg_l: oxygen in the water, C [mg/L].
    Returns:
        Oxygen transfer rate, OTR [kg/s]; below zero when the water holds more than it can keep.
    Valid range:
        0 to 35 °C.
    Source:
        ASCE/EWRI 2-06 and 18; EPA/625/1-89/023, Fine Pore Aeration Systems.

    >>> oxygen_transfer_rate_asce_2006(1.0, 1.0, 20.0, 10.0, 1.0, 1.0, 1.0, 0.0)
    1.0
    """
    tau, beta, omega = saturation_ratio_number, salinity_factor_number, pressure_ratio_number
    driving = (tau * beta * omega * saturation_20_mg_l - do_mg_l) / saturation_20_mg_l
    return float(alpha_factor_number * standard_rate_kg_s * 1.024 ** (temperature_degc - 20.0) * driving)
