"""Oxygen and nitrogen in water: how much stays dissolved, how fast it passes the surface."""

import math

from plumeline.science.water import density_chen_millero_1986, vapour_pressure_benson_krause_1980

OXYGEN_MOLAR_MASS_G_MOL = 31.9988
NITROGEN_MOLAR_MASS_G_MOL = 28.0134
"""IUPAC standard atomic weights, O 15.9994 and N 14.0067."""

OXYGEN_IN_AIR_FRACTION = 0.20946
NITROGEN_IN_AIR_FRACTION = 0.78084
"""Mole fractions of dry air, U.S. Standard Atmosphere 1976, table 3 (oxygen there 0.209476)."""

STANDARD_PRESSURE_PA = 101325.0

RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "pressure_icao_1993": {"elevation_m": (-450.0, 11000.0)},
    "do_nonideality_benson_krause_1980": {"temperature_degc": (0.0, 40.0)},
    "do_saturation_benson_krause_1984": {
        "temperature_degc": (0.0, 40.0),
        "salinity_g_kg": (0.0, 40.0),
        "pressure_pa": (50000.0, 115000.0),
    },
    "nitrogen_saturation_hamme_emerson_2004": {
        "temperature_degc": (0.0, 40.0),
        "salinity_g_kg": (0.0, 40.0),
        "pressure_pa": (50000.0, 115000.0),
    },
    "solubility_oxygen_benson_krause_1984": {"temperature_degc": (0.0, 40.0), "salinity_g_kg": (0.0, 40.0)},
    "solubility_nitrogen_hamme_emerson_2004": {"temperature_degc": (0.0, 40.0), "salinity_g_kg": (0.0, 40.0)},
    "solubility_oxygen_wuest_1992": {"temperature_degc": (0.0, 35.0)},
    "solubility_nitrogen_wuest_1992": {"temperature_degc": (0.0, 35.0)},
    "schmidt_number_oxygen_wanninkhof_2014": {"temperature_degc": (-2.0, 40.0)},
    "schmidt_number_co2_wanninkhof_2014": {"temperature_degc": (-2.0, 40.0)},
    "solubility_co2_weiss_1974": {"temperature_degc": (-1.0, 40.0)},
    "k600_convective_zappa_2007": {"buoyancy_flux_m2_s3": (0.0, 1e-6), "viscosity_m2_s": (5e-7, 2e-6)},
    "k600_cole_caraco_1998": {"wind_speed_m_s": (0.0, 15.0)},
    "k600_crusius_wanninkhof_2003": {"wind_speed_m_s": (0.0, 15.0)},
    "gas_velocity_jahne_1987": {
        "k600_m_s": (0.0, 1e-3),
        "schmidt_number": (100.0, 2500.0),
        "schmidt_exponent_number": (0.5, 0.667),
    },
}


def pressure_icao_1993(elevation_m: float) -> float:
    """Return the station pressure of the standard atmosphere at an elevation.

    Equation:
        P = 101325 (1 − 2.25577e-5 h)^5.25588

    Args:
        elevation_m: elevation above mean sea level [m]

    Returns:
        absolute air pressure at the station, not reduced to sea level [Pa]

    Valid range:
        −450 to 11,000 m.

    Source:
        ICAO. 1993. Manual of the ICAO Standard Atmosphere, Doc 7488/3, third edition, troposphere.

    >>> round(pressure_icao_1993(1000.0))
    89875
    """
    P: float = 101325.0 * (1.0 - 2.25577e-5 * elevation_m) ** 5.25588
    return P


def do_nonideality_benson_krause_1980(temperature_degc: float) -> float:
    """Return the coefficient by which oxygen departs from an ideal gas in equilibrium with water.

    Equation:
        θ = 9.75e-4 − 1.426e-5 t + 6.436e-8 t²

    Args:
        temperature_degc: water temperature [°C]

    Returns:
        coefficient θ [1/atm]

    Valid range:
        0 to 40 °C.

    Source:
        Benson, B. B., and D. Krause. 1980. Limnol. Oceanogr. 25: 662–671; as in USGS Office of Water
        Quality Technical Memorandum 2011.03.

    >>> round(do_nonideality_benson_krause_1980(25.0), 7)
    0.0006587
    """
    t = temperature_degc
    return 9.75e-4 - 1.426e-5 * t + 6.436e-8 * t**2


