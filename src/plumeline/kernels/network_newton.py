"""The air network solved by Newton's method, without back-flow: a Fischer–Burmeister system on a tree.

Unknown are the flow x of each outlet and the pressure p of each node. The flow of a piece is the sum of the
outlets behind it, so mass is conserved at every step. What is left to meet:

- each piece's law, between its two nodes;
- the compressor's curve at node 0;
- at each outlet, flow x ≥ 0, what it lacks b = p_outlet + loss(x) − p ≥ 0, and one of them 0. That is one
  equation, √(a² + b²) = a + b (Fischer 1992), smooth but where both are 0.

Since everything hangs on a tree, a Newton step costs one pass up and one pass down: each node hands its parent
"the flow I take changes by A + B δp". Steps are halved until the sum of squares falls below the worst of the last
few, which carries the search over the kinks of the curves.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels.jit import fast_kernel, inner_kernel
from plumeline.kernels.network import (
    Network,
    compressor_line,
    outlet_loss,
    piece_inlet_pressure,
    piece_law,
    root_of,
)

SOLVED = 0
"""An operating point was found."""
ALL_DEAD = 1
"""The compressor can't reach even the easiest outlet, or every outlet is shut off."""
UNSOLVED = 2
"""The search did not settle: the input has no operating point, or none that doubles can hold."""

_STEPS = 200
_HALVINGS = 40
_MEMORY = 6
"""How many past errors a new one may not exceed, the worst of them counting."""
_LEAST_SCALE_PA = 1e4
"""Squares of pressure are counted in twice the ambient times this, or in what the first guess spans if more."""
_TOLERANCE = 1e-8
"""A step so small is the last: the one after it would be its square."""
_NOTHING_FRACTION = 1e-9
"""A flow under this part of the compressor's is none."""
_SOFT_PA = 1e-5
"""What every outlet takes at the compressor's whole flow over its curve: outlets on one node share evenly."""
_LEAST_B = 1e-30
_LEAST_FRACTION = 1e-9
"""Part of the compressor's flow under which a piece's law is straight."""


@inner_kernel
def _gather(network: Network, x: NDArray[np.float64], flow_kg_s: NDArray[np.float64]) -> None:
    """Fill the flow of each piece: the sum of the outlets behind it; at 0 the sum of all."""
    flow_kg_s[:] = 0.0
    for outlet in range(len(x)):
        flow_kg_s[network.outlet_node[outlet]] += x[outlet]
    for node in range(len(flow_kg_s) - 1, 0, -1):
        flow_kg_s[network.parent[node]] += flow_kg_s[node]


@inner_kernel
def _lack(
    network: Network, outlet: int, x_kg_s: float, square_pa2: float, scale_kg_s: float, whole_pa2: float
) -> tuple[float, float]:
    """Return what an outlet lacks to flow more [-], and its slope with the flow [s/kg], in scales of squares."""
    loss_pa, slope = outlet_loss(network, outlet, max(x_kg_s, 0.0))
    needed_pa = network.outlet_pressure_pa[outlet] + loss_pa + _SOFT_PA * x_kg_s / scale_kg_s
    return (needed_pa * needed_pa - square_pa2) / whole_pa2, 2.0 * needed_pa * (
        slope + _SOFT_PA / scale_kg_s
    ) / whole_pa2


@inner_kernel
def _errors(
    network: Network,
    live: NDArray[np.bool_],
    scale_kg_s: float,
    whole_pa2: float,
    x: NDArray[np.float64],
    square_pa2: NDArray[np.float64],
    flow_kg_s: NDArray[np.float64],
    missed: NDArray[np.float64],
    unmet: NDArray[np.float64],
) -> float:
    """Fill what each piece (first row: errors, then slopes) and each outlet misses by; return half the squares.

    Errors are in scales of flow or of squares of pressure; the compressor's stands at piece 0.
    """
    _gather(network, x, flow_kg_s)
    root_pa = root_of(square_pa2[0], network.ambient_pressure_pa)
    given, slope = compressor_line(network, root_pa - network.ambient_pressure_pa)
    missed[0, 0] = (flow_kg_s[0] - given) / scale_kg_s
    missed[1, 0] = -slope / (2.0 * root_pa) * whole_pa2 / scale_kg_s
    total = missed[0, 0] * missed[0, 0]
    for node in range(1, len(square_pa2)):
        if not live[node]:
            continue
        error, with_flow, with_inlet, with_outlet = piece_law(
            network,
            node,
            flow_kg_s[node],
            square_pa2[network.parent[node]],
            square_pa2[node],
            _LEAST_FRACTION * scale_kg_s,
        )
        missed[0, node], missed[1, node] = error / whole_pa2, with_flow * scale_kg_s / whole_pa2
        missed[2, node], missed[3, node] = with_inlet, with_outlet
        total += missed[0, node] ** 2
    for k in range(len(x)):
        node = network.outlet_node[k]
        unmet[k] = 0.0
        if live[node]:
            a = x[k] / scale_kg_s
            b, _slope = _lack(network, k, x[k], square_pa2[node], scale_kg_s, whole_pa2)
            unmet[k] = math.sqrt(a * a + b * b) - a - b
            total += unmet[k] * unmet[k]
    return float(0.5 * total)


