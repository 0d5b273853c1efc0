"""Air networks as arrays for tests: one manifold from plain lists, and random trees."""

import numpy as np
from hypothesis import strategies as st

from plumeline.kernels.network import CHURCHILL, Network
from plumeline.kernels.network_newton import solve_network

AMBIENT_PA = 101325.0
PIECES = (
    "length_m",
    "bore_m",
    "roughness_m",
    "loss_number",
    "temperature_k",
    "viscosity_pa_s",
    "threshold_pa",
    "closed",
)


def arrays(parent, outlets, **given):
    """Return arrays of a tree; ``outlets`` are (node, absolute pressure, ((flow, loss), ...)).

    What is not given of the pieces is a bare joint of air at 20 °C.
    """
    count = len(parent)
    rows = {
        "length_m": 0.0, "bore_m": 0.02, "roughness_m": 1.5e-6, "loss_number": 0.0, "temperature_k": 293.15,
        "viscosity_pa_s": 1.81e-5, "threshold_pa": 0.0, "closed": False,
    }  # fmt: skip
    fixed = {
        "curve_pressure_pa": np.array([0.0, 1e5]), "curve_mass_flow_kg_s": np.array([0.01, 0.002]),
        "ambient_pressure_pa": AMBIENT_PA, "gas_constant_j_kg_k": 287.055, "friction_law": CHURCHILL,
    }  # fmt: skip
    for name, value in given.items():
        (rows if name in rows else fixed)[name] = value
    pieces = {
        name: np.full(count, value) if np.ndim(value) == 0 else np.asarray(value)
        for name, value in rows.items()
    }
    curves = [point for _node, _pa, curve in outlets for point in curve]
    return Network(
        parent=np.array(parent, dtype=np.int64),
        **pieces,
        outlet_node=np.array([node for node, _pa, _curve in outlets], dtype=np.int64),
        outlet_pressure_pa=np.array([pa for _node, pa, _curve in outlets], dtype=float),
        loss_start=np.cumsum([0, *(len(curve) for _node, _pa, curve in outlets)]).astype(np.int64),
        loss_flow_kg_s=np.array([flow for flow, _pa in curves], dtype=float),
        loss_pressure_pa=np.array([pa for _flow, pa in curves], dtype=float),
        **fixed,
    )


def manifold(outlet_pressure_pa, **given):
    """Return one trunk to one manifold (node 1) and a branch to each outlet; rows are trunk, then branches."""
    count = len(outlet_pressure_pa)
    rows = {
        name: np.concatenate([[value[0]], value]) if name in PIECES and np.ndim(value) else value
        for name, value in given.items()
    }
    outlets = [(index + 2, pa, ((0.0, 0.0),)) for index, pa in enumerate(outlet_pressure_pa)]
    return arrays([-1, 0, *[1] * count], outlets, **rows)


def solved(net):
    """Return state, flow of each outlet, pressure of each node, flow of each piece."""
    outlet_kg_s, pressure_pa, flow_kg_s = (
        np.zeros(len(net.outlet_node)),
        np.zeros(len(net.parent)),
        np.zeros(len(net.parent)),
    )
    state = solve_network(net, outlet_kg_s, pressure_pa, flow_kg_s)
    return state, outlet_kg_s, pressure_pa, flow_kg_s


@st.composite
def trees(draw, most=25):
    """Return a random tree: pipes, bare joints, valves, check valves, shut pieces, membranes, holes."""
    count = draw(st.integers(2, most))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    parent = [-1] + [
        int(rng.integers(max(0, node - int(rng.integers(1, node + 1))), node)) for node in range(1, count)
    ]
    leaves = [node for node in range(1, count) if node not in parent]
    places = leaves + [int(node) for node in rng.integers(1, count, size=int(rng.integers(0, 3)))]
    outlets = []
    for node in places:
        first = rng.uniform(0.0, 5e3)
        curves = [
            ((0.0, 0.0),),
            ((0.0, first),),
            ((0.0, first), (1e-4, first + rng.uniform(0.0, 3e3)), (1e-3, first + rng.uniform(3e3, 1e4))),
        ]
        outlets.append(
            (node, AMBIENT_PA + rng.uniform(0.0, 9e4) * (rng.random() > 0.1), curves[rng.integers(0, 3)])
        )
    shut_off_pa, free_kg_s = rng.uniform(3e4, 2e5), 10.0 ** rng.uniform(-4.0, -1.7)
    constant = rng.random() > 0.8
    return arrays(
        parent,
        outlets,
        length_m=rng.uniform(0.05, 300.0, count) * (rng.random(count) > 0.1),
        bore_m=rng.uniform(0.004, 0.04, count),
        roughness_m=rng.uniform(0.0, 5e-5, count),
        loss_number=rng.uniform(0.0, 500.0, count) * (rng.random(count) > 0.5),
        temperature_k=rng.uniform(275.0, 340.0, count),
        threshold_pa=rng.uniform(0.0, 5e3, count) * (rng.random(count) > 0.8),
        closed=rng.random(count) > 0.95,
        curve_pressure_pa=np.array([0.0]) if constant else np.array([0.0, 0.5 * shut_off_pa, shut_off_pa]),
        curve_mass_flow_kg_s=free_kg_s
        * (np.ones(1) if constant else np.array([1.0, 0.7, 0.2 * rng.integers(0, 3)])),
    )