def do_saturation_benson_krause_1984(
    temperature_degc: float, salinity_g_kg: float, pressure_pa: float
) -> float:
    """Return the dissolved oxygen of water in equilibrium with moist air.

    Equation:
        C = C* P (1 − u/P)(1 − θ P)/((1 − u)(1 − θ)); ln C* = −139.34411 + 1.575701e5/T − 6.642308e7/T²
        + 1.243800e10/T³ − 8.621949e11/T⁴ − S (1.7674e-2 − 10.754/T + 2140.7/T²); ln u = 11.8571 −
        3840.70/T − 216961/T²; θ = 9.75e-4 − 1.426e-5 t + 6.436e-8 t²; T = t + 273.15; P = p/101325; t
        in °C, S in g/kg, p in Pa, C in mg/L

    Args:
        temperature_degc: water temperature [°C]
        salinity_g_kg: salinity [g/kg]
        pressure_pa: absolute air pressure at the station [Pa]

    Returns:
        dissolved oxygen at saturation [mg/L]

    Valid range:
        0 to 40 °C, 0 to 40 g/kg, 0.5 to 1.1 atm.

    Source:
        Benson, B. B., and D. Krause. 1984. The concentration and isotopic fractionation of oxygen
        dissolved in freshwater and seawater in equilibrium with the atmosphere. Limnol. Oceanogr. 29:
        620–632; as in USGS Office of Water Quality Technical Memorandum 2011.03 and Standard Methods 4500-O.

    >>> round(do_saturation_benson_krause_1984(20.0, 0.0, 101325.0), 2)
    9.09
    """
    T = temperature_degc + 273.15
    T2 = T * T  # products, not powers: compiled and interpreted code then round alike
    S = salinity_g_kg
    C_star = math.exp(
        -139.34411
        + 1.575701e5 / T
        - 6.642308e7 / T2
        + 1.243800e10 / (T2 * T)
        - 8.621949e11 / (T2 * T2)
        - S * (1.7674e-2 - 10.754 / T + 2140.7 / T2)
    )
    P = pressure_pa / 101325.0
    u = vapour_pressure_benson_krause_1980(temperature_degc) / 101325.0
    theta = do_nonideality_benson_krause_1980(temperature_degc)
    return C_star * P * (1.0 - u / P) * (1.0 - theta * P) / ((1.0 - u) * (1.0 - theta))


def nitrogen_saturation_hamme_emerson_2004(
    temperature_degc: float, salinity_g_kg: float, pressure_pa: float
) -> float:
    """Return the dissolved nitrogen of water in equilibrium with moist air.

    Equation:
        ln C = 6.42931 + 2.92704 T_s + 4.32531 T_s² + 4.69149 T_s³
        − S (7.44129e-3 + 8.02566e-3 T_s + 1.46775e-2 T_s²), µmol/kg, T_s = ln((298.15 − t)/(273.15 + t));
        times ρ and the molar mass, and (P − e_s)/(P₀ − e_s)

    Args:
        temperature_degc: water temperature [°C]
        salinity_g_kg: salinity [g/kg]
        pressure_pa: absolute air pressure at the station [Pa]

    Returns:
        dissolved nitrogen at saturation [mg/L]

    Valid range:
        0 to 30 °C in the paper; to 40 °C here. Salinity to 40 g/kg.

    Source:
        Hamme, R. C., and S. R. Emerson. 2004. The solubility of neon, nitrogen and argon in distilled
        water and seawater. Deep-Sea Res. I 51: 1517–1528, equation 1 and table 4.

    >>> round(nitrogen_saturation_hamme_emerson_2004(20.0, 0.0, 101325.0), 1)
    15.0
    """
    t = temperature_degc
    T_s = math.log((298.15 - t) / (273.15 + t))
    C = math.exp(
        6.42931
        + 2.92704 * T_s
        + 4.32531 * T_s**2
        + 4.69149 * T_s**3
        - salinity_g_kg * (7.44129e-3 + 8.02566e-3 * T_s + 1.46775e-2 * T_s**2)
    )
    e_s = vapour_pressure_benson_krause_1980(t)
    moist = (pressure_pa - e_s) / (STANDARD_PRESSURE_PA - e_s)
    return C * moist * NITROGEN_MOLAR_MASS_G_MOL * density_chen_millero_1986(t, salinity_g_kg) * 1e-6


