"""Ammonia and hydrogen sulphide: the part that poisons fish, and the published criteria."""

import math

RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "ammonia_pka_emerson_1975": {"temperature_degc": (0.0, 40.0)},
    "ammonia_unionized_fraction_emerson_1975": {"temperature_degc": (0.0, 40.0), "ph": (4.0, 12.0)},
    "ammonia_unionized_fraction_bell_2008": {
        "temperature_degc": (0.0, 40.0),
        "salinity_g_kg": (0.0, 45.0),
        "ph": (4.0, 12.0),
    },
    "ammonia_acute_epa_2013": {"temperature_degc": (0.0, 40.0), "ph": (6.5, 9.0)},
    "ammonia_acute_trout_epa_2013": {"temperature_degc": (0.0, 40.0), "ph": (6.5, 9.0)},
    "ammonia_chronic_epa_2013": {"temperature_degc": (0.0, 40.0), "ph": (6.5, 9.0)},
    "sulphide_pk1_millero_1988": {"temperature_degc": (0.0, 40.0), "salinity_g_kg": (0.0, 40.0)},
    "sulphide_undissociated_fraction_millero_1988": {
        "temperature_degc": (0.0, 40.0),
        "salinity_g_kg": (0.0, 40.0),
        "ph": (4.0, 11.0),
    },
}


def ammonia_pka_emerson_1975(temperature_degc: float) -> float:
    """Return the negative logarithm of the dissociation constant of ammonium in fresh water.

    Equation:
        pKa = 0.09018 + 2729.92/T

    Args:
        temperature_degc: water temperature [°C]

    Returns:
        pKa [–]

    Valid range:
        0 to 30 °C in the paper; to 40 °C here.

    Source:
        Emerson, K., R. C. Russo, R. E. Lund, and R. V. Thurston. 1975. Aqueous ammonia equilibrium
        calculations: effect of pH and temperature. J. Fish. Res. Board Can. 32: 2379–2383.

    >>> round(ammonia_pka_emerson_1975(25.0), 3)
    9.246
    """
    return 0.09018 + 2729.92 / (temperature_degc + 273.15)


def ammonia_unionized_fraction_emerson_1975(temperature_degc: float, ph: float) -> float:
    """Return the un-ionised part of total ammonia in fresh water.

    Equation:
        f = 1/(1 + 10^(pKa − pH)); pKa = 0.09018 + 2729.92/T; T = t + 273.15; t in °C

    Args:
        temperature_degc: water temperature [°C]
        ph: pH of the water [–]

    Returns:
        un-ionised fraction of total ammonia [–]

    Valid range:
        0 to 30 °C in the paper; to 40 °C here; pH 4 to 12.

    Source:
        Emerson, K., R. C. Russo, R. E. Lund, and R. V. Thurston. 1975. Aqueous ammonia equilibrium
        calculations: effect of pH and temperature. J. Fish. Res. Board Can. 32: 2379–2383.

    >>> round(ammonia_unionized_fraction_emerson_1975(25.0, 8.0), 3)
    0.054
    """
    f: float = 1.0 / (1.0 + math.pow(10.0, ammonia_pka_emerson_1975(temperature_degc) - ph))
    return f


