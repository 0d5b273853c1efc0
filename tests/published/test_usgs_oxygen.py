"""Oxygen saturation against the USGS / Standard Methods table, TEOS-10, CoolProp and a Henry law of IAPWS."""

import math

import gsw
import pytest
from CoolProp.CoolProp import PropsSI

from plumeline.science.gases import (
    OXYGEN_IN_AIR_FRACTION,
    OXYGEN_MOLAR_MASS_G_MOL,
    STANDARD_PRESSURE_PA,
    do_nonideality_benson_krause_1980,
    do_saturation_benson_krause_1984,
    pressure_icao_1993,
    solubility_oxygen_benson_krause_1984,
)
from plumeline.science.water import vapour_pressure_benson_krause_1980

# Standard Methods for the Examination of Water and Wastewater, 4500-O, table 4500-O:I (the same formula and
# figures as USGS Office of Water Quality Technical Memorandum 2011.03), fresh water, 1 atm, 0 to 35 °C
TABLE_MG_L = (
    14.621, 14.216, 13.830, 13.461, 13.108, 12.771, 12.448, 12.139, 11.843, 11.560, 11.288, 11.027,
    10.777, 10.537, 10.306, 10.084, 9.870, 9.665, 9.467, 9.276, 9.092, 8.915, 8.744, 8.578, 8.418, 8.263,
    8.114, 7.968, 7.828, 7.691, 7.559, 7.430, 7.305, 7.183, 7.065, 6.949,
)  # fmt: skip


@pytest.mark.parametrize(("temperature_degc", "expected_mg_l"), list(enumerate(TABLE_MG_L)))
def test_fresh_water_at_one_atmosphere_is_the_published_table(temperature_degc, expected_mg_l):
    """Standard Methods 4500-O:I: every whole degree from 0 to 35 °C, to the last printed digit."""
    found = do_saturation_benson_krause_1984(float(temperature_degc), 0.0, 101325.0)
    assert found == pytest.approx(expected_mg_l, abs=0.0011)


@pytest.mark.parametrize(
    ("temperature_degc", "expected_mg_l"), [(0.0, 14.118), (10.0, 10.933), (20.0, 8.828), (30.0, 7.354)]
)
def test_salinity_of_five_is_the_published_table(temperature_degc, expected_mg_l):
    """The same formula worked out independently for 5 g/kg (agrees with TEOS-10 to 0.002 mg/L)."""
    found = do_saturation_benson_krause_1984(temperature_degc, 5.0, 101325.0)
    assert found == pytest.approx(expected_mg_l, abs=0.0011)


@pytest.mark.parametrize("temperature_degc", [0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0])
@pytest.mark.parametrize("salinity_g_kg", [0.0, 2.0, 5.0, 20.0, 35.0])
def test_agrees_with_teos_10_over_temperature_and_salt(temperature_degc, salinity_g_kg):
    """gsw O2sol_SP_pt (Garcia & Gordon 1992 fit to Benson & Krause): 0.1 %."""
    umol_kg = float(gsw.O2sol_SP_pt(salinity_g_kg, temperature_degc))
    absolute = gsw.SA_from_SP(salinity_g_kg, 0.0, 0.0, 0.0)
    density = float(gsw.rho_t_exact(absolute, temperature_degc, 0.0))
    expected = umol_kg * density * 31.9988e-6
    found = do_saturation_benson_krause_1984(temperature_degc, salinity_g_kg, 101325.0)
    assert found == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(
    ("elevation_m", "temperature_degc", "expected_mg_l"),
    [
        (305.0, 5.0, 12.312), (305.0, 25.0, 7.960), (1000.0, 15.0, 8.926), (1000.0, 30.0, 6.668),
        (1524.0, 20.0, 7.530), (1524.0, 30.0, 6.234), (2000.0, 5.0, 9.998), (2000.0, 30.0, 5.860),
    ],
)  # fmt: skip
def test_saturation_at_elevation(elevation_m, temperature_degc, expected_mg_l):
    """USGS memorandum 2011.03's pressure formula at ICAO pressures, worked out independently."""
    found = do_saturation_benson_krause_1984(temperature_degc, 0.0, pressure_icao_1993(elevation_m))
    assert found == pytest.approx(expected_mg_l, abs=0.0011)


