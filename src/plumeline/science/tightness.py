"""How tight a pipe is: the air that left it while it was shut in."""

from __future__ import annotations

from plumeline.science.air import STANDARD_PRESSURE_PA, STANDARD_TEMPERATURE_K


def leak_flow_clapeyron_1834(
    volume_m3: float,
    start_pressure_pa: float,
    end_pressure_pa: float,
    start_temperature_k: float,
    end_temperature_k: float,
    hold_time_s: float,
) -> float:
    """Mean standard flow (68 °F, dry, 14.696 psia) that leaves a shut pipe, from its fall of pressure.

    Equation: q = (V/t) (T_std/p_std) (p1/T1 − p2/T2); at one temperature V (Δp/p_std)(T_std/T)/t

    Args:
        volume_m3: volume inside the pipe [m³].
        start_pressure_pa: absolute pressure as the clock starts [Pa].
        end_pressure_pa: absolute pressure at the end [Pa].
        start_temperature_k: temperature of the air in the pipe at the start [K].
        end_temperature_k: temperature of the air in the pipe at the end [K].
        hold_time_s: time between the two readings [s].

    Returns:
        Standard flow [m³/s]; below zero where the pressure rose by more than the warming explains.

    Valid range: air as an ideal gas, the pipe full of air and of one temperature.

    Source: ideal gas law (Clapeyron 1834), as in every pressure-decay leak test.

    >>> psi, cfm = 6894.757293168, 4.719474432e-4
    >>> q = leak_flow_clapeyron_1834(0.03146, 24.696 * psi, 23.196 * psi, 298.15, 298.15, 360.0)
    >>> round(q / cfm, 4)
    0.0186
    """
    gone_pa_k = start_pressure_pa / start_temperature_k - end_pressure_pa / end_temperature_k
    return volume_m3 / hold_time_s * STANDARD_TEMPERATURE_K / STANDARD_PRESSURE_PA * gone_pa_k


RANGE: dict[str, dict[str, tuple[float, float]]] = {
    "leak_flow_clapeyron_1834": {
        "volume_m3": (1e-5, 100.0),
        "start_pressure_pa": (3e4, 2e6),
        "end_pressure_pa": (3e4, 2e6),
        "start_temperature_k": (230.0, 340.0),
        "end_temperature_k": (230.0, 340.0),
        "hold_time_s": (10.0, 1e6),
    }
}
