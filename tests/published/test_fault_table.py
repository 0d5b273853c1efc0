"""What gauges show of each fault, against a table made apart with scipy (nested brentq, Colebrook, no back-flow).

430 ft main of 0.824 in, tubing of 0.375 in to 8, 9 and 10 ft, a constant 2.6 scfm at 35 °C, valves set for equal
air; dry air 1.29205 kg/m³ at 0 °C and 1 atm, 1.8967e-5 Pa s, given as arguments. Depths there are 0.4331 psi a foot,
with 0.5 psi a membrane.
"""

from dataclasses import replace

import pytest

from plumeline.kernels.network import COLEBROOK
from plumeline.stages.air import tree
from plumeline.stages.air.fault_cases import ALL, fouled_by, with_branch
from plumeline.stages.air.network import (
    AirNetwork,
    Branch,
    Diffuser,
    Laws,
    LossPoint,
    OpenEnd,
    Pipe,
    SiteCurve,
    Valve,
)

PSI_PA, FOOT_M, INCH_M, SCFM_KG_S = 6894.757293168, 0.3048, 0.0254, 5.6827e-4
SCFM_M3_S = 4.719474432e-4
# a foot of water is 0.4331 psi in the table: that makes this density
DENSITY_KG_M3 = 0.4331 * PSI_PA / (9.80665 * FOOT_M)
BORE_M = 0.375 * INCH_M
VALVES = {"B1": 532.498, "B2": 281.729, "B3": 0.0}
FEET = {"B1": (100.0, 8.0), "B2": (150.0, 9.0), "B3": (220.0, 10.0)}


def line(*, scfm=2.6, main_loss=0.0, valves=None, depths=None):
    """Return the table's network."""
    losses, at = VALVES | (valves or {}), depths or {}
    branches = [
        Branch("manifold", parts=(Pipe(430.0 * FOOT_M, 0.824 * INCH_M, 1.5e-6, 35.0, loss_number=main_loss),))
    ]
    for name, (feet, depth) in FEET.items():
        parts = (
            Valve(BORE_M, loss_number=losses[name], temperature_degc=35.0),
            Pipe(feet * FOOT_M, BORE_M, 1.5e-6, 35.0),
        )
        outlet = Diffuser(at.get(name, depth) * FOOT_M, (LossPoint(0.0, 0.5 * PSI_PA),))
        branches.append(Branch(name, "manifold", parts, outlet))
    return AirNetwork(
        SiteCurve((0.0,), (scfm * SCFM_KG_S,)), tuple(branches), 101325.0, DENSITY_KG_M3,
        laws=Laws(COLEBROOK, 101325.0 / (1.29205 * 273.15), 1.8967e-5),
    )  # fmt: skip


def cut_on_shore(network):
    """Return the network with its deepest tubing open at 20 ft, in air."""

    def cut(branch):
        return replace(
            branch, parts=(branch.parts[0], Pipe(20.0 * FOOT_M, BORE_M, 1.5e-6, 35.0)), outlet=OpenEnd(0.0)
        )

    return with_branch("B3", cut)(network)


def shut(branch):
    return replace(branch, parts=(replace(branch.parts[0], opening_fraction=0.0), branch.parts[1]))


ROWS = {
    "baseline": (line(), 5.691, 5.490, (0.867, 0.867, 0.867)),
    "all fouled": (with_branch(ALL, fouled_by(PSI_PA))(line()), 6.637, 6.444, (0.875, 0.870, 0.855)),
    "deep one fouled": (with_branch("B3", fouled_by(PSI_PA))(line()), 6.259, 6.063, (1.029, 1.093, 0.478)),
    "deep one shut": (with_branch("B3", shut)(line()), 7.074, 6.886, (1.233, 1.367, 0.0)),
    "shallow valve open": (line(valves={"B1": 0.0}), 5.155, 4.948, (1.698, 0.596, 0.307)),
    "deep tubing cut": (cut_on_shore(line()), 0.794, 0.527, (0.0, 0.0, 2.600)),
    "deep head missing": (with_branch("B3", fouled_by(-0.5 * PSI_PA))(line()), 5.461, 5.257, (0.793, 0.760, 1.047)),
    "worn to 1.8 scfm": (line(scfm=1.8), 5.149, 5.038, (0.719, 0.648, 0.434)),
    "pond 2 ft low": (
        line(depths={"B1": 6.0, "B2": 7.0, "B3": 8.0}), 4.876, 4.666, (0.859, 0.864, 0.877)),
    "main half blocked": (line(main_loss=500.0), 6.108, 5.490, (0.867, 0.867, 0.867)),
    "deep point at 12 ft": (line(depths={"B3": 12.0}), 6.173, 5.977, (1.006, 1.062, 0.532)),
}  # fmt: skip


@pytest.mark.parametrize("fault", ROWS)
def test_gauges_and_flows_of_a_fault(fault):
    """Every gauge and flow within 1 %, a dead branch exactly 0."""
    network, compressor_psi, manifold_psi, scfm = ROWS[fault]
    found = tree.solve(network)
    assert found.compressor_pressure_pa / PSI_PA == pytest.approx(compressor_psi, rel=0.01)
    assert found.gauge_pa["manifold"] / PSI_PA == pytest.approx(manifold_psi, rel=0.01)
    flows = [found.branch(name).flow_standard_m3_s / SCFM_M3_S for name in FEET]
    assert flows == pytest.approx(scfm, rel=0.01, abs=1e-9)
