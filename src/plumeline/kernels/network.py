"""One air network as arrays, and the laws of its parts: pieces of pipe, outlets, compressor.

The network is a tree. Node 0 is the compressor's outlet; node i hangs from ``parent[i]`` by piece i, and parents
come before their children, so that one pass up or down the arrays visits the tree. A piece is a length of pipe,
or a valve (no length, a loss), and at its end it may take a fixed pressure away (a check valve, water in a dip).
Outlets hang on nodes: water over a membrane, an open end, a hole.

In squares of absolute pressure the law of a piece is, with y = p² and y_e at the end of its pipe,

    y_u − y_e = C (f L/D + K + ln(y_u/y_e)),    C = (4 ṁ/π D²)² R T

and no pressure at the end of a pipe is under √C, where the isothermal flow would pass the speed of sound: then
y_e = C, whatever waits beyond. `network_newton` solves it all together.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import relations
from plumeline.kernels.jit import fast_kernel, inner_kernel

reynolds_number_reynolds_1883 = relations.reynolds_number_reynolds_1883
friction_factor_colebrook_1939 = relations.friction_factor_colebrook_1939
friction_factor_churchill_1977 = relations.friction_factor_churchill_1977
resistance_number_crane_2009 = relations.resistance_number_crane_2009
upstream_pressure_isothermal_crane_2009 = relations.upstream_pressure_isothermal_crane_2009

CHURCHILL = 0
"""Friction by Churchill 1977, smooth from laminar to turbulent: what the program uses."""
COLEBROOK = 1
"""Friction by Colebrook 1939 at any Reynolds number: only to reproduce tables made with it."""

_HALVINGS = 60
_STEP_FRACTION = 1e-6
"""Relative step in which the slope of a friction law is taken."""
_FLOOR_FRACTION = 0.3
"""Part of the ambient pressure under which no pressure of a solution lies."""


class Network(NamedTuple):
    """One network. Pressures are absolute except the compressor's curve, which is gauge over the ambient."""

    parent: NDArray[np.int64]
    """Shape (nodes,); parent[0] is −1 and parent[i] < i. What follows has the same shape, index 0 unused."""
    length_m: NDArray[np.float64]
    bore_m: NDArray[np.float64]
    roughness_m: NDArray[np.float64]
    loss_number: NDArray[np.float64]
    temperature_k: NDArray[np.float64]
    viscosity_pa_s: NDArray[np.float64]
    threshold_pa: NDArray[np.float64]
    """Pressure taken away at the end of piece i at any flow: cracking pressure, water in a dip."""
    closed: NDArray[np.bool_]
    """Piece i is shut: nothing passes."""
    outlet_node: NDArray[np.int64]
    """Shape (outlets,)."""
    outlet_pressure_pa: NDArray[np.float64]
    """Pressure beyond the outlet: atmosphere and water head."""
    loss_start: NDArray[np.int64]
    """Shape (outlets + 1,): outlet k's loss curve is rows loss_start[k] to loss_start[k + 1]."""
    loss_flow_kg_s: NDArray[np.float64]
    loss_pressure_pa: NDArray[np.float64]
    curve_pressure_pa: NDArray[np.float64]
    """Gauge pressures of the compressor's curve, rising. One point alone is a source of constant flow."""
    curve_mass_flow_kg_s: NDArray[np.float64]
    ambient_pressure_pa: float
    gas_constant_j_kg_k: float
    friction_law: int


@inner_kernel
def piece_square(network: Network, piece: int, mass_flow_kg_s: float) -> float:
    """Return C of a piece [Pa²]: its flow's mass flux squared, times R T."""
    flux = 4.0 * mass_flow_kg_s / (math.pi * network.bore_m[piece] ** 2)
    return float(flux * flux * network.gas_constant_j_kg_k * network.temperature_k[piece])