def solubility_oxygen_benson_krause_1984(temperature_degc: float, salinity_g_kg: float) -> float:
    """Return the Henry coefficient of oxygen that agrees with `do_saturation_benson_krause_1984` at 1 atm.

    Equation:
        K_O = C(t, S, P₀)/(M_O2 x_O2 (P₀ − e_s)), P₀ = 1.01325 bar

    Args:
        temperature_degc: water temperature [°C]
        salinity_g_kg: salinity [g/kg]

    Returns:
        solubility by partial pressure of dry gas [mol/(m³·bar)]

    Valid range:
        0 to 40 °C, 0 to 40 g/kg.

    Source:
        Benson, B. B., and D. Krause. 1984. Limnol. Oceanogr. 29: 620–632; mole fraction of dry air 0.20946.

    >>> round(solubility_oxygen_benson_krause_1984(20.0, 0.0), 4)
    1.3705
    """
    C = do_saturation_benson_krause_1984(temperature_degc, salinity_g_kg, STANDARD_PRESSURE_PA)
    dry = (STANDARD_PRESSURE_PA - vapour_pressure_benson_krause_1980(temperature_degc)) * 1e-5
    return C / (OXYGEN_MOLAR_MASS_G_MOL * OXYGEN_IN_AIR_FRACTION * dry)


def solubility_nitrogen_hamme_emerson_2004(temperature_degc: float, salinity_g_kg: float) -> float:
    """Return the Henry coefficient of nitrogen that agrees with `nitrogen_saturation_hamme_emerson_2004`.

    Equation:
        K_N = C(t, S, P₀)/(M_N2 x_N2 (P₀ − e_s)), P₀ = 1.01325 bar

    Args:
        temperature_degc: water temperature [°C]
        salinity_g_kg: salinity [g/kg]

    Returns:
        solubility by partial pressure of dry gas [mol/(m³·bar)]

    Valid range:
        0 to 40 °C, 0 to 40 g/kg.

    Source:
        Hamme, R. C., and S. R. Emerson. 2004. Deep-Sea Res. I 51: 1517–1528; mole fraction of dry air
        0.78084.

    >>> round(solubility_nitrogen_hamme_emerson_2004(20.0, 0.0), 3)
    0.694
    """
    C = nitrogen_saturation_hamme_emerson_2004(temperature_degc, salinity_g_kg, STANDARD_PRESSURE_PA)
    dry = (STANDARD_PRESSURE_PA - vapour_pressure_benson_krause_1980(temperature_degc)) * 1e-5
    return C / (NITROGEN_MOLAR_MASS_G_MOL * NITROGEN_IN_AIR_FRACTION * dry)


def solubility_oxygen_wuest_1992(temperature_degc: float) -> float:
    """Return the Henry coefficient of oxygen of the bubble-plume paper, for its published cases only.

    Equation:
        K_O = 2.125 − 0.05021 t + 5.77e-4 t²

    Args:
        temperature_degc: water temperature [°C]

    Returns:
        solubility by partial pressure [mol/(m³·bar)]

    Valid range:
        0 to 35 °C: a parabola, of no use outside.

    Source:
        Wüest, A., N. H. Brooks, and D. M. Imboden. 1992. Bubble plume modeling for lake restoration. Water
        Resour. Res. 28: 3235–3250, table 1.

    >>> round(solubility_oxygen_wuest_1992(20.0), 4)
    1.3516
    """
    t = temperature_degc
    return 2.125 - 0.05021 * t + 5.77e-4 * t**2


