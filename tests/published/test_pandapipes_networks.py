"""Five trees against pandapipes 0.16.0 with Colebrook friction, made by scripts/pandapipes_networks.py.

Its known traps (its own table of air, its default friction, back-flow, heights) are kept out of the comparison there.
"""

import json
from pathlib import Path

import pytest

from plumeline.kernels.network import COLEBROOK
from plumeline.stages.air.network import (
    COMPRESSOR,
    GRAVITY_M_S2,
    STANDARD_DENSITY_KG_M3,
    AirNetwork,
    Branch,
    Laws,
    OpenEnd,
    Pipe,
    SiteCurve,
)
from plumeline.stages.air.tree import solve

MADE = json.loads(Path(__file__).with_name("pandapipes_networks.json").read_text(encoding="utf-8"))
PSI_PA = 6894.757293168
WATER_KG_M3 = 1000.0


def described(case):
    """Return a case as a network: each pipe is a branch named by its end."""
    outlets = case["outlets_psig"]
    branches = []
    for start, end, feet, inches, loss in case["pipes"]:
        pipe = Pipe(
            feet * 0.3048,
            inches * 0.0254,
            MADE["roughness_m"],
            MADE["temperature_k"] - 273.15,
            loss_number=loss,
        )
        depth_m = outlets.get(end, 0.0) * PSI_PA / (WATER_KG_M3 * GRAVITY_M_S2)
        outlet = OpenEnd(depth_m) if end in outlets else None
        branches.append(Branch(end, COMPRESSOR if start == "c" else start, (pipe,), outlet))
    return AirNetwork(
        source=SiteCurve((0.0,), (case["air_scfm"] * MADE["scfm_kg_s"],)),
        branches=tuple(branches),
        ambient_pressure_pa=MADE["ambient_pa"],
        water_density_kg_m3=WATER_KG_M3,
        laws=Laws(COLEBROOK, 101325.0 / (MADE["density_kg_m3"] * 273.15), MADE["viscosity_pa_s"]),
    )


@pytest.mark.parametrize("case", MADE["networks"], ids=lambda case: case["name"])
def test_five_trees_as_pandapipes_solves_them(case):
    """Gauges to 0.05 %, flows to 0.5 % (wanted: 2 %)."""
    found = solve(described(case))
    for place, expected_pa in case["gauge_pa"].items():
        assert found.gauge_pa[COMPRESSOR if place == "c" else place] == pytest.approx(expected_pa, rel=5e-4)
    for pipe, expected_kg_s in zip(case["pipes"], case["flow_kg_s"], strict=True):
        flow_kg_s = found.branch(pipe[1]).flow_standard_m3_s * STANDARD_DENSITY_KG_M3
        assert flow_kg_s == pytest.approx(expected_kg_s, rel=5e-3)
