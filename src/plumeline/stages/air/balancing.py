"""Valve settings that give each outlet of a network its wanted share of the air."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from plumeline.kernels import network_newton
from plumeline.kernels.network import piece_inlet_pressure
from plumeline.stages.air.network import STANDARD_DENSITY_KG_M3, Valve
from plumeline.stages.air.tree import Raw, Solution, Tree, named


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
    """Branches without a valve that would have to burn this much: their share can't be set."""


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
    state, unit_kg_s = network_newton.solve_balanced(tree.arrays, weight, flow_kg_s, needed_pa)
    if state != network_newton.SOLVED:
        return None
    raw = Raw(state, unit_kg_s * weight, needed_pa, flow_kg_s)
    losses: dict[str, float] = {}
    stuck: dict[str, float] = {}
    for branch in tree.network.branches:
        way = tree.pieces[branch.name] or (tree.places[branch.name],)
        flow = float(flow_kg_s[way[0]])
        if flow <= 0.0:
            continue
        head_pa = float(needed_pa[tree.heads[branch.name]])
        left_over_pa = head_pa - piece_inlet_pressure(tree.arrays, way[0], flow, float(needed_pa[way[0]]))
        valve = next((i for i, part in enumerate(branch.parts) if isinstance(part, Valve)), None)
        if left_over_pa <= 1e-6:
            losses[branch.name] = 0.0
        elif valve is None:
            stuck[branch.name] = left_over_pa
        else:
            before_pa = _pressure_behind(tree, way[:valve], flow, head_pa)
            after_pa = piece_inlet_pressure(tree.arrays, way[valve], flow, float(needed_pa[way[valve]]))
            losses[branch.name] = _loss_number(tree, way[valve], flow, before_pa, after_pa)
    return Balanced(named(tree, raw), unit_kg_s / STANDARD_DENSITY_KG_M3, losses, stuck)


def _pressure_behind(tree: Tree, pieces: tuple[int, ...], flow_kg_s: float, head_pa: float) -> float:
    """Return the absolute pressure [Pa] that is left of the head's behind some pieces, by halving."""
    if not pieces:
        return head_pa

    def inlet_pa(end_pa: float) -> float:
        for piece in reversed(pieces):
            end_pa = piece_inlet_pressure(tree.arrays, piece, flow_kg_s, end_pa)
        return end_pa

    low_pa, high_pa = 0.0, head_pa
    for _ in range(80):
        middle_pa = 0.5 * (low_pa + high_pa)
        low_pa, high_pa = (low_pa, middle_pa) if inlet_pa(middle_pa) > head_pa else (middle_pa, high_pa)
    return low_pa


def _loss_number(tree: Tree, piece: int, flow_kg_s: float, before_pa: float, after_pa: float) -> float:
    """Return the K that burns the pressure before a valve down to what is needed: the pipe law without length."""
    arrays = tree.arrays
    flux = 4.0 * flow_kg_s / (math.pi * float(arrays.bore_m[piece]) ** 2)
    head = flux**2 * arrays.gas_constant_j_kg_k * float(arrays.temperature_k[piece])
    return max((before_pa**2 - after_pa**2) / head - 2.0 * math.log(before_pa / after_pa), 0.0)
