"""Hydrogen sulphide in fresh and salt water against values from Millero and others 1988."""

import math

import pytest

from plumeline.science.chemistry import (
    sulphide_pk1_millero_1988,
    sulphide_undissociated_fraction_millero_1988,
)


@pytest.mark.parametrize(
    ("temperature_degc", "ph", "expected_pct"),
    [
        (25.0, 6.5, 75.1), (25.0, 7.0, 48.9), (25.0, 7.5, 23.2), (25.0, 8.0, 8.7),
        (15.0, 6.5, 81.3), (15.0, 7.0, 57.9), (15.0, 7.5, 30.3), (15.0, 8.0, 12.1),
    ],
)  # fmt: skip
def test_undissociated_share(temperature_degc, ph, expected_pct):
    """The paper's fresh-water pK₁ worked out apart: last printed digit."""
    found = 100.0 * sulphide_undissociated_fraction_millero_1988(temperature_degc, 0.0, ph)
    assert found == pytest.approx(expected_pct, abs=0.06)


def test_pk1_at_25_degrees():
    """6.98 at 25 °C; handbooks give 6.97 to 7.04."""
    assert sulphide_pk1_millero_1988(25.0, 0.0) == pytest.approx(6.980, abs=0.001)


@pytest.mark.parametrize("temperature_degc", [5.0, 15.0, 25.0])
@pytest.mark.parametrize("salinity_g_kg", [0.0, 5.0, 12.0, 20.0, 35.0, 40.0])
def test_pk1_in_salt_water_as_it_is_printed_again(temperature_degc, salinity_g_kg):
    """Millero 1995, Geochim. Cosmochim. Acta 59: 661, prints it by natural logarithm, constants rounded: 0.003."""
    T, S = temperature_degc + 273.15, salinity_g_kg
    by_ln = 225.838 - 13275.3 / T - 34.6435 * math.log(T) + 0.3449 * math.sqrt(S) - 0.0274 * S
    assert sulphide_pk1_millero_1988(temperature_degc, S) == pytest.approx(-by_ln / math.log(10.0), abs=0.003)


@pytest.mark.parametrize("salinity_g_kg", [5.0, 12.0, 20.0, 35.0, 40.0])
def test_pk1_in_salt_water_lies_by_the_papers_own_measurements(salinity_g_kg):
    """The abstract: their measurements alone give A = −0.1570, B = 0.0135 with σ = 0.033; the consensus within that."""
    of_salt = sulphide_pk1_millero_1988(25.0, salinity_g_kg) - sulphide_pk1_millero_1988(25.0, 0.0)
    assert of_salt == pytest.approx(-0.1570 * math.sqrt(salinity_g_kg) + 0.0135 * salinity_g_kg, abs=0.033)


def test_a_salt_layer_holds_a_third_less_than_fresh_water_of_the_same_ph():
    """By hand at 20 °C, pH 7.1, 12 g/kg: pK₁ 7.054 − 0.1498 √12 + 0.0119 × 12 = 6.678, so 27.5 %; fresh 47.3 %."""
    salt, fresh = (sulphide_undissociated_fraction_millero_1988(20.0, s, 7.1) for s in (12.0, 0.0))
    assert (100.0 * salt, 100.0 * fresh) == pytest.approx((27.5, 47.3), abs=0.3)
