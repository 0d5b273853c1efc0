"""The printed equations of pipes and moist air, put together anew where a small drop would hide a term."""

import math

import pytest
from CoolProp.CoolProp import HAPropsSI

from plumeline.science.air import intake_flow_iso_1217_2009
from plumeline.science.pipe import (
    downstream_pressure_isothermal_crane_2009,
    resistance_number_crane_2009,
    upstream_pressure_isothermal_crane_2009,
)

CASES = [(0.01, 3e5, 60.0, 0.02), (0.02, 4e5, 20.0, 0.026), (0.03, 5e5, 5.0, 0.02)]
"""Mass flow, outlet pressure, resistance, bore: pressure ratios up to 1.3."""


def missing_pa2(flow_kg_s, inlet_pa, outlet_pa, resistance, bore_m):
    """Return p₁² − p₂² − G²RT[fL/D + ΣK + 2 ln(p₁/p₂)]: Crane TP-410, as `fluids` quotes it."""
    flux = 4.0 * flow_kg_s / (math.pi * bore_m**2)
    fall = resistance + 2.0 * math.log(inlet_pa / outlet_pa)
    return inlet_pa**2 - outlet_pa**2 - flux**2 * 287.055 * 300.0 * fall


@pytest.mark.parametrize(("flow_kg_s", "outlet_pa", "resistance", "bore_m"), CASES)
def test_both_directions_meet_the_equation_with_its_logarithm(flow_kg_s, outlet_pa, resistance, bore_m):
    """To 1e-10 of the pressure squared, the logarithm being 1 to 20 % of the drop."""
    inlet = upstream_pressure_isothermal_crane_2009(flow_kg_s, outlet_pa, resistance, bore_m, 287.055, 300.0)
    missing = missing_pa2(flow_kg_s, inlet, outlet_pa, resistance, bore_m)
    assert missing == pytest.approx(0.0, abs=1e-10 * inlet**2)
    outlet = downstream_pressure_isothermal_crane_2009(flow_kg_s, inlet, resistance, bore_m, 287.055, 300.0)
    assert outlet == pytest.approx(outlet_pa, rel=1e-10)


def test_fittings_add_to_the_pipe():
    """f L/D + ΣK: 0.02 × 100/0.02 + 5 = 105 (any handbook)."""
    assert resistance_number_crane_2009(0.02, 100.0, 0.02, 5.0) == pytest.approx(105.0)


@pytest.mark.parametrize(("air_degc", "humidity"), [(30.0, 0.9), (35.0, 0.5), (10.0, 0.2)])
def test_moist_intake_carries_less_dry_air(air_degc, humidity):
    """CoolProp's humid air by mass of dry air (ASHRAE RP-1485): 0.1 %."""
    state = ("T", air_degc + 273.15, "P", 98000.0, "R", humidity)
    dry_kg = 101325.0 / (287.055 * 293.15)  # by m³ at 68 °F, dry, 1 atm
    found = intake_flow_iso_1217_2009(1.0, 98000.0, HAPropsSI("P_w", *state), air_degc + 273.15)
    assert found == pytest.approx(dry_kg * HAPropsSI("Vda", *state), rel=1e-3)
