"""Water itself: density, salinity from conductivity, vapour pressure, heat it holds."""

import math

SPECIFIC_HEAT_J_KG_K = 4184.0
"""Specific heat of fresh water at 20 °C and 1 atm (IAPWS-95; 0.2 % from 13 to 40 °C, 0.5 % at 5 °C)."""

GRAVITY_M_S2 = 9.80665
"""Standard gravity (CGPM 1901)."""

RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "density_kell_1975": {"temperature_degc": (0.0, 40.0)},
    "density_chen_millero_1986": {"temperature_degc": (0.0, 40.0), "salinity_g_kg": (0.0, 40.0)},
    "salinity_hill_1986": {"conductivity_us_cm": (10.0, 59000.0)},
    "vapour_pressure_benson_krause_1980": {"temperature_degc": (0.0, 40.0)},
    "vapour_pressure_bolton_1980": {"temperature_degc": (-30.0, 45.0)},
}


def density_kell_1975(temperature_degc: float) -> float:
    """Return the density of pure water at one atmosphere.

    Equation:
        ρ = (999.83952 + 16.945176 t − 7.9870401e-3 t² − 46.170461e-6 t³ + 105.56302e-9 t⁴ −
        280.54253e-12 t⁵)/(1 + 16.879850e-3 t); t in °C, ρ in kg/m³

    Args:
        temperature_degc: water temperature [°C]

    Returns:
        density [kg/m³]

    Valid range:
        0 to 40 °C here (the paper: 0 to 150 °C).

    Source:
        Kell, G. S. 1975. Density, thermal expansivity, and compressibility of liquid water from 0 to
        150 °C. J. Chem. Eng. Data 20: 97–105, equation 16.

    >>> round(density_kell_1975(20.0), 3)
    998.204
    """
    t = temperature_degc
    top = (
        999.83952
        + 16.945176 * t
        - 7.9870401e-3 * t**2
        - 46.170461e-6 * t**3
        + 105.56302e-9 * t**4
        - 280.54253e-12 * t**5
    )
    return top / (1.0 + 16.879850e-3 * t)


def density_chen_millero_1986(temperature_degc: float, salinity_g_kg: float) -> float:
    """Return the density of fresh, brackish or sea water at one atmosphere.

    The pure water is Kell's, so that salt of zero gives `density_kell_1975` to the last digit; the
    haline term is that of Chen and Millero.

    Equation:
        ρ = ρ_0 + 1000 (8.181e-4 − 3.85e-6 t + 4.96e-8 t²) S; ρ_0 = (999.83952 + 16.945176 t −
        7.9870401e-3 t² − 46.170461e-6 t³ + 105.56302e-9 t⁴ − 280.54253e-12 t⁵)/(1 + 16.879850e-3 t)
        (Kell 1975); t in °C, S in g/kg, ρ in kg/m³

    Args:
        temperature_degc: water temperature [°C]
        salinity_g_kg: salinity [g/kg]

    Returns:
        density [kg/m³]

    Valid range:
        The paper: 0 to 30 °C and 0 to 0.6 g/kg. To 40 °C it stays within 0.2 kg/m³ of TEOS-10
        up to 6 g/kg and within 0.45 kg/m³, 1.4 % of what the salt adds, up to 40 g/kg.

    Source:
        Chen, C.-T. A., and F. J. Millero. 1986. Precise thermodynamic properties for natural waters
        covering only the limnological range. Limnol. Oceanogr. 31: 657–662.

    >>> round(density_chen_millero_1986(15.0, 0.5) - density_chen_millero_1986(15.0, 0.0), 4)
    0.3858
    """
    t = temperature_degc
    return density_kell_1975(t) + 1000.0 * (8.181e-4 - 3.85e-6 * t + 4.96e-8 * t**2) * salinity_g_kg


