"""Checks of the two ends of the air line in job.toml: motor and coil."""

from __future__ import annotations

from plumeline.files.findings import Findings, near
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import AirSystem, Compressor
from plumeline.sources import read_table

COIL_KG_M = (0.02, 3.0)
"""Lightest and heaviest tubing by length that anybody lays by hand [kg/m]."""


def check_ends(air: AirSystem, findings: Findings) -> None:
    """Add faults on what a job says of the motor and of its tubing."""
    if air.compressor is not None:
        _check_motor(air.compressor, findings)
    _check_coil(air, findings)


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