def ammonia_unionized_fraction_bell_2008(temperature_degc: float, salinity_g_kg: float, ph: float) -> float:
    """Return the un-ionised part of total ammonia in fresh, brackish or sea water.

    The fresh water is Emerson's, so that salt of zero gives `ammonia_unionized_fraction_emerson_1975` to the
    last digit; what salt adds is that of Bell and others.

    Equation:
        f = 1/(1 + 10^(pKa − pH)); pKa = 0.09018 + 2729.92/T + 0.003071 S; T = t + 273.15; t in °C, S in g/kg

    Args:
        temperature_degc: water temperature [°C]
        salinity_g_kg: salinity [g/kg]
        ph: pH of the water [–]

    Returns:
        un-ionised fraction of total ammonia [–]

    Valid range:
        Measured from 5 to 25 °C and 5 to 45 g/kg; to 40 °C and fresh water here; pH 4 to 12.

    Source:
        Bell, T. G., M. T. Johnson, T. D. Jickells, and P. S. Liss. 2008. Ammonia/ammonium dissociation
        coefficient in seawater: a significant numerical correction, corrigendum. Environ. Chem. 5: 258, for the
        salt; Emerson, K., R. C. Russo, R. E. Lund, and R. V. Thurston. 1975. J. Fish. Res. Board Can. 32:
        2379–2383, for the fresh water.

    >>> round(ammonia_unionized_fraction_bell_2008(25.0, 34.0, 8.0), 4)
    0.0427
    """
    pKa = ammonia_pka_emerson_1975(temperature_degc) + 0.003071 * salinity_g_kg
    f: float = 1.0 / (1.0 + math.pow(10.0, pKa - ph))
    return f


def ammonia_acute_epa_2013(temperature_degc: float, ph: float) -> float:
    """Return the acute criterion for total ammonia, as N, where there are no trout or salmon.

    Equation:
        CMC = 0.7249 (0.0114/(1 + 10^(7.204 − pH)) + 1.6181/(1 + 10^(pH − 7.204)))
        min(51.93, 23.12 · 10^(0.036 (20 − t)))

    Args:
        temperature_degc: water temperature [°C]
        ph: pH of the water [–]

    Returns:
        criterion maximum concentration, total ammonia as N [mg/L]

    Valid range:
        pH 6.5 to 9.0. Mussels drive the criterion.

    Source:
        U.S. EPA. 2013. Aquatic life ambient water quality criteria for ammonia – freshwater. EPA
        822-R-13-001.

    >>> round(ammonia_acute_epa_2013(20.0, 7.0), 1)
    16.8
    """
    A = 0.0114 / (1.0 + 10.0 ** (7.204 - ph)) + 1.6181 / (1.0 + 10.0 ** (ph - 7.204))
    CMC: float = 0.7249 * A * min(51.93, 23.12 * 10.0 ** (0.036 * (20.0 - temperature_degc)))
    return CMC


def ammonia_acute_trout_epa_2013(temperature_degc: float, ph: float) -> float:
    """Return the acute criterion for total ammonia, as N, where there are trout or salmon.

    Equation:
        CMC = min(0.275/(1 + 10^(7.204 − pH)) + 39.0/(1 + 10^(pH − 7.204)),
        0.7249 (0.0114/(1 + 10^(7.204 − pH)) + 1.6181/(1 + 10^(pH − 7.204))) 23.12 · 10^(0.036 (20 − t)))

    Args:
        temperature_degc: water temperature [°C]
        ph: pH of the water [–]

    Returns:
        criterion maximum concentration, total ammonia as N [mg/L]

    Valid range:
        pH 6.5 to 9.0.

    Source:
        U.S. EPA. 2013. Aquatic life ambient water quality criteria for ammonia – freshwater. EPA
        822-R-13-001.

    >>> round(ammonia_acute_trout_epa_2013(10.0, 7.0), 1)
    24.1
    """
    A = 0.0114 / (1.0 + 10.0 ** (7.204 - ph)) + 1.6181 / (1.0 + 10.0 ** (ph - 7.204))
    trout = 0.275 / (1.0 + 10.0 ** (7.204 - ph)) + 39.0 / (1.0 + 10.0 ** (ph - 7.204))
    CMC: float = min(trout, 0.7249 * A * 23.12 * 10.0 ** (0.036 * (20.0 - temperature_degc)))
    return CMC


