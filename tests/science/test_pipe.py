"""Pipe and air relations swept over their ranges: monotone where physics says so, and their own inverses."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from plumeline.science import air, pipe


@pytest.mark.parametrize("roughness", [0.0, 1e-4, 0.01, 0.05])
def test_wall_friction_rises_with_the_flow(roughness):
    """f Re², the wall's friction at a given pipe, rises with Re by either law."""
    reynolds = np.geomspace(1.0, 1e8, 400)
    churchill = [pipe.friction_factor_churchill_1977(x, roughness) * x**2 for x in reynolds]
    assert (np.diff(churchill) > 0.0).all()
    colebrook = [pipe.friction_factor_colebrook_1939(x, roughness) * x**2 for x in reynolds]
    assert (np.diff(colebrook) > 0.0).all()


@pytest.mark.parametrize("law", [pipe.friction_factor_churchill_1977, pipe.friction_factor_colebrook_1939])
def test_a_rougher_wall_never_has_less_friction(law):
    """f rises with ε/D at any Re from 3,000 up."""
    for reynolds_number in np.geomspace(3e3, 1e8, 40):
        factors = [law(float(reynolds_number), x) for x in np.linspace(0.0, 0.05, 60)]
        assert (np.diff(factors) >= 0.0).all()


@pytest.mark.parametrize("roughness", [0.0, 1e-4, 0.05])
def test_colebrook_satisfies_its_own_equation(roughness):
    """Put back into 1/√f = −2 log10(ε/3.7 D + 2.51/(Re √f)), from creeping to fully rough flow."""
    for reynolds_number in np.geomspace(1.0, 1e8, 60):
        x = 1.0 / math.sqrt(pipe.friction_factor_colebrook_1939(float(reynolds_number), roughness))
        assert x == pytest.approx(-2.0 * math.log10(roughness / 3.7 + 2.51 * x / reynolds_number), abs=1e-9)


def test_churchill_has_no_step_anywhere():
    """Neighbouring Re differ by no more than their friction can: no jump at Re 100 or in the transition."""
    reynolds = np.geomspace(1.0, 1e6, 20000)
    factors = np.log([pipe.friction_factor_churchill_1977(float(x), 1e-4) for x in reynolds])
    assert np.abs(np.diff(factors)).max() < 4.0 * np.log(reynolds[1] / reynolds[0])


@given(
    st.floats(1e-6, 0.02),
    st.floats(8e4, 1e6),
    st.floats(0.0, 5e4),
    st.floats(0.004, 0.05),
    st.floats(250.0, 420.0),
)
def test_upstream_and_downstream_are_inverse(flow, inlet, resistance, bore, kelvin):
    """From inlet to outlet and back, wherever the flow is not choked."""
    args = (resistance, bore, 287.055, kelvin)
    outlet = pipe.downstream_pressure_isothermal_crane_2009(flow, inlet, *args)
    assume(math.isfinite(outlet))
    C = (4.0 * flow / (math.pi * bore**2)) ** 2 * 287.055 * kelvin
    assume(outlet**2 > 1.01 * C)
    assert 0.0 < outlet <= inlet
    assert pipe.upstream_pressure_isothermal_crane_2009(flow, outlet, *args) == pytest.approx(inlet, rel=1e-9)
    left = inlet**2 - outlet**2
    right = C * (resistance + 2.0 * math.log(inlet / outlet))
    assert left == pytest.approx(right, rel=1e-6, abs=1e-9 * inlet**2)


def test_long_pipe_against_marching_the_momentum_equation():
    """An independent way: dp/dx = −(f/D) G² R T/(2 p)/(1 − G² R T/p²) in 20,000 steps, to 1e-5."""
    flow, inlet, length, bore, kelvin, friction = 0.004, 2.0e5, 60.0, 0.0158, 300.0, 0.03
    C = (4.0 * flow / (math.pi * bore**2)) ** 2 * 287.055 * kelvin
    steps = 20000
    p, dx = inlet, length / steps
    for _ in range(steps):

        def slope(pressure):
            return -friction / bore * C / (2.0 * pressure) / (1.0 - C / pressure**2)

        middle = p + 0.5 * dx * slope(p)
        p += dx * slope(middle)
    found = pipe.downstream_pressure_isothermal_crane_2009(
        flow, inlet, friction * length / bore, bore, 287.055, kelvin
    )
    assert found == pytest.approx(p, rel=1e-5)


@pytest.mark.parametrize("flow", [0.05, 1.0])
def test_choked_pipes_say_so(flow):
    """Beyond the isothermal limit there is no pressure: infinity upstream, NaN downstream."""
    assert math.isinf(pipe.upstream_pressure_isothermal_crane_2009(flow, 1e5, 100.0, 0.005, 287.055, 300.0))
    assert math.isnan(pipe.downstream_pressure_isothermal_crane_2009(flow, 1e5, 100.0, 0.005, 287.055, 300.0))


MONOTONE = [
    (air.viscosity_sutherland_1893, {"temperature_k": (170.0, 1900.0)}, 1),
    (air.conductivity_us_standard_atmosphere_1976, {"temperature_k": (180.0, 500.0)}, 1),
    (air.nusselt_number_gnielinski_2013, {"reynolds_number": (1.0, 5e6)}, 0),
    (lambda x: air.discharge_temperature_mills_2004(300.0, x, 0.5), {"ratio": (1.0, 4.0)}, 1),
    (lambda x: air.discharge_temperature_mills_2004(300.0, 1.5, x), {"efficiency": (0.2, 1.0)}, -1),
    (lambda x: air.adiabatic_power_perry_2008(1e5, 0.01, x), {"ratio": (1.0, 10.0)}, 1),
    (lambda x: air.isothermal_power_perry_2008(1e5, 0.01, x), {"ratio": (1.0, 10.0)}, 1),
    (lambda x: air.stored_energy_crowl_1992(0.05, x, 1e5), {"pressure": (1e5, 2e6)}, 1),
    (lambda x: air.shape_factor_incropera_2007(x, 0.03), {"depth": (0.05, 3.0)}, -1),
    (lambda x: air.line_temperature_incropera_2007(90.0, 20.0, x, 3.0), {"distance": (0.0, 100.0)}, -1),
    (lambda x: air.standard_flow_iso_1217_2009(0.01, 1e5, 0.0, x), {"temperature": (230.0, 330.0)}, -1),
    (lambda x: air.standard_flow_iso_1217_2009(0.01, 1e5, x, 300.0), {"vapour": (0.0, 1e4)}, -1),
]


@pytest.mark.parametrize(("relation", "span", "sign"), MONOTONE)
def test_air_relations_go_one_way(relation, span, sign):
    """Finite all along, and rising or falling as physics says (0: never falling)."""
    ((low, high),) = span.values()
    values = [relation(float(x)) for x in np.linspace(low, high, 500)]
    assert all(math.isfinite(value) for value in values)
    steps = np.diff(values)
    assert (steps >= 0.0).all() if sign == 0 else (sign * steps > 0.0).all()


def test_a_real_machine_needs_more_power_than_an_isothermal_one():
    """Adiabatic over isothermal power is above 1 and grows with the pressure ratio."""
    ratios = [
        air.adiabatic_power_perry_2008(1e5, 0.01, r) / air.isothermal_power_perry_2008(1e5, 0.01, r)
        for r in (1.1, 1.5, 2.0, 4.0)
    ]
    assert ratios[0] > 1.0
    assert all(after > before for before, after in itertools.pairwise(ratios))
