"""Checks of the two ends of the air line in job.toml: motor, coil, and the pond's highest water."""

from __future__ import annotations

from plumeline.files.findings import Findings, near
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import AirSystem, Compressor, Trench
from plumeline.sources import read_table

COIL_KG_M = (0.02, 3.0)
"""Lightest and heaviest tubing by length that anybody lays by hand [kg/m]."""


def check_ends(
    air: AirSystem | None, trench: Trench | None, findings: Findings, *, routed: bool = False
) -> None:
    """Add faults on what a job says of the two ends of its air line.

    Args:
        air: its air system, where it is whole.
        trench: its trench, where it is whole.
        findings: added to.
        routed: whether the way on land is given, whose end lies at the water.
    """
    if air is not None:
        if air.compressor is not None:
            _check_motor(air.compressor, findings)
        _check_coil(air, findings)
    if trench is not None:
        _check_high_water(trench, findings, routed=routed)


def _check_motor(compressor: Compressor, findings: Findings) -> None:
    known = [row["motor"] for row in read_table("motor_starts")]
    if compressor.motor and compressor.motor not in known:
        close = near(compressor.motor, known)
        hint = f'Did you mean "{close}"? ' if close else ""
        remedy = f"{hint}Use one of: {', '.join(known)}."
        findings.fault(
            JOB_FILE, "air.compressor.motor", f"no kind of motor is called {compressor.motor!r}.", remedy
        )


def _check_coil(air: AirSystem, findings: Findings) -> None:
    if air.coil_mass_kg is None:
        return
    if air.coil_length_m is None:
        findings.fault(
            JOB_FILE, "air.coil_mass", "stands without air.coil_length.", 'Give both: coil_length = "100 ft".'
        )
        return
    by_length = air.coil_mass_kg / air.coil_length_m
    if not COIL_KG_M[0] <= by_length <= COIL_KG_M[1]:
        findings.fault(
            JOB_FILE,
            "air.coil_mass",
            f"{air.coil_mass_kg:.3g} kg over {air.coil_length_m:.3g} m is {by_length:.2g} kg/m: no tubing weighs that.",
            'Check the units: coil_mass = "24 lb", coil_length = "100 ft".',
        )


def _check_high_water(trench: Trench, findings: Findings, *, routed: bool) -> None:
    high_m, water_m = trench.high_water_elevation_m, trench.water_elevation_m
    if high_m is None:
        return
    if water_m is not None and high_m < water_m:
        findings.fault(
            JOB_FILE,
            "trench.high_water_elevation",
            f"{high_m:.2f} m is under today's water, {water_m:.2f} m.",
            "The highest water is the spillway's level or higher; the two may have changed places.",
        )
    elif water_m is None and not routed:
        findings.caution(
            "high-water-unused",
            f"{JOB_FILE}: trench.high_water_elevation says nothing without trench.water_elevation or route.csv.",
        )
