"""What job.toml says of the two ends of the air line, refused where it can't be."""

import pytest

from plumeline.files.end_checks import check_ends
from plumeline.files.findings import Findings
from plumeline.job.document import AirSystem, Compressor, Trench


def faults_of(air=None, trench=None, **given):
    """Return the faults and notices as one text."""
    findings = Findings()
    check_ends(air, trench, findings, **given)
    return " ".join([*map(str, findings.faults), *(notice.text for notice in findings.notices)])


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
    """A known motor, a coil of 24 lb a 100 ft, a spillway over the water: nothing to say."""
    air = AirSystem(compressor=Compressor(motor="capacitor-start"), coil_mass_kg=10.9, coil_length_m=30.48)
    trench = Trench(water_elevation_m=200.0, high_water_elevation_m=200.5)
    assert faults_of(air, trench) == ""
    assert faults_of() == ""


def test_a_flood_under_the_water_is_a_fault():
    """The two have changed places."""
    assert "changed places" in faults_of(trench=Trench(water_elevation_m=201.0, high_water_elevation_m=200.0))


def test_a_flood_on_no_level_is_said_to_be_unused():
    """Without today's level or a route it says nothing; with a route it does."""
    trench = Trench(high_water_elevation_m=200.0)
    assert "says nothing" in faults_of(trench=trench)
    assert faults_of(trench=trench, routed=True) == ""
