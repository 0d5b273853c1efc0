"""One pipe of gas: published worked examples, and `fluids` with the same friction law on both sides."""

import fluids
import pytest

from plumeline.science import pipe
from plumeline.science.air import (
    GAS_CONSTANT_J_KG_K,
    STANDARD_PRESSURE_PA,
    STANDARD_TEMPERATURE_K,
    density_clapeyron_1834,
    viscosity_sutherland_1893,
)
from plumeline.stages.air import quick_pipe

PSI_PA = 6894.757293168
FOOT_M = 0.3048
INCH_M = 0.0254
SCFM_M3_S = 4.719474432e-4
METHANE_J_KG_K = 8314.462618 / 16.0425


def standard_kg_s(scfm):
    """Return the mass flow of standard air (68 °F, dry, 14.696 psia)."""
    return scfm * SCFM_M3_S * density_clapeyron_1834(STANDARD_PRESSURE_PA, STANDARD_TEMPERATURE_K)


def test_methane_in_steel_pipe_of_a_textbook():
    """Geankoplis 2.11-1: 305 m of 52.5 mm, 41.0 kg/m² s, 345 kPa, 288.8 K → 298.4 kPa (from memory)."""
    bore_m, flux = 0.0525, 41.0
    friction = pipe.friction_factor_colebrook_1939(flux * bore_m / 1.04e-5, 4.6e-5 / bore_m)
    resistance = pipe.resistance_number_crane_2009(friction, 305.0, bore_m, 0.0)
    flow_kg_s = flux * 3.141592653589793 * bore_m**2 / 4.0
    found = pipe.downstream_pressure_isothermal_crane_2009(
        flow_kg_s, 345e3, resistance, bore_m, METHANE_J_KG_K, 288.8
    )
    assert found == pytest.approx(298.4e3, rel=0.001)


def test_methane_upstream_of_a_textbook():
    """Worked problem "Example 2.1" of Nemotron-CC-Math: 2.35 kg/s, 84 mm, 68.5 m → 960.07 kPa."""
    resistance = pipe.resistance_number_crane_2009(8.0 * 0.0032, 68.5, 0.084, 0.0)
    found = pipe.upstream_pressure_isothermal_crane_2009(
        2.35, 560e3, resistance, 0.084, 8314.462618 / 16.0, 297.0
    )
    assert found == pytest.approx(960.07e3, rel=0.001)


def test_flow_of_the_fluids_documentation():
    """fluids, isothermal_gas: ρ 11.3, f 0.00185, 1e6 to 9e5 Pa, 1,000 m of 0.5 m → 145.48476 kg/s."""
    resistance = pipe.resistance_number_crane_2009(0.00185, 1000.0, 0.5, 0.0)
    found = pipe.upstream_pressure_isothermal_crane_2009(
        145.48475726, 9e5, resistance, 0.5, 1e6 / (11.3 * 300.0), 300.0
    )
    assert found == pytest.approx(1e6, rel=1e-7)


@pytest.mark.parametrize(
    ("bore_in", "colebrook_psi", "churchill_psi"), [(0.824, 0.19817, 0.20101), (0.804, 0.22264, 0.22575)]
)
def test_reference_pipe(bore_in, colebrook_psi, churchill_psi):
    """430 ft, 2.6 scfm, 6 psig, 35 °C, 1.5 µm: computed with fluids 1.3.1, both friction laws."""
    bore_m = bore_in * INCH_M
    reynolds_number = pipe.reynolds_number_reynolds_1883(
        standard_kg_s(2.6), bore_m, viscosity_sutherland_1893(308.15)
    )
    inlet_pa = 20.696 * PSI_PA
    for law, expected_psi in (
        (pipe.friction_factor_colebrook_1939, colebrook_psi),
        (pipe.friction_factor_churchill_1977, churchill_psi),
    ):
        resistance = pipe.resistance_number_crane_2009(
            law(reynolds_number, 1.5e-6 / bore_m), 430.0 * FOOT_M, bore_m, 0.0
        )
        outlet_pa = pipe.downstream_pressure_isothermal_crane_2009(
            standard_kg_s(2.6), inlet_pa, resistance, bore_m, GAS_CONSTANT_J_KG_K, 308.15
        )
        assert (inlet_pa - outlet_pa) / PSI_PA == pytest.approx(expected_psi, rel=3e-4)


