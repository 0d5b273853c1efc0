"""Whole air networks against solutions made apart: scipy's nested brentq and a Fischer–Burmeister system.

Numbers were computed with scipy 1.16.3 and fluids 1.3.1, which do not know this program. The rows marked
Churchill use the law, viscosity and gas constant of the program; the others Colebrook at every Reynolds
number and the constants of a pipe-network library (dry air 1.29205 kg/m³ at 0 °C and 1 atm, 1.8967e-5 Pa s).
`solved_apart` below is such a solver again, so that the numbers can be made anew.
"""

import math

import fluids
import numpy as np
import pytest
from scipy.optimize import brentq
from tests.air_trees import manifold
from tests.air_trees import solved as solved_arrays

from plumeline.kernels.network import CHURCHILL, COLEBROOK, piece_inlet_pressure
from plumeline.kernels.network_balance import solve_balanced
from plumeline.kernels.network_newton import ALL_DEAD, SOLVED
from plumeline.science.air import GAS_CONSTANT_J_KG_K, viscosity_sutherland_1893

PSI_PA = 6894.757293168
FOOT_M = 0.3048
INCH_M = 0.0254
SCFM_KG_S = 5.6827e-4
SEA_LEVEL_PA = 14.696 * PSI_PA
ROUGHNESS_M = 1.5e-6
LIBRARY_J_KG_K = 101325.0 / (1.29205 * 273.15)
LIBRARY_PA_S = 1.8967e-5

MAIN = (430.0, 0.824)
TUBING = [(100.0, 0.375), (150.0, 0.375), (220.0, 0.375)]
CURVE = [(0.0, 5.2), (5.0, 4.7), (10.0, 4.1), (15.0, 3.4), (20.0, 2.5)]


def network(trunk, branches, outlets_psi, curve, kelvin, *, loss=(), library=False):
    """Return a network from feet, inches, psig and scfm."""
    parts = [trunk, *branches]
    around_pa = 101325.0 if library else SEA_LEVEL_PA
    return manifold(
        np.array(outlets_psi) * PSI_PA + around_pa,
        length_m=np.array([part[0] * FOOT_M for part in parts]),
        bore_m=np.array([part[1] * INCH_M for part in parts]),
        roughness_m=ROUGHNESS_M,
        loss_number=np.array([0.0, *(loss or [0.0] * len(branches))]),
        temperature_k=kelvin,
        viscosity_pa_s=LIBRARY_PA_S if library else viscosity_sutherland_1893(kelvin),
        curve_pressure_pa=np.array([point[0] for point in curve]) * PSI_PA,
        curve_mass_flow_kg_s=np.array([point[1] for point in curve]) * SCFM_KG_S,
        ambient_pressure_pa=around_pa,
        gas_constant_j_kg_k=LIBRARY_J_KG_K if library else GAS_CONSTANT_J_KG_K,
        friction_law=COLEBROOK if library else CHURCHILL,
    )


def solved(net):
    """Return gauge pressures at compressor and manifold [psi] and the flows [scfm]."""
    state, outlet_kg_s, pressure_pa, _flow_kg_s = solved_arrays(net)
    assert state == SOLVED
    return (pressure_pa[:2] - net.ambient_pressure_pa) / PSI_PA, outlet_kg_s / SCFM_KG_S


def heads(*feet, membrane_psi):
    """Return what outlets under water need [psig], as the reference counts it."""
    return [0.4331 * depth + membrane_psi for depth in feet]


