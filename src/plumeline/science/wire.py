"""Wires: what is lost between the panel and the motor. Information for the licensed electrician."""

from __future__ import annotations


def voltage_drop_nec_2023(current_a: float, one_way_length_m: float, resistance_ohm_per_m: float) -> float:
    """Voltage lost along the two wires of a single-phase circuit.

    Equation: V = 2 L I R

    Args:
        current_a: running current [A].
        one_way_length_m: length from panel to load, one way [m].
        resistance_ohm_per_m: resistance of one wire a metre, NEC chapter 9 table 8 [Ω/m].

    Returns:
        Voltage drop [V].

    Valid range: single phase, power factor near one, up to 1,000 m.

    Source: NFPA 70 (National Electrical Code) 2023, chapter 9, table 8 for the resistance; Ohm's law for the rest.

    >>> round(voltage_drop_nec_2023(5.0, 260.0 * 0.3048, 1.98 / 304.8), 2)
    5.15
    """
    return 2.0 * one_way_length_m * current_a * resistance_ohm_per_m


RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "voltage_drop_nec_2023": {
        "current_a": (0.0, 200.0),
        "one_way_length_m": (0.0, 1000.0),
        "resistance_ohm_per_m": (1e-4, 0.05),
    },
}
