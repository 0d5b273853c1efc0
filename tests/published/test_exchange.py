"""Reaction in the surface film and ammonia's two films, against published figures."""

import math

import pytest

from plumeline.science.carbonate import carbonic_acid_fraction_plummer_1982
from plumeline.science.exchange import (
    carbon_dioxide_hydration_pinsent_1956,
    enhancement_co2_hoover_1969,
    gas_velocity_ammonia_whitman_1923,
)
from plumeline.science.gases import schmidt_number_co2_wanninkhof_2014


@pytest.mark.parametrize("temperature_degc", [5.0, 10.0, 15.0, 20.0, 25.0, 30.0])
def test_hydration_near_another_published_fit(temperature_degc):
    """Johnson 1982 (Limnol. Oceanogr. 27:849): ln k = 1246.98 - 6.19e4/T - 183.0 ln T; the two differ by half.

    They are two laboratories' constants; at 25 °C textbooks give 0.026 (Pinsent) to 0.037 (Johnson).
    """
    t = temperature_degc + 273.15
    other = math.exp(1246.98 - 6.19e4 / t - 183.0 * math.log(t))
    assert carbon_dioxide_hydration_pinsent_1956(temperature_degc, 4.0) == pytest.approx(other, rel=0.5)


@pytest.mark.parametrize("temperature_degc", [15.0, 20.0, 25.0, 30.0])
def test_hydroxide_near_another_published_fit(temperature_degc):
    """Johnson 1982's product k_OH K_w = 499002.24 exp(-90166.83/RT) 1/s (from memory), at pH 10: within 25 %."""
    t = temperature_degc + 273.15
    other = 499002.24 * math.exp(-90166.83 / (8.31451 * t)) / 1e-10
    ours = carbon_dioxide_hydration_pinsent_1956(temperature_degc, 10.0)
    neutral = carbon_dioxide_hydration_pinsent_1956(temperature_degc, 4.0)
    assert ours - neutral == pytest.approx(other, rel=0.25)


def test_hydroxide_rate_at_25_degc():
    """k_OH 8.5e3 L/mol/s and pK_w 13.997 at 25 °C: textbooks of aquatic chemistry (from memory), 3 %."""
    alkaline = carbon_dioxide_hydration_pinsent_1956(25.0, 10.0) - carbon_dioxide_hydration_pinsent_1956(
        25.0, 4.0
    )
    assert alkaline == pytest.approx(8.5e3 * 10.0 ** (10.0 - 13.997), rel=0.03)


def enhancement(k_cm_h, temperature_degc, ph):
    free = carbonic_acid_fraction_plummer_1982(ph, temperature_degc)
    diffusivity = 0.9e-6 / schmidt_number_co2_wanninkhof_2014(temperature_degc)
    return enhancement_co2_hoover_1969(k_cm_h / 100.0 / 3600.0, diffusivity, free, ph, temperature_degc)


def test_enhancement_of_a_fertilised_lake():
    """Bade & Cole 2006 (J. Geophys. Res. 111): 3.5- to 7.5-fold at k600 1.83 cm/h in a eutrophied lake of high pH.

    The abstract gives no pH; eutrophied soft-water lakes stand at 9 to 9.8 in the afternoon (judgement), 23 °C.
    """
    assert enhancement(1.83, 23.0, 9.0) < 4.5
    assert enhancement(1.83, 23.0, 9.8) > 3.5
    assert 2.0 < enhancement(1.83, 23.0, 9.4) < 9.0


def test_enhancement_limits():
    """Danckwerts: a fast reaction gives √(r D)/k, a slow one nothing; none at pH 5, where all carbon is free."""
    rate = carbon_dioxide_hydration_pinsent_1956(25.0, 10.5)
    assert enhancement_co2_hoover_1969(1e-6, 2e-9, 0.0, 10.5, 25.0) == pytest.approx(
        math.sqrt(rate * 2e-9) / 1e-6, rel=1e-9
    )
    assert enhancement_co2_hoover_1969(1e-3, 2e-9, 0.0, 10.0, 25.0) == pytest.approx(1.0, abs=1e-3)
    assert enhancement(1.0, 25.0, 5.0) == pytest.approx(1.0, abs=0.05)


def test_ammonia_is_held_back_by_the_air():
    """Henry's constant of ammonia at 25 °C: 0.59 mol/(m³ Pa) is 6.8e-4 dimensionless (Sander 2015, from memory)."""
    calm = gas_velocity_ammonia_whitman_1923(1.0, 0.0, 25.0)  # the water's film lets all through
    assert calm == pytest.approx(6.84e-4 * 0.003, rel=5e-3)
    assert gas_velocity_ammonia_whitman_1923(1.0, 5.0, 25.0) == pytest.approx(6.84e-4 * 0.013, rel=5e-3)
    # Henry's constant doubles in about 15 K: 4200 K (1/288 - 1/303) = 0.72
    cold = gas_velocity_ammonia_whitman_1923(1.0, 0.0, 15.0)
    assert calm / cold == pytest.approx(
        math.exp(4200.0 * (1 / 288.15 - 1 / 298.15)) * 288.15 / 298.15, rel=1e-6
    )
    # and the smaller of the two films rules
    assert gas_velocity_ammonia_whitman_1923(1e-8, 5.0, 25.0) == pytest.approx(1e-8, rel=2e-3)
