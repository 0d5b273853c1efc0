"""What a compressor takes from the wall at an operating point."""

from __future__ import annotations

from plumeline.science.air import adiabatic_power_perry_2008
from plumeline.stages.air.machine import WIRE_EFFICIENCY
from plumeline.stages.air.results import OperatingPoint
from plumeline.stages.air.solving import Line


def adiabatic_power_w(line: Line, point: OperatingPoint) -> float:
    """Return the power [W] of an ideal adiabatic compression at a point."""
    ratio_number = 1.0 + point.compressor_pressure_pa / line.ambient_pressure_pa
    return adiabatic_power_perry_2008(line.ambient_pressure_pa, point.flow_intake_m3_s, ratio_number)


def wire_power_w(line: Line, point: OperatingPoint) -> float:
    """Return the power from the wall [W]: the machine's own at the gauge, else by a usual efficiency."""
    known_w = line.machine.power_at_w(point.compressor_pressure_pa)
    if known_w is not None:
        return known_w
    return adiabatic_power_w(line, point) / WIRE_EFFICIENCY
