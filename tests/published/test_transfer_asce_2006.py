"""Oxygen transfer the engineers' way: ASCE/EWRI 2-06 and 18, EPA/625/1-89/023.

The saturations at depth were computed outside this program for f = 0.35 (reference notes on the plume).
"""

import pytest

from plumeline.science.plume import oxygen_transfer_rate_asce_2006, saturation_at_depth_asce_2006

FT = 0.3048
VAPOUR_20_PA = 2339.3  # IAPWS, 20 °C


@pytest.mark.parametrize(("depth_ft", "saturation"), [(7.0, 9.76), (9.0, 9.95), (12.0, 10.24), (15.0, 10.53)])
def test_saturation_over_a_diffuser_grows_with_depth(depth_ft, saturation):
    """C*∞20 at f 0.35 is 9.76, 9.95, 10.24 and 10.53 mg/L at 7, 9, 12 and 15 ft, from 9.09 mg/L."""
    found = saturation_at_depth_asce_2006(9.09, depth_ft * FT, 0.35, VAPOUR_20_PA)
    assert found == pytest.approx(saturation, abs=0.006)


def field(temperature=20.0, oxygen=0.0, tau=1.0, beta=1.0, omega=1.0, factor=1.0):
    """Return the field rate over the standard rate."""
    return oxygen_transfer_rate_asce_2006(1.0, factor, temperature, 10.24, tau, beta, omega, oxygen)


def test_standard_conditions_give_the_standard_rate():
    """At 20 °C, no oxygen and clean water the field rate is the standard rate: its definition."""
    assert field() == 1.0


def test_saturated_water_takes_nothing():
    """At C = C*∞20 the rate is zero, above it negative, at half of it one half."""
    assert field(oxygen=10.24) == 0.0
    assert field(oxygen=5.12) == pytest.approx(0.5)
    assert field(oxygen=11.0) < 0.0


def test_temperature_acts_by_1_024_a_degree():
    """θ = 1.024 (standard): 10 degrees warmer at the same saturation gives 1.2677 times the rate."""
    assert field(temperature=30.0) == pytest.approx(1.2677, rel=1e-4)


def test_factors_multiply_saturation_and_rate():
    """αF multiplies the rate; τ, β and Ω multiply the saturation (EPA/625/1-89/023)."""
    assert field(factor=0.6) == pytest.approx(0.6)
    assert field(tau=0.8, beta=0.95, omega=0.9) == pytest.approx(0.8 * 0.95 * 0.9)
    assert field(tau=0.8, oxygen=5.12) == pytest.approx(0.3)