def test_quick_pipe_gives_the_reference_pipe():
    """The same pipe through `quick_pipe`: drop, inlet velocity 8.73 ft/s, Reynolds number 4770."""
    found = quick_pipe(2.6 * SCFM_M3_S, 430.0 * FOOT_M, 0.824 * INCH_M, 6.0 * PSI_PA, 35.0)
    assert found.pressure_drop_pa / PSI_PA == pytest.approx(0.20101, rel=3e-4)
    assert found.velocity_m_s / FOOT_M == pytest.approx(8.73, abs=0.006)
    assert found.reynolds_number == pytest.approx(4770.0, abs=1.0)


@pytest.mark.parametrize(
    ("bore_in", "drops_psi"),
    [
        (0.622, [0.758, 2.024, 3.476]), (0.824, [0.198, 0.514, 0.854, 2.157]),
        (0.804, [0.223, 0.578, 0.962, 2.443]), (1.049, [0.063, 0.163, 0.268, 0.658]),
        (1.380, [0.017, 0.044, 0.073, 0.177]),
    ],
)  # fmt: skip
def test_main_of_430_ft(bore_in, drops_psi):
    """Drops at 2.6, 4.5, 6 and 10 scfm, 6 psig, 95 °F, Colebrook: computed with fluids 1.3.1, to a digit."""
    bore_m, inlet_pa = bore_in * INCH_M, 20.696 * PSI_PA
    for scfm, expected_psi in zip((2.6, 4.5, 6.0, 10.0), drops_psi, strict=False):
        flow_kg_s = standard_kg_s(scfm)
        reynolds_number = pipe.reynolds_number_reynolds_1883(
            flow_kg_s, bore_m, viscosity_sutherland_1893(308.15)
        )
        friction = pipe.friction_factor_colebrook_1939(reynolds_number, 1.5e-6 / bore_m)
        resistance = pipe.resistance_number_crane_2009(friction, 430.0 * FOOT_M, bore_m, 0.0)
        outlet_pa = pipe.downstream_pressure_isothermal_crane_2009(
            flow_kg_s, inlet_pa, resistance, bore_m, GAS_CONSTANT_J_KG_K, 308.15
        )
        assert (inlet_pa - outlet_pa) / PSI_PA == pytest.approx(expected_psi, rel=0.002, abs=0.0006)


@pytest.mark.parametrize(("elevation_ft", "expected_psi"), [(0.0, 0.1982), (680.0, 0.2017), (5000.0, 0.2253)])
def test_a_higher_pond_loses_more(elevation_ft, expected_psi):
    """Drop at 680 and 5,000 ft over that at sea level (Colebrook values of fluids 1.3.1, ratios to 0.3 %)."""
    low = quick_pipe(2.6 * SCFM_M3_S, 430.0 * FOOT_M, 0.824 * INCH_M, 6.0 * PSI_PA, 35.0)
    high = quick_pipe(
        2.6 * SCFM_M3_S, 430.0 * FOOT_M, 0.824 * INCH_M, 6.0 * PSI_PA, 35.0, elevation_m=elevation_ft * FOOT_M
    )
    assert high.pressure_drop_pa / low.pressure_drop_pa == pytest.approx(expected_psi / 0.1982, rel=0.003)


def test_ten_scfm_do_not_go_through_half_inch():
    """10 scfm from 6 psig through 430 ft of 0.622 in is not feasible: a clear error, not a number."""
    from plumeline.errors import ModelError

    with pytest.raises(ModelError, match="can't carry"):
        quick_pipe(10.0 * SCFM_M3_S, 430.0 * FOOT_M, 0.622 * INCH_M, 6.0 * PSI_PA, 35.0)


