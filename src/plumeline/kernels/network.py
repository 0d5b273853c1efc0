"""The air network: compressor, trunk, manifold, branches and water head solved together, without back-flow.

The tree of this kernel is the trade's: one trunk to one manifold, and branches from there, each a chain of
pipes in series that ends under water. A branch carries air only while the manifold's pressure is over what
its outlet needs; else it is dead and carries nothing (complementarity). For such trees one unknown is left,
the pressure at the manifold, and everything else rises or falls with it, so a bracketed search can't miss.

Any other tree needs the same three pieces (chain, outlet, compressor) and another outer loop: the arrays of
`Network` already hold chains of pipes by index, so that a list of parent chains is all that would be added.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import relations
from plumeline.kernels.jit import kernel

reynolds_number_reynolds_1883 = relations.reynolds_number_reynolds_1883
friction_factor_colebrook_1939 = relations.friction_factor_colebrook_1939
friction_factor_churchill_1977 = relations.friction_factor_churchill_1977
resistance_number_crane_2009 = relations.resistance_number_crane_2009
upstream_pressure_isothermal_crane_2009 = relations.upstream_pressure_isothermal_crane_2009

CHURCHILL = 0
"""Friction by Churchill 1977, smooth from laminar to turbulent: what the program uses."""
COLEBROOK = 1
"""Friction by Colebrook 1939 at any Reynolds number: only to reproduce tables made with it."""

SOLVED = 0
"""An operating point was found."""
ALL_DEAD = 1
"""The compressor can't reach even the easiest outlet."""
UNSOLVED = 2
"""No bracket was found: the input has no operating point."""

_STEPS = 200
_TOLERANCE = 1e-14


class Network(NamedTuple):
    """One network. Chain k has the pipes ``chain_start[k]`` to ``chain_start[k + 1]``, along the flow.

    Chain 0 is the trunk, chain k is branch k−1. All pressures are absolute except the compressor's curve,
    which is gauge over ``ambient_pressure_pa``.
    """

    length_m: NDArray[np.float64]
    bore_m: NDArray[np.float64]
    roughness_m: NDArray[np.float64]
    minor_loss_number: NDArray[np.float64]
    temperature_k: NDArray[np.float64]
    viscosity_pa_s: NDArray[np.float64]
    chain_start: NDArray[np.int64]
    outlet_pressure_pa: NDArray[np.float64]
    """Pressure that branch k's outlet needs before it bubbles: atmosphere, water head and membrane."""
    curve_pressure_pa: NDArray[np.float64]
    """Gauge pressures of the compressor's curve, rising. One point alone is a source of constant flow."""
    curve_mass_flow_kg_s: NDArray[np.float64]
    ambient_pressure_pa: float
    gas_constant_j_kg_k: float
    friction_law: int


@kernel
def chain_inlet_pressure(
    network: Network, chain: int, mass_flow_kg_s: float, outlet_pressure_pa: float
) -> float:
    """Return the absolute pressure [Pa] at the head of a chain of pipes; infinity when a pipe would choke."""
    pressure_pa = outlet_pressure_pa
    if mass_flow_kg_s <= 0.0:
        return pressure_pa
    for pipe in range(network.chain_start[chain + 1] - 1, network.chain_start[chain] - 1, -1):
        bore_m = network.bore_m[pipe]
        reynolds_number = reynolds_number_reynolds_1883(mass_flow_kg_s, bore_m, network.viscosity_pa_s[pipe])
        if network.friction_law == COLEBROOK:
            friction = friction_factor_colebrook_1939(reynolds_number, network.roughness_m[pipe] / bore_m)
        else:
            friction = friction_factor_churchill_1977(reynolds_number, network.roughness_m[pipe] / bore_m)
        resistance = resistance_number_crane_2009(
            friction, network.length_m[pipe], bore_m, network.minor_loss_number[pipe]
        )
        pressure_pa = upstream_pressure_isothermal_crane_2009(
            mass_flow_kg_s,
            pressure_pa,
            resistance,
            bore_m,
            network.gas_constant_j_kg_k,
            network.temperature_k[pipe],
        )
        if not math.isfinite(pressure_pa):
            return math.inf
    return pressure_pa