@inner_kernel
def _outlet_line(
    network: Network,
    k: int,
    scale_kg_s: float,
    whole_pa2: float,
    x_kg_s: float,
    square_pa2: float,
    missed_number: float,
) -> tuple[float, float]:
    """Return A and B of an outlet: its flow changes by A + B δy in a Newton step, all in their scales."""
    a = x_kg_s / scale_kg_s
    b, slope = _lack(network, k, x_kg_s, square_pa2, scale_kg_s, whole_pa2)
    radius = math.sqrt(a * a + b * b)
    if radius > 0.0:
        with_a, with_b = a / radius - 1.0, b / radius - 1.0
    else:
        with_a = with_b = math.sqrt(0.5) - 1.0
    with_b = min(with_b, -1e-16)
    with_flow = with_a + with_b * slope * scale_kg_s
    return -missed_number / with_flow, with_b / with_flow


@inner_kernel
def _step(
    network: Network,
    live: NDArray[np.bool_],
    scale_kg_s: float,
    whole_pa2: float,
    x: NDArray[np.float64],
    square_pa2: NDArray[np.float64],
    missed: NDArray[np.float64],
    unmet: NDArray[np.float64],
    work: NDArray[np.float64],
    dx: NDArray[np.float64],
    dy: NDArray[np.float64],
) -> bool:
    """Fill the Newton step of outlets' flows and nodes' squares, in their scales; False where there is none."""
    take, give, fixed, lead = work[0], work[1], work[2], work[3]
    take[:] = 0.0
    give[:] = _LEAST_B
    for k in range(len(x)):
        node = network.outlet_node[k]
        if live[node]:
            A, B = _outlet_line(network, k, scale_kg_s, whole_pa2, x[k], square_pa2[node], unmet[k])
            take[node] += A
            give[node] += B
    for node in range(len(take) - 1, 0, -1):
        if not live[node]:
            continue
        above = network.parent[node]
        error, with_flow, with_inlet, with_outlet = (
            missed[0, node],
            missed[1, node],
            missed[2, node],
            missed[3, node],
        )
        down = with_flow * give[node] + with_outlet - _LEAST_B
        fixed[node] = (-error - with_flow * take[node]) / down
        lead[node] = -with_inlet / down
        take[above] += (take[node] * with_outlet - give[node] * error) / down
        give[above] += give[node] * lead[node]
    root = give[0] + missed[1, 0]
    if not root > 0.0:
        return False
    dy[0] = -(missed[0, 0] + take[0]) / root
    for node in range(1, len(take)):
        dy[node] = fixed[node] + lead[node] * dy[network.parent[node]] if live[node] else 0.0
    for k in range(len(x)):
        node = network.outlet_node[k]
        dx[k] = 0.0
        if live[node]:
            A, B = _outlet_line(network, k, scale_kg_s, whole_pa2, x[k], square_pa2[node], unmet[k])
            dx[k] = A + B * dy[node]
    return bool(np.isfinite(dy).all() and np.isfinite(dx).all())


@inner_kernel
def _is_small(dx: NDArray[np.float64], dy: NDArray[np.float64]) -> bool:
    """Return whether a step changes nothing that is kept."""
    return bool(np.abs(dx).max() <= _TOLERANCE and np.abs(dy).max() <= _TOLERANCE)


