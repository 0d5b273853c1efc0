"""Density, salinity, vapour pressure and heat of water against TEOS-10 (gsw) and IAPWS-95 (CoolProp)."""

import gsw
import pytest
from CoolProp.CoolProp import PropsSI

from plumeline.science.water import (
    GRAVITY_M_S2,
    SPECIFIC_HEAT_J_KG_K,
    density_chen_millero_1986,
    density_kell_1975,
    salinity_hill_1986,
    vapour_pressure_benson_krause_1980,
    vapour_pressure_bolton_1980,
)

DEGREES = [0.01, 4.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0]


@pytest.mark.parametrize(
    ("temperature_degc", "expected_kg_m3"),
    [
        (0.0, 999.8395), (5.0, 999.9638), (10.0, 999.6996), (20.0, 998.2041), (25.0, 997.0449),
        (30.0, 995.6473), (35.0, 994.0319), (40.0, 992.2158),
    ],
)  # fmt: skip
def test_density_is_the_table_of_the_paper(temperature_degc, expected_kg_m3):
    """Kell 1975, table I (four decimals; as reprinted in handbooks)."""
    assert density_kell_1975(temperature_degc) == pytest.approx(expected_kg_m3, abs=1.1e-4)


@pytest.mark.parametrize("temperature_degc", DEGREES)
def test_density_agrees_with_iapws_95(temperature_degc):
    """CoolProp at 101325 Pa: 0.005 kg/m³ (Kell's temperature base is older)."""
    expected = PropsSI("D", "T", temperature_degc + 273.15, "P", 101325.0, "Water")
    assert density_kell_1975(temperature_degc) == pytest.approx(expected, abs=0.005)


@pytest.mark.parametrize("temperature_degc", DEGREES)
def test_density_agrees_with_teos_10(temperature_degc):
    """gsw rho_t_exact at salinity zero: 0.005 kg/m³."""
    expected = float(gsw.rho_t_exact(0.0, temperature_degc, 0.0))
    assert density_kell_1975(temperature_degc) == pytest.approx(expected, abs=0.005)


@pytest.mark.parametrize("temperature_degc", [0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0])
def test_fresh_density_agrees_with_the_polynomial_of_the_salinity_paper(temperature_degc):
    """Chen & Millero 1986, pure-water polynomial as printed in research codes: 0.005 kg/m³."""
    t = temperature_degc
    printed = 0.9998395 + 6.7914e-5 * t - 9.0894e-6 * t**2 + 1.0171e-7 * t**3 - 1.2846e-9 * t**4
    printed += 1.1592e-11 * t**5 - 5.0125e-14 * t**6
    assert density_chen_millero_1986(t, 0.0) == pytest.approx(1000.0 * printed, abs=0.005)


@pytest.mark.parametrize(
    ("temperature_degc", "expected_kg_m3"), [(5.0, 0.4000), (15.0, 0.3858), (25.0, 0.3764)]
)
def test_half_a_gram_of_salt_adds(temperature_degc, expected_kg_m3):
    """Chen & Millero 1986 worked out apart at 0.5 g/kg."""
    added = density_chen_millero_1986(temperature_degc, 0.5) - density_chen_millero_1986(
        temperature_degc, 0.0
    )
    assert added == pytest.approx(expected_kg_m3, abs=1e-4)


@pytest.mark.parametrize("temperature_degc", [0.0, 5.0, 15.0, 25.0, 30.0])
@pytest.mark.parametrize("salinity_g_kg", [0.1, 0.5, 1.0, 3.0])
def test_salt_adds_what_teos_10_adds(temperature_degc, salinity_g_kg):
    """gsw: 1.5 % of the added density."""
    with_salt = float(gsw.rho_t_exact(salinity_g_kg, temperature_degc, 0.0))
    expected = with_salt - float(gsw.rho_t_exact(0.0, temperature_degc, 0.0))
    found = density_chen_millero_1986(temperature_degc, salinity_g_kg)
    found -= density_chen_millero_1986(temperature_degc, 0.0)
    assert found == pytest.approx(expected, rel=0.015)


@pytest.mark.parametrize("conductivity_us_cm", [10.0, 50.0, 100.0, 300.0, 1000.0, 3000.0, 6000.0, 10000.0])
def test_salinity_agrees_with_the_practical_scale_of_teos_10(conductivity_us_cm):
    """gsw SP_from_C, which holds PSS-78 and Hill et al. 1986: 0.02 %."""
    expected = float(gsw.SP_from_C(conductivity_us_cm / 1000.0, 25.0, 0.0))
    assert salinity_hill_1986(conductivity_us_cm) == pytest.approx(expected, rel=2e-4)


@pytest.mark.parametrize("conductivity_us_cm", [4500.0, 6000.0, 8000.0, 10000.0])
def test_salinity_over_two_is_pss_78_less_the_extension(conductivity_us_cm):
    """gsw takes plain PSS-78 over salinity 2: with the extension's term put back they agree to 1e-6."""
    ratio = conductivity_us_cm / 1000.0 / float(gsw.C_from_SP(35.0, 25.0, 0.0))
    x, y = 400.0 * ratio, 100.0 * ratio
    warm = 25.0 * 1.00024 - 15.0
    term = 0.0080 / (1.0 + 1.5 * x + x**2)
    term += 0.0005 * warm / (1.0 + 0.0162 * warm) / (1.0 + y**0.5 + y + y**1.5)
    expected = float(gsw.SP_from_C(conductivity_us_cm / 1000.0, 25.0, 0.0))
    assert salinity_hill_1986(conductivity_us_cm) + term == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("temperature_degc", [0.01, 5.0, 10.0, 20.0, 30.0, 40.0])
def test_vapour_pressure_agrees_with_iapws_95(temperature_degc):
    """CoolProp saturation pressure: 0.15 % for the oxygen tables' formula, 0.3 % for Bolton's."""
    expected = PropsSI("P", "T", temperature_degc + 273.15, "Q", 0, "Water")
    assert vapour_pressure_benson_krause_1980(temperature_degc) == pytest.approx(expected, rel=0.0015)
    assert vapour_pressure_bolton_1980(temperature_degc) == pytest.approx(expected, rel=0.003)


@pytest.mark.parametrize("temperature_degc", [13.0, 15.0, 20.0, 30.0, 40.0])
def test_specific_heat_agrees_with_iapws_95(temperature_degc):
    """CoolProp: 0.2 %."""
    expected = PropsSI("C", "T", temperature_degc + 273.15, "P", 101325.0, "Water")
    assert pytest.approx(expected, rel=0.002) == SPECIFIC_HEAT_J_KG_K


def test_gravity_is_the_standard_one():
    """CGPM 1901."""
    assert GRAVITY_M_S2 == 9.80665