@kernel
def compressor_mass_flow(network: Network, gauge_pressure_pa: float) -> float:
    """Return the compressor's mass flow [kg/s] at an outlet gauge pressure [Pa].

    Linear between the curve's points, constant before the first, and along the last line beyond the last
    point until nothing is left.
    """
    pressure = network.curve_pressure_pa
    flow = network.curve_mass_flow_kg_s
    last = len(pressure) - 1
    if last == 0 or gauge_pressure_pa <= pressure[0]:
        return float(flow[0])
    point = 1
    while point < last and gauge_pressure_pa > pressure[point]:
        point += 1
    slope = (flow[point] - flow[point - 1]) / (pressure[point] - pressure[point - 1])
    return float(max(flow[point - 1] + slope * (gauge_pressure_pa - pressure[point - 1]), 0.0))


@kernel
def _trial(low: float, f_low: float, high: float, f_high: float, step: int) -> float:
    """Return where to look next between a bracket's ends: by the secant, and half way every fourth time."""
    middle = 0.5 * (low + high)
    if step % 4 == 3 or not math.isfinite(f_high):
        return middle
    x = high - f_high * (high - low) / (f_high - f_low)
    if low < x < high:
        return x
    return middle


@kernel
def _shrink(
    low: float, f_low: float, high: float, f_high: float, side: int, x: float, f_x: float
) -> tuple[float, float, float, float, int]:
    """Return the bracket with one end moved to x; an end left twice loses weight (Anderson–Björck)."""
    if f_x > 0.0:
        if side > 0:
            weight = 1.0 - f_x / f_high
            f_low *= weight if weight > 0.0 else 0.5
        return low, f_low, x, f_x, 1
    if side < 0:
        weight = 1.0 - f_x / f_low
        f_high *= weight if weight > 0.0 else 0.5
    return x, f_x, high, f_high, -1


@kernel
def chain_flow(network: Network, chain: int, inlet_pressure_pa: float, outlet_pressure_pa: float) -> float:
    """Return the mass flow [kg/s] of a chain between two absolute pressures: never below zero.

    Where the outlet would be choked it is the greatest flow that is not.
    """
    if inlet_pressure_pa <= outlet_pressure_pa:
        return 0.0
    first = network.chain_start[chain]
    area = 0.25 * math.pi * network.bore_m[first] ** 2
    squares = inlet_pressure_pa**2 - outlet_pressure_pa**2
    heads = 0.02 * network.length_m[first] / network.bore_m[first] + network.minor_loss_number[first] + 1.0
    high = area * math.sqrt(squares / (network.gas_constant_j_kg_k * network.temperature_k[first] * heads))
    low = 0.0
    f_low = outlet_pressure_pa - inlet_pressure_pa
    f_high = chain_inlet_pressure(network, chain, high, outlet_pressure_pa) - inlet_pressure_pa
    while f_high < 0.0:
        low, f_low = high, f_high
        high *= 2.0
        f_high = chain_inlet_pressure(network, chain, high, outlet_pressure_pa) - inlet_pressure_pa
    side = 0
    for step in range(_STEPS):
        if high - low <= _TOLERANCE * high:
            break
        x = _trial(low, f_low, high, f_high, step)
        f_x = chain_inlet_pressure(network, chain, x, outlet_pressure_pa) - inlet_pressure_pa
        if f_x == 0.0:
            return x
        low, f_low, high, f_high, side = _shrink(low, f_low, high, f_high, side, x, f_x)
    return low


@kernel
def branch_flows(network: Network, manifold_pressure_pa: float, flow_kg_s: NDArray[np.float64]) -> float:
    """Fill the mass flow [kg/s] of each branch at a manifold pressure [Pa]; return their sum."""
    total = 0.0
    for branch in range(len(network.outlet_pressure_pa)):
        flow_kg_s[branch] = chain_flow(
            network, branch + 1, manifold_pressure_pa, network.outlet_pressure_pa[branch]
        )
        total += flow_kg_s[branch]
    return total


@kernel
def _excess(network: Network, manifold_pressure_pa: float, flow_kg_s: NDArray[np.float64]) -> float:
    """Return what the branches take over what the compressor then gives [kg/s]; rises with the pressure."""
    total = branch_flows(network, manifold_pressure_pa, flow_kg_s)
    pressure_pa = chain_inlet_pressure(network, 0, total, manifold_pressure_pa)
    if not math.isfinite(pressure_pa):
        return math.inf
    return total - compressor_mass_flow(network, pressure_pa - network.ambient_pressure_pa)


