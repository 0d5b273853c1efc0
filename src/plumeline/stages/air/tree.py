"""A described air network compiled to arrays, solved, and the answer put in names and gauge pressures.

`solve` does it in one call. Who solves one tree many times, with other bores or depths, compiles it once
(`compile_tree`), changes its arrays by ``arrays._replace(...)`` and calls `run`; `Tree` tells which row is what.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from plumeline.errors import ModelError
from plumeline.kernels import network as kernel_network
from plumeline.kernels import network_newton
from plumeline.science import air as air_science
from plumeline.science.pipe import reynolds_number_reynolds_1883
from plumeline.stages.air.fittings import fittings_loss_number
from plumeline.stages.air.network import (
    COMPRESSOR,
    FLOW_BASIS,
    GRAVITY_M_S2,
    LEAK_NUMBER,
    STANDARD_DENSITY_KG_M3,
    AirNetwork,
    Branch,
    CheckValve,
    Diffuser,
    OpenEnd,
    Part,
    Pipe,
    Valve,
    check_network,
    in_order,
)


@dataclass(frozen=True)
class Tree:
    """A network as arrays, and where its places are in them."""

    arrays: kernel_network.Network
    network: AirNetwork
    places: dict[str, int]
    """Node of each place: ``compressor``, the end of each branch by its name, ``port <name>`` after its valve."""
    heads: dict[str, int]
    """Node from which each branch hangs."""
    pieces: dict[str, tuple[int, ...]]
    """Piece of each part of each branch, in order."""
    outlets: dict[str, int]
    """Outlet of each branch that has one."""
    leaks: tuple[int, ...]
    """Outlet of each leak, in order."""


@dataclass(frozen=True)
class BranchState:
    """One branch at an operating point."""

    name: str
    flow_standard_m3_s: float
    head_pressure_pa: float
    """Gauge pressure where it begins, before its valve."""
    port_pressure_pa: float
    """Gauge pressure after its first valve; where it begins when it has none."""
    end_pressure_pa: float
    """Gauge pressure at its end: what stands before the membrane."""
    needed_pressure_pa: float
    """Gauge pressure at its head at which it begins to bubble; 0 without an outlet."""
    reynolds_number: float
    shut: bool
    """A valve in it or on the way to it is closed."""
    dead: bool
    """It ends in an outlet, nothing is shut, and it carries nothing."""


@dataclass(frozen=True)
class Solution:
    """Where compressor and network agree."""

    reached: bool
    """False where the compressor reaches no outlet: it stands at its shut-off pressure."""
    compressor_pressure_pa: float
    flow_standard_m3_s: float
    branches: tuple[BranchState, ...]
    leak_flow_standard_m3_s: tuple[float, ...]
    gauge_pa: dict[str, float]
    """Gauge pressure at each place."""
    beyond_curve: bool
    flow_basis: str = FLOW_BASIS

    def branch(self, name: str) -> BranchState:
        """Return the branch of that name."""
        return next(branch for branch in self.branches if branch.name == name)


class _Rows:
    """Rows of the arrays as they grow, one node at a time."""

    def __init__(self, network: AirNetwork) -> None:
        self.network = network
        self.rows: list[tuple[int, float, float, float, float, float, float, bool]] = [
            (-1, 0.0, 1.0, 0.0, 0.0, 20.0, 0.0, False)
        ]
        self.outlets: list[tuple[int, float, tuple[tuple[float, float], ...]]] = []

    def add(
        self,
        parent: int,
        *,
        length_m: float = 0.0,
        bore_m: float = 1.0,
        roughness_m: float = 0.0,
        loss_number: float = 0.0,
        temperature_degc: float = 20.0,
        threshold_pa: float = 0.0,
        closed: bool = False,
    ) -> int:
        """Add one piece and the node at its end; return the node."""
        row = (parent, length_m, bore_m, roughness_m, loss_number, temperature_degc, threshold_pa, closed)
        self.rows.append(row)
        return len(self.rows) - 1

    def part(self, parent: int, part: Part) -> int:
        """Add one part of a branch; return the node at its end."""
        if isinstance(part, Pipe):
            losses = fittings_loss_number(part.fittings, part.bore_m, threaded=part.threaded)
            return self.add(
                parent,
                length_m=part.length_m,
                bore_m=part.bore_m,
                roughness_m=part.roughness_m,
                loss_number=part.loss_number + losses,
                temperature_degc=part.temperature_degc,
            )
        if isinstance(part, Valve):
            return self.add(
                parent,
                bore_m=part.bore_m,
                loss_number=0.0 if part.is_shut else part.heads_number,
                temperature_degc=part.temperature_degc,
                closed=part.is_shut,
            )
        if isinstance(part, CheckValve):
            return self.add(parent, threshold_pa=part.cracking_pressure_pa)
        return self.add(parent, threshold_pa=part.density_kg_m3 * GRAVITY_M_S2 * part.height_m)

    def outlet(self, node: int, depth_m: float, entries: tuple[tuple[float, float], ...]) -> int:
        """Add an outlet; return its number."""
        network = self.network
        head_pa = network.water_density_kg_m3 * GRAVITY_M_S2 * depth_m
        self.outlets.append((node, network.ambient_pressure_pa + head_pa, entries))
        return len(self.outlets) - 1

    def arrays(self) -> kernel_network.Network:
        """Return the arrays of the kernel."""
        network = self.network
        parent, length, bore, roughness, loss, degc, threshold, closed = zip(*self.rows, strict=True)
        temperature_k = np.array(degc) + 273.15
        given = network.laws.viscosity_pa_s
        viscosity = [
            air_science.viscosity_sutherland_1893(float(kelvin)) if given is None else given
            for kelvin in temperature_k
        ]
        curves = [point for _node, _pa, curve in self.outlets for point in curve]
        starts = np.cumsum([0, *(len(curve) for _node, _pa, curve in self.outlets)])
        return kernel_network.Network(
            parent=np.array(parent, dtype=np.int64),
            length_m=np.array(length),
            bore_m=np.array(bore),
            roughness_m=np.array(roughness),
            loss_number=np.array(loss),
            temperature_k=temperature_k,
            viscosity_pa_s=np.array(viscosity),
            threshold_pa=np.array(threshold),
            closed=np.array(closed),
            outlet_node=np.array([node for node, _pa, _curve in self.outlets], dtype=np.int64),
            outlet_pressure_pa=np.array([pa for _node, pa, _curve in self.outlets]),
            loss_start=starts.astype(np.int64),
            loss_flow_kg_s=np.array([flow for flow, _pa in curves]),
            loss_pressure_pa=np.array([pa for _flow, pa in curves]),
            curve_pressure_pa=np.array(network.source.pressure_pa, dtype=np.float64),
            curve_mass_flow_kg_s=np.array(network.source.flow_kg_s, dtype=np.float64),
            ambient_pressure_pa=network.ambient_pressure_pa,
            gas_constant_j_kg_k=network.laws.gas_constant_j_kg_k,
            friction_law=network.laws.friction_law,
        )


def _membrane_curve(outlet: Diffuser | OpenEnd) -> tuple[tuple[float, float], ...]:
    """Return mass flow and pressure of an outlet's curve, its first point at no flow."""
    if isinstance(outlet, OpenEnd) or not outlet.membrane:
        return ((0.0, 0.0),)
    points = [
        (point.flow_standard_m3_s * STANDARD_DENSITY_KG_M3 * outlet.count, point.pressure_pa)
        for point in outlet.membrane
    ]
    return tuple(points) if points[0][0] <= 0.0 else ((0.0, points[0][1]), *points)


