"""The ends of an air line: barbs, tubing on the bottom, and water that would run back through it."""

from __future__ import annotations

import math


def contraction_loss_number_crane_2009(area_ratio_number: float) -> float:
    """Loss of a flow that enters a narrower bore over a sharp edge, in velocity heads of the narrow bore.

    Equation: K = 0.5 (1 − σ),   σ = d²/D²

    Args:
        area_ratio_number: area of the narrow bore over that of the wide one [-].

    Returns:
        Loss coefficient K on the velocity in the narrow bore [-].

    Valid range: turbulent flow, sharp edge.

    Source: Crane TP-410 (2009), sudden contraction, after Weisbach (from memory).

    >>> contraction_loss_number_crane_2009(0.5)
    0.25
    """
    return 0.5 * (1.0 - area_ratio_number)


def expansion_loss_number_borda_1766(area_ratio_number: float) -> float:
    """Loss of a flow that leaves a narrow bore into a wider one, in velocity heads of the narrow bore.

    Equation: K = (1 − σ)²,   σ = d²/D²

    Args:
        area_ratio_number: area of the narrow bore over that of the wide one [-].

    Returns:
        Loss coefficient K on the velocity in the narrow bore [-].

    Valid range: turbulent flow, sudden change.

    Source: Borda 1766 and Carnot, momentum balance, as in any text on hydraulics.

    >>> expansion_loss_number_borda_1766(0.5)
    0.25
    """
    return (1.0 - area_ratio_number) ** 2


def submerged_mass_archimedes(
    mass_kg_m: float, outside_diameter_m: float, water_density_kg_m3: float
) -> float:
    """Mass by length that a tube full of air shows under water; below zero it floats.

    Equation: m' = m − ρ π d²/4

    Args:
        mass_kg_m: mass of its wall and of what is fixed to it, by length [kg/m].
        outside_diameter_m: outside diameter [m].
        water_density_kg_m3: density of the water [kg/m³].

    Returns:
        What presses it on the bottom, as a mass by length [kg/m]; its air, under 2 g/m, is left out.

    Valid range: round tube, wholly under water.

    Source: Archimedes, On floating bodies, book I, propositions 5 and 7.

    >>> round(submerged_mass_archimedes(0.30, 0.01905, 1000.0), 4)
    0.015
    """
    return mass_kg_m - 0.25 * math.pi * water_density_kg_m3 * outside_diameter_m**2


def water_viscosity_vogel_1921(temperature_degc: float) -> float:
    """Dynamic viscosity of water at one atmosphere.

    Equation: μ = 2.414e-5 · 10^(247.8 / (T − 140)), T in kelvin

    Args:
        temperature_degc: temperature [°C].

    Returns:
        Dynamic viscosity [Pa s].

    Valid range: 0 to 100 °C, within 2.5 %.

    Source: Vogel 1921, Phys. Z. 22:645, the form; its constants for water as in texts on fluid mechanics (from memory).

    >>> round(1e3 * water_viscosity_vogel_1921(20.0), 3)
    1.002
    """
    return 2.414e-5 * math.pow(10.0, 247.8 / (temperature_degc + 273.15 - 140.0))


RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "contraction_loss_number_crane_2009": {"area_ratio_number": (0.01, 1.0)},
    "expansion_loss_number_borda_1766": {"area_ratio_number": (0.01, 1.0)},
    "submerged_mass_archimedes": {
        "mass_kg_m": (0.0, 10.0),
        "outside_diameter_m": (0.003, 0.2),
        "water_density_kg_m3": (990.0, 1030.0),
    },
    "water_viscosity_vogel_1921": {"temperature_degc": (0.0, 100.0)},
}