def ammonia_chronic_epa_2013(temperature_degc: float, ph: float) -> float:
    """Return the chronic criterion for total ammonia, as N, with or without trout.

    Equation:
        CCC = 0.8876 (0.0278/(1 + 10^(7.688 − pH)) + 1.1994/(1 + 10^(pH − 7.688)))
        2.126 · 10^(0.028 (20 − max(t, 7)))

    Args:
        temperature_degc: water temperature [°C]
        ph: pH of the water [–]

    Returns:
        criterion continuous concentration, total ammonia as N [mg/L]

    Valid range:
        pH 6.5 to 9.0.

    Source:
        U.S. EPA. 2013. Aquatic life ambient water quality criteria for ammonia – freshwater. EPA
        822-R-13-001.

    >>> round(ammonia_chronic_epa_2013(20.0, 7.0), 1)
    1.9
    """
    A = 0.0278 / (1.0 + 10.0 ** (7.688 - ph)) + 1.1994 / (1.0 + 10.0 ** (ph - 7.688))
    CCC: float = 0.8876 * A * 2.126 * 10.0 ** (0.028 * (20.0 - max(temperature_degc, 7.0)))
    return CCC


def sulphide_pk1_millero_1988(temperature_degc: float, salinity_g_kg: float) -> float:
    """Return the negative logarithm of the first dissociation constant of hydrogen sulphide.

    Equation:
        pK1 = −98.080 + 5765.4/T + 15.0455 ln T − 0.1498 S^½ + 0.0119 S; T = t + 273.15

    Args:
        temperature_degc: water temperature [°C]
        salinity_g_kg: salinity [g/kg]

    Returns:
        pK1, on the scale of total hydrogen ion [–]

    Valid range:
        The paper: 5 to 25 °C and 5 to 40 g/kg, and fresh water by its first three terms; 0 to 40 °C here. It
        fits the measurements within 0.028.

    Source:
        Millero, F. J., T. Plese, and M. Fernandez. 1988. The dissociation of hydrogen sulfide in seawater.
        Limnol. Oceanogr. 33: 269–274, the consensus values of A and B.

    >>> round(sulphide_pk1_millero_1988(25.0, 0.0), 2), round(sulphide_pk1_millero_1988(25.0, 35.0), 2)
    (6.98, 6.51)
    """
    T, S = temperature_degc + 273.15, salinity_g_kg
    return -98.080 + 5765.4 / T + 15.0455 * math.log(T) - 0.1498 * math.sqrt(S) + 0.0119 * S


def sulphide_undissociated_fraction_millero_1988(
    temperature_degc: float, salinity_g_kg: float, ph: float
) -> float:
    """Return the part of total sulphide that is undissociated hydrogen sulphide, the part that poisons.

    The pH of salt water is on the scale of total hydrogen ion; a meter set with the usual buffers reads 0.1 to 0.15
    more in it, which makes the part up to a third too low. In fresh water the two are one.

    Equation:
        f = 1/(1 + 10^(pH − pK1)); pK1 = −98.080 + 5765.4/T + 15.0455 ln T − 0.1498 √S + 0.0119 S;
        T = t + 273.15; t in °C, S in g/kg

    Args:
        temperature_degc: water temperature [°C]
        salinity_g_kg: salinity [g/kg]
        ph: pH of the water [–]

    Returns:
        undissociated fraction of total sulphide [–]

    Valid range:
        0 to 40 °C, 0 to 40 g/kg, pH 4 to 11 (the second dissociation is left out).

    Source:
        Millero, F. J., T. Plese, and M. Fernandez. 1988. The dissociation of hydrogen sulfide in seawater.
        Limnol. Oceanogr. 33: 269–274, the consensus values of A and B.

    >>> round(sulphide_undissociated_fraction_millero_1988(25.0, 0.0, 7.0), 3)
    0.489
    >>> round(sulphide_undissociated_fraction_millero_1988(25.0, 35.0, 7.0), 3)
    0.245
    """
    f: float = 1.0 / (1.0 + math.pow(10.0, ph - sulphide_pk1_millero_1988(temperature_degc, salinity_g_kg)))
    return f