DEPTHS = {
    "A": (heads(8, 9, 10, membrane_psi=0.5), (), 2.6),
    "B": (heads(8, 9, 10, membrane_psi=0.5), (532.498, 281.729, 0.0), 2.6),
    "C": (heads(8, 8.25, 8.5, membrane_psi=0.5), (), 2.6),
    "D": (heads(6, 9, 12, membrane_psi=0.5), (), 2.6),
    "E": (heads(8, 9, 10, membrane_psi=0.5), (), 6.0),
}
ROWS = [
    ("A", False, 5.0816, 4.8711, (1.6097, 0.8716, 0.1187)),
    ("B", False, 5.7019, 5.4979, (0.8677, 0.8672, 0.8651)),
    ("C", False, 4.7072, 4.4926, (1.1656, 0.8058, 0.6286)),
    ("D", False, 4.7426, 4.5284, (2.0594, 0.5406, 0.0)),
    ("E", False, 6.9905, 6.1745, (2.7500, 1.9304, 1.3196)),
    ("A", True, 5.0672, 4.8592, (1.6052, 0.8666, 0.1282)),
    ("B", True, 5.6911, 5.4895, (0.8667, 0.8667, 0.8667)),
    ("C", True, 4.7250, 4.5133, (1.2016, 0.8344, 0.5640)),
    ("D", True, 4.7874, 4.5763, (2.1082, 0.4918, 0.0)),
    ("E", True, 6.9779, 6.1630, (2.7482, 1.9303, 1.3214)),
]


@pytest.mark.parametrize(("case", "library", "compressor_psi", "manifold_psi", "scfm"), ROWS)
def test_three_branches_on_a_constant_flow(case, library, compressor_psi, manifold_psi, scfm):
    """430 ft main, three tubing runs, 35 °C: pressures to 0.1 %, flows to 0.5 %, a dead branch exactly 0."""
    outlets, loss, source = DEPTHS[case]
    net = network(MAIN, TUBING, outlets, [(0.0, source)], 308.15, loss=loss, library=library)
    gauges, flows = solved(net)
    assert gauges == pytest.approx([compressor_psi, manifold_psi], rel=1e-3)
    assert flows == pytest.approx(scfm, rel=5e-3)
    assert [flow == 0.0 for flow in flows] == [expected == 0.0 for expected in scfm]


def coupled():
    """Return the compressor, 300 ft trunk and three branches at 7, 9 and 10 ft, 25 °C."""
    branches = [(90.0, 0.5), (140.0, 0.5), (200.0, 0.5)]
    return network((300.0, 0.824), branches, heads(7, 9, 10, membrane_psi=0.4), CURVE, 298.15)


def test_coupled_network_with_open_valves():
    """Compressor curve and all valves open: the deepest branch is dead by 0.352 psi."""
    gauges, flows = solved(coupled())
    assert gauges == pytest.approx([4.7785, 4.3792], abs=1e-4)
    assert flows == pytest.approx([3.8923, 0.8298, 0.0], abs=2e-4)
    assert flows[2] == 0.0
    assert 4.7310 - gauges[1] == pytest.approx(0.352, abs=1e-3)


@pytest.mark.parametrize(
    ("weights", "compressor_psi", "manifold_psi", "scfm"),
    [
        ((1, 1, 1), 5.5118, 5.1390, 1.5462), ((1, 0, 0), 5.1164, 4.7293, 4.6860),
        ((0, 1, 0), 6.4335, 6.0919, 4.5280), ((0, 0, 1), 7.4060, 7.0941, 4.4113),
    ],
)  # fmt: skip
def test_coupled_network_with_valves_set(weights, compressor_psi, manifold_psi, scfm):
    """Equal flows by valves, and each branch alone."""
    net = coupled()
    flow_kg_s, needed_pa = np.zeros(5), np.zeros(5)
    state, unit = solve_balanced(net, np.array(weights, float), flow_kg_s, needed_pa)
    compressor_pa, manifold_pa = needed_pa[:2]
    assert state == SOLVED
    assert unit / SCFM_KG_S == pytest.approx(scfm, abs=2e-4)
    assert (compressor_pa - SEA_LEVEL_PA) / PSI_PA == pytest.approx(compressor_psi, abs=1e-4)
    assert (manifold_pa - SEA_LEVEL_PA) / PSI_PA == pytest.approx(manifold_psi, abs=1e-4)
    if sum(weights) == 3:
        port_pa = [piece_inlet_pressure(net, node, float(unit), float(needed_pa[node])) for node in (2, 3, 4)]
        burned = (manifold_pa - np.array(port_pa)) / PSI_PA
        assert burned == pytest.approx([1.5096, 0.5482, 0.0], abs=2e-4)