@fast_kernel
def bubbling_pressure(network: Network, k: int) -> float:
    """Return the pressure [Pa] at the compressor at which an outlet begins to bubble."""
    needed_pa = network.outlet_pressure_pa[k] + outlet_loss(network, k, 0.0)[0]
    node = network.outlet_node[k]
    while node > 0:
        needed_pa += network.threshold_pa[node]
        node = network.parent[node]
    return float(needed_pa)


@fast_kernel
def needed_pressures(
    network: Network, flow_kg_s: NDArray[np.float64], x: NDArray[np.float64], pressure_pa: NDArray[np.float64]
) -> None:
    """Fill the pressure [Pa] that each node must have so that every outlet behind it gets its flow.

    At a fork the neediest branch counts; valves must burn the rest. Outlets without flow ask for nothing, and a
    node without any outlet that flows keeps the ambient pressure.
    """
    _gather(network, x, flow_kg_s)
    pressure_pa[:] = network.ambient_pressure_pa
    for k in range(len(x)):
        if x[k] > 0.0:
            node = network.outlet_node[k]
            loss_pa, _slope = outlet_loss(network, k, x[k])
            pressure_pa[node] = max(pressure_pa[node], network.outlet_pressure_pa[k] + loss_pa)
    for node in range(len(pressure_pa) - 1, 0, -1):
        if flow_kg_s[node] > 0.0:
            inlet_pa = piece_inlet_pressure(network, node, flow_kg_s[node], pressure_pa[node])
            above = network.parent[node]
            pressure_pa[above] = max(pressure_pa[above], inlet_pa)


@fast_kernel
def _start(
    network: Network,
    live: NDArray[np.bool_],
    x: NDArray[np.float64],
    pressure_pa: NDArray[np.float64],
    flow_kg_s: NDArray[np.float64],
) -> float:
    """Fill a first guess, as much air for every outlet alike as the compressor can give; return its most."""
    scale_kg_s = network.curve_mass_flow_kg_s[0]
    count = 0
    for k in range(len(x)):
        x[k] = 0.0
        if live[network.outlet_node[k]]:
            x[k] = 1.0
            count += 1
    x *= scale_kg_s / count
    for _halving in range(12):
        needed_pressures(network, flow_kg_s, x, pressure_pa)
        given, slope = compressor_line(network, pressure_pa[0] - network.ambient_pressure_pa)
        if slope == 0.0 or flow_kg_s[0] <= given:
            break
        x *= 0.5
    return float(scale_kg_s)


@fast_kernel
def shut_off_pressure(network: Network) -> float:
    """Return the absolute pressure [Pa] at which the compressor's curve, carried on, gives no more air."""
    last = len(network.curve_pressure_pa) - 1
    flow, slope = compressor_line(network, network.curve_pressure_pa[last] + 1.0)
    if slope >= 0.0:
        return math.inf
    return float(network.ambient_pressure_pa + network.curve_pressure_pa[last] + 1.0 - flow / slope)


@fast_kernel
def _least_bubbling(network: Network, live: NDArray[np.bool_]) -> float:
    """Return the least pressure [Pa] at the compressor at which any outlet bubbles; infinity where all are shut."""
    least_pa = math.inf
    for k in range(len(network.outlet_node)):
        if live[network.outlet_node[k]]:
            least_pa = min(least_pa, bubbling_pressure(network, k))
    return least_pa


@fast_kernel
def find_live(network: Network, live: NDArray[np.bool_]) -> None:
    """Tell which nodes air can come to: no shut piece lies between them and the compressor."""
    live[0] = True
    for node in range(1, len(live)):
        live[node] = live[network.parent[node]] and not network.closed[node]