@inner_kernel
def piece_resistance(network: Network, piece: int, mass_flow_kg_s: float) -> float:
    """Return the velocity heads f L/D + K that a piece costs at a flow over zero."""
    bore_m = network.bore_m[piece]
    friction = 0.0
    if network.length_m[piece] > 0.0:
        reynolds_number = reynolds_number_reynolds_1883(mass_flow_kg_s, bore_m, network.viscosity_pa_s[piece])
        if network.friction_law == COLEBROOK:
            friction = friction_factor_colebrook_1939(reynolds_number, network.roughness_m[piece] / bore_m)
        else:
            friction = friction_factor_churchill_1977(reynolds_number, network.roughness_m[piece] / bore_m)
    return resistance_number_crane_2009(friction, network.length_m[piece], bore_m, network.loss_number[piece])


@inner_kernel
def piece_loss(network: Network, piece: int, mass_flow_kg_s: float) -> tuple[float, float]:
    """Return what a piece takes of the square of pressure [Pa²] at a flow over zero, and its slope [Pa² s/kg]."""
    square_pa2 = piece_square(network, piece, mass_flow_kg_s)
    loss_pa2 = square_pa2 * piece_resistance(network, piece, mass_flow_kg_s)
    if network.length_m[piece] <= 0.0:
        return loss_pa2, 2.0 * loss_pa2 / mass_flow_kg_s
    more_kg_s = mass_flow_kg_s * (1.0 + _STEP_FRACTION)
    more_pa2 = piece_square(network, piece, more_kg_s) * piece_resistance(network, piece, more_kg_s)
    return loss_pa2, (more_pa2 - loss_pa2) / (more_kg_s - mass_flow_kg_s)


@inner_kernel
def is_bare(network: Network, piece: int) -> bool:
    """Return whether a piece costs nothing at any flow but its threshold: a joint, a check valve."""
    return bool(network.length_m[piece] <= 0.0 and network.loss_number[piece] <= 0.0)


@fast_kernel
def piece_inlet_pressure(
    network: Network, piece: int, mass_flow_kg_s: float, outlet_pressure_pa: float
) -> float:
    """Return the pressure [Pa] at the head of a piece that carries a flow to a pressure at its end.

    Where that pressure is under the one of sonic flow at the pipe's end, the latter counts.
    """
    end_pa = outlet_pressure_pa + network.threshold_pa[piece]
    if mass_flow_kg_s <= 0.0 or is_bare(network, piece):
        return float(end_pa)
    sonic_pa = math.sqrt(piece_square(network, piece, mass_flow_kg_s)) * (1.0 + 1e-12)
    return upstream_pressure_isothermal_crane_2009(
        mass_flow_kg_s,
        max(end_pa, sonic_pa),
        piece_resistance(network, piece, mass_flow_kg_s),
        network.bore_m[piece],
        network.gas_constant_j_kg_k,
        network.temperature_k[piece],
    )


@fast_kernel
def piece_outlet_pressure(
    network: Network, piece: int, mass_flow_kg_s: float, head_pressure_pa: float
) -> float:
    """Return the pressure [Pa] that is left behind a piece of the one at its head, by halving.

    The greatest whose inlet pressure is no higher than the head's; near 0 where the flow can't pass at all.
    """
    low_pa, high_pa = 0.0, head_pressure_pa
    for _ in range(_HALVINGS):
        middle_pa = 0.5 * (low_pa + high_pa)
        if piece_inlet_pressure(network, piece, mass_flow_kg_s, middle_pa) > head_pressure_pa:
            high_pa = middle_pa
        else:
            low_pa = middle_pa
    return low_pa


@inner_kernel
def root_of(square_pa2: float, ambient_pressure_pa: float) -> float:
    """Return the pressure [Pa] of a square; a search may pass squares far too low, which count as a floor."""
    floor_pa = _FLOOR_FRACTION * ambient_pressure_pa
    return math.sqrt(max(square_pa2, floor_pa * floor_pa))


