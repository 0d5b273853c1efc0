"""Air itself: standards, viscosity, conductivity, compression, power, stored energy."""

import math

import fluids
import pytest
from CoolProp.CoolProp import PropsSI

from plumeline.science import air

PSI_PA = 6894.757293168
CFM_M3_S = 4.719474432e-4
LB_FT3_KG_M3 = 16.01846337


def kelvin(temperature_degf):
    """Return a temperature in kelvin."""
    return (temperature_degf + 459.67) / 1.8


@pytest.mark.parametrize(
    ("temperature_degf", "pressure_psi", "expected_kg_m3", "expected_lb_ft3"),
    [
        (60.0, 14.696, 1.22264, 0.07633), (68.0, 14.696, 1.20410, 0.07517), (70.0, 14.696, 1.19955, 0.07489),
        (68.0, 14.5, 1.18804, 0.07417),
    ],
)  # fmt: skip
def test_standard_densities(temperature_degf, pressure_psi, expected_kg_m3, expected_lb_ft3):
    """Density of the trade's several standard airs; 0.075 lb/ft³ is the round value in use for 70 °F."""
    found = air.density_clapeyron_1834(pressure_psi * PSI_PA, kelvin(temperature_degf))
    assert found == pytest.approx(expected_kg_m3, abs=1.2e-5)
    assert found / LB_FT3_KG_M3 == pytest.approx(expected_lb_ft3, abs=6e-6)


def test_gas_constant_and_heat_capacity_are_those_of_dry_air():
    """CoolProp's dry air at 300 K: R = R_u/M, cp and the ratio of heats within 0.3 %."""
    gas_constant = PropsSI("GAS_CONSTANT", "Air") / PropsSI("MOLARMASS", "Air")
    assert pytest.approx(gas_constant, rel=3e-4) == air.GAS_CONSTANT_J_KG_K
    heat = PropsSI("CPMASS", "T", 300.0, "P", 101325.0, "Air")
    assert pytest.approx(heat, rel=0.003) == air.HEAT_CAPACITY_J_KG_K
    ratio = heat / PropsSI("CVMASS", "T", 300.0, "P", 101325.0, "Air")
    assert pytest.approx(ratio, rel=0.003) == air.HEAT_RATIO_NUMBER
    prandtl = PropsSI("PRANDTL", "T", 300.0, "P", 101325.0, "Air")
    assert pytest.approx(prandtl, rel=0.01) == air.PRANDTL_NUMBER


def test_standard_state_is_68_degf_and_14_696_psia():
    """One scfm carries 5.6827e-4 kg/s: 14.696 psia, 68 °F, dry, R 287.055."""
    density = air.density_clapeyron_1834(air.STANDARD_PRESSURE_PA, air.STANDARD_TEMPERATURE_K)
    assert density * CFM_M3_S == pytest.approx(5.6827e-4, rel=2e-5)
    assert pytest.approx(kelvin(68.0), abs=1e-9) == air.STANDARD_TEMPERATURE_K


@pytest.mark.parametrize(
    ("icfm", "pressure_psi", "humidity", "temperature_degf", "expected_scfm"),
    [
        (4.5, 14.696, 0.0, 95.0, 4.281), (4.5, 14.696, 0.6, 95.0, 4.14), (4.5, 12.228, 0.0, 70.0, 3.730),
        (2.6, 14.3, 0.0, 95.0, 2.407),
    ],
)  # fmt: skip
def test_intake_to_standard_flow(icfm, pressure_psi, humidity, temperature_degf, expected_scfm):
    """Worked conversions: hot, humid, high up, dirty filter (saturation at 95 °F 0.8164 psia)."""
    found = air.standard_flow_iso_1217_2009(
        icfm, pressure_psi * PSI_PA, humidity * 0.8164 * PSI_PA, kelvin(temperature_degf)
    )
    assert found == pytest.approx(expected_scfm, abs=0.0035 if humidity else 0.0006)