def solubility_nitrogen_wuest_1992(temperature_degc: float) -> float:
    """Return the Henry coefficient of nitrogen of the bubble-plume paper, for its published cases only.

    Equation:
        K_N = 1.042 − 0.02450 t + 3.171e-4 t²

    Args:
        temperature_degc: water temperature [°C]

    Returns:
        solubility by partial pressure [mol/(m³·bar)]

    Valid range:
        0 to 35 °C: a parabola, of no use outside.

    Source:
        Wüest, A., N. H. Brooks, and D. M. Imboden. 1992. Bubble plume modeling for lake restoration. Water
        Resour. Res. 28: 3235–3250, table 1.

    >>> round(solubility_nitrogen_wuest_1992(20.0), 4)
    0.6788
    """
    t = temperature_degc
    return 1.042 - 0.02450 * t + 3.171e-4 * t**2


def schmidt_number_oxygen_wanninkhof_2014(temperature_degc: float) -> float:
    """Return the Schmidt number of oxygen in fresh water.

    Equation:
        Sc = 1745.1 − 124.34 t + 4.8055 t² − 0.10115 t³ + 0.00086842 t⁴

    Args:
        temperature_degc: water temperature [°C]

    Returns:
        kinematic viscosity over diffusivity of oxygen [–]

    Valid range:
        −2 to 40 °C. (The cubic of 1992 fails above 30 °C.)

    Source:
        Wanninkhof, R. 2014. Relationship between wind speed and gas exchange over the ocean revisited.
        Limnol. Oceanogr. Methods 12: 351–362, table 1, fresh water.

    >>> round(schmidt_number_oxygen_wanninkhof_2014(20.0), 1)
    510.2
    """
    t = temperature_degc
    return 1745.1 - 124.34 * t + 4.8055 * t**2 - 0.10115 * t**3 + 0.00086842 * t**4


def schmidt_number_co2_wanninkhof_2014(temperature_degc: float) -> float:
    """Return the Schmidt number of carbon dioxide in fresh water.

    Equation:
        Sc = 1923.6 − 125.06 t + 4.3773 t² − 0.085681 t³ + 0.00070284 t⁴

    Args:
        temperature_degc: water temperature [°C]

    Returns:
        kinematic viscosity over diffusivity of carbon dioxide [–]

    Valid range:
        −2 to 40 °C.

    Source:
        Wanninkhof, R. 2014. Relationship between wind speed and gas exchange over the ocean revisited.
        Limnol. Oceanogr. Methods 12: 351–362, table 1, fresh water (coefficients from memory; 600 at 20 °C).

    >>> round(schmidt_number_co2_wanninkhof_2014(20.0))
    600
    """
    t = temperature_degc
    return 1923.6 - 125.06 * t + 4.3773 * t**2 - 0.085681 * t**3 + 0.00070284 * t**4


def solubility_co2_weiss_1974(temperature_degc: float) -> float:
    """Return the solubility of carbon dioxide in fresh water.

    Equation:
        ln K0 = −58.0931 + 90.5069 (100/T) + 22.2940 ln(T/100), mol/(L·atm), T in K

    Args:
        temperature_degc: water temperature [°C]

    Returns:
        dissolved carbon dioxide over its partial pressure [mol/(m³·Pa)]

    Valid range:
        −1 to 40 °C, fresh water.

    Source:
        Weiss, R. F. 1974. Carbon dioxide in water and seawater: the solubility of a non-ideal gas.
        Mar. Chem. 2: 203–215, equation 12, salinity 0 (coefficients from memory).

    >>> round(solubility_co2_weiss_1974(25.0) * 101325.0, 2)
    33.97
    """
    T = temperature_degc + 273.15
    K0 = math.exp(-58.0931 + 90.5069 * (100.0 / T) + 22.2940 * math.log(T / 100.0))
    return K0 * 1000.0 / 101325.0


