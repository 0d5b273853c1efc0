"""Heat at the water surface against figures worked out apart from the published formulas, and CoolProp."""

import math

import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI

from plumeline.science.heat import (
    clear_sky_emissivity_brutsaert_1975,
    diffusivity_hondzo_1993,
    free_convection_tva_1972,
    latent_heat_bulk_hipsey_2019,
    light_extinction_poole_1929,
    longwave_emitted_stefan_1879,
    moist_air_density_bulk_hipsey_2019,
    open_wind_fraction_markfort_2010,
    sensible_heat_bulk_hipsey_2019,
    sky_emissivity_crawford_1999,
    specific_humidity_bulk_hipsey_2019,
)

ACRE_M2 = 4046.856
SIGMA_W_M2_K4 = 5.670374e-8
"""CODATA 2018."""


def saturated_pa(temperature_degc):
    """Return the vapour pressure that the figures were made with: Bolton 1980."""
    return 611.2 * math.exp(17.67 * temperature_degc / (temperature_degc + 243.5))


@pytest.mark.parametrize(
    ("air_degc", "humidity", "cloud", "expected_w_m2"),
    [
        (30, 0.6, 0.0, 416.88), (30, 0.6, 0.5, 447.89), (30, 0.6, 1.0, 478.90), (20, 0.7, 0.0, 343.83),
        (10, 0.8, 0.5, 322.04),
    ],
)  # fmt: skip
def test_longwave_from_the_sky(air_degc, humidity, cloud, expected_w_m2):
    """Brutsaert 1975 under Crawford & Duchon 1999: last printed digit."""
    clear = clear_sky_emissivity_brutsaert_1975(humidity * saturated_pa(air_degc), float(air_degc))
    found = sky_emissivity_crawford_1999(clear, cloud) * SIGMA_W_M2_K4 * (air_degc + 273.15) ** 4
    assert found == pytest.approx(expected_w_m2, abs=0.02)


def test_clear_sky_emissivity_near_other_published_forms():
    """30 °C, 60 %: Idso & Jackson 1969 give 0.8703, Swinbank 1963 0.8606: within 1.5 %."""
    found = clear_sky_emissivity_brutsaert_1975(0.6 * saturated_pa(30.0), 30.0)
    assert found == pytest.approx(0.8703, rel=0.015)
    assert found == pytest.approx(0.8606, rel=0.015)


@pytest.mark.parametrize(
    ("temperature_degc", "expected_w_m2"), [(15.0, 379.19), (20.0, 406.20), (25.0, 434.63), (30.0, 464.53)]
)
def test_longwave_from_the_water(temperature_degc, expected_w_m2):
    """0.97 σ T⁴: last printed digit."""
    assert longwave_emitted_stefan_1879(temperature_degc) == pytest.approx(expected_w_m2, abs=0.01)


@pytest.mark.parametrize(
    ("water_degc", "air_degc", "humidity", "wind_m_s", "latent_w_m2", "sensible_w_m2"),
    [
        (28, 30, 0.6, 2, 56.62, -6.03), (28, 20, 0.8, 2, 90.72, 25.00), (25, 25, 0.5, 3, 110.92, 0.0),
        (30, 22, 0.9, 1, 44.00, 12.39),
    ],
)  # fmt: skip
def test_bulk_fluxes(water_degc, air_degc, humidity, wind_m_s, latent_w_m2, sensible_w_m2):
    """Bulk formulas with 1.3e-3 at 1013.25 hPa, worked out apart: 0.1 %."""
    vapour = humidity * saturated_pa(air_degc)
    density = moist_air_density_bulk_hipsey_2019(air_degc, vapour, 101325.0)
    wet = specific_humidity_bulk_hipsey_2019(saturated_pa(water_degc), 101325.0)
    step = wet - specific_humidity_bulk_hipsey_2019(vapour, 101325.0)
    latent = latent_heat_bulk_hipsey_2019(wind_m_s, water_degc, step, density, 1.3e-3)
    sensible = sensible_heat_bulk_hipsey_2019(wind_m_s, water_degc, air_degc, density, 1.3e-3)
    assert latent == pytest.approx(latent_w_m2, rel=1e-3)
    assert sensible == pytest.approx(sensible_w_m2, rel=1e-3, abs=1e-9)


def test_a_calm_night_still_loses_heat():
    """Water 28 °C, air 20 °C and 80 %: 15.4 W/m² sensible and 54.7 latent (TVA 1972): 0.5 %.

    The 54.7 was made with Δq = 0.622 Δe/p, as the lake model that holds this form takes it; the humidity used
    elsewhere here, 0.622 e/(p − 0.378 e), gives 2 % more.
    """
    vapour, wet = 0.8 * saturated_pa(20.0), saturated_pa(28.0)
    air = moist_air_density_bulk_hipsey_2019(20.0, vapour, 101325.0)
    surface = moist_air_density_bulk_hipsey_2019(28.0, wet, 101325.0)
    coefficient = free_convection_tva_1972(20.0, air, surface)
    step = 0.622 * (wet - vapour) / 101325.0
    assert coefficient * 8.0 == pytest.approx(15.4, rel=0.005)
    assert coefficient / 1005.0 * (2.501e6 - 2370.0 * 28.0) * step == pytest.approx(54.7, rel=0.005)


