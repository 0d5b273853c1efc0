"""Checks of power, plate and cabinet in job.toml: figures that no wire, motor or box can have together."""

from __future__ import annotations

from functools import cache

from plumeline.files.findings import Findings, near
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import Cabinet, Compressor, Power
from plumeline.sources import read_table

PLATE_NUMBER = 1.1
"""Power may be so many times volts × amperes before the plate contradicts itself: rounded plates."""


@cache
def gauges() -> tuple[str, ...]:
    """Return the gauges of sources/conductors.csv."""
    return tuple(row["gauge"] for row in read_table("conductors"))


def check_power(power: Power, compressor: Compressor | None, findings: Findings) -> None:
    """Add faults on power and plate."""
    if power.feeder_gauge and power.feeder_gauge not in gauges():
        close = near(power.feeder_gauge, gauges())
        hint = f'Did you mean "{close}"? ' if close else ""
        findings.fault(
            JOB_FILE,
            "power.feeder_gauge",
            f"no conductor of the table has the gauge {power.feeder_gauge!r}.",
            f"{hint}Use one of: {', '.join(gauges())} (AWG, copper).",
        )
    if compressor is not None:
        _check_plate(compressor, power, findings)


def _check_plate(plate: Compressor, power: Power, findings: Findings) -> None:
    """Add faults on a plate that contradicts itself."""
    path = "air.compressor"
    running_a, starting_a = plate.running_current_a, plate.starting_current_a
    if running_a is not None and starting_a is not None and starting_a < running_a:
        findings.fault(
            JOB_FILE,
            f"{path}.starting_current",
            f"{starting_a:g} A is under the running current of {running_a:g} A.",
            "The starting (locked-rotor) current is the larger; they may have changed places.",
        )
    volts = plate.volts_v or power.volts
    if running_a is not None and volts is not None and plate.power_w is not None:
        most_w = PLATE_NUMBER * volts * running_a
        if plate.power_w > most_w:
            findings.fault(
                JOB_FILE,
                f"{path}.power",
                f"{plate.power_w:.0f} W is more than {volts:g} V × {running_a:g} A can carry.",
                "Check power, volts and running_current against the plate; all are of one machine.",
            )


def check_cabinet(cabinet: Cabinet, findings: Findings) -> None:
    """Add a fault on a cabinet with more openings than walls."""
    if cabinet.surface_m2 is None or cabinet.vent_area_m2 is None:
        return
    if 2.0 * cabinet.vent_area_m2 > cabinet.surface_m2:
        findings.fault(
            JOB_FILE,
            "air.cabinet.vent_area",
            f"low and high openings of {cabinet.vent_area_m2:.2f} m² each are more than all walls and roof, "
            f"{cabinet.surface_m2:.2f} m².",
            "Check the units: free openings are often in square inches.",
        )