def compile_tree(network: AirNetwork) -> Tree:
    """Return a network as arrays.

    Raises:
        InputError: not a tree, or a part, outlet or leak that can't be.
    """
    check_network(network)
    rows = _Rows(network)
    places, heads = {COMPRESSOR: 0}, {}
    pieces: dict[str, tuple[int, ...]] = {}
    outlets: dict[str, int] = {}
    leaks = {}
    for branch in in_order(network.branches):
        node = heads[branch.name] = places[branch.parent]
        nodes = [node]
        for part in branch.parts:
            node = rows.part(node, part)
            nodes.append(node)
            if isinstance(part, Valve):
                places.setdefault(f"port {branch.name}", node)
        if not branch.parts:
            node = rows.add(node)
        pieces[branch.name] = tuple(nodes[1:])
        places[branch.name] = node
        places.setdefault(f"port {branch.name}", heads[branch.name])
        if branch.outlet is not None:
            outlets[branch.name] = rows.outlet(node, branch.outlet.depth_m, _membrane_curve(branch.outlet))
        for index, leak in enumerate(network.leaks):
            if leak.branch == branch.name:
                hole = rows.add(
                    nodes[leak.after_parts_count], bore_m=leak.diameter_m, loss_number=LEAK_NUMBER
                )
                leaks[index] = rows.outlet(hole, leak.depth_m, ((0.0, 0.0),))
    ordered = tuple(leaks[index] for index in range(len(network.leaks)))
    return Tree(rows.arrays(), network, places, heads, pieces, outlets, ordered)


@dataclass(frozen=True)
class Raw:
    """The solver's own answer: state, flow of each outlet and piece [kg/s], absolute pressure of each node [Pa]."""

    state: int
    outlet_kg_s: NDArray[np.float64]
    pressure_pa: NDArray[np.float64]
    flow_kg_s: NDArray[np.float64]


