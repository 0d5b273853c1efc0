"""Valve settings that give each outlet of a network its wanted share of the air."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import network_balance, network_newton
from plumeline.kernels.network import piece_inlet_pressure, piece_outlet_pressure
from plumeline.stages.air.network import STANDARD_DENSITY_KG_M3, Branch, Valve, in_order
from plumeline.stages.air.tree import Raw, Solution, Tree, named

NOTHING_PA = 1e-4
"""Pressures left over under this are none."""


@dataclass(frozen=True)
class Balanced:
    """The point at which valves give every outlet its share."""

    solution: Solution
    """Port pressures are those to set; a branch's valve burns what its head has over them."""
    unit_standard_m3_s: float
    """Standard flow of an outlet of share 1."""
    loss_number: dict[str, float]
    """Loss coefficient K that the first valve of each branch must have, beside what it has when open."""
    stuck_pa: dict[str, float]
    """Diffusers without a valve before which so much is left over: their share can't be set."""


def balance_tree(tree: Tree, shares: dict[str, float]) -> Balanced | None:
    """Return the point at which valves give each outlet its share, the neediest way with all of them open.

    Args:
        tree: the compiled network, its valves open.
        shares: wanted flow of each branch's outlet beside the others'; who is not named is shut.

    Returns:
        The point; None where the compressor can't reach the deepest that is wanted.
    """
    weight = np.zeros(len(tree.arrays.outlet_node))
    for name, share in shares.items():
        weight[tree.outlets[name]] = share
    nodes = len(tree.arrays.parent)
    flow_kg_s, needed_pa = np.zeros(nodes), np.zeros(nodes)
    state, unit_kg_s = network_balance.solve_balanced(tree.arrays, weight, flow_kg_s, needed_pa)
    if state != network_newton.SOLVED:
        return None
    actual_pa = needed_pa.copy()
    losses: dict[str, float] = {}
    stuck: dict[str, float] = {}
    for branch in in_order(tree.network.branches):
        _hand_down(tree, branch, flow_kg_s, needed_pa, actual_pa, losses)
        node = tree.places[branch.name]
        over_pa = float(actual_pa[node] - needed_pa[node])
        if branch.outlet is not None and flow_kg_s[node] > 0.0 and over_pa > NOTHING_PA:
            stuck[branch.name] = over_pa
    raw = Raw(state, unit_kg_s * weight, actual_pa, flow_kg_s)
    return Balanced(named(tree, raw), unit_kg_s / STANDARD_DENSITY_KG_M3, losses, stuck)


def _hand_down(
    tree: Tree,
    branch: Branch,
    flow_kg_s: NDArray[np.float64],
    needed_pa: NDArray[np.float64],
    actual_pa: NDArray[np.float64],
    losses: dict[str, float],
) -> None:
    """Fill the pressures along a branch from the one at its head; its first valve burns what is over the need."""
    way = tree.pieces[branch.name] or (tree.places[branch.name],)
    valve = next((i for i, part in enumerate(branch.parts) if isinstance(part, Valve)), None)
    before_pa = float(actual_pa[tree.heads[branch.name]])
    for index, piece in enumerate(way):
        flow = float(flow_kg_s[piece])
        if flow <= 0.0:
            actual_pa[piece] = max(needed_pa[piece], min(actual_pa[piece], before_pa))
        elif index == valve:
            after_pa = float(needed_pa[piece])
            inlet_pa = piece_inlet_pressure(tree.arrays, piece, flow, after_pa)
            losses[branch.name] = (
                _loss_number(tree, piece, flow, before_pa, inlet_pa)
                if before_pa - inlet_pa > NOTHING_PA
                else 0.0
            )
            actual_pa[piece] = after_pa
        else:
            actual_pa[piece] = piece_outlet_pressure(tree.arrays, piece, flow, before_pa)
        before_pa = float(actual_pa[piece])


def _loss_number(tree: Tree, piece: int, flow_kg_s: float, before_pa: float, after_pa: float) -> float:
    """Return the K that burns the pressure before a valve down to what is needed: the pipe law without length."""
    arrays = tree.arrays
    flux = 4.0 * flow_kg_s / (math.pi * float(arrays.bore_m[piece]) ** 2)
    head = flux**2 * arrays.gas_constant_j_kg_k * float(arrays.temperature_k[piece])
    return max((before_pa**2 - after_pa**2) / head - 2.0 * math.log(before_pa / after_pa), 0.0)