@fast_kernel
def _settle(
    network: Network,
    live: NDArray[np.bool_],
    scale_kg_s: float,
    whole_pa2: float,
    x: NDArray[np.float64],
    square_pa2: NDArray[np.float64],
    flow_kg_s: NDArray[np.float64],
) -> bool:
    """Search from a first guess; return whether it came to rest."""
    nodes, outlets = len(square_pa2), len(x)
    missed, unmet = np.zeros((4, nodes)), np.zeros(outlets)
    work = np.zeros((4, nodes))
    dx, dy, x_new, y_new = np.zeros(outlets), np.zeros(nodes), np.zeros(outlets), np.zeros(nodes)
    worst = np.zeros(_MEMORY)
    worst[:] = _errors(network, live, scale_kg_s, whole_pa2, x, square_pa2, flow_kg_s, missed, unmet)
    for step in range(_STEPS):
        if not _step(network, live, scale_kg_s, whole_pa2, x, square_pa2, missed, unmet, work, dx, dy):
            return False
        share, error = 1.0, math.inf
        small = _is_small(dx, dy)
        for _halving in range(_HALVINGS):
            x_new[:] = x + share * scale_kg_s * dx
            y_new[:] = square_pa2 + share * whole_pa2 * dy
            error = _errors(network, live, scale_kg_s, whole_pa2, x_new, y_new, flow_kg_s, missed, unmet)
            if small or error <= (1.0 - 1e-4 * share) * worst.max():
                break
            share *= 0.5
        x[:] = x_new
        square_pa2[:] = y_new
        if small:
            return True
        worst[step % _MEMORY] = error
    return False


@fast_kernel
def _rest(network: Network, live: NDArray[np.bool_], pressure_pa: NDArray[np.float64]) -> None:
    """Fill the pressure behind shut pieces: air bubbles out until the easiest outlet there holds it."""
    for node in range(len(pressure_pa)):
        if not live[node]:
            pressure_pa[node] = math.inf
    for k in range(len(network.outlet_node)):
        node = network.outlet_node[k]
        if not live[node]:
            loss_pa, _slope = outlet_loss(network, k, 0.0)
            pressure_pa[node] = min(pressure_pa[node], network.outlet_pressure_pa[k] + loss_pa)
    for node in range(len(pressure_pa) - 1, 0, -1):
        above = network.parent[node]
        if not live[node] and not live[above] and not network.closed[node]:
            pressure_pa[above] = min(pressure_pa[above], pressure_pa[node] + network.threshold_pa[node])
    for node in range(1, len(pressure_pa)):
        if not live[node] and not network.closed[node]:
            pressure_pa[node] = min(
                pressure_pa[node], pressure_pa[network.parent[node]] - network.threshold_pa[node]
            )
        if not live[node] and not math.isfinite(pressure_pa[node]):
            pressure_pa[node] = network.ambient_pressure_pa


@fast_kernel
def solve_network(
    network: Network,
    x: NDArray[np.float64],
    pressure_pa: NDArray[np.float64],
    flow_kg_s: NDArray[np.float64],
) -> int:
    """Solve a network for its operating point.

    Args:
        network: the network.
        x: filled with the mass flow of each outlet [kg/s], shape (outlets,); 0 where dead.
        pressure_pa: filled with the absolute pressure of each node [Pa], shape (nodes,); behind a shut piece
            with the least that bubbles there.
        flow_kg_s: filled with the mass flow of each piece [kg/s], shape (nodes,); at 0 the compressor's.

    Returns:
        SOLVED, ALL_DEAD or UNSOLVED.
    """
    live = np.zeros(len(pressure_pa), dtype=np.bool_)
    find_live(network, live)
    x[:] = 0.0
    flow_kg_s[:] = 0.0
    shut_off_pa = shut_off_pressure(network)
    if _least_bubbling(network, live) >= shut_off_pa:
        pressure_pa[0] = shut_off_pa
        for node in range(1, len(pressure_pa)):
            pressure_pa[node] = pressure_pa[network.parent[node]] - network.threshold_pa[node]
        _rest(network, live, pressure_pa)
        return ALL_DEAD
    scale_kg_s = _start(network, live, x, pressure_pa, flow_kg_s)
    ambient_pa = network.ambient_pressure_pa
    whole_pa2 = max(2.0 * ambient_pa * _LEAST_SCALE_PA, pressure_pa[0] ** 2 - ambient_pa**2)
    for node in range(len(pressure_pa)):
        pressure_pa[node] *= pressure_pa[node]
    if not _settle(network, live, scale_kg_s, whole_pa2, x, pressure_pa, flow_kg_s):
        return UNSOLVED
    for node in range(len(pressure_pa)):
        pressure_pa[node] = root_of(pressure_pa[node], network.ambient_pressure_pa)
    for k in range(len(x)):
        if x[k] < _NOTHING_FRACTION * scale_kg_s or not live[network.outlet_node[k]]:
            x[k] = 0.0
    _gather(network, x, flow_kg_s)
    _rest(network, live, pressure_pa)
    return SOLVED
