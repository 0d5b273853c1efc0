"""Darcy friction factors against the `fluids` library (Churchill 1977, Colebrook) and the laws they join."""

import math

import fluids
import pytest

from plumeline.science.pipe import (
    friction_factor_churchill_1977,
    friction_factor_colebrook_1939,
    friction_factor_poiseuille_1840,
)

SMOOTH_FRACTION = 1.5e-6 / 0.02093
REYNOLDS = [1.0, 99.0, 101.0, 1000.0, 2000.0, 2300.0, 3000.0, 4740.0, 1e4, 1e5, 1e6, 1e8]
ROUGHNESS = [0.0, SMOOTH_FRACTION, 1e-3, 0.05]


@pytest.mark.parametrize(
    ("reynolds_number", "colebrook", "churchill"),
    [
        (1000.0, 0.06263, 0.06400), (2000.0, 0.04951, 0.03204), (2300.0, 0.04734, 0.03084),
        (3000.0, 0.04358, 0.04303), (4740.0, 0.03805, 0.03860), (10000.0, 0.03099, 0.03113),
    ],
)  # fmt: skip
def test_both_laws_at_the_flows_of_this_trade(reynolds_number, colebrook, churchill):
    """Values computed with fluids 1.3.1, roughness 1.5 µm in 20.93 mm, to the last figure written down."""
    found = friction_factor_colebrook_1939(reynolds_number, SMOOTH_FRACTION)
    assert found == pytest.approx(colebrook, abs=6e-6)
    found = friction_factor_churchill_1977(reynolds_number, SMOOTH_FRACTION)
    assert found == pytest.approx(churchill, abs=6e-6)


@pytest.mark.parametrize("roughness", ROUGHNESS)
@pytest.mark.parametrize("reynolds_number", REYNOLDS)
def test_churchill_is_that_of_fluids(reynolds_number, roughness):
    """`fluids.friction.Churchill_1977`, laminar to rough, to 1e-12."""
    found = friction_factor_churchill_1977(reynolds_number, roughness)
    assert found == pytest.approx(fluids.friction.Churchill_1977(Re=reynolds_number, eD=roughness), rel=1e-12)


@pytest.mark.parametrize("roughness", ROUGHNESS)
@pytest.mark.parametrize("reynolds_number", [x for x in REYNOLDS if x >= 1000.0])
def test_colebrook_is_that_of_fluids(reynolds_number, roughness):
    """`fluids.friction.Colebrook` (solved by the Lambert function or by iteration), to 1e-9."""
    found = friction_factor_colebrook_1939(reynolds_number, roughness)
    assert found == pytest.approx(fluids.friction.Colebrook(Re=reynolds_number, eD=roughness), rel=1e-9)


def test_churchill_is_laminar_at_low_flow_and_colebrook_at_high():
    """Poiseuille's 64/Re below Re 1,000 within 0.1 %, Colebrook above Re 20,000 within 2 %."""
    for reynolds_number in (0.5, 10.0, 500.0, 1000.0):
        laminar = friction_factor_poiseuille_1840(reynolds_number)
        assert friction_factor_churchill_1977(reynolds_number, SMOOTH_FRACTION) == pytest.approx(
            laminar, rel=1e-3
        )
    for reynolds_number in (2e4, 1e6, 1e8):
        turbulent = friction_factor_colebrook_1939(reynolds_number, 1e-3)
        assert friction_factor_churchill_1977(reynolds_number, 1e-3) == pytest.approx(turbulent, rel=0.02)


def test_laminar_is_hagen_and_poiseuille():
    """Δp = 128 μ L Q/(π D⁴) is f L/D ρ v²/2 with f = 64/Re: the two forms give one pressure."""
    viscosity, length, bore, speed, density = 1.8e-5, 3.0, 0.01, 1.2, 1.2
    exact = 128.0 * viscosity * length * speed * math.pi * bore**2 / 4.0 / (math.pi * bore**4)
    friction = friction_factor_poiseuille_1840(density * speed * bore / viscosity)
    assert friction * length / bore * density * speed**2 / 2.0 == pytest.approx(exact, rel=1e-12)


@pytest.mark.parametrize("reynolds_number", [4e3, 1e4, 1e5])
def test_smooth_pipe_is_near_blasius(reynolds_number):
    """Blasius 1913, f = 0.3164/Re^0.25, within 4 % between Re 4,000 and 1e5."""
    blasius = 0.3164 / reynolds_number**0.25
    assert friction_factor_colebrook_1939(reynolds_number, 0.0) == pytest.approx(blasius, rel=0.04)
