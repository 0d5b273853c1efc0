"""What decides the pH of a mixture of waters, beside the carbonate system: the water's own ions."""

import math

RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "water_pkw_millero_1979": {"temperature_degc": (0.0, 50.0)},
    "carbonate_alkalinity_stumm_morgan_1996": {
        "alkalinity_mol_m3": (0.0, 10.0),
        "ph": (4.0, 11.0),
        "temperature_degc": (0.0, 50.0),
    },
}


def water_pkw_millero_1979(temperature_degc: float) -> float:
    """Return the negative logarithm of the ion product of pure water.

    Equation:
        ln Kw = 148.9802 − 13847.26/T − 23.6521 ln T, T in K

    Args:
        temperature_degc: water temperature [°C]

    Returns:
        pKw [–]

    Valid range:
        0 to 50 °C, ionic strength near zero.

    Source:
        Millero, F. J. 1979. The thermodynamics of the carbonate system in seawater. Geochim. Cosmochim. Acta
        43: 1651–1661, at salinity 0 (constants from memory; checked against tables and a public program).

    >>> round(water_pkw_millero_1979(25.0), 1)
    14.0
    """
    T = temperature_degc + 273.15
    ln_Kw = 148.9802 - 13847.26 / T - 23.6521 * math.log(T)
    return -ln_Kw / math.log(10.0)


def carbonate_alkalinity_stumm_morgan_1996(
    alkalinity_mol_m3: float, ph: float, temperature_degc: float
) -> float:
    """Return the part of the alkalinity of fresh water that bicarbonate and carbonate carry.

    Equation:
        A_c = A − 1000 × 10^(pH − pKw) + 1000 × 10^(−pH); pKw = −(148.9802 − 13847.26/T − 23.6521 ln
        T)/ln 10; T = t + 273.15; t in °C, A in mol/m³

    Args:
        alkalinity_mol_m3: alkalinity [mol/m³ = meq/L]
        ph: pH of the water [–]
        temperature_degc: water temperature [°C]

    Returns:
        carbonate alkalinity [mol/m³]; below zero where hydroxide alone is more than the alkalinity

    Valid range:
        pH 4 to 11; borate, silicate, phosphate and ammonia are left out.

    Source:
        Charge balance (Stumm, W., and J. J. Morgan. 1996. Aquatic Chemistry, third edition, ch. 4).

    >>> round(carbonate_alkalinity_stumm_morgan_1996(1.5, 9.0, 25.0), 3)
    1.49
    """
    hydrogen_mol_m3: float = 1000.0 * 10.0**-ph
    hydroxide_mol_m3: float = 1000.0 * 10.0 ** (ph - water_pkw_millero_1979(temperature_degc))
    return alkalinity_mol_m3 - hydroxide_mol_m3 + hydrogen_mol_m3
