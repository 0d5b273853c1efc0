"""Speed of the air network's own solver beside scipy.optimize.root on the same equations, in one run.

The yardstick is given every advantage that is fair: its residual is compiled (the same compiled laws of pieces,
outlets and compressor, the same scaling and the same first guess), and the check compares the answers. It solves
for the outlets' flows and the nodes' squares of pressure with its default method, without a Jacobian.

    python benchmarks/air_network.py
"""

from __future__ import annotations

import sys
import time

import numpy as np
from scipy.optimize import root

from plumeline.kernels import network_newton as newton
from plumeline.kernels.network import CHURCHILL, Network
from plumeline.science.air import GAS_CONSTANT_J_KG_K, viscosity_sutherland_1893

GOAL_NUMBER = 50.0


def one_manifold(branches: int) -> Network:
    """Return a compressor, a trunk and branches at 2 to 3.5 m; the deepest are dead."""
    count = branches + 2
    depth_m = np.linspace(2.0, 3.5, branches)
    return Network(
        parent=np.array([-1, 0] + [1] * branches),
        length_m=np.array([0.0, 130.0, *np.linspace(20.0, 70.0, branches)]),
        bore_m=np.array([1.0, 0.0209 * max(1.0, (branches / 4.0) ** 0.4), *np.full(branches, 0.0127)]),
        roughness_m=np.full(count, 1.5e-6),
        loss_number=np.zeros(count),
        temperature_k=np.full(count, 298.15),
        viscosity_pa_s=np.full(count, viscosity_sutherland_1893(298.15)),
        threshold_pa=np.zeros(count),
        closed=np.zeros(count, dtype=np.bool_),
        outlet_node=np.arange(2, count),
        outlet_pressure_pa=101325.0 + 9790.0 * depth_m,
        loss_start=np.arange(0, 2 * branches + 1, 2),
        loss_flow_kg_s=np.tile([0.0, 1e-3], branches),
        loss_pressure_pa=np.tile([2500.0, 6000.0], branches),
        curve_pressure_pa=np.array([0.0, 4e4, 8e4]),
        curve_mass_flow_kg_s=np.array([7e-4, 6e-4, 4e-4]) * branches,
        ambient_pressure_pa=101325.0,
        gas_constant_j_kg_k=GAS_CONSTANT_J_KG_K,
        friction_law=CHURCHILL,
    )


def own(net: Network) -> np.ndarray:
    """Return the outlets' flows by the program's solver."""
    x, pressure, flow = np.zeros(len(net.outlet_node)), np.zeros(len(net.parent)), np.zeros(len(net.parent))
    assert newton.solve_network(net, x, pressure, flow) == newton.SOLVED
    return x


def yardstick(net: Network) -> tuple[np.ndarray, bool, int]:
    """Return the outlets' flows by scipy's root with a compiled residual, whether it says so, and its calls."""
    nodes, outlets = len(net.parent), len(net.outlet_node)
    x, pressure, flow = np.zeros(outlets), np.zeros(nodes), np.zeros(nodes)
    live = np.ones(nodes, dtype=np.bool_)
    scale = newton._start(net, live, x, pressure, flow)
    whole = max(2.0 * net.ambient_pressure_pa * 1e4, pressure[0] ** 2 - net.ambient_pressure_pa**2)
    missed, unmet = np.zeros((4, nodes)), np.zeros(outlets)

    def residual(v: np.ndarray) -> np.ndarray:
        newton._errors(net, live, scale, whole, v[:outlets] * scale, v[outlets:] * whole, flow, missed, unmet)
        return np.concatenate([unmet, missed[0]])

    found = root(residual, np.concatenate([x / scale, pressure**2 / whole]), tol=1e-10)
    return found.x[:outlets] * scale, bool(np.abs(residual(found.x)).max() < 1e-8), found.nfev


def seconds(call, least: int) -> float:  # type: ignore[no-untyped-def]
    """Return the least seconds of one call, over a few rounds."""
    best = np.inf
    for _ in range(5):
        start = time.perf_counter()
        for _ in range(least):
            call()
        best = min(best, (time.perf_counter() - start) / least)
    return float(best)


def main() -> int:
    """Print the table; fail where the goal is missed for the sizes of the trade."""
    print(
        f"{'branches':>8} {'unknowns':>8} {'own [us]':>9} {'root [us]':>10} {'calls':>6} {'settled':>8} {'ratio':>7}"
    )
    worst = np.inf
    for branches in (2, 3, 4, 8, 16, 64, 200, 500):
        net = one_manifold(branches)
        mine = own(net)
        theirs, settled, calls = yardstick(net)
        if settled:
            assert np.allclose(mine, theirs, rtol=1e-4, atol=1e-6 * net.curve_mass_flow_kg_s[0]), branches
        own_s = seconds(lambda net=net: own(net), 200 if branches < 100 else 20)
        root_s = seconds(lambda net=net: yardstick(net), 10 if branches < 50 else 1)
        worst = min(worst, root_s / own_s)
        print(
            f"{branches:8d} {2 * branches + 2:8d} {1e6 * own_s:9.1f} {1e6 * root_s:10.0f} {calls:6d} "
            f"{'yes' if settled else 'no':>8} {root_s / own_s:7.0f}"
        )
    print(f"least ratio {worst:.0f}; wanted {GOAL_NUMBER:.0f}")
    return 0 if worst >= GOAL_NUMBER else 1


if __name__ == "__main__":
    sys.exit(main())
