"""Light, respiration and reaction rates against figures of their papers, spectra and closed forms."""

import math

import pytest
from scipy.integrate import quad

from plumeline.science.biology import (
    carbon_limitation_maberly_1983,
    decayed_first_order,
    growth_limitation_verhulst_1838,
    light_limitation_jassby_1976,
    oxygen_limitation_monod_1949,
    photons_mccree_1972,
    reacted_second_order,
    temperature_factor_arrhenius_1889,
)


@pytest.mark.parametrize(("theta", "per_ten_degrees"), [(1.041, 1.5), (1.072, 2.0)])
def test_ten_degrees_are_the_q10_of_pond_water(theta, per_ten_degrees):
    """Boyd 1973: Q10 of pond-water respiration 1.5 to 2.0, θ 1.041 to 1.072: 0.5 %."""
    found = temperature_factor_arrhenius_1889(28.0, theta) / temperature_factor_arrhenius_1889(18.0, theta)
    assert found == pytest.approx(per_ten_degrees, rel=0.005)


def test_twenty_degrees_change_nothing():
    """Rates are stated at 20 °C; from 5 to 20 °C at θ 1.065 they rise 2.57-fold."""
    assert temperature_factor_arrhenius_1889(20.0, 1.065) == 1.0
    assert 1.0 / temperature_factor_arrhenius_1889(5.0, 1.065) == pytest.approx(2.572, rel=1e-3)


@pytest.mark.parametrize(("ratio", "expected"), [(0.01, 0.01), (1.0, 0.76159), (2.0, 0.96403)])
def test_light_saturates_as_the_hyperbolic_tangent(ratio, expected):
    """Jassby & Platt 1976: slope one at the start, 0.7616 at I_k (tables of tanh)."""
    assert light_limitation_jassby_1976(ratio * 150.0, 150.0) == pytest.approx(expected, rel=1e-4)


def test_photons_by_energy_from_the_spectrum_of_the_sun():
    """Planck's law at 5,800 K from 400 to 700 nm: photons over energy, 1.5 %."""
    h, c, k, avogadro = 6.62607015e-34, 299792458.0, 1.380649e-23, 6.02214076e23

    def energy(wavelength):
        return wavelength**-5 / math.expm1(h * c / (wavelength * k * 5800.0)) * 1e-35

    joules = quad(energy, 400e-9, 700e-9)[0]
    photons = quad(lambda w: energy(w) * w / (h * c), 400e-9, 700e-9)[0]
    assert photons_mccree_1972(1.0) == pytest.approx(photons / joules / avogadro * 1e6, rel=0.015)


@pytest.mark.parametrize(("multiple", "expected"), [(1.0, 1.0 / 2.0), (2.0, 2.0 / 3.0), (9.0, 0.9)])
def test_oxygen_limitation(multiple, expected):
    """Monod 1949: half the rate at the half-saturation, nine tenths at nine times it."""
    assert oxygen_limitation_monod_1949(multiple * 1.4, 1.4) == pytest.approx(expected)


@pytest.mark.parametrize(("debt", "oxygen", "demand"), [(2.0, 8.0, 1.0), (6.0, 4.0, 1.0), (3.0, 8.0, 2.0)])
def test_second_order_reaction_follows_its_closed_form(debt, oxygen, demand):
    """dD/dt = −k D O, O falling by ν: the textbook solution after kt = 0.3, by 4,000 steps, 0.1 %."""
    d, o = debt, oxygen
    for _ in range(4000):
        used = reacted_second_order(d, o, demand, 0.3 / 4000)
        d, o = d - used, o - demand * used
    surplus = oxygen - demand * debt  # o - ν d stays the same
    grown = debt / oxygen * math.exp(-surplus * 0.3)
    assert d == pytest.approx(surplus * grown / (1.0 - demand * grown), rel=1e-3)


@pytest.mark.parametrize(("debt", "oxygen", "demand"), [(2.0, 8.0, 1.0), (50.0, 4.0, 2.0), (0.0, 8.0, 1.0)])
def test_one_long_step_never_takes_more_than_there_is(debt, oxygen, demand):
    """An endless step uses up whichever of the two is short."""
    assert reacted_second_order(debt, oxygen, demand, 1e9) == pytest.approx(
        min(debt, oxygen / demand), rel=1e-4
    )


def test_one_long_step_is_an_implicit_step():
    """x = kΔt (D − x)(O − νx) for D 3, O 8, ν 2, kΔt 0.5: solved by bisection."""
    low, high = 0.0, 3.0
    for _ in range(80):
        middle = (low + high) / 2.0
        if middle < 0.5 * (3.0 - middle) * (8.0 - 2.0 * middle):
            low = middle
        else:
            high = middle
    assert reacted_second_order(3.0, 8.0, 2.0, 0.5) == pytest.approx(low, rel=1e-12)


def test_half_is_gone_after_a_half_life():
    """First-order decay: ln 2 over the rate."""
    assert decayed_first_order(math.log(2.0) / 3600.0, 3600.0) == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("ph", "share"), [(7.0, 1.0), (9.0, 1.0), (9.5, 1.0), (9.8, 0.7), (10.2, 0.3), (11.0, 0.0)]
)
def test_algae_stop_between_the_ph_that_bottles_end_at(ph, share):
    """Final pH of closed bottles 9 to 11 by species (Maberly & Spence 1983, from memory): none under 9, all by 11."""
    assert carbon_limitation_maberly_1983(ph) == pytest.approx(share, abs=1e-12)


def test_a_bloom_left_to_itself_follows_the_logistic_curve():
    """Verhulst's closed form B = M/(1 + (M/B₀ − 1) e^(−rt)) by small steps: 0.2 %; over the most nothing grows."""
    most, bloom, rate, step = 60.0, 6.0, 0.4, 0.01
    for _ in range(1000):
        bloom += step * rate * bloom * growth_limitation_verhulst_1838(bloom, most)
    assert bloom == pytest.approx(60.0 / (1.0 + 9.0 * math.exp(-4.0)), rel=2e-3)
    assert growth_limitation_verhulst_1838(70.0, 60.0) == 0.0