@pytest.mark.parametrize("scfm", [0.3, 1.3, 2.6, 6.0])
@pytest.mark.parametrize("bore_in", [0.375, 0.622, 0.824, 1.38])
@pytest.mark.parametrize("temperature_degc", [5.0, 35.0])
def test_a_pipe_of_fluids_with_the_same_friction(scfm, bore_in, temperature_degc):
    """`fluids.isothermal_gas` with the density at the inlet and Churchill's friction, within 0.2 %."""
    bore_m, length_m, inlet_pa = bore_in * INCH_M, 15.0, 101325.0 + 10.0 * PSI_PA
    temperature_k = temperature_degc + 273.15
    density = density_clapeyron_1834(inlet_pa, temperature_k)
    reynolds_number = (
        4.0 * standard_kg_s(scfm) / (3.141592653589793 * bore_m * viscosity_sutherland_1893(temperature_k))
    )
    friction = fluids.friction_factor(Re=reynolds_number, eD=1.5e-6 / bore_m, Method="Churchill_1977")
    found = quick_pipe(scfm * SCFM_M3_S, length_m, bore_m, inlet_pa - 101325.0, temperature_degc)
    outlet_pa = inlet_pa - found.pressure_drop_pa
    carried = fluids.isothermal_gas(rho=density, fd=friction, P1=inlet_pa, P2=outlet_pa, L=length_m, D=bore_m)
    assert carried == pytest.approx(standard_kg_s(scfm), rel=0.002)


@pytest.mark.parametrize(
    ("bore_in", "roughness_m", "temperature_degc", "expected_psi"),
    [
        (0.622, 1.5e-6, 25.0, 1.1377), (0.680, 1.5e-6, 25.0, 0.7559), (0.750, 1.5e-6, 25.0, 0.4803),
        (0.804, 1.5e-6, 25.0, 0.3475), (0.824, 1.5e-6, 25.0, 0.3099), (0.860, 1.5e-6, 25.0, 0.2538),
        (0.894, 1.5e-6, 25.0, 0.2117), (0.824, 45e-6, 25.0, 0.3346), (0.824, 1.5e-6, 10.0, 0.2911),
        (0.824, 1.5e-6, 35.0, 0.3225),
    ],
)  # fmt: skip
def test_old_pipe_blown_open_ended(bore_in, roughness_m, temperature_degc, expected_psi):
    """300 ft, 3.5 scfm, open to the air: inlet gauge computed with fluids 1.3.1 (Churchill), to 0.1 %."""
    bore_m, temperature_k = bore_in * INCH_M, temperature_degc + 273.15
    flow_kg_s = standard_kg_s(3.5)
    reynolds_number = pipe.reynolds_number_reynolds_1883(
        flow_kg_s, bore_m, viscosity_sutherland_1893(temperature_k)
    )
    friction = pipe.friction_factor_churchill_1977(reynolds_number, roughness_m / bore_m)
    resistance = pipe.resistance_number_crane_2009(friction, 300.0 * FOOT_M, bore_m, 0.0)
    inlet_pa = pipe.upstream_pressure_isothermal_crane_2009(
        flow_kg_s, STANDARD_PRESSURE_PA, resistance, bore_m, GAS_CONSTANT_J_KG_K, temperature_k
    )
    assert (inlet_pa - STANDARD_PRESSURE_PA) / PSI_PA == pytest.approx(expected_psi, rel=0.001)


@pytest.mark.parametrize("outlet_pa", [9e5, 5e5, 3e5])
@pytest.mark.parametrize("loss", [0.0, 12.0])
def test_a_strong_drop_with_fittings_keeps_the_log_term(outlet_pa, loss):
    """`fluids.isothermal_gas`, fittings as so much more f L/D, down to a third of the pressure: to 1e-9."""
    friction, length_m, bore_m, density = 0.02, 30.0, 0.05, 1e6 / (GAS_CONSTANT_J_KG_K * 300.0)
    as_length_m = length_m + loss * bore_m / friction
    flow_kg_s = fluids.isothermal_gas(rho=density, fd=friction, P1=1e6, P2=outlet_pa, L=as_length_m, D=bore_m)
    resistance = pipe.resistance_number_crane_2009(friction, length_m, bore_m, loss)
    rest = (resistance, bore_m, GAS_CONSTANT_J_KG_K, 300.0)
    found_pa = pipe.downstream_pressure_isothermal_crane_2009(flow_kg_s, 1e6, *rest)
    assert found_pa == pytest.approx(outlet_pa, rel=1e-9)
    found_pa = pipe.upstream_pressure_isothermal_crane_2009(flow_kg_s, outlet_pa, *rest)
    assert found_pa == pytest.approx(1e6, rel=1e-9)
