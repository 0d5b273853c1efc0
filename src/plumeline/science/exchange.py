"""Gases that react in the water or cling to it, as they pass its surface."""

from math import exp, log, sqrt, tanh

RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "carbon_dioxide_hydration_pinsent_1956": {"temperature_degc": (0.0, 40.0), "ph_number": (4.0, 11.0)},
    "enhancement_co2_hoover_1969": {
        "velocity_m_s": (1e-8, 1e-3),
        "diffusivity_m2_s": (5e-10, 5e-9),
        "carbonic_acid_fraction": (0.0, 0.999),
        "ph_number": (4.0, 11.0),
        "temperature_degc": (0.0, 40.0),
    },
    "gas_velocity_ammonia_whitman_1923": {
        "water_velocity_m_s": (1e-8, 1e-3),
        "wind_speed_m_s": (0.0, 30.0),
        "temperature_degc": (0.0, 40.0),
    },
}


def carbon_dioxide_hydration_pinsent_1956(temperature_degc: float, ph_number: float) -> float:
    """Return how fast dissolved carbon dioxide turns into bicarbonate, with water and with hydroxide.

    Equation:
        r = k_w + k_OH [OH⁻]; log k_w = 329.850 − 110.541 log T − 17265.4/T,
        log k_OH = 13.635 − 2895/T, log [OH⁻] = pH − pK_w, pK_w = 4470.99/T − 6.0875 + 0.01706 T, T in K

    Args:
        temperature_degc: temperature [°C], scalar.
        ph_number: pH, scalar.

    Returns:
        Rate of the first order [1/s].

    Valid range:
        0 to 40 °C, fresh water.

    Source:
        Pinsent, Pearson & Roughton 1956, Trans. Faraday Soc. 52:1512 (from memory); pK_w of Harned & Hamer 1933,
        J. Am. Chem. Soc. 55:2194 (from memory).

    >>> round(carbon_dioxide_hydration_pinsent_1956(25.0, 4.0), 3)
    0.026
    """
    t = temperature_degc + 273.15
    ten = 2.302585092994046
    hydration = exp(ten * (329.850 - 17265.4 / t) - 110.541 * log(t))
    with_hydroxide = exp(ten * (13.635 - 2895.0 / t + ph_number - 4470.99 / t + 6.0875 - 0.01706 * t))
    return hydration + with_hydroxide


def enhancement_co2_hoover_1969(
    velocity_m_s: float,
    diffusivity_m2_s: float,
    carbonic_acid_fraction: float,
    ph_number: float,
    temperature_degc: float,
) -> float:
    """Return how many times faster carbon dioxide passes the surface because it reacts in the film.

    Equation:
        τ / ((τ − 1) + tanh x / x), x = √(r τ D) / k, τ = 1 / (1 − a)

    Args:
        velocity_m_s: transfer velocity k of a gas that does not react [m/s], scalar.
        diffusivity_m2_s: of carbon dioxide in water, D [m²/s], scalar.
        carbonic_acid_fraction: free part a of the inorganic carbon, scalar.
        ph_number: pH at the surface, scalar.
        temperature_degc: temperature [°C], scalar.

    Returns:
        Factor on the transfer velocity, at least 1.

    Valid range:
        A film in which pH is that of the water under it; fresh water.

    Source:
        Hoover & Berkshire 1969, J. Geophys. Res. 74:456, as used in many codes (from memory).

    >>> round(enhancement_co2_hoover_1969(5e-6, 1.9e-9, 0.5, 6.4, 25.0), 2)
    1.35
    """
    tau = 1.0 / (1.0 - carbonic_acid_fraction)
    rate_1_s = carbon_dioxide_hydration_pinsent_1956(temperature_degc, ph_number)
    x = sqrt(rate_1_s * tau * diffusivity_m2_s) / velocity_m_s
    # under a thousandth the quotient is 1 to seven digits, and the vector's tanh has none left to divide
    slowed = tanh(max(x, 1e-3)) / max(x, 1e-3)
    return tau / ((tau - 1.0) + slowed)


def gas_velocity_ammonia_whitman_1923(
    water_velocity_m_s: float, wind_speed_m_s: float, temperature_degc: float
) -> float:
    """Return the transfer velocity of free ammonia, which the air above the water holds back.

    Equation:
        1/v = 1/k + 1/(K k_a), k_a = 0.003 + 0.002 u,
        K = 1/(0.59 exp(4200 (1/T − 1/298.15)) R T), T in K

    Args:
        water_velocity_m_s: transfer velocity k through the water's film [m/s], scalar.
        wind_speed_m_s: wind u [m/s], scalar.
        temperature_degc: temperature [°C], scalar.

    Returns:
        Velocity on the concentration of free ammonia in the water [m/s].

    Valid range:
        0 to 40 °C.

    Source:
        Two films in series, Whitman 1923; Henry's constant of ammonia 0.59 mol/(m³ Pa), 4200 K: Sander 2015, Atmos.
        Chem. Phys. 15:4399; air's film as of water vapour, 0.3 + 0.2 u cm/s, Schwarzenbach et al. 2003,
        Environmental Organic Chemistry, ch. 20 (all from memory).

    >>> round(gas_velocity_ammonia_whitman_1923(1e-5, 2.0, 25.0) * 86400.0, 2)
    0.28
    """
    t = temperature_degc + 273.15
    air_over_water = 1.0 / (0.59 * exp(4200.0 * (1.0 / t - 1.0 / 298.15)) * 8.314462 * t)
    through_air_m_s = air_over_water * (0.003 + 0.002 * wind_speed_m_s)
    return water_velocity_m_s * through_air_m_s / (water_velocity_m_s + through_air_m_s)