@inner_kernel
def piece_law(
    network: Network,
    piece: int,
    mass_flow_kg_s: float,
    inlet_pa2: float,
    outlet_pa2: float,
    least_kg_s: float,
) -> tuple[float, float, float, float]:
    """Return by how much the law of a piece is missed, and the slopes of that.

    Args:
        network: the network.
        piece: index of the piece.
        mass_flow_kg_s: its flow [kg/s]; under zero, met on the way to a solution only, the law goes on straight.
        inlet_pa2: square of the absolute pressure at its head [Pa²].
        outlet_pa2: the same at the node at its end, after what is taken away there [Pa²].
        least_kg_s: flow at which the slope at no flow is taken [kg/s].

    Returns:
        Error [Pa²], its slope with the flow [Pa² s/kg], with inlet_pa2 and with outlet_pa2 [-].
    """
    end_pa2, with_end = outlet_pa2, 1.0
    threshold_pa = network.threshold_pa[piece]
    if threshold_pa > 0.0:
        end_pa = root_of(outlet_pa2, network.ambient_pressure_pa)
        end_pa2 += threshold_pa * (2.0 * end_pa + threshold_pa)
        with_end += threshold_pa / end_pa
    if is_bare(network, piece):
        return inlet_pa2 - end_pa2, 0.0, 1.0, -with_end
    flow = max(mass_flow_kg_s, least_kg_s)
    square = piece_square(network, piece, flow)
    loss, steep = piece_loss(network, piece, flow)
    if mass_flow_kg_s < least_kg_s:
        straight = loss / least_kg_s if mass_flow_kg_s > 0.0 or network.length_m[piece] > 0.0 else 0.0
        return inlet_pa2 - end_pa2 - straight * mass_flow_kg_s, -straight, 1.0, -with_end
    sonic = square > end_pa2
    end_pa2 = max(end_pa2, square)
    heads = math.log(inlet_pa2 / end_pa2) if inlet_pa2 > end_pa2 else 0.0
    error = inlet_pa2 - end_pa2 - loss - square * heads
    with_inlet, part = (1.0 - square / inlet_pa2, 1.0 - square / end_pa2) if heads > 0.0 else (1.0, 1.0)
    steep += 2.0 * square / flow * heads
    if sonic:
        return error, -steep - (0.0 if heads > 0.0 else 2.0 * square / flow), with_inlet, 0.0
    return error, -steep, with_inlet, -part * with_end


@inner_kernel
def outlet_loss(network: Network, outlet: int, mass_flow_kg_s: float) -> tuple[float, float]:
    """Return the pressure [Pa] that an outlet's membrane takes at a flow, and its slope [Pa s/kg].

    Straight between the curve's points and beyond the last; its first point is at no flow.
    """
    first, last = network.loss_start[outlet], network.loss_start[outlet + 1] - 1
    if last <= first:
        return network.loss_pressure_pa[first], 0.0
    point = first + 1
    while point < last and mass_flow_kg_s > network.loss_flow_kg_s[point]:
        point += 1
    slope = (network.loss_pressure_pa[point] - network.loss_pressure_pa[point - 1]) / (
        network.loss_flow_kg_s[point] - network.loss_flow_kg_s[point - 1]
    )
    loss_pa = network.loss_pressure_pa[point - 1] + slope * (
        mass_flow_kg_s - network.loss_flow_kg_s[point - 1]
    )
    return loss_pa, slope


@inner_kernel
def compressor_line(network: Network, gauge_pressure_pa: float) -> tuple[float, float]:
    """Return the compressor's mass flow [kg/s] at an outlet gauge pressure [Pa], and its slope [kg/(s Pa)].

    Linear between the curve's points, constant before the first, and along the last line beyond the last
    point: under zero past the pressure where nothing is left.
    """
    pressure = network.curve_pressure_pa
    flow = network.curve_mass_flow_kg_s
    last = len(pressure) - 1
    if last == 0 or gauge_pressure_pa <= pressure[0]:
        return flow[0], 0.0
    point = 1
    while point < last and gauge_pressure_pa > pressure[point]:
        point += 1
    slope = (flow[point] - flow[point - 1]) / (pressure[point] - pressure[point - 1])
    return flow[point - 1] + slope * (gauge_pressure_pa - pressure[point - 1]), slope


@fast_kernel
def compressor_mass_flow(network: Network, gauge_pressure_pa: float) -> float:
    """Return the compressor's mass flow [kg/s] at an outlet gauge pressure [Pa]; never below zero."""
    return max(compressor_line(network, gauge_pressure_pa)[0], 0.0)
