"""The start of a bubble plume against the reference solves of Wüest, Brooks & Imboden 1992's equations."""

import math

import pytest

from plumeline.science.plume import (
    bubble_rate_wuest_1992,
    initial_velocity_wuest_1992,
    mass_transfer_wuest_1992,
)

SCFM_MOL_S = 1.17717 / 60.0
"""1 scfm at 68 °F and 1 atm."""


def gas_flow_m3_s(scfm, depth_m, temperature_degc, water_kg_m3):
    """Return the gas flow at the diffuser by the ideal gas law."""
    pressure = 101325.0 + water_kg_m3 * 9.80665 * depth_m
    return scfm * SCFM_MOL_S * 8.314462618 * (temperature_degc + 273.15) / pressure


@pytest.mark.parametrize(
    ("scfm", "depth_m", "temperature_degc", "water_kg_m3", "expected_m_s", "expected_per_s"),
    [
        (1.3, 12 * 0.3048, 28.0, 996.2324, 0.34032, 1.11238e5),
        (0.5, 7 * 0.3048, 30.0, 995.6473, 0.24469, 4.8321e4),
    ],
)
def test_start_of_the_reference_cases(
    scfm, depth_m, temperature_degc, water_kg_m3, expected_m_s, expected_per_s
):
    """Independent solves with the implicit start: Fr 1.6, disc 0.115 m, bubbles of 1 mm: 0.02 %."""
    flow = gas_flow_m3_s(scfm, depth_m, temperature_degc, water_kg_m3)
    assert bubble_rate_wuest_1992(flow, 1e-3) == pytest.approx(expected_per_s, rel=2e-4)
    assert initial_velocity_wuest_1992(1.6, 0.115, flow, 0.23) == pytest.approx(expected_m_s, rel=2e-4)


@pytest.mark.parametrize("froude", [1.0, 1.6, 2.0])
@pytest.mark.parametrize("radius_m", [0.05, 0.115, 0.3])
@pytest.mark.parametrize("flow_m3_s", [1e-5, 5e-4, 5e-3])
def test_the_start_has_its_froude_number(froude, radius_m, flow_m3_s):
    """Fr = w₀/√(2λb₀ g (ρ_a − ρ_p)/ρ_p) put together anew from void and slip (the paper's definition)."""
    w = initial_velocity_wuest_1992(froude, radius_m, flow_m3_s, 0.23)
    void = flow_m3_s / (math.pi * radius_m**2 * (w + 0.23))
    assert w / math.sqrt(2.0 * radius_m * 9.80665 * void / (1.0 - void)) == pytest.approx(froude, rel=1e-9)


def test_no_gas_no_plume():
    """Nothing flows, nothing rises."""
    assert initial_velocity_wuest_1992(1.6, 0.115, 0.0, 0.23) == 0.0


@pytest.mark.parametrize(
    ("radius_m", "expected_m_s"), [(2e-4, 1.2e-4), (6.6e-4, 3.96e-4), (7e-4, 4e-4), (2e-3, 4e-4)]
)
def test_transfer_coefficient_is_capped_from_two_thirds_of_a_millimetre(radius_m, expected_m_s):
    """0.6 r below 0.667 mm, 4e-4 m/s above (Wüest et al. 1992, as research codes hold it)."""
    assert mass_transfer_wuest_1992(radius_m) == pytest.approx(expected_m_s)