def test_a_mass_flow_at_two_standards():
    """1,000 kg/h of air is 455 scfm at 32 °F and 481 scfm at 60 °F (en-academic.com, "scfm"), to 0.2 %."""
    flow_m3_s = 1000.0 / 3600.0 / air.density_clapeyron_1834(14.696 * PSI_PA, kelvin(60.0))
    assert flow_m3_s / CFM_M3_S == pytest.approx(481.0, rel=0.002)
    flow_m3_s = 1000.0 / 3600.0 / air.density_clapeyron_1834(14.696 * PSI_PA, kelvin(32.0))
    assert flow_m3_s / CFM_M3_S == pytest.approx(455.0, rel=0.002)


def test_standard_flow_squeezed_in_the_line():
    """2.6 scfm at 6 psig and 35 °C is 1.941 acfm; the inverse gives the flow back."""
    squeezed = air.intake_flow_iso_1217_2009(2.6, 20.696 * PSI_PA, 0.0, 308.15)
    assert squeezed == pytest.approx(1.941, abs=0.0006)
    assert air.standard_flow_iso_1217_2009(squeezed, 20.696 * PSI_PA, 0.0, 308.15) == pytest.approx(2.6)
    humid = air.intake_flow_iso_1217_2009(4.14, 14.696 * PSI_PA, 0.6 * 0.8164 * PSI_PA, kelvin(95.0))
    assert humid == pytest.approx(4.5, rel=1e-3)


@pytest.mark.parametrize("temperature_k", [200.0, 250.0, 288.15, 308.15, 350.0, 400.0])
def test_viscosity(temperature_k):
    """U.S. Standard Atmosphere 1976, eq. 51: 1.458e-6 T^1.5/(T + 110.4), to 0.02 %; CoolProp to 2.5 %."""
    found = air.viscosity_sutherland_1893(temperature_k)
    assert found == pytest.approx(1.458e-6 * temperature_k**1.5 / (temperature_k + 110.4), rel=2e-4)
    measured = PropsSI("V", "T", temperature_k, "P", 101325.0, "Air")
    assert found == pytest.approx(measured, rel=0.025)


@pytest.mark.parametrize("elevation_m", [0.0, 3000.0, 8000.0])
def test_viscosity_and_conductivity_of_the_standard_atmosphere(elevation_m):
    """`fluids.ATMOSPHERE_1976` at three heights: viscosity to 0.02 %, conductivity to 0.01 %."""
    atmosphere = fluids.ATMOSPHERE_1976(elevation_m)
    assert air.viscosity_sutherland_1893(atmosphere.T) == pytest.approx(atmosphere.mu, rel=2e-4)
    found = air.conductivity_us_standard_atmosphere_1976(atmosphere.T)
    assert found == pytest.approx(atmosphere.k, rel=1e-4)


def test_conductivity_when_hot():
    """CoolProp's dry air at 380 K, within 1.5 %: the law's far end is used in the first metres of line."""
    measured = PropsSI("L", "T", 380.0, "P", 101325.0, "Air")
    assert air.conductivity_us_standard_atmosphere_1976(380.0) == pytest.approx(measured, rel=0.015)