def salinity_hill_1986(conductivity_us_cm: float) -> float:
    """Return salinity from conductivity at 25 °C: the practical scale with its low-salinity extension.

    For salts in the proportions of the sea. Calcium bicarbonate water holds up to some 60 % more mass at
    the same conductivity.

    Equation:
        S = a + f b − 0.0080/(1 + 1.5 x + x²) − 0.0005 f/(1 + √y + y + y^1.5); x = 400 R; y = 100 R; R =
        C/(42914 r); r = 0.6766097 + 2.00564e-2 t + 1.104259e-4 t² − 6.9698e-7 t³ + 1.0031e-9 t⁴; f = (t
        − 15)/(1 + 0.0162 (t − 15)); a = 0.0080 − 0.1692 h + 25.3851 R + 14.0941 R h − 7.0261 R² +
        2.7081 R² h; b = 0.0005 − 0.0056 h − 0.0066 R − 0.0375 R h + 0.0636 R² − 0.0144 R² h; h = √R; t
        = 25.006; C in µS/cm at 25 °C

    Args:
        conductivity_us_cm: electrical conductivity at 25 °C [µS/cm]

    Returns:
        salinity on the practical scale, taken as g/kg [g/kg]

    Valid range:
        10 to 59,000 µS/cm (0.003 to 39.4 g/kg); under 10 the extension runs below zero by up to 0.0002, and zero is
        taken.

    Source:
        Hill, K. D., T. M. Dauphinee, and D. J. Woods. 1986. The extension of the Practical Salinity Scale
        1978 to low salinities. IEEE J. Oceanic Eng. 11: 109–112; PSS-78 as in UNESCO Tech. Pap. Mar. Sci.
        44 (1983).

    >>> round(salinity_hill_1986(1000.0), 3)
    0.492
    """
    t = 25.0 * 1.00024
    r_t = 0.6766097 + 2.00564e-2 * t + 1.104259e-4 * t**2 - 6.9698e-7 * t**3 + 1.0031e-9 * t**4
    R = conductivity_us_cm / 42914.0 / r_t
    h = math.sqrt(R)
    f = (t - 15.0) / (1.0 + 0.0162 * (t - 15.0))
    a = 0.0080 - 0.1692 * h + 25.3851 * R + 14.0941 * R * h - 7.0261 * R**2 + 2.7081 * R**2 * h
    b = 0.0005 - 0.0056 * h - 0.0066 * R - 0.0375 * R * h + 0.0636 * R**2 - 0.0144 * R**2 * h
    x = 400.0 * R
    y = 100.0 * R
    S: float = a + f * b - 0.0080 / (1.0 + 1.5 * x + x**2) - 0.0005 * f / (1.0 + math.sqrt(y) + y + y**1.5)
    return max(S, 0.0)


def vapour_pressure_benson_krause_1980(temperature_degc: float) -> float:
    """Return the pressure of water vapour over fresh water, as the oxygen tables use it.

    Equation:
        ln u = 11.8571 − 3840.70/T − 216961/T², u in atm, T in K

    Args:
        temperature_degc: water temperature [°C]

    Returns:
        saturation vapour pressure [Pa]

    Valid range:
        0 to 40 °C.

    Source:
        Benson, B. B., and D. Krause. 1980. The concentration and isotopic fractionation of gases dissolved
        in freshwater in equilibrium with the atmosphere: 1. Oxygen. Limnol. Oceanogr. 25: 662–671; as in
        USGS Office of Water Quality Technical Memorandum 2011.03.

    >>> round(vapour_pressure_benson_krause_1980(25.0))
    3168
    """
    T = temperature_degc + 273.15
    return 101325.0 * math.exp(11.8571 - 3840.70 / T - 216961.0 / T**2)


def vapour_pressure_bolton_1980(temperature_degc: float) -> float:
    """Return the saturation pressure of water vapour, as meteorology uses it.

    Equation:
        e_s = 611.2 exp(17.67 t/(t + 243.5)); t in °C, e_s in Pa

    Args:
        temperature_degc: temperature of the air or of the water surface [°C]

    Returns:
        saturation vapour pressure over liquid water [Pa]

    Valid range:
        −30 to 35 °C to 0.3 %; used to 45 °C.

    Source:
        Bolton, D. 1980. The computation of equivalent potential temperature. Mon. Weather Rev. 108:
        1046–1053, equation 10.

    >>> round(vapour_pressure_bolton_1980(20.0))
    2337
    """
    t = temperature_degc
    return 611.2 * math.exp(17.67 * t / (t + 243.5))
