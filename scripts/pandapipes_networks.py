"""Make tests/published/pandapipes_networks.json: five air networks as pandapipes 0.16.0 solves them.

pandapipes asks for older numerical libraries than the program's tests use, so it is run by hand in a place of its own:

    uv venv made && uv pip install --python made pandapipes==0.16.0 && made/bin/python scripts/pandapipes_networks.py

Its own "air" is 1.3 % too dense, its default friction is wrong for smooth pipes, it lets air flow backwards, and it
adds the weight of air to heights. So: a constant fluid, Colebrook, outlets that all flow, and no heights.
"""

from __future__ import annotations

import json
from pathlib import Path

import pandapipes as pp

FOOT_M, INCH_M, PSI_BAR = 0.3048, 0.0254, 0.06894757293168
KELVIN = 308.15
DENSITY_KG_M3, VISCOSITY_PA_S = 1.29205, 1.8967e-5
ATMOSPHERE_PA = 101325.0
SCFM_KG_S = 5.6827e-4
OUT = Path(__file__).resolve().parent.parent / "tests" / "published" / "pandapipes_networks.json"

# name, air [scfm], pipes (from, to, ft, in, K), outlets {node: psig}
NETWORKS = [
    (
        "three branches, valves open", 2.6,
        [("c", "m", 430, 0.824, 0), ("m", "1", 100, 0.375, 0), ("m", "2", 150, 0.375, 0), ("m", "3", 220, 0.375, 0)],
        {"1": 3.9648, "2": 4.3979, "3": 4.8310},
    ),
    (
        "three branches, valves set", 2.6,
        [("c", "m", 430, 0.824, 0), ("m", "1", 100, 0.375, 532.5), ("m", "2", 150, 0.375, 281.7),
         ("m", "3", 220, 0.375, 0)],
        {"1": 3.9648, "2": 4.3979, "3": 4.8310},
    ),
    (
        "two manifolds in a row", 7.0,
        [("c", "a", 300, 1.049, 6), ("a", "b", 260, 0.824, 3), ("a", "1", 120, 0.5, 20), ("a", "2", 90, 0.5, 0),
         ("b", "3", 150, 0.5, 0), ("b", "4", 60, 0.5, 40)],
        {"1": 4.6, "2": 5.1, "3": 4.2, "4": 4.4},
    ),
    (
        "a trunk of three bores and a fork of forks", 9.0,
        [("c", "t1", 20, 1.049, 2), ("t1", "t2", 500, 1.38, 4), ("t2", "m", 80, 1.049, 0), ("m", "l", 70, 0.824, 0),
         ("m", "r", 110, 0.824, 0), ("l", "1", 100, 0.5, 0), ("l", "2", 140, 0.5, 0), ("r", "3", 60, 0.5, 10),
         ("r", "4", 180, 0.5, 0), ("r", "5", 90, 0.375, 0)],
        {"1": 5.0, "2": 5.2, "3": 5.1, "4": 4.6, "5": 4.9},
    ),
    (
        "outlets along one line", 6.0,
        [("c", "j0", 200, 0.824, 5)] + [(f"j{i}", f"j{i + 1}", 40, 0.824, 0) for i in range(5)]
        + [(f"j{i}", str(i), 30, 0.375, 0) for i in range(6)],
        {"0": 3.5, "1": 3.4, "2": 3.3, "3": 3.2, "4": 3.1, "5": 3.0},
    ),
]  # fmt: skip


def solved(scfm: float, pipes: list[tuple[str, str, float, float, float]], outlets: dict[str, float]) -> dict:
    """Return the gauge pressure of each node [Pa] and the flow of each pipe [kg/s]."""
    net = pp.create_empty_network(fluid=None)
    fluid = pp.create_constant_fluid(
        name="ideal_air", fluid_type="gas", density=DENSITY_KG_M3, viscosity=VISCOSITY_PA_S, heat_capacity=1006.0,
        molar_mass=28.964, compressibility=1.0, der_compressibility=0.0,
    )  # fmt: skip
    net.fluid = fluid
    names = list(dict.fromkeys(name for pipe in pipes for name in pipe[:2]))
    node = {
        name: pp.create_junction(net, pn_bar=1.3, tfluid_k=KELVIN, height_m=0.0, name=name) for name in names
    }
    for start, end, feet, inches, loss in pipes:
        pp.create_pipe_from_parameters(
            net, node[start], node[end], length_km=feet * FOOT_M / 1000.0, inner_diameter_mm=inches * INCH_M * 1000.0,
            k_mm=0.0015, loss_coefficient=loss, name=f"{start}-{end}",
        )  # fmt: skip
    for name, psig in outlets.items():
        pp.create_ext_grid(net, node[name], p_bar=psig * PSI_BAR, type="p")
    pp.create_source(net, node["c"], mdot_kg_per_s=scfm * SCFM_KG_S)
    pp.pipeflow(
        net, mode="hydraulics", friction_model="colebrook", tol_p=1e-9, tol_m=1e-9, tol_res=1e-9, iter=200
    )
    return {
        "gauge_pa": {name: float(net.res_junction.p_bar[index]) * 1e5 for name, index in node.items()},
        "flow_kg_s": [float(value) for value in net.res_pipe.mdot_from_kg_per_s],
    }


def main() -> None:
    """Solve all and write the file."""
    networks = []
    for words, scfm, pipes, outlets in NETWORKS:
        result = solved(scfm, pipes, outlets)
        assert min(result["flow_kg_s"]) > 0.0, words
        networks.append({"name": words, "air_scfm": scfm, "pipes": pipes, "outlets_psig": outlets, **result})
    page = {
        "made_by": f"scripts/pandapipes_networks.py with pandapipes {pp.__version__}, friction colebrook, hydraulics",
        "temperature_k": KELVIN, "density_kg_m3": DENSITY_KG_M3, "viscosity_pa_s": VISCOSITY_PA_S,
        "ambient_pa": ATMOSPHERE_PA, "scfm_kg_s": SCFM_KG_S, "roughness_m": 1.5e-6, "networks": networks,
    }  # fmt: skip
    OUT.write_text(json.dumps(page, indent=None) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