@pytest.mark.parametrize("air_degc", [-20.0, 0.0, 25.0, 50.0])
def test_free_convection_takes_the_viscosity_of_air(air_degc):
    """The form of TVA 1972 put together anew with CoolProp's viscosity of air: 0.2 %."""
    viscosity = PropsSI("V", "T", air_degc + 273.15, "P", 101325.0, "Air") / 1.2
    expected = 0.137 * 0.5 * 0.028 * (9.81 * 0.03 / (1.2 * viscosity * 2.14e-5)) ** (1.0 / 3.0)
    assert free_convection_tva_1972(air_degc, 1.2, 1.17) == pytest.approx(expected, rel=0.002)


def test_warm_air_over_cold_water_does_not_convect():
    """No free convection where the air at the surface is the heavier."""
    assert free_convection_tva_1972(25.0, 1.17, 1.21) == 0.0


@pytest.mark.parametrize("air_degc", [0.0, 15.0, 30.0])
@pytest.mark.parametrize("humidity", [0.2, 0.9])
@pytest.mark.parametrize("pressure_pa", [80000.0, 101325.0])
def test_moist_air_agrees_with_coolprop(air_degc, humidity, pressure_pa):
    """Density 0.1 % and specific humidity 0.7 % against CoolProp's humid air (ASHRAE RP-1485)."""
    state = ("T", air_degc + 273.15, "P", pressure_pa, "R", humidity)
    ratio = HAPropsSI("W", *state)
    vapour = HAPropsSI("P_w", *state)
    density = (1.0 + ratio) / HAPropsSI("Vda", *state)
    assert moist_air_density_bulk_hipsey_2019(air_degc, vapour, pressure_pa) == pytest.approx(
        density, rel=1e-3
    )
    found = specific_humidity_bulk_hipsey_2019(vapour, pressure_pa)
    assert found == pytest.approx(ratio / (1.0 + ratio), rel=0.007)


@pytest.mark.parametrize("water_degc", [5.0, 20.0, 35.0])
def test_heat_of_vaporisation_agrees_with_iapws_95(water_degc):
    """The latent flux of 1 kg m⁻² s⁻¹ is CoolProp's heat of vaporisation: 0.2 %."""
    T = water_degc + 273.15
    expected = PropsSI("H", "T", T, "Q", 1, "Water") - PropsSI("H", "T", T, "Q", 0, "Water")
    assert latent_heat_bulk_hipsey_2019(1.0, water_degc, 1.0, 1.0, 1.0) == pytest.approx(expected, rel=0.002)


@pytest.mark.parametrize(
    ("acres", "squared_s2", "expected_m2_s"),
    [
        (0.25, 7.5e-5, 1.0e-7), (0.25, 1e-3, 3.4e-8), (1.0, 1e-3, 7.3e-8), (1.0, 1e-2, 2.7e-8),
        (5.0, 7.5e-5, 5.5e-7), (10.0, 1e-3, 2.6e-7), (10.0, 1e-2, 9.8e-8),
    ],
)  # fmt: skip
def test_background_diffusivity(acres, squared_s2, expected_m2_s):
    """Hondzo & Stefan 1993 as in two public lake models: the two digits of the table."""
    assert diffusivity_hondzo_1993(acres * ACRE_M2, squared_s2) == pytest.approx(expected_m2_s, rel=0.025)


def test_background_diffusivity_as_a_lake_model_prints_it():
    """MyLake: 0.00706 A[km²]^0.56 m²/d at N² = 1, and N² no less than 7e-5."""
    assert diffusivity_hondzo_1993(1e6, 1.0) * 86400.0 == pytest.approx(0.00706, rel=1e-3)
    assert diffusivity_hondzo_1993(1e6, 0.0) == pytest.approx(8.17e-8 * 7e-5**-0.43, rel=1e-6)


@pytest.mark.parametrize(
    ("acres", "bank_m", "expected_fraction"),
    [
        (0.5, 1.0, 0.002),
        (1.0, 1.0, 0.19),
        (2.0, 1.0, 0.40),
        (5.0, 1.0, 0.61),
        (10.0, 1.0, 0.72),
        (9.0, 10.0, 0.0),
    ],
)
def test_open_wind(acres, bank_m, expected_fraction):
    """Fifty obstacle heights (Markfort et al. 2010), worked out apart: last printed digit."""
    found = open_wind_fraction_markfort_2010(acres * ACRE_M2, bank_m)
    assert found == pytest.approx(expected_fraction, abs=0.0055)


def test_open_wind_is_the_overlap_of_two_circles():
    """The reached part is where the pond and itself, moved downwind by 50 h, overlap: by counting points."""
    radius, shift = 50.0, 30.0
    side = 400
    cells = [(-radius + (i + 0.5) * 2 * radius / side) for i in range(side)]
    inside = both = 0
    for x in cells:
        for y in cells:
            if x * x + y * y <= radius**2:
                inside += 1
                both += (x - shift) ** 2 + y * y <= radius**2
    found = open_wind_fraction_markfort_2010(math.pi * radius**2, shift / 50.0)
    assert found == pytest.approx(both / inside, abs=0.002)


def test_light_extinction():
    """Poole & Atkins 1929: 1.7 over the Secchi depth (from memory)."""
    assert light_extinction_poole_1929(0.5, 1.7) == pytest.approx(3.4)
