"""Stability indices against closed forms for simple basins (equations of Read and others 2011, Idso 1973)."""

import math

import numpy as np
import pytest

from plumeline.science.stability import (
    buoyancy_frequency_squared_read_2011,
    drag_hicks_1972,
    friction_velocity_read_2011,
    lake_number_imberger_patterson_1990,
    schmidt_stability_two_layer_idso_1973,
    wedderburn_number_imberger_patterson_1990,
)
from plumeline.science.water import density_kell_1975
from plumeline.stages.reading.slices import slices_of
from plumeline.stages.reading.strata import schmidt_stability_j_m2, volume_centre_m
from plumeline.stages.survey import Hypsograph

AREA_M2, DEPTH_M, INTERFACE_M = 4046.856, 4.0, 2.0
WARM, COLD = density_kell_1975(28.0), density_kell_1975(18.0)
STANDARD = 9.80665 / 9.81
"""The closed forms were worked out with g = 9.81 m/s²."""


def basin(exponent: float, levels: int = 2001) -> Hypsograph:
    """Return a basin with area A₀ (1 − z/H)^exponent."""
    z = np.linspace(0.0, DEPTH_M, levels)
    area = AREA_M2 * (1.0 - z / DEPTH_M) ** exponent
    below = AREA_M2 * DEPTH_M / (exponent + 1.0) * (1.0 - z / DEPTH_M) ** (exponent + 1.0)
    return Hypsograph(tuple(z), tuple(area), tuple(below))


def two_layers(depth_m):
    """Return 28 °C over 18 °C."""
    return np.where(depth_m < INTERFACE_M, WARM, COLD)


@pytest.mark.parametrize(
    ("exponent", "expected_j_m2"),
    [(0.0, 46.344), (2.0, 5.793), (1.0, 15.448)],
    ids=["cylinder", "cone", "paraboloid"],
)
def test_schmidt_stability_of_two_layers(exponent, expected_j_m2):
    """28 °C over 18 °C, interface 2 m, depth 4 m, integrated in closed form: 0.05 %."""
    slices = slices_of(basin(exponent), [INTERFACE_M - 1e-9, INTERFACE_M])
    found = schmidt_stability_j_m2(slices, two_layers)
    assert found == pytest.approx(expected_j_m2 * STANDARD, rel=5e-4)


def test_schmidt_stability_of_a_linear_profile():
    """28 to 18 °C straight down in a cylinder: 30.939 J/m², integrated independently."""
    slices = slices_of(basin(0.0))
    density = np.vectorize(lambda z: density_kell_1975(28.0 - 10.0 * z / DEPTH_M))
    assert schmidt_stability_j_m2(slices, density) == pytest.approx(30.939 * STANDARD, rel=5e-4)


def test_two_layer_formula():
    """g Δρ h (H − h)/2 = 46.344 J/m² for the cylinder."""
    found = schmidt_stability_two_layer_idso_1973(COLD - WARM, INTERFACE_M, DEPTH_M)
    assert found == pytest.approx(46.344 * STANDARD, rel=2e-4)


@pytest.mark.parametrize(("exponent", "expected_m"), [(0.0, 2.0), (1.0, 4.0 / 3.0), (2.0, 1.0)])
def test_centre_of_volume(exponent, expected_m):
    """H/(n + 2) for A₀ (1 − z/H)^n."""
    assert volume_centre_m(slices_of(basin(exponent))) == pytest.approx(expected_m, rel=1e-5)


def test_friction_velocity_in_a_light_wind():
    """3 m/s over water of 28 °C: u* = 0.0032925 m/s, worked out apart."""
    assert friction_velocity_read_2011(3.0, WARM) == pytest.approx(0.0032925, rel=1e-4)


def test_drag_rises_at_five_metres_a_second():
    """Read et al. 2011: 0.001 under 5 m/s, 0.0015 from there."""
    assert (drag_hicks_1972(4.99), drag_hicks_1972(5.0)) == (0.001, 0.0015)


def test_lake_number():
    """Cylinder of one acre, 3 m/s, metalimnion 1.8 to 2.2 m: 67.29, worked out apart."""
    friction = friction_velocity_read_2011(3.0, WARM)
    found = lake_number_imberger_patterson_1990(46.344, 1.8, 2.2, COLD, friction, AREA_M2, 2.0)
    assert found == pytest.approx(67.29, rel=2e-4)


def test_wedderburn_number():
    """The same pond with a mixed layer of 2 m: 119.3, worked out apart with g = 9.81."""
    friction = friction_velocity_read_2011(3.0, WARM)
    length = 2.0 * math.sqrt(AREA_M2 / math.pi)
    found = wedderburn_number_imberger_patterson_1990(COLD - WARM, COLD, 2.0, friction, length)
    assert found == pytest.approx(119.3 * STANDARD, rel=4e-4)


@pytest.mark.parametrize(("degrees_m", "expected_s2"), [(1.0, 2.5e-3), (5.0, 1.26e-2)])
def test_buoyancy_frequency_of_a_gradient_at_25_degrees(degrees_m, expected_s2):
    """1 °C/m at 25 °C is N² 2.5e-3, 5 °C/m 1.26e-2 1/s²: worked out apart, last printed digit."""
    gradient = (density_kell_1975(25.0 - degrees_m / 2) - density_kell_1975(25.0 + degrees_m / 2)) / 1.0
    found = buoyancy_frequency_squared_read_2011(density_kell_1975(25.0), gradient)
    assert found == pytest.approx(expected_s2, rel=0.02)


@pytest.mark.parametrize("temperature_degc", [8.0, 15.0, 25.0, 32.0])
def test_buoyancy_frequency_agrees_with_teos_10(temperature_degc):
    """gsw.Nsquared for 1 °C in 1 m of fresh water at the surface: 1.5 %."""
    gsw = pytest.importorskip("gsw")
    t = np.array([temperature_degc + 0.5, temperature_degc - 0.5])
    pressure = np.array([0.0, 1.0 * 1000.0 * 9.80665 / 1e4])
    conservative = gsw.CT_from_t(np.zeros(2), t, pressure)
    squared, _ = gsw.Nsquared(np.zeros(2), conservative, pressure)
    gradient = density_kell_1975(temperature_degc - 0.5) - density_kell_1975(temperature_degc + 0.5)
    found = buoyancy_frequency_squared_read_2011(density_kell_1975(temperature_degc), gradient)
    assert found == pytest.approx(float(squared[0]), rel=0.015)
