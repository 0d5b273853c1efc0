"""An old pipe proved by shutting it in and by blowing through it, and the water that falls out in a line."""

import math

import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI

from plumeline.science.condensate import (
    MOLAR_MASS_RATIO_NUMBER,
    condensate_ashrae_2021,
    humidity_ratio_ashrae_2021,
)
from plumeline.science.pipe import (
    friction_factor_churchill_1977,
    resistance_number_crane_2009,
    reynolds_number_reynolds_1883,
    upstream_pressure_isothermal_crane_2009,
)
from plumeline.science.tightness import leak_flow_clapeyron_1834

PSI_PA = 6894.757293168
CFM_M3_S = 4.719474432e-4
INCH_M, FOOT_M = 0.0254, 0.3048
GALLON_KG = 3.785411784 * 0.998


def kelvin(temperature_degf):
    """Return a temperature in kelvin."""
    return (temperature_degf + 459.67) / 1.8


def test_the_leak_of_a_pipe_that_fell_a_pound_and_a_half():
    """300 ft of 0.824 in, 10 to 8.5 psig in 6 min at 25 °C: 0.1115 scf gone, 0.0186 scfm (worked by hand)."""
    volume_m3 = 0.25 * math.pi * (0.824 * INCH_M) ** 2 * 300.0 * FOOT_M
    assert volume_m3 / FOOT_M**3 == pytest.approx(1.1110, abs=1e-4)
    found = leak_flow_clapeyron_1834(
        volume_m3, 24.696 * PSI_PA, 23.196 * PSI_PA, kelvin(77.0), kelvin(77.0), 360.0
    )
    assert found / CFM_M3_S == pytest.approx(0.0186, abs=5e-5)
    assert found * 360.0 / FOOT_M**3 == pytest.approx(0.1115, abs=1e-4)


def test_a_tight_pipe_that_cools_leaks_nothing():
    """At 10 psig air loses 0.046 psi a °F, 1.5 psi for 33 °F: no leak when both temperatures are given."""
    fall = 24.696 - 24.696 * kelvin(76.0) / kelvin(77.0)
    assert fall == pytest.approx(0.046, abs=5e-4)
    end_k = kelvin(77.0) * 23.196 / 24.696
    assert kelvin(77.0) - end_k == pytest.approx(33.0 / 1.8, abs=0.3)
    found = leak_flow_clapeyron_1834(0.0315, 24.696 * PSI_PA, 23.196 * PSI_PA, kelvin(77.0), end_k, 360.0)
    assert found == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(
    ("bore_in", "temperature_degc", "roughness_m", "gauge_psi"),
    [
        (0.622, 25.0, 1.5e-6, 1.1377), (0.680, 25.0, 1.5e-6, 0.7559), (0.750, 25.0, 1.5e-6, 0.4803),
        (0.804, 25.0, 1.5e-6, 0.3475), (0.824, 25.0, 1.5e-6, 0.3099), (0.860, 25.0, 1.5e-6, 0.2538),
        (0.894, 25.0, 1.5e-6, 0.2117), (0.824, 25.0, 45e-6, 0.3346), (0.824, 10.0, 1.5e-6, 0.2911),
        (0.824, 35.0, 1.5e-6, 0.3225),
    ],
)  # fmt: skip
def test_the_gauge_of_a_pipe_blown_open_ended(bore_in, temperature_degc, roughness_m, gauge_psi):
    """3.5 scfm through 300 ft to the open air: `fluids` 1.3.1 isothermal_gas with Churchill, to 0.1 %."""
    flow_kg_s, temperature_k, bore_m = 3.5 * 5.6827e-4, temperature_degc + 273.15, bore_in * INCH_M
    viscosity = PropsSI("V", "T", temperature_k, "P", 101325.0, "Air")
    sutherland = 1.716e-5 * (temperature_k / 273.15) ** 1.5 * 383.55 / (temperature_k + 110.4)
    assert sutherland == pytest.approx(viscosity, rel=0.01)
    reynolds = reynolds_number_reynolds_1883(flow_kg_s, bore_m, sutherland)
    friction = friction_factor_churchill_1977(reynolds, roughness_m / bore_m)
    resistance = resistance_number_crane_2009(friction, 300.0 * FOOT_M, bore_m, 0.0)
    inlet = upstream_pressure_isothermal_crane_2009(
        flow_kg_s, 14.696 * PSI_PA, resistance, bore_m, 287.055, temperature_k
    )
    assert inlet / PSI_PA - 14.696 == pytest.approx(gauge_psi, rel=1.5e-3)


@pytest.mark.parametrize(
    ("intake_degf", "humidity", "soil_degf", "gallons_d"),
    [(95.0, 0.6, 60.0, 0.46), (95.0, 0.6, 75.0, 0.28), (80.0, 0.7, 60.0, 0.26), (70.0, 0.5, 60.0, 0.0)],
)
def test_water_that_falls_out_in_a_day(intake_degf, humidity, soil_degf, gallons_d):
    """2.6 scfm at 6 psig: worked by hand with steam-table pressures (95 °F 0.8164 psia, 60 °F 0.2564), 0.006 gal."""
    found = 86400.0 * condensate_ashrae_2021(
        1.47751e-3, kelvin(intake_degf) - 273.15, humidity, 14.696 * PSI_PA, kelvin(soil_degf) - 273.15,
        20.696 * PSI_PA,
    )  # fmt: skip
    assert found / GALLON_KG == pytest.approx(gallons_d, abs=0.006)
    if intake_degf == 95.0 and soil_degf == 60.0:
        assert found == pytest.approx(1.74, abs=0.01)


@pytest.mark.parametrize(("air_degc", "pressure_pa"), [(10.0, 101325.0), (30.0, 98000.0), (35.0, 140000.0)])
def test_the_humidity_of_saturated_air(air_degc, pressure_pa):
    """CoolProp's humid air (ASHRAE RP-1485) at saturation: 0.6 %, its own enhancement factor."""
    state = ("T", air_degc + 273.15, "P", pressure_pa, "R", 1.0)
    vapour_pa = PropsSI("P", "T", air_degc + 273.15, "Q", 1, "Water")
    found = humidity_ratio_ashrae_2021(vapour_pa, pressure_pa)
    assert found == pytest.approx(HAPropsSI("W", *state), rel=6e-3)
    ratio = PropsSI("MOLARMASS", "Water") / PropsSI("MOLARMASS", "Air")
    assert pytest.approx(ratio, rel=2e-4) == MOLAR_MASS_RATIO_NUMBER
