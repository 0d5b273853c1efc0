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


def longest_run_nec_2023(voltage_drop_v: float, current_a: float, resistance_ohm_per_m: float) -> float:
    """Length of a single-phase circuit, one way, that loses a voltage: the inverse of the drop.

    Equation: L = V / (2 I R)

    Args:
        voltage_drop_v: voltage that may be lost [V].
        current_a: current [A].
        resistance_ohm_per_m: resistance of one wire a metre, NEC chapter 9 table 8 [Ω/m].

    Returns:
        Length, one way [m].

    Valid range: single phase, power factor near one.

    Source: NFPA 70 (National Electrical Code) 2023, chapter 9, table 8 for the resistance; Ohm's law for the rest.

    >>> round(longest_run_nec_2023(5.15, 5.0, 1.98 / 304.8) / 0.3048)
    260
    """
    return voltage_drop_v / (2.0 * current_a * resistance_ohm_per_m)


def continuous_current_nec_2023(current_a: float) -> float:
    """Current that conductor and breaker must carry for a load that runs three hours or more.

    Equation: I_c = 1.25 I

    Args:
        current_a: running current [A].

    Returns:
        Current to size for [A].

    Valid range: one continuous load, or the largest motor of a circuit.

    Source: NFPA 70 (National Electrical Code) 2023, 210.19(A), 210.20(A) and 430.22 (from memory).

    >>> continuous_current_nec_2023(6.0)
    7.5
    """
    return 1.25 * current_a


def motor_current(power_w: float, voltage_v: float, power_factor_number: float) -> float:
    """Current of a single-phase motor from the power that it draws.

    Equation: I = P/(V F); F the power factor, cos φ

    Args:
        power_w: power from the wall [W].
        voltage_v: voltage [V].
        power_factor_number: cos φ [-].

    Returns:
        Current [A].

    Valid range: single phase.

    Source: any text on alternating current.

    >>> motor_current(420.0, 120.0, 0.7)
    5.0
    """
    return power_w / (voltage_v * power_factor_number)


RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "voltage_drop_nec_2023": {
        "current_a": (0.0, 200.0),
        "one_way_length_m": (0.0, 1000.0),
        "resistance_ohm_per_m": (1e-4, 0.05),
    },
    "longest_run_nec_2023": {
        "voltage_drop_v": (0.0, 100.0),
        "current_a": (0.1, 200.0),
        "resistance_ohm_per_m": (1e-4, 0.05),
    },
    "continuous_current_nec_2023": {"current_a": (0.0, 200.0)},
    "motor_current": {
        "power_w": (0.0, 20000.0),
        "voltage_v": (100.0, 500.0),
        "power_factor_number": (0.3, 1.0),
    },
}
