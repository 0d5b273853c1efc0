"""Total gas of the water under deep bubbles: bounds by hydrostatics, a balance that closes, shallow ponds."""

import re

import pytest

from plumeline.science.gases import (
    STANDARD_PRESSURE_PA,
    k600_cole_caraco_1998,
    nitrogen_saturation_hamme_emerson_2004,
)
from plumeline.stages.plume.draws import Source
from plumeline.stages.plume.gas import LIGHT_WIND_M_S, _uptake_mol_s, gas_notices, gas_pressure
from plumeline.stages.plume.water import water_of_rows
from plumeline.workings.plumes import gas_values
from plumeline.workings.value import Kind

AIR_M3_S = 6.1e-4  # 1.3 scfm
ACRE_M2 = 4046.86


def pond(depth_m, count=4, surface_m2=ACRE_M2):
    """Return a pond of one temperature under so many diffusers."""
    water = water_of_rows([0.0, depth_m + 0.5], [15.0, 15.0], 5.0)
    ends = [(depth_m, AIR_M3_S)] * count
    return water, gas_pressure(
        water, ends, Source(0.115), STANDARD_PRESSURE_PA, surface_m2, 0.5 * depth_m * ACRE_M2
    )


@pytest.mark.parametrize("depth_m", [3.0, 8.0, 18.0])
def test_without_a_surface_the_water_ends_between_half_and_all_of_the_depth(depth_m):
    """Hydrostatics: bubbles give until the water holds what they hold, at a pressure between surface and membrane."""
    _, gas = pond(depth_m, surface_m2=1e-6)
    at_bottom = 999.1 * 9.80665 * depth_m / STANDARD_PRESSURE_PA
    assert 0.5 * at_bottom < gas.excess_fraction < at_bottom
    assert gas.excess_fraction == pytest.approx(gas.no_uptake_fraction, rel=1e-3)


@pytest.mark.parametrize("depth_m", [3.0, 8.0, 18.0])
def test_what_the_bubbles_give_in_the_end_leaves_the_surface(depth_m):
    """The plumes solved anew in the water of the end, against k A C x by hand: 1 %."""
    water, gas = pond(depth_m)
    given = 4 * _uptake_mol_s(
        water, depth_m, AIR_M3_S, Source(0.115), STANDARD_PRESSURE_PA, gas.excess_fraction
    )
    full_mol_m3 = nitrogen_saturation_hamme_emerson_2004(15.0, 0.0, STANDARD_PRESSURE_PA) / 28.0134
    full_mol_m3 *= (1.0 - 0.20946) / 0.78084  # argon is counted with nitrogen
    leaves = k600_cole_caraco_1998(LIGHT_WIND_M_S) * ACRE_M2 * full_mol_m3 * gas.excess_fraction
    assert given == pytest.approx(leaves, rel=0.01)


def test_a_usual_pond_is_not_warned_of_and_a_deep_one_is():
    """Colt & Westers 1982 (Trans. Am. Fish. Soc. 111: 342): gas grows with depth and air; 110 % is the EPA's limit."""
    totals = [pond(z)[1].total_fraction for z in (2.0, 3.7, 8.0, 18.0)]
    assert totals == sorted(totals)
    assert gas_notices(pond(3.7)[1]) == ()
    (told,) = gas_notices(pond(18.0)[1])
    assert told.code == "gas-pressure"
    assert f"{pond(18.0)[1].total_fraction:.0%}" in told.text
    assert pond(3.7, 8)[1].total_fraction > pond(3.7, 1)[1].total_fraction


def test_the_depth_that_spares_fish_is_hydrostatic():
    """A metre of water is 9.7 % of an atmosphere."""
    gas = pond(12.0)[1]
    assert 0.0967 * gas.made_up_depth_m == pytest.approx(gas.total_fraction - 1.0, rel=5e-3)


def test_every_number_of_the_caution_opens():
    """Per cent, days, criterion and depth are each a value with its own account, none a mere term of another."""
    gas = pond(18.0)[1]
    (told,) = gas_notices(gas)
    values = gas_values(gas)
    assert all(value.kind is not Kind.SUMMED for value in values)
    shown = {f"{100.0 * gas.total_fraction:.0f}", "110", f"{gas.days_number:.0f}"}
    assert shown <= set(re.findall(r"\d+", told.text))
    assert [round(value.number, 3) for value in values] == [
        round(number, 3) for number in (gas.total_fraction, 1.10, gas.days_number, gas.made_up_depth_m)
    ]
