"""Nitrogen saturation against the paper's check value and the Henry law of IAPWS."""

import math

import pytest
from CoolProp.CoolProp import PropsSI

from plumeline.science.gases import (
    NITROGEN_IN_AIR_FRACTION,
    NITROGEN_MOLAR_MASS_G_MOL,
    nitrogen_saturation_hamme_emerson_2004,
    solubility_nitrogen_hamme_emerson_2004,
)
from plumeline.science.water import density_chen_millero_1986


def test_check_value_of_the_paper():
    """Hamme & Emerson 2004, table 4: 500.885 µmol/kg at 10 °C and salinity 35 (from memory)."""
    mg_l = nitrogen_saturation_hamme_emerson_2004(10.0, 35.0, 101325.0)
    umol_kg = mg_l / 28.0134 / density_chen_millero_1986(10.0, 35.0) * 1e6
    assert umol_kg == pytest.approx(500.885, abs=0.005)


def henry_pa(temperature_k: float) -> float:
    """Return Henry's constant f/x of nitrogen: IAPWS G7-04 (−9.67578, 4.72162, 11.70585: from memory)."""
    reduced = temperature_k / 647.096
    tau = 1.0 - reduced
    vapour = PropsSI("P", "T", temperature_k, "Q", 0, "Water")
    return vapour * math.exp(
        -9.67578 / reduced + 4.72162 * tau**0.355 / reduced + 11.70585 * reduced**-0.41 * math.exp(tau)
    )


@pytest.mark.parametrize("temperature_degc", [5.0, 10.0, 20.0, 30.0, 35.0])
def test_solubility_agrees_with_the_iapws_henry_law(temperature_degc):
    """IAPWS G7-04: 2 %."""
    T = temperature_degc + 273.15
    expected = PropsSI("DMOLAR", "T", T, "P", 101325.0, "Water") / henry_pa(T) * 1e5
    assert solubility_nitrogen_hamme_emerson_2004(temperature_degc, 0.0) == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize("pressure_pa", [60000.0, 80000.0, 110000.0])
@pytest.mark.parametrize("temperature_degc", [5.0, 25.0, 35.0])
def test_saturation_follows_the_dry_part_of_the_air(temperature_degc, pressure_pa):
    """Henry's law with the vapour pressure of CoolProp: 0.02 %."""
    vapour = PropsSI("P", "T", temperature_degc + 273.15, "Q", 0, "Water")
    one = nitrogen_saturation_hamme_emerson_2004(temperature_degc, 0.0, 101325.0)
    found = nitrogen_saturation_hamme_emerson_2004(temperature_degc, 0.0, pressure_pa)
    assert found / one == pytest.approx((pressure_pa - vapour) / (101325.0 - vapour), rel=2e-4)


def test_the_constants_of_air_and_nitrogen():
    """U.S. Standard Atmosphere 1976: 78.08 % nitrogen; CoolProp's molar mass of nitrogen."""
    assert pytest.approx(0.7808, abs=1e-4) == NITROGEN_IN_AIR_FRACTION
    assert pytest.approx(1000.0 * PropsSI("M", "Nitrogen"), rel=1e-5) == NITROGEN_MOLAR_MASS_G_MOL