@pytest.mark.parametrize(
    ("gauge_psi", "intake_degf", "isentropic_degf", "at_70_percent_degf", "at_50_percent_degf"),
    [
        (3, 70, 98.9, 111.2, 127.7), (5, 70, 116.2, 136.0, 162.4), (6, 70, 124.4, 147.8, 178.9),
        (8, 70, 140.0, 170.0, 210.1), (10, 70, 154.7, 191.0, 239.4), (15, 70, 187.9, 238.4, 305.8),
        (3, 95, 125.2, 138.2, 155.5), (5, 95, 143.4, 164.2, 191.8), (6, 95, 152.0, 176.4, 209.0),
        (8, 95, 168.3, 199.8, 241.7), (10, 95, 183.7, 221.7, 272.3), (15, 95, 218.5, 271.4, 341.9),
    ],
)  # fmt: skip
def test_discharge_temperature(
    gauge_psi, intake_degf, isentropic_degf, at_70_percent_degf, at_50_percent_degf
):
    """Isentropic outlet temperature, k = 1.4, and with efficiencies 0.7 and 0.5: worked apart, to 0.1 °F."""
    ratio = (gauge_psi + 14.696) / 14.696
    for efficiency, expected in (
        (1.0, isentropic_degf),
        (0.7, at_70_percent_degf),
        (0.5, at_50_percent_degf),
    ):
        outlet_k = air.discharge_temperature_mills_2004(kelvin(intake_degf), ratio, efficiency)
        assert outlet_k * 1.8 - 459.67 == pytest.approx(expected, abs=0.11)


def test_isentropic_outlet_of_real_air():
    """CoolProp: dry air from 95 °F and 14.696 psia to 20.696 psia at constant entropy, within 0.3 K."""
    start = {"T": kelvin(95.0), "P": 14.696 * PSI_PA}
    entropy = PropsSI("S", "T", start["T"], "P", start["P"], "Air")
    real_k = PropsSI("T", "S", entropy, "P", 20.696 * PSI_PA, "Air")
    found = air.discharge_temperature_mills_2004(start["T"], 20.696 / 14.696, 1.0)
    assert found == pytest.approx(real_k, abs=0.3)


@pytest.mark.parametrize(
    ("icfm", "gauge_psi", "around_psi", "adiabatic_w", "isothermal_w"),
    [
        (1.0, 5.0, 14.696, 14.61, 14.00), (1.0, 10.0, 14.696, 26.76, 24.82), (2.6, 6.0, 14.696, 44.72, 42.57),
        (4.5, 8.0, 14.696, 99.58, 93.52), (4.5, 8.0, 12.228, 96.93, 90.12),
        (100.0, 100.0, 14.7, 13369.0, 9827.0),
    ],
)  # fmt: skip
def test_compression_power(icfm, gauge_psi, around_psi, adiabatic_w, isothermal_w):
    """Adiabatic and isothermal power of several machines: worked apart, to the figures written down."""
    ratio = 1.0 + gauge_psi / around_psi
    found = air.adiabatic_power_perry_2008(around_psi * PSI_PA, icfm * CFM_M3_S, ratio)
    assert found == pytest.approx(adiabatic_w, rel=5e-4)
    found = air.isothermal_power_perry_2008(around_psi * PSI_PA, icfm * CFM_M3_S, ratio)
    assert found == pytest.approx(isothermal_w, rel=5e-4)


def test_compression_power_of_a_textbook():
    """gtu-paper-solution.com, Q3c: 101.3 kPa, 0.3 m³/min, to 7 bar: 1.306 kW isentropic, 0.977 isothermal."""
    found = air.adiabatic_power_perry_2008(101.3e3, 0.3 / 60.0, 700.0 / 101.3)
    assert found == pytest.approx(1306.0, rel=0.003)
    found = air.isothermal_power_perry_2008(101.3e3, 0.3 / 60.0, 700.0 / 101.3)
    assert found == pytest.approx(977.0, rel=0.003)


@pytest.mark.parametrize(("gauge_psi", "expected_kj"), [(6.0, 0.34), (15.0, 1.8), (100.0, 42.0)])
def test_stored_energy(gauge_psi, expected_kj):
    """430 ft of 0.824 in (45.1 L): worked apart; 100 psi stores 125 times what 6 psi does."""
    volume_m3 = math.pi / 4.0 * (0.824 * 0.0254) ** 2 * 430.0 * 0.3048
    ambient_pa = 14.696 * PSI_PA
    found = air.stored_energy_crowl_1992(volume_m3, gauge_psi * PSI_PA + ambient_pa, ambient_pa)
    assert found / 1000.0 == pytest.approx(expected_kj, rel=0.02)