@pytest.mark.parametrize("temperature_degc", [0.0, 10.0, 20.0, 30.0, 35.0])
@pytest.mark.parametrize("pressure_pa", [60000.0, 80000.0, 110000.0])
def test_saturation_follows_the_dry_part_of_the_air(temperature_degc, pressure_pa):
    """Henry's law with the vapour pressure of CoolProp (IAPWS-95): 0.05 %."""
    vapour = PropsSI("P", "T", temperature_degc + 273.15, "Q", 0, "Water")
    one = do_saturation_benson_krause_1984(temperature_degc, 0.0, 101325.0)
    found = do_saturation_benson_krause_1984(temperature_degc, 0.0, pressure_pa)
    assert found / one == pytest.approx((pressure_pa - vapour) / (101325.0 - vapour), rel=5e-4)


@pytest.mark.parametrize("temperature_degc", [0.0, 10.0, 20.0, 30.0, 40.0])
def test_nonideality_is_the_second_virial_coefficient_of_oxygen(temperature_degc):
    """θ = −B/(RT) in 1/atm, B of oxygen from CoolProp (Schmidt & Wagner 1985): 2 %."""
    T = temperature_degc + 273.15
    virial = PropsSI("BVIRIAL", "T", T, "P", 1000.0, "Oxygen")  # m³/mol
    expected = -virial / (8.314462618 * T) * 101325.0
    assert do_nonideality_benson_krause_1980(temperature_degc) == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize("temperature_degc", [0.0, 10.0, 20.0, 30.0, 40.0])
def test_nonideality_acts_on_the_pressure_beyond_one_atmosphere(temperature_degc):
    """Benson & Krause 1980 eq. for any P: at 3 atm C/P falls by (1 − 3θ)/(1 − θ) against the dry pressure."""
    P = 3.0 * 101325.0
    vapour = vapour_pressure_benson_krause_1980(temperature_degc)
    ratio = do_saturation_benson_krause_1984(temperature_degc, 0.0, P) / do_saturation_benson_krause_1984(
        temperature_degc, 0.0, 101325.0
    )
    virial = PropsSI("BVIRIAL", "T", temperature_degc + 273.15, "P", 1000.0, "Oxygen")
    theta = -virial / (8.314462618 * (temperature_degc + 273.15)) * 101325.0
    expected = (P - vapour) / (101325.0 - vapour) * (1.0 - 3.0 * theta) / (1.0 - theta)
    assert ratio == pytest.approx(expected, rel=5e-5)


def henry_pa(temperature_k: float, a: float, b: float, c: float) -> float:
    """Return Henry's constant f/x of a gas in water: IAPWS G7-04 (Fernández-Prini et al. 2003)."""
    reduced = temperature_k / 647.096
    tau = 1.0 - reduced
    vapour = PropsSI("P", "T", temperature_k, "Q", 0, "Water")
    return vapour * math.exp(a / reduced + b * tau**0.355 / reduced + c * reduced**-0.41 * math.exp(tau))


@pytest.mark.parametrize("temperature_degc", [5.0, 10.0, 20.0, 30.0, 35.0])
def test_oxygen_solubility_agrees_with_the_iapws_henry_law(temperature_degc):
    """IAPWS G7-04, oxygen (−9.44833, 4.43822, 11.42005: from memory): 1.5 %."""
    T = temperature_degc + 273.15
    density = PropsSI("DMOLAR", "T", T, "P", 101325.0, "Water")  # mol/m³
    expected = density / henry_pa(T, -9.44833, 4.43822, 11.42005) * 1e5
    assert solubility_oxygen_benson_krause_1984(temperature_degc, 0.0) == pytest.approx(expected, rel=0.015)


def test_the_constants_of_air_and_oxygen():
    """U.S. Standard Atmosphere 1976: 20.95 % oxygen, 1013.25 hPa; CoolProp's molar mass of oxygen."""
    assert pytest.approx(0.2095, abs=1e-4) == OXYGEN_IN_AIR_FRACTION
    assert pytest.approx(1000.0 * PropsSI("M", "Oxygen"), rel=1e-5) == OXYGEN_MOLAR_MASS_G_MOL
    assert STANDARD_PRESSURE_PA == 101325.0