def run(arrays: kernel_network.Network) -> Raw:
    """Solve arrays: what `solve_tree` does without names, for those who solve thousands."""
    nodes, outlets = len(arrays.parent), len(arrays.outlet_node)
    raw = Raw(0, np.zeros(outlets), np.zeros(nodes), np.zeros(nodes))
    state = network_newton.solve_network(arrays, raw.outlet_kg_s, raw.pressure_pa, raw.flow_kg_s)
    return Raw(state, raw.outlet_kg_s, raw.pressure_pa, raw.flow_kg_s)


def solve_tree(tree: Tree) -> Solution:
    """Solve a compiled network for its operating point.

    Raises:
        ModelError: nothing settles, as with a constant flow into a network that is shut.
    """
    raw = run(tree.arrays)
    if raw.state == network_newton.UNSOLVED or not math.isfinite(raw.pressure_pa[0]):
        raise ModelError(
            "the air network has no operating point.",
            remedy="Check lengths, bores, the compressor's curve, and that some outlet is open.",
        )
    return named(tree, raw)


def solve(network: AirNetwork) -> Solution:
    """Solve a network for its operating point.

    Raises:
        InputError: not a tree, or a part, outlet or leak that can't be.
        ModelError: nothing settles.
    """
    return solve_tree(compile_tree(network))


def named(tree: Tree, raw: Raw) -> Solution:
    """Put names and gauge pressures to a solution in arrays."""
    arrays = tree.arrays
    gauge = raw.pressure_pa - arrays.ambient_pressure_pa
    live = np.zeros(len(gauge), dtype=np.bool_)
    network_newton.find_live(arrays, live)
    leak_flows = tuple(float(raw.outlet_kg_s[k]) / STANDARD_DENSITY_KG_M3 for k in tree.leaks)
    return Solution(
        reached=raw.state == network_newton.SOLVED,
        compressor_pressure_pa=float(gauge[0]),
        flow_standard_m3_s=float(raw.flow_kg_s[0]) / STANDARD_DENSITY_KG_M3,
        branches=tuple(_state(tree, raw, gauge, live, branch) for branch in tree.network.branches),
        leak_flow_standard_m3_s=leak_flows,
        gauge_pa={place: float(gauge[node]) for place, node in tree.places.items()},
        beyond_curve=bool(len(arrays.curve_pressure_pa) > 1 and gauge[0] > arrays.curve_pressure_pa[-1]),
    )


def _state(
    tree: Tree, raw: Raw, gauge: NDArray[np.float64], live: NDArray[np.bool_], branch: Branch
) -> BranchState:
    """Return one branch of a solution."""
    node, head = tree.places[branch.name], tree.heads[branch.name]
    first = tree.pieces[branch.name][0] if branch.parts else node
    flow_kg_s = float(raw.flow_kg_s[first])
    needed_pa = 0.0
    if branch.outlet is not None:
        bubbling_pa = network_newton.bubbling_pressure(tree.arrays, tree.outlets[branch.name])
        passed_pa = _thresholds_pa(tree, head)
        needed_pa = bubbling_pa - passed_pa - tree.arrays.ambient_pressure_pa
    last_pipe = next((part for part in reversed(branch.parts) if isinstance(part, Pipe)), None)
    reynolds_number = 0.0
    if last_pipe is not None:
        viscosity_pa_s = float(tree.arrays.viscosity_pa_s[tree.pieces[branch.name][0]])
        reynolds_number = reynolds_number_reynolds_1883(flow_kg_s, last_pipe.bore_m, viscosity_pa_s)
    outlet_kg_s = (
        float(raw.outlet_kg_s[tree.outlets[branch.name]]) if branch.outlet is not None else flow_kg_s
    )
    return BranchState(
        name=branch.name,
        flow_standard_m3_s=flow_kg_s / STANDARD_DENSITY_KG_M3,
        head_pressure_pa=float(gauge[head]),
        port_pressure_pa=float(gauge[tree.places[f"port {branch.name}"]]),
        end_pressure_pa=float(gauge[node]),
        needed_pressure_pa=needed_pa,
        reynolds_number=reynolds_number,
        shut=not bool(live[node]),
        dead=branch.outlet is not None and bool(live[node]) and outlet_kg_s <= 0.0,
    )


def _thresholds_pa(tree: Tree, node: int) -> float:
    """Return what check valves and water take away between the compressor and a node [Pa]."""
    total_pa = 0.0
    while node > 0:
        total_pa += float(tree.arrays.threshold_pa[node])
        node = int(tree.arrays.parent[node])
    return total_pa
