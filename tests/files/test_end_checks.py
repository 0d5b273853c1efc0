"""What job.toml says of the two ends of the air line, refused where it can't be."""

import pytest

from plumeline.files.end_checks import check_ends
from plumeline.files.findings import Findings
from plumeline.job.document import AirSystem, Compressor


def faults_of(air):
    """Return the faults as one text."""
    findings = Findings()
    check_ends(air, findings)
    return " ".join(map(str, findings.faults))


@pytest.mark.parametrize(
    ("air", "words"),
    [
        (AirSystem(compressor=Compressor(motor="capacitor start")), 'Did you mean "capacitor-start"?'),
        (AirSystem(compressor=Compressor(motor="steam")), "permanent-split"),
        (AirSystem(coil_mass_kg=11.0), "coil_length"),
        (AirSystem(coil_mass_kg=500.0, coil_length_m=30.0), "no tubing weighs that"),
        (AirSystem(coil_mass_kg=0.1, coil_length_m=30.0), "no tubing weighs that"),
    ],
)
def test_motor_and_coil(air, words):
    """The nearest kind of motor, the missing length, and a weight in the wrong units."""
    assert words in faults_of(air)


def test_what_is_right_is_not_told():
    """A known motor and a coil of 24 lb a 100 ft: nothing to say."""
    air = AirSystem(compressor=Compressor(motor="capacitor-start"), coil_mass_kg=10.9, coil_length_m=30.48)
    assert faults_of(air) == ""
    assert faults_of(AirSystem()) == ""
