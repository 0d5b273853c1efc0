"""Schmidt number and gas transfer velocities against published tables and codes."""

import math

import pytest

from plumeline.science.gases import (
    gas_velocity_jahne_1987,
    k600_cole_caraco_1998,
    k600_convective_zappa_2007,
    k600_crusius_wanninkhof_2003,
    schmidt_number_co2_wanninkhof_2014,
    schmidt_number_oxygen_wanninkhof_2014,
    solubility_co2_weiss_1974,
)
from plumeline.science.water import density_kell_1975


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


@pytest.mark.parametrize(
    ("temperature_degc", "viscosity_um2_s", "diffusivity_nm2_s"),
    [(10.0, 1.307, 1.265), (20.0, 1.004, 1.67), (25.0, 0.893, 1.91), (35.0, 0.724, 2.49)],
)
def test_schmidt_number_of_carbon_dioxide(temperature_degc, viscosity_um2_s, diffusivity_nm2_s):
    """Viscosity over diffusivity: 1.5 %; and 600 at 20 °C, the number that k600 is named for: 0.1 %.

    Viscosity of handbooks; diffusivity of Jähne et al. 1987 (J. Geophys. Res. 92:10767, 5.019e-6 exp(−19.51/RT), from
    memory).
    """
    schmidt = schmidt_number_co2_wanninkhof_2014(temperature_degc)
    assert schmidt == pytest.approx(viscosity_um2_s * 1e3 / diffusivity_nm2_s, rel=0.015)
    assert schmidt_number_co2_wanninkhof_2014(20.0) == pytest.approx(600.0, rel=1e-3)


@pytest.mark.parametrize(
    ("temperature_degc", "pk_henry"), [(0.0, 1.11), (10.0, 1.27), (20.0, 1.41), (25.0, 1.47), (30.0, 1.53)]
)
def test_solubility_of_carbon_dioxide(temperature_degc, pk_henry):
    """pK_H in mol/(L·atm) of textbooks (Stumm & Morgan 1996, after Plummer & Busenberg 1982; from memory): 0.01."""
    found = solubility_co2_weiss_1974(temperature_degc) * 101325.0 / 1000.0
    assert -math.log10(found) == pytest.approx(pk_henry, abs=0.01)


@pytest.mark.parametrize("temperature_degc", [1.0, 12.0, 25.0, 36.0])
def test_solubility_of_carbon_dioxide_agrees_with_pyco2sys(temperature_degc):
    """PyCO2SYS at salinity 0, in mol/(kg·atm), by another line of Weiss 1974, with the density: 0.1 %."""
    pyco2 = pytest.importorskip("PyCO2SYS")
    k0 = pyco2.sys(
        par1=2000.0, par2=8.0, par1_type=1, par2_type=3, salinity=0.0, temperature=temperature_degc
    )
    found = solubility_co2_weiss_1974(temperature_degc) * 101325.0 / density_kell_1975(temperature_degc)
    assert found == pytest.approx(float(k0["k_CO2"]), rel=1e-3)


@pytest.mark.parametrize(("cooling_w_m2", "low_cm_h", "high_cm_h"), [(30.0, 1.4, 2.9), (150.0, 2.0, 4.5)])
def test_convective_transfer_is_what_small_waters_show_at_night(cooling_w_m2, low_cm_h, high_cm_h):
    """1.4 to 4.5 cm/h from weak to strong cooling.

    Subtropical pond: k600 0.55 to 2.83 cm/h, more as the night cools it (Tellus B 2014); MacIntyre et al. 2010
    (Geophys. Res. Lett. 37:L24604, from memory): 2.0 cm/h and more under cooling without wind.
    """
    buoyancy = 9.81 * 2.6e-4 * cooling_w_m2 / (998.0 * 4184.0)
    found = k600_convective_zappa_2007(buoyancy, 0.9e-6) * 360000.0
    assert low_cm_h < found < high_cm_h
    assert k600_convective_zappa_2007(-buoyancy, 0.9e-6) == 0.0


def test_convective_transfer_worked_by_hand():
    """B 1e-7 m²/s³, ν 1e-6 m²/s: (0.77e-13)^¼ = 5.2677e-4, times 0.42/24.4949 is 9.032e-6 m/s; 16 B gives twice."""
    assert k600_convective_zappa_2007(1e-7, 1e-6) == pytest.approx(9.032e-6, rel=1e-3)
    assert k600_convective_zappa_2007(1.6e-6, 1e-6) == pytest.approx(2.0 * 9.032e-6, rel=1e-3)
