"""Schmidt number and gas transfer velocities against published tables and codes."""

import pytest

from plumeline.science.gases import (
    gas_velocity_jahne_1987,
    k600_cole_caraco_1998,
    k600_crusius_wanninkhof_2003,
    schmidt_number_oxygen_wanninkhof_2014,
)


@pytest.mark.parametrize(
    ("temperature_degc", "expected_number"),
    [(0, 1745.1), (5, 1231.4), (10, 889.8), (15, 663.8), (20, 510.2), (25, 398.8), (30, 312.2), (35, 246.3)],
)
def test_schmidt_number_of_oxygen(temperature_degc, expected_number):
    """Wanninkhof 2014, table 1, fresh water, as five public codes print it."""
    assert schmidt_number_oxygen_wanninkhof_2014(float(temperature_degc)) == pytest.approx(
        expected_number, abs=0.06
    )


@pytest.mark.parametrize("temperature_degc", [4.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0])
def test_schmidt_number_near_another_published_fit(temperature_degc):
    """Raymond et al. 2012 (Limnol. Oceanogr. Fluids Environ. 2:41): a cubic in t: 9 %."""
    t = temperature_degc
    other = 1568.0 - 86.04 * t + 2.142 * t**2 - 0.0216 * t**3
    assert schmidt_number_oxygen_wanninkhof_2014(t) == pytest.approx(other, rel=0.09)


@pytest.mark.parametrize(
    ("wind_speed_m_s", "cole_m_d", "crusius_m_d"),
    [(0.0, 0.497, 0.040), (1.0, 0.548, 0.095), (2.0, 0.664, 0.292), (3.0, 0.831, 0.654), (5.0, 1.293, 1.928)],
)
def test_transfer_velocities(wind_speed_m_s, cole_m_d, crusius_m_d):
    """Cole & Caraco 1998 (2.07 + 0.215 U^1.7) and Crusius & Wanninkhof 2003 (0.168 + 0.228 U^2.2) in m/d."""
    assert k600_cole_caraco_1998(wind_speed_m_s) * 86400.0 == pytest.approx(cole_m_d, abs=6e-4)
    assert k600_crusius_wanninkhof_2003(wind_speed_m_s) * 86400.0 == pytest.approx(crusius_m_d, abs=6e-4)


@pytest.mark.parametrize(
    ("temperature_degc", "expected_number"),
    [
        (0, 0.5864), (5, 0.6980), (10, 0.8212), (15, 0.9507), (20, 1.0844), (25, 1.2266), (30, 1.3863),
        (35, 1.5608),
    ],
)  # fmt: skip
def test_scaling_by_schmidt_number(temperature_degc, expected_number):
    """Jähne et al. 1987 with Sc of Wanninkhof 2014: (Sc/600)^−½, worked out apart."""
    schmidt = schmidt_number_oxygen_wanninkhof_2014(float(temperature_degc))
    assert gas_velocity_jahne_1987(1.0, schmidt, 0.5) == pytest.approx(expected_number, abs=1e-4)
