"""Light, bloom, respiration and the reactions of the oxygen debts: one scalar relation each."""

from math import exp, pow, sqrt, tanh

RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "temperature_factor_arrhenius_1889": {"temperature_degc": (0.0, 40.0), "theta_number": (1.0, 1.12)},
    "light_limitation_jassby_1976": {"light_umol_m2_s": (0.0, 3000.0), "i_k_umol_m2_s": (10.0, 1000.0)},
    "oxygen_limitation_monod_1949": {"do_mg_l": (0.0, 40.0), "half_saturation_mg_l": (0.01, 10.0)},
    "photons_mccree_1972": {"par_w_m2": (0.0, 700.0)},
    "reacted_second_order": {
        "debt_mg_l": (0.0, 200.0),
        "do_mg_l": (0.0, 40.0),
        "demand_number": (0.1, 5.0),
        "rate_step_l_mg": (0.0, 10.0),
    },
    "carbon_limitation_maberly_1983": {"ph_number": (4.0, 12.0)},
    "growth_limitation_verhulst_1838": {
        "chlorophyll_ug_l": (0.0, 500.0),
        "most_chlorophyll_ug_l": (1.0, 500.0),
    },
    "decayed_first_order": {"rate_s": (0.0, 1e-2), "step_s": (0.0, 86400.0)},
}


def temperature_factor_arrhenius_1889(temperature_degc: float, theta_number: float) -> float:
    """Return how much faster a biological rate runs than at 20 °C.

    Equation:
        θ^(T - 20)

    Args:
        temperature_degc: water temperature [°C], scalar.
        theta_number: base of the factor, 1.04 to 1.09, scalar.

    Returns:
        Factor, a pure number.

    Valid range:
        0 to 40 °C.

    Source:
        The engineers' form of the Arrhenius law, e.g. Boyd 1973 for pond water (Q10 1.5-2.0).

    >>> round(temperature_factor_arrhenius_1889(30.0, 1.065), 3)
    1.877
    """
    return pow(theta_number, temperature_degc - 20.0)


def light_limitation_jassby_1976(light_umol_m2_s: float, i_k_umol_m2_s: float) -> float:
    """Return photosynthesis as a part of its light-saturated rate.

    Equation:
        tanh(I / I_k)

    Args:
        light_umol_m2_s: light for photosynthesis [µmol/m²/s], scalar.
        i_k_umol_m2_s: light at the onset of saturation [µmol/m²/s], scalar.

    Returns:
        Fraction, 0 to 1.

    Valid range:
        0 to 3000 µmol/m²/s.

    Source:
        Jassby & Platt 1976, Limnol. Oceanogr. 21:540.

    >>> round(light_limitation_jassby_1976(150.0, 150.0), 4)
    0.7616
    """
    return tanh(light_umol_m2_s / i_k_umol_m2_s)


def photons_mccree_1972(par_w_m2: float) -> float:
    """Return the photon flux of daylight's visible part.

    Equation:
        I = 4.57 PAR

    Args:
        par_w_m2: visible radiation, 400-700 nm [W/m²], scalar.

    Returns:
        Photon flux [µmol/m²/s].

    Valid range:
        0 to 700 W/m².

    Source:
        McCree 1972, Agric. Meteorol. 10:443 (sun and sky: 4.57 µmol/J).

    >>> round(photons_mccree_1972(100.0), 1)
    457.0
    """
    return 4.57 * par_w_m2


def oxygen_limitation_monod_1949(do_mg_l: float, half_saturation_mg_l: float) -> float:
    """Return how far oxygen limits a process that uses it.

    Equation:
        O / (O + K)

    Args:
        do_mg_l: dissolved oxygen [mg/L], scalar.
        half_saturation_mg_l: oxygen at half the full rate [mg/L], scalar.

    Returns:
        Fraction, 0 to 1.

    Valid range:
        0 to 40 mg/L.

    Source:
        Monod 1949, Annu. Rev. Microbiol. 3:371.

    >>> oxygen_limitation_monod_1949(1.4, 1.4)
    0.5
    """
    return do_mg_l / (do_mg_l + half_saturation_mg_l)


def reacted_second_order(
    debt_mg_l: float, do_mg_l: float, demand_number: float, rate_step_l_mg: float
) -> float:
    """Return how much of a debt is oxidised in one step, never more than there is of either.

    Equation:
        x = k Δt (D - x)(O - ν x), solved for the smaller root

    Args:
        debt_mg_l: debt D at the start of the step [mg/L], scalar.
        do_mg_l: oxygen O at the start of the step [mg/L], scalar.
        demand_number: oxygen used by one part of the debt, ν [g/g], scalar.
        rate_step_l_mg: rate constant times the step, k Δt [L/mg], scalar.

    Returns:
        Debt oxidised x [mg/L]; 0 ≤ x ≤ min(D, O/ν).

    Valid range:
        Debt to 200 mg/L, oxygen to 40 mg/L.

    Source:
        Implicit Euler step of the second-order rate law (elementary).

    >>> round(reacted_second_order(1.0, 8.0, 1.0, 0.1), 4)
    0.4308
    """
    b_number = 1.0 + rate_step_l_mg * (do_mg_l + demand_number * debt_mg_l)
    c_mg_l = rate_step_l_mg * debt_mg_l * do_mg_l
    a_l_mg = rate_step_l_mg * demand_number
    return 2.0 * c_mg_l / (b_number + sqrt(b_number * b_number - 4.0 * a_l_mg * c_mg_l))


def carbon_limitation_maberly_1983(ph_number: float) -> float:
    """Return how far the want of inorganic carbon slows photosynthesis.

    Equation:
        1 under pH 9.5, 0 over 10.5, a straight line between

    Args:
        ph_number: pH of the water, scalar.

    Returns:
        Fraction, 0 to 1.

    Valid range:
        Fresh water; the pH at which algae stop ranges from 9 to 11 with the species.

    Source:
        The span of final pH in closed bottles of Maberly & Spence 1983, J. Ecol. 71:705 (from memory); the
        straight line is judgement.

    >>> carbon_limitation_maberly_1983(10.0)
    0.5
    """
    return min(max(10.5 - ph_number, 0.0), 1.0)


def growth_limitation_verhulst_1838(chlorophyll_ug_l: float, most_chlorophyll_ug_l: float) -> float:
    """Return the part of its growth that a bloom keeps as it nears what the water's nutrients can bear.

    Equation:
        1 - B / B_max, never under 0

    Args:
        chlorophyll_ug_l: the bloom [µg/L], scalar.
        most_chlorophyll_ug_l: the most that the nutrients can bear [µg/L], scalar.

    Returns:
        Fraction, 0 to 1.

    Valid range:
        All blooms of zero or more.

    Source:
        Logistic growth, Verhulst 1838 (elementary).

    >>> growth_limitation_verhulst_1838(30.0, 60.0)
    0.5
    """
    return max(1.0 - chlorophyll_ug_l / most_chlorophyll_ug_l, 0.0)


def decayed_first_order(rate_s: float, step_s: float) -> float:
    """Return the part of a substance that decays in one step.

    Equation:
        1 - exp(-k Δt)

    Args:
        rate_s: rate constant k [1/s], scalar.
        step_s: length of the step [s], scalar.

    Returns:
        Fraction, 0 to 1.

    Valid range:
        All rates of zero or more.

    Source:
        First-order decay (elementary).

    >>> round(decayed_first_order(1.0, 1.0), 4)
    0.6321
    """
    return 1.0 - exp(-rate_s * step_s)