def k600_convective_zappa_2007(buoyancy_flux_m2_s3: float, viscosity_m2_s: float) -> float:
    """Return the gas transfer velocity of a surface that the night's cooling stirs.

    Equation:
        k600 = 0.42 (ε ν)^(1/4) 600^(−1/2), ε = 0.77 B

    Args:
        buoyancy_flux_m2_s3: buoyancy lost through the surface, B = g α Q/(ρ c) [m²/s³]
        viscosity_m2_s: kinematic viscosity of the water [m²/s]

    Returns:
        transfer velocity at Schmidt number 600 [m/s]

    Valid range:
        Cooling of 0 to 1,000 W/m²; no wind in it.

    Source:
        Zappa, C. J., et al. 2007. Environmental turbulent mixing controls on air–water gas exchange. Geophys.
        Res. Lett. 34: L10601 (0.42); Tedford, E. W., et al. 2014. J. Geophys. Res. Oceans 119: 3926–3945
        (dissipation 0.77 B under cooling); both from memory.

    >>> round(k600_convective_zappa_2007(1.05e-7, 0.9e-6) * 360000.0, 1)
    3.2
    """
    if buoyancy_flux_m2_s3 <= 0.0:
        return 0.0
    dissipation_m2_s3 = 0.77 * buoyancy_flux_m2_s3
    return 0.42 * math.sqrt(math.sqrt(dissipation_m2_s3 * viscosity_m2_s)) / math.sqrt(600.0)


def k600_cole_caraco_1998(wind_speed_m_s: float) -> float:
    """Return the gas transfer velocity of a lake at Schmidt number 600.

    Equation:
        k600 = 2.07 + 0.215 U10^1.7, cm/h

    Args:
        wind_speed_m_s: wind speed at 10 m over the water [m/s]

    Returns:
        transfer velocity at Schmidt number 600 [m/s]

    Valid range:
        0 to 15 m/s (measured under 9 m/s).

    Source:
        Cole, J. J., and N. F. Caraco. 1998. Atmospheric exchange of carbon dioxide in a low-wind
        oligotrophic lake measured by the addition of SF6. Limnol. Oceanogr. 43: 647–656.

    >>> round(k600_cole_caraco_1998(3.0) * 86400.0, 3)
    0.831
    """
    k600_cm_h: float = 2.07 + 0.215 * math.pow(wind_speed_m_s, 1.7)
    return k600_cm_h / 360000.0


def k600_crusius_wanninkhof_2003(wind_speed_m_s: float) -> float:
    """Return the gas transfer velocity of a small lake at Schmidt number 600.

    Equation:
        k600 = 0.168 + 0.228 U10^2.2, cm/h

    Args:
        wind_speed_m_s: wind speed at 10 m over the water [m/s]

    Returns:
        transfer velocity at Schmidt number 600 [m/s]

    Valid range:
        0 to 15 m/s (measured under 6 m/s).

    Source:
        Crusius, J., and R. Wanninkhof. 2003. Gas transfer velocities measured at low wind speed over a
        lake. Limnol. Oceanogr. 48: 1010–1017, power law.

    >>> round(k600_crusius_wanninkhof_2003(3.0) * 86400.0, 3)
    0.654
    """
    k600_cm_h: float = 0.168 + 0.228 * math.pow(wind_speed_m_s, 2.2)
    return k600_cm_h / 360000.0


def gas_velocity_jahne_1987(k600_m_s: float, schmidt_number: float, schmidt_exponent_number: float) -> float:
    """Return the transfer velocity of a gas from that at Schmidt number 600.

    Equation:
        k = k600 (Sc/600)^−n, n = 1/2 for a rippled surface and 2/3 for a still one

    Args:
        k600_m_s: transfer velocity at Schmidt number 600 [m/s]
        schmidt_number: Schmidt number of the gas [–]
        schmidt_exponent_number: exponent n [–]

    Returns:
        transfer velocity of the gas [m/s]

    Valid range:
        Exponent 0.5 to 2/3.

    Source:
        Jähne, B., K. O. Münnich, R. Bösinger, A. Dutzi, W. Huber, and P. Libner. 1987. On the parameters
        influencing air–water gas exchange. J. Geophys. Res. 92: 1937–1949.

    >>> round(gas_velocity_jahne_1987(1.0e-5, 510.2, 0.5) * 1e5, 4)
    1.0844
    """
    k: float = k600_m_s * math.pow(schmidt_number / 600.0, -schmidt_exponent_number)
    return k
