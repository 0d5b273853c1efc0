"""The ends of an air line: barbs, tubing on the bottom, water that runs back, air that stays, a crank at rest."""

import math

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from fluids.fittings import contraction_sharp, diffuser_sharp
from fluids.friction import friction_factor
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from plumeline.science.shore import (
    contraction_loss_number_crane_2009,
    expansion_loss_number_borda_1766,
    submerged_mass_archimedes,
    water_viscosity_vogel_1921,
)
from plumeline.stages.air.barbs import barb_loss_number
from plumeline.stages.air.restart import crank_torque_pa, decay_s, starting_torque_fraction, surely_starts_pa

PSI_PA, INCH_M, FOOT_M, POUND_KG = 6894.757293168, 0.0254, 0.3048, 0.45359237


@pytest.mark.parametrize("share", [0.2, 0.4, 0.6, 0.76, 0.9])
def test_sudden_changes_of_bore(share):
    """`fluids` 1.3.1: contraction_sharp by Crane TP-410, diffuser_sharp by Borda: to the last digit."""
    ratio = share**2
    assert contraction_loss_number_crane_2009(ratio) == pytest.approx(
        contraction_sharp(1.0, share, method="Crane"), rel=1e-12
    )
    assert expansion_loss_number_borda_1766(ratio) == pytest.approx(diffuser_sharp(share, 1.0), rel=1e-12)


def test_the_sharp_entrance_and_the_open_end_of_handbooks():
    """From a reservoir K 0.5, into one K 1.0 (any handbook on hydraulics): the limits of both."""
    assert contraction_loss_number_crane_2009(0.0) == pytest.approx(0.5)
    assert expansion_loss_number_borda_1766(0.0) == pytest.approx(1.0)


@pytest.mark.parametrize("temperature_degc", [2.0, 5.0, 10.0, 20.0, 30.0, 40.0, 60.0])
def test_the_viscosity_of_water(temperature_degc):
    """CoolProp (IAPWS 2008): 2.5 %, as the formula is said to be good for; 20 °C is 1.0016 mPa s."""
    expected = PropsSI("V", "T", temperature_degc + 273.15, "P", 101325.0, "Water")
    assert water_viscosity_vogel_1921(temperature_degc) == pytest.approx(expected, rel=0.025)
    assert water_viscosity_vogel_1921(20.0) == pytest.approx(1.0016e-3, rel=2e-3)


def test_a_cubic_foot_of_tube_pushes_aside_its_weight_of_water():
    """Archimedes: a massless tube of 1 ft² and 1 ft long lifts 62.4 lb, the weight of a cubic foot of water."""
    outside_m = math.sqrt(4.0 / math.pi) * FOOT_M
    lift_kg_m = -submerged_mass_archimedes(0.0, outside_m, 999.5)
    assert lift_kg_m * FOOT_M / POUND_KG == pytest.approx(62.4, abs=0.03)
    assert submerged_mass_archimedes(2.0 * lift_kg_m, outside_m, 999.5) == pytest.approx(lift_kg_m)


def test_a_brick_every_five_feet_holds_an_inch_of_polyethylene_down():
    """Nebraska Game and Parks, Nebraska Pond Management, p. 87: 1 in polyethylene, a brick every 5 ft.

    1 in SIDR 15 of 30.2 over 26.6 mm and 0.945 g/cm³; a brick weighs 4.5 lb and has a density of 2 (from memory): it
    holds the pipe with something to spare, and one brick every 10 ft would not.
    """
    wall_kg_m = 945.0 * 0.25 * math.pi * (0.030201**2 - 0.026645**2)
    lift_kg_m = -submerged_mass_archimedes(wall_kg_m, 0.030201, 1000.0)
    brick_kg = 4.5 * POUND_KG * (1.0 - 1.0 / 2.0)
    assert brick_kg > 5.0 * FOOT_M * lift_kg_m
    assert brick_kg < 10.0 * FOOT_M * lift_kg_m


def test_a_barb_by_hand():
    """1/2 in tubing, barb of 9.7 mm: σ = 0.5834, K = (0.2083 + 0.1736 + 0.0768)/σ² = 1.35, worked by hand.

    f of the barb's bore at Re 13,093: 0.0298 by Colebrook with a wall of 1.5 μm; over 25 mm that is 0.0768.
    """
    ratio = (9.7 / 12.7) ** 2
    f = friction_factor(Re=1e4 * 12.7 / 9.7, eD=1.5e-6 / 0.0097)
    by_hand = (0.5 * (1.0 - ratio) + (1.0 - ratio) ** 2 + f * 25.0 / 9.7) / ratio**2
    assert by_hand == pytest.approx(1.35, abs=0.01)
    assert barb_loss_number(0.0127, 0.0097, 0.025, 1e4) == pytest.approx(by_hand, rel=0.02)
    assert barb_loss_number(0.0127, 0.0127, 0.025, 1e4) == 0.0


@pytest.mark.parametrize("gauge_psi", [2.0, 6.0, 15.0, 25.0])
def test_the_torque_of_a_turn_is_the_work_of_compression(gauge_psi):
    """Energy: torque over the angle of the stroke is k/(k−1) p V [r^((k−1)/k) − 1], k 1.4, less nothing (by hand).

    The suction stroke does no work, for the air stands on both sides of the piston.
    """
    angle, torque_pa = crank_torque_pa(gauge_psi * PSI_PA, 101325.0, 20001)
    ratio = 1.0 + gauge_psi * PSI_PA / 101325.0
    work = 1.4 / 0.4 * 101325.0 * (ratio ** (0.4 / 1.4) - 1.0)
    assert float(np.trapezoid(torque_pa, angle)) == pytest.approx(work, rel=2e-4)