def test_coupled_network_with_colebrook():
    """The same with Colebrook's friction: open 4.7879 and 4.3912 psi, 3.9278, 0.7934 and 0 scfm."""
    gauges, flows = solved(coupled()._replace(friction_law=COLEBROOK))
    assert gauges == pytest.approx([4.7879, 4.3912], abs=1e-4)
    assert flows == pytest.approx([3.9278, 0.7934, 0.0], abs=2e-4)


def solved_apart(net):
    """Solve a network of one pipe a chain by scipy's brentq and fluids' friction: manifold [Pa] and flows."""

    def squares(pipe, flow):
        bore, mu = net.bore_m[pipe], net.viscosity_pa_s[pipe]
        factor = fluids.friction.Churchill_1977(
            Re=4.0 * flow / (math.pi * bore * mu), eD=net.roughness_m[pipe] / bore
        )
        flux = flow / (math.pi / 4.0 * bore**2)
        return flux**2 * net.gas_constant_j_kg_k * net.temperature_k[pipe], (
            factor * net.length_m[pipe] / bore + net.loss_number[pipe]
        )

    def inlet(pipe, flow, outlet):
        if flow == 0.0:
            return outlet
        head, resistance = squares(pipe, flow)

        def left_over(p):
            return p**2 - outlet**2 - head * (resistance + 2.0 * math.log(p / outlet))

        return brentq(left_over, outlet, 50.0 * outlet, xtol=1e-9)

    def branch(pipe, manifold):
        outlet = net.outlet_pressure_pa[pipe - 2]
        if manifold <= outlet:
            return 0.0
        return brentq(lambda flow: inlet(pipe, flow, outlet) - manifold, 1e-12, 0.02, xtol=1e-16)

    def excess(manifold):
        flow = sum(branch(pipe, manifold) for pipe in range(2, len(net.bore_m)))
        gauge = inlet(1, flow, manifold) - net.ambient_pressure_pa
        return flow - np.interp(gauge, net.curve_pressure_pa, net.curve_mass_flow_kg_s)

    low = net.outlet_pressure_pa.min()
    manifold = brentq(excess, low, low + 6.0 * PSI_PA, xtol=1e-9)
    return manifold, np.array([branch(pipe, manifold) for pipe in range(2, len(net.bore_m))])


def test_a_solver_made_apart_gives_the_same():
    """scipy and fluids on the same equations: manifold to 1e-9 of itself, flows to 1e-7."""
    net = coupled()
    manifold_pa, flow_kg_s = solved_apart(net)
    _state, found_kg_s, pressure_pa, _flow_kg_s = solved_arrays(net)
    assert pressure_pa[1] == pytest.approx(manifold_pa, rel=1e-9)
    assert found_kg_s == pytest.approx(flow_kg_s, rel=1e-7, abs=1e-15)


def test_a_compressor_that_cannot_reach_says_so():
    """Outlets over the pressure at which the curve ends in nothing: no branch lives."""
    net = coupled()._replace(outlet_pressure_pa=np.full(3, SEA_LEVEL_PA + 40.0 * PSI_PA))
    assert solved_arrays(net)[0] == ALL_DEAD


def test_the_trunk_is_solved_by_the_same_law_as_the_branches():
    """fluids.isothermal_gas returns the trunk's flow from its two pressures, to 1e-6."""
    net = coupled()
    _state, _outlet_kg_s, pressure_pa, flow_kg_s = solved_arrays(net)
    compressor_pa, manifold_pa = (float(value) for value in pressure_pa[:2])
    total = float(flow_kg_s[0])
    bore = float(net.bore_m[1])
    factor = fluids.friction.Churchill_1977(
        Re=4.0 * total / (math.pi * bore * float(net.viscosity_pa_s[1])), eD=ROUGHNESS_M / bore
    )
    density = compressor_pa / (GAS_CONSTANT_J_KG_K * 298.15)
    carried = fluids.isothermal_gas(
        rho=density, fd=factor, P1=compressor_pa, P2=manifold_pa, L=float(net.length_m[1]), D=bore
    )
    assert carried == pytest.approx(total, rel=1e-6)
    assert piece_inlet_pressure(net, 1, total, manifold_pa) == pytest.approx(compressor_pa, rel=1e-12)
