"""The carbonate system of fresh water: pH from alkalinity and dissolved inorganic carbon."""

from math import log10, pow, sqrt

RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "carbonic_pk1_plummer_1982": {"temperature_degc": (0.0, 100.0)},
    "carbonic_pk2_plummer_1982": {"temperature_degc": (0.0, 100.0)},
    "carbonic_acid_fraction_plummer_1982": {"ph_number": (4.0, 11.0), "temperature_degc": (0.0, 40.0)},
    "ph_from_alkalinity_and_carbon": {
        "alkalinity_mol_m3": (0.05, 10.0),
        "carbon_mol_m3": (0.02, 12.0),
        "temperature_degc": (0.0, 40.0),
    },
    "carbon_from_alkalinity_and_ph": {
        "alkalinity_mol_m3": (0.05, 10.0),
        "ph_number": (5.5, 10.5),
        "temperature_degc": (0.0, 40.0),
    },
}


def carbonic_pk1_plummer_1982(temperature_degc: float) -> float:
    """Return pK₁ of carbonic acid in pure water.

    Equation:
        log K₁ = -356.3094 - 0.06091964 T + 21834.37/T + 126.8339 log T - 1684915/T², T in K

    Args:
        temperature_degc: temperature [°C], scalar.

    Returns:
        pK₁, a pure number.

    Valid range:
        0 to 100 °C, ionic strength near zero.

    Source:
        Plummer & Busenberg 1982, Geochim. Cosmochim. Acta 46:1011 (from memory).

    >>> round(carbonic_pk1_plummer_1982(25.0), 2)
    6.35
    """
    t = temperature_degc + 273.15
    return 356.3094 + 0.06091964 * t - 21834.37 / t - 126.8339 * log10(t) + 1684915.0 / (t * t)


def carbonic_pk2_plummer_1982(temperature_degc: float) -> float:
    """Return pK₂ of carbonic acid in pure water.

    Equation:
        log K₂ = -107.8871 - 0.03252849 T + 5151.79/T + 38.92561 log T - 563713.9/T², T in K

    Args:
        temperature_degc: temperature [°C], scalar.

    Returns:
        pK₂, a pure number.

    Valid range:
        0 to 100 °C, ionic strength near zero.

    Source:
        Plummer & Busenberg 1982, Geochim. Cosmochim. Acta 46:1011 (from memory).

    >>> round(carbonic_pk2_plummer_1982(25.0), 2)
    10.33
    """
    t = temperature_degc + 273.15
    return 107.8871 + 0.03252849 * t - 5151.79 / t - 38.92561 * log10(t) + 563713.9 / (t * t)


def carbon_from_alkalinity_and_ph(
    alkalinity_mol_m3: float, ph_number: float, temperature_degc: float
) -> float:
    """Return dissolved inorganic carbon of fresh water of known alkalinity and pH.

    Equation:
        C = A (H² + K₁ H + K₁ K₂)/(K₁ H + 2 K₁ K₂); H = 10^(−pH); log K₁ = −356.3094 − 0.06091964 T +
        21834.37/T + 126.8339 log T − 1684915/T²; log K₂ = −107.8871 − 0.03252849 T + 5151.79/T +
        38.92561 log T − 563713.9/T²; T = t + 273.15; t in °C, log to base 10, A the carbonate
        alkalinity

    Args:
        alkalinity_mol_m3: alkalinity [mol/m³ = meq/L], scalar.
        ph_number: pH, scalar.
        temperature_degc: temperature [°C], scalar.

    Returns:
        Dissolved inorganic carbon [mol/m³].

    Valid range:
        Alkalinity 0.05 to 10 meq/L, pH 5.5 to 10.5; borate, ammonia and hydroxide are left out.

    Source:
        Mass action and charge balance (Stumm & Morgan 1996, Aquatic Chemistry, ch. 4).

    >>> round(carbon_from_alkalinity_and_ph(1.5, 8.3, 25.0), 2)
    1.5
    """
    h = pow(10.0, -ph_number)
    k1 = pow(10.0, -carbonic_pk1_plummer_1982(temperature_degc))
    k2 = pow(10.0, -carbonic_pk2_plummer_1982(temperature_degc))
    return alkalinity_mol_m3 * (h * h + k1 * h + k1 * k2) / (k1 * h + 2.0 * k1 * k2)


def ph_from_alkalinity_and_carbon(
    alkalinity_mol_m3: float, carbon_mol_m3: float, temperature_degc: float
) -> float:
    """Return the pH of fresh water of known alkalinity and dissolved inorganic carbon.

    Equation:
        A H² + K₁(A - C) H + K₁K₂(A - 2C) = 0, the positive root

    Args:
        alkalinity_mol_m3: alkalinity [mol/m³ = meq/L], scalar.
        carbon_mol_m3: dissolved inorganic carbon [mol/m³], scalar.
        temperature_degc: temperature [°C], scalar.

    Returns:
        pH, a pure number.

    Valid range:
        Alkalinity 0.05 to 10 meq/L, more carbon than half the alkalinity; borate, ammonia and hydroxide
        are left out.

    Source:
        Mass action and charge balance (Stumm & Morgan 1996, Aquatic Chemistry, ch. 4).

    >>> round(ph_from_alkalinity_and_carbon(1.5, carbon_from_alkalinity_and_ph(1.5, 8.9, 28.0), 28.0), 6)
    8.9
    """
    k1 = pow(10.0, -carbonic_pk1_plummer_1982(temperature_degc))
    k2 = pow(10.0, -carbonic_pk2_plummer_1982(temperature_degc))
    a = alkalinity_mol_m3
    b = k1 * (alkalinity_mol_m3 - carbon_mol_m3)
    c = k1 * k2 * (alkalinity_mol_m3 - 2.0 * carbon_mol_m3)
    root = sqrt(b * b - 4.0 * a * c)
    # the form without cancellation for either sign of b
    h = (root - b) / (2.0 * a) if b <= 0.0 else -2.0 * c / (b + root)
    return -log10(h)


def carbonic_acid_fraction_plummer_1982(ph_number: float, temperature_degc: float) -> float:
    """Return the part of dissolved inorganic carbon that is dissolved carbon dioxide, the part that can leave.

    Equation:
        f = H² / (H² + K₁H + K₁K₂)

    Args:
        ph_number: pH, scalar.
        temperature_degc: temperature [°C], scalar.

    Returns:
        Fraction, 0 to 1; carbonic acid is counted with it.

    Valid range:
        pH 4 to 11, 0 to 40 °C, ionic strength near zero.

    Source:
        Mass action with the constants of Plummer & Busenberg 1982 (Stumm & Morgan 1996, ch. 4).

    >>> round(carbonic_acid_fraction_plummer_1982(6.35, 25.0), 2)
    0.5
    """
    h = pow(10.0, -ph_number)
    k1 = pow(10.0, -carbonic_pk1_plummer_1982(temperature_degc))
    k2 = pow(10.0, -carbonic_pk2_plummer_1982(temperature_degc))
    return h * h / (h * h + k1 * h + k1 * k2)