def test_a_piston_at_its_worst_place():
    """A long rod, valve open before half stroke: torque is p_g V/2 at mid-stroke (by hand), and 4 % more with the rod.

    At 5 psig the valve opens at 19 % of the stroke, so the worst place pushes against the full 5 psi.
    """
    gauge_pa = 5.0 * PSI_PA
    worst_pa = float(np.max(crank_torque_pa(gauge_pa, 101325.0, 20001)[1]))
    assert worst_pa == pytest.approx(0.5 * gauge_pa, rel=0.06)
    assert worst_pa > 0.5 * gauge_pa


def test_the_torque_to_start_over_the_full_load():
    """By hand at 14.696 psia, full load 25 psig: 5 psi needs 0.515·5 psi of piston over (W/2π)/0.8, plus friction.

    W = 3.5·14.696·(2.7011^0.2857 − 1) = 16.88 psi, full-load torque 3.358 psi, friction 0.672 psi.
    """
    work_psi = 3.5 * 14.696 * ((1.0 + 25.0 / 14.696) ** (2.0 / 7.0) - 1.0)
    full_psi = work_psi / (2.0 * math.pi) / 0.8
    piston_psi = float(np.max(crank_torque_pa(5.0 * PSI_PA, 14.696 * PSI_PA)[1])) / PSI_PA
    assert starting_torque_fraction("piston", 5.0 * PSI_PA, 25.0 * PSI_PA, 14.696 * PSI_PA) == pytest.approx(
        (piston_psi + 0.2 * full_psi) / full_psi, rel=2e-3
    )
    vane = starting_torque_fraction("vane", 5.0 * PSI_PA, 25.0 * PSI_PA, 14.696 * PSI_PA)
    assert vane == pytest.approx((5.0 / (2.0 * math.pi) + 0.2 * full_psi) / full_psi, rel=2e-3)


@pytest.mark.parametrize("fraction", [0.4, 1.0, 2.0])
def test_what_it_surely_starts_against_asks_for_that_torque(fraction):
    """The inverse of the torque: put in again it asks for the same share."""
    gauge_pa = surely_starts_pa("piston", fraction, 25.0 * PSI_PA, 101325.0)
    assert starting_torque_fraction("piston", gauge_pa, 25.0 * PSI_PA, 101325.0) == pytest.approx(
        fraction, abs=1e-3
    )


def test_no_motor_starts_with_less_torque_than_its_bearings_ask_for():
    """A tenth of the full-load torque is under the friction taken (a fifth): it starts against nothing."""
    assert surely_starts_pa("piston", 0.1, 25.0 * PSI_PA, 101325.0) == 0.0


def test_a_vessel_that_empties_through_an_orifice_of_squares():
    """q = c √(p − p0): t = 2 V/(RT) (√Δ1 − √Δ2)/c, by hand, as of a tank of water through a hole."""
    held, c, stays = 7e-7, 1.2e-5, 20000.0
    flows = c * np.sqrt(np.geomspace(1.0, 40000.0, 200))
    pressures = stays + (flows / c) ** 2
    found = decay_s(pressures, flows, held, stays + 20000.0, stays + 345.0)
    assert found == pytest.approx(2.0 * held * (math.sqrt(20000.0) - math.sqrt(345.0)) / c, rel=2e-4)


def test_a_vessel_that_empties_through_a_leak_in_proportion():
    """q = c (p − p0): t = V/(RT c) ln(Δ1/Δ2), by hand; the hold test's own law (reference 36.9 min from 10 to 8.5)."""
    held = 7e-7
    c = held / (36.9 * 60.0)
    pressures = np.geomspace(100.0, 80000.0, 400)
    found = decay_s(pressures, c * pressures, held, 10.0 * PSI_PA, 8.5 * PSI_PA)
    assert found == pytest.approx(360.0, rel=1e-3)


def test_a_real_line_blown_down_by_another_integrator():
    """30 L behind 100 ft of 1/2 in to 9 ft of water: `fluids` friction and `solve_ivp` against the sum here, 1 %."""
    bore_m, length_m, outside_pa = 0.5 * INCH_M, 100.0 * FOOT_M, 101325.0 + 26900.0
    gas, kelvin, viscosity = 287.055, 298.15, 1.837e-5
    area_m2, volume_m3 = 0.25 * math.pi * bore_m**2, 0.030

    def flow_kg_s(absolute_pa):
        def over(flow):
            f = friction_factor(Re=flow * bore_m / (area_m2 * viscosity), eD=1.5e-6 / bore_m)
            return (flow / area_m2) ** 2 * gas * kelvin * f * length_m / bore_m - (
                absolute_pa**2 - outside_pa**2
            )

        return brentq(over, 1e-9, 0.05)

    start_pa, end_pa = outside_pa + 15000.0, outside_pa + 1000.0

    def falls(_, y):
        return [-flow_kg_s(y[0]) * gas * kelvin / volume_m3]

    def done(_, y):
        return y[0] - end_pa

    done.terminal = True
    expected_s = solve_ivp(falls, (0.0, 1e3), [start_pa], events=done, rtol=1e-8, max_step=0.5).t[-1]
    levels = outside_pa + np.geomspace(10.0, 20000.0, 160)
    found = decay_s(
        levels, np.array([flow_kg_s(p) for p in levels]), volume_m3 / (gas * kelvin), start_pa, end_pa
    )
    assert found == pytest.approx(expected_s, rel=0.01)
