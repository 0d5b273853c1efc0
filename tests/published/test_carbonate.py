"""The carbonate system of fresh water against tables and PyCO2SYS."""

import pytest

from plumeline.science.carbonate import (
    carbon_from_alkalinity_and_ph,
    carbonic_acid_fraction_plummer_1982,
    carbonic_pk1_plummer_1982,
    carbonic_pk2_plummer_1982,
    ph_from_alkalinity_and_carbon,
)


@pytest.mark.parametrize(
    ("temperature_degc", "pk1", "pk2"),
    [(5.0, 6.52, 10.56), (10.0, 6.46, 10.49), (15.0, 6.42, 10.43), (20.0, 6.38, 10.38), (25.0, 6.35, 10.33)],
)
def test_constants_are_the_textbooks(temperature_degc, pk1, pk2):
    """Stumm & Morgan, Aquatic Chemistry, carbonate constants at zero ionic strength (from memory)."""
    assert carbonic_pk1_plummer_1982(temperature_degc) == pytest.approx(pk1, abs=0.01)
    assert carbonic_pk2_plummer_1982(temperature_degc) == pytest.approx(pk2, abs=0.01)


@pytest.mark.parametrize(
    ("temperature_degc", "ph", "alkalinity_umol_kg", "carbon_umol_kg"),
    [(28.0, 9.0, 1500.0, 1423.1), (18.0, 7.0, 2000.0, 2496.9)],
)
def test_carbon_agrees_with_pyco2sys(temperature_degc, ph, alkalinity_umol_kg, carbon_umol_kg):
    """PyCO2SYS 1.8.3, salinity 0, option 8: 1.5 %, for hydroxide is left out (12 µmol/kg at pH 9)."""
    found = carbon_from_alkalinity_and_ph(alkalinity_umol_kg / 1000.0, ph, temperature_degc)
    assert found * 1000.0 == pytest.approx(carbon_umol_kg, rel=0.015)


def test_mixing_agrees_with_pyco2sys():
    """60 % surface and 40 % bottom water: 24 °C, alkalinity 1700, carbon 1852.6 → pH 7.397, not 8.2."""
    assert ph_from_alkalinity_and_carbon(1.7, 1.8526, 24.0) == pytest.approx(7.397, abs=0.02)


@pytest.mark.parametrize("ph", [6.0, 6.5, 7.0, 7.6, 8.3, 9.0, 9.6])
@pytest.mark.parametrize("temperature_degc", [5.0, 18.0, 30.0])
def test_mass_action_holds(ph, temperature_degc):
    """Carbon and alkalinity summed from the species by the constants, term by term."""
    h = 10.0**-ph
    k1 = 10.0 ** -carbonic_pk1_plummer_1982(temperature_degc)
    k2 = 10.0 ** -carbonic_pk2_plummer_1982(temperature_degc)
    acid = 1.0
    bicarbonate = acid * k1 / h
    carbonate = bicarbonate * k2 / h
    carbon, alkalinity = acid + bicarbonate + carbonate, bicarbonate + 2.0 * carbonate
    scale = 2.0 / alkalinity
    assert carbon_from_alkalinity_and_ph(2.0, ph, temperature_degc) == pytest.approx(
        carbon * scale, rel=1e-12
    )
    assert ph_from_alkalinity_and_carbon(2.0, carbon * scale, temperature_degc) == pytest.approx(ph, abs=1e-9)


@pytest.mark.parametrize("ph", [5.0, 6.35, 7.5, 8.3, 9.5, 10.33, 10.8])
@pytest.mark.parametrize("temperature_degc", [5.0, 25.0])
def test_the_part_that_is_carbon_dioxide(ph, temperature_degc):
    """One over the sum of the species by their constants, term by term; a half at pH = pK₁, to the carbonate ion."""
    h = 10.0**-ph
    bicarbonate = 10.0 ** -carbonic_pk1_plummer_1982(temperature_degc) / h
    carbonate = bicarbonate * 10.0 ** -carbonic_pk2_plummer_1982(temperature_degc) / h
    found = carbonic_acid_fraction_plummer_1982(ph, temperature_degc)
    assert found == pytest.approx(1.0 / (1.0 + bicarbonate + carbonate), rel=1e-12)
    assert carbonic_acid_fraction_plummer_1982(6.352, 25.0) == pytest.approx(0.5, abs=2e-3)