@kernel
def solve_network(network: Network, flow_kg_s: NDArray[np.float64]) -> tuple[int, float, float]:
    """Solve the network for its operating point.

    Args:
        network: the network.
        flow_kg_s: filled with the mass flow of each branch [kg/s], shape (branches,); 0 where dead.

    Returns:
        State (SOLVED, ALL_DEAD or UNSOLVED), absolute pressure at the compressor and at the manifold [Pa].
    """
    low = network.outlet_pressure_pa.min()
    flow_kg_s[:] = 0.0
    f_low = _excess(network, low, flow_kg_s)
    if f_low >= 0.0:
        return ALL_DEAD, low, low
    reach = 1000.0
    high = low + reach
    f_high = _excess(network, high, flow_kg_s)
    while f_high < 0.0:
        if reach > 1e9:
            return UNSOLVED, math.nan, math.nan
        low, f_low = high, f_high
        reach *= 2.0
        high = low + reach
        f_high = _excess(network, high, flow_kg_s)
    side = 0
    x = high
    for step in range(_STEPS):
        if high - low <= _TOLERANCE * high:
            break
        x = _trial(low, f_low, high, f_high, step)
        f_x = _excess(network, x, flow_kg_s)
        if f_x == 0.0:
            break
        low, f_low, high, f_high, side = _shrink(low, f_low, high, f_high, side, x, f_x)
    total = branch_flows(network, x, flow_kg_s)
    return SOLVED, chain_inlet_pressure(network, 0, total, x), x


@kernel
def port_pressures(
    network: Network, scale_kg_s: float, weight_fraction: NDArray[np.float64], port_pa: NDArray[np.float64]
) -> float:
    """Fill the absolute pressure each branch needs at its port to carry its share; return the greatest [Pa].

    A branch of weight 0 is shut: its port is given the pressure of its outlet and counts for nothing.
    """
    greatest = 0.0
    for branch in range(len(network.outlet_pressure_pa)):
        port_pa[branch] = chain_inlet_pressure(
            network, branch + 1, scale_kg_s * weight_fraction[branch], network.outlet_pressure_pa[branch]
        )
        if weight_fraction[branch] > 0.0 and port_pa[branch] > greatest:
            greatest = port_pa[branch]
    return greatest


@kernel
def _balanced_excess(
    network: Network, scale_kg_s: float, weight_fraction: NDArray[np.float64], port_pa: NDArray[np.float64]
) -> float:
    """Return the wanted total over what the compressor gives at the pressure that total needs [kg/s]."""
    manifold_pa = port_pressures(network, scale_kg_s, weight_fraction, port_pa)
    total = scale_kg_s * float(weight_fraction.sum())
    if not math.isfinite(manifold_pa):
        return math.inf
    pressure_pa = chain_inlet_pressure(network, 0, total, manifold_pa)
    if not math.isfinite(pressure_pa):
        return math.inf
    return total - compressor_mass_flow(network, pressure_pa - network.ambient_pressure_pa)


@kernel
def solve_balanced(
    network: Network, weight_fraction: NDArray[np.float64], port_pa: NDArray[np.float64]
) -> tuple[int, float, float, float]:
    """Find the operating point at which valves give each branch its share, the neediest valve full open.

    Args:
        network: the network, without valve losses.
        weight_fraction: share wanted by each branch, shape (branches,); 0 shuts it.
        port_pa: filled with the absolute pressure after each valve [Pa], shape (branches,).

    Returns:
        State, flow of a branch of weight 1 [kg/s], absolute pressure at compressor and manifold [Pa].
    """
    low = 0.0
    f_low = _balanced_excess(network, 0.0, weight_fraction, port_pa)
    if f_low >= 0.0:
        return ALL_DEAD, 0.0, math.nan, math.nan
    high = network.curve_mass_flow_kg_s[0] / weight_fraction.sum()
    f_high = _balanced_excess(network, high, weight_fraction, port_pa)
    while f_high < 0.0:
        low, f_low = high, f_high
        high *= 2.0
        f_high = _balanced_excess(network, high, weight_fraction, port_pa)
    side = 0
    x = high
    if f_high > 0.0:
        for step in range(_STEPS):
            if high - low <= _TOLERANCE * high:
                break
            x = _trial(low, f_low, high, f_high, step)
            f_x = _balanced_excess(network, x, weight_fraction, port_pa)
            if f_x == 0.0:
                break
            low, f_low, high, f_high, side = _shrink(low, f_low, high, f_high, side, x, f_x)
        x = low if not math.isfinite(_balanced_excess(network, x, weight_fraction, port_pa)) else x
    manifold_pa = port_pressures(network, x, weight_fraction, port_pa)
    total = x * weight_fraction.sum()
    return SOLVED, x, chain_inlet_pressure(network, 0, total, manifold_pa), manifold_pa
