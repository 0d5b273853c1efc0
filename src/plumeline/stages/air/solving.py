"""From the parts of an air line to its operating points: the bridge to the compiled network."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from plumeline.errors import ModelError
from plumeline.kernels import network as kernel_network
from plumeline.science import air as air_science
from plumeline.science.pipe import reynolds_number_reynolds_1883
from plumeline.sources import read_table
from plumeline.stages.air.line import cooled
from plumeline.stages.air.machine import Machine, curve_at_site
from plumeline.stages.air.results import (
    BranchPoint,
    BranchSpec,
    OperatingPoint,
    TrunkPiece,
    ValveSetting,
)
from plumeline.stages.air.words import psi, psi_difference

GRAVITY_M_S2 = 9.80665
STANDARD_DENSITY_KG_M3 = air_science.density_clapeyron_1834(
    air_science.STANDARD_PRESSURE_PA, air_science.STANDARD_TEMPERATURE_K
)


@dataclass(frozen=True)
class Line:
    """All that is solved together."""

    machine: Machine
    trunk: tuple[TrunkPiece, ...]
    branches: tuple[BranchSpec, ...]
    ambient_pressure_pa: float
    intake_degc: float
    soil_degc: float
    water_degc: float
    water_density_kg_m3: float
    membrane_loss_pa: float

    def needed_pa(self, branch: BranchSpec) -> float:
        """Return the gauge pressure [Pa] at which a branch's outlet begins to bubble."""
        return self.water_density_kg_m3 * GRAVITY_M_S2 * branch.depth_m + self.membrane_loss_pa

    def outlet_degc(self, gauge_pressure_pa: float) -> float:
        """Return the temperature [°C] of the air as it leaves the compressor."""
        ratio = 1.0 + gauge_pressure_pa / self.ambient_pressure_pa
        outlet_k = air_science.discharge_temperature_mills_2004(
            self.intake_degc + 273.15, ratio, self.machine.compression_efficiency
        )
        return outlet_k - 273.15


def build_network(
    line: Line, *, loss_number: tuple[float, ...] | None = None, shut: frozenset[str] = frozenset()
) -> kernel_network.Network:
    """Return the arrays of a line, with a valve's loss on each branch and some branches shut."""
    losses = loss_number or (0.0,) * len(line.branches)
    pressure_pa, flow_kg_s = curve_at_site(line.machine, line.ambient_pressure_pa, line.intake_degc + 273.15)
    trunk, branches = line.trunk, line.branches
    parts: tuple[TrunkPiece | BranchSpec, ...] = (*trunk, *branches)
    temperature_k = np.array(
        [piece.mean_temperature_degc + 273.15 for piece in trunk] + [line.water_degc + 273.15] * len(branches)
    )
    outlet_pa = [math.inf if spec.name in shut else line.needed_pa(spec) for spec in branches]
    return kernel_network.Network(
        length_m=np.array([part.length_m for part in parts]),
        bore_m=np.array([part.bore_m for part in parts]),
        roughness_m=np.array([part.roughness_m for part in parts]),
        minor_loss_number=np.array([piece.minor_loss_number for piece in trunk] + list(losses)),
        temperature_k=temperature_k,
        viscosity_pa_s=np.array([air_science.viscosity_sutherland_1893(float(t)) for t in temperature_k]),
        chain_start=np.array([0, *range(len(trunk), len(trunk) + len(branches) + 1)]),
        outlet_pressure_pa=np.array(outlet_pa) + line.ambient_pressure_pa,
        curve_pressure_pa=pressure_pa,
        curve_mass_flow_kg_s=flow_kg_s,
        ambient_pressure_pa=line.ambient_pressure_pa,
        gas_constant_j_kg_k=air_science.GAS_CONSTANT_J_KG_K,
        friction_law=kernel_network.CHURCHILL,
    )


def _operating_point(
    line: Line,
    case: str,
    compressor_pa: float,
    manifold_pa: float,
    flow_kg_s: NDArray[np.float64],
    port_pa: NDArray[np.float64],
    shut: frozenset[str],
) -> OperatingPoint:
    """Put names and gauge pressures to a solution in absolute pressures."""
    ambient_pa = line.ambient_pressure_pa
    viscosity_pa_s = air_science.viscosity_sutherland_1893(line.water_degc + 273.15)
    points = []
    for index, spec in enumerate(line.branches):
        flow = float(flow_kg_s[index])
        needed_pa = line.needed_pa(spec)
        closed = spec.name in shut
        dead = flow <= 0.0 and not closed
        points.append(
            BranchPoint(
                name=spec.name,
                flow_standard_m3_s=flow / STANDARD_DENSITY_KG_M3,
                port_pressure_pa=needed_pa if closed else float(port_pa[index]) - ambient_pa,
                valve_drop_pa=0.0 if dead or closed else float(manifold_pa - port_pa[index]),
                needed_pressure_pa=needed_pa,
                reynolds_number=reynolds_number_reynolds_1883(flow, spec.bore_m, viscosity_pa_s),
                shut=closed,
                dead=dead,
                shortfall_pa=max(needed_pa + ambient_pa - manifold_pa, 0.0) if dead else 0.0,
            )
        )
    total_standard = float(flow_kg_s.sum()) / STANDARD_DENSITY_KG_M3
    last_pa = curve_at_site(line.machine, ambient_pa, line.intake_degc + 273.15)[0][-1]
    return OperatingPoint(
        case=case,
        compressor_pressure_pa=compressor_pa - ambient_pa,
        manifold_pressure_pa=manifold_pa - ambient_pa,
        flow_standard_m3_s=total_standard,
        flow_intake_m3_s=air_science.intake_flow_iso_1217_2009(
            total_standard, ambient_pa, 0.0, line.intake_degc + 273.15
        ),
        branches=tuple(points),
        beyond_curve=bool(compressor_pa - ambient_pa > last_pa),
    )


def solve(
    line: Line,
    case: str,
    *,
    loss_number: tuple[float, ...] | None = None,
    shut: frozenset[str] = frozenset(),
) -> OperatingPoint:
    """Return the operating point of a line with given valves.

    Args:
        line: the line.
        case: words for the setting of the valves.
        loss_number: loss coefficient K of each branch's valve; all 0 when None.
        shut: names of the branches whose valve is closed.

    Raises:
        ModelError: the compressor can't reach any outlet, or nothing settles.
    """
    net = build_network(line, loss_number=loss_number, shut=shut)
    flow_kg_s = np.zeros(len(line.branches))
    state, compressor_pa, manifold_pa = kernel_network.solve_network(net, flow_kg_s)
    if state == kernel_network.ALL_DEAD:
        raise _no_reach(line)
    if state != kernel_network.SOLVED:
        raise ModelError(
            "the air line has no operating point.", remedy="Check lengths, bores and the compressor's curve."
        )
    losses = loss_number or (0.0,) * len(line.branches)
    open_ports = build_network(line, shut=shut)
    port_pa = np.full(len(line.branches), manifold_pa)
    for index, loss in enumerate(losses):
        if loss > 0.0 and flow_kg_s[index] > 0.0:
            port_pa[index] = kernel_network.chain_inlet_pressure(
                open_ports, index + 1, float(flow_kg_s[index]), float(net.outlet_pressure_pa[index])
            )
    return _operating_point(line, case, compressor_pa, manifold_pa, flow_kg_s, port_pa, shut)


def shutoff_pressure_pa(line: Line) -> float:
    """Return the gauge pressure [Pa] at which the compressor's curve, carried on, gives no more air."""
    pressure_pa, flow_kg_s = curve_at_site(line.machine, line.ambient_pressure_pa, line.intake_degc + 273.15)
    slope = (flow_kg_s[-1] - flow_kg_s[-2]) / (pressure_pa[-1] - pressure_pa[-2])
    return float(pressure_pa[-1] - flow_kg_s[-1] / slope) if slope < 0.0 else math.inf


def _no_reach(line: Line) -> ModelError:
    """Return the error of a compressor that can't reach any diffuser."""
    easiest = min(line.branches, key=line.needed_pa)
    return ModelError(
        f"{line.machine.words} can't reach the depth: it gives no air beyond "
        f"{psi(shutoff_pressure_pa(line))}, and {easiest.name}, the easiest, needs "
        f"{psi(line.needed_pa(easiest))}.",
        remedy="Take a compressor for a higher pressure, or set the diffusers shallower.",
        place="air.compressor",
    )


def unreachable(line: Line) -> frozenset[str]:
    """Return the names of the branches that this compressor can never reach."""
    limit_pa = shutoff_pressure_pa(line)
    return frozenset(spec.name for spec in line.branches if line.needed_pa(spec) >= limit_pa)


def solve_balanced(
    line: Line, case: str, shut: frozenset[str] = frozenset()
) -> tuple[OperatingPoint, tuple[float, ...]]:
    """Return the point at which the valves give each branch its share, and each valve's K.

    The neediest branch's valve is full open; the others burn what is left over.

    Raises:
        ModelError: the compressor can't reach the deepest of the open branches.
    """
    net = build_network(line, shut=shut)
    share_number = np.array([0.0 if spec.name in shut else spec.share_number for spec in line.branches])
    port_pa = np.zeros(len(line.branches))
    state, unit_kg_s, compressor_pa, manifold_pa = kernel_network.solve_balanced(net, share_number, port_pa)
    if state != kernel_network.SOLVED:
        raise _no_reach(line)
    flow_kg_s = unit_kg_s * share_number
    point = _operating_point(line, case, compressor_pa, manifold_pa, flow_kg_s, port_pa, shut)
    losses = tuple(
        0.0 if spec.name in shut else _valve_loss_number(line, spec, float(flow), manifold_pa, float(port))
        for spec, flow, port in zip(line.branches, flow_kg_s, port_pa, strict=True)
    )
    return point, losses


def _valve_loss_number(
    line: Line, spec: BranchSpec, flow_kg_s: float, manifold_pa: float, port_pa: float
) -> float:
    """Return the K that burns the pressure from manifold to port: the pipe law with a valve and no length."""
    flux = 4.0 * flow_kg_s / (math.pi * spec.bore_m**2)
    head = flux**2 * air_science.GAS_CONSTANT_J_KG_K * (line.water_degc + 273.15)
    return max((manifold_pa**2 - port_pa**2) / head - 2.0 * math.log(manifold_pa / port_pa), 0.0)


def settled(line: Line, shut: frozenset[str] = frozenset()) -> Line:
    """Return the line with its trunk at the temperatures of the balanced flow, found by three passes."""
    for _ in range(3):
        point, _losses = solve_balanced(line, "", shut)
        trunk = cooled(
            line.trunk,
            line.outlet_degc(point.compressor_pressure_pa),
            point.flow_standard_m3_s * STANDARD_DENSITY_KG_M3,
            line.intake_degc,
            line.soil_degc,
        )
        line = replace(line, trunk=trunk)
    return line


def ball_closed_fraction(loss_number: float) -> float | None:
    """Return about how far a ball valve of the branch's bore is closed for a loss K; None beyond the table.

    Between the table's rows ln K is taken as straight in the closing: a guide for the hand, no more.
    """
    rows = [row for row in read_table("valve_openings") if row["valve"] == "ball"]
    points = [(float(row["closed_fraction"]), float(row["loss_number"])) for row in rows]
    if loss_number <= points[0][1]:
        return 0.0
    for (low, low_loss), (high, high_loss) in pairwise(points):
        if loss_number <= high_loss:
            return low + (high - low) * math.log(loss_number / low_loss) / math.log(high_loss / low_loss)
    return None


def valve_settings(point: OperatingPoint, losses: tuple[float, ...]) -> tuple[ValveSetting, ...]:
    """Return how each valve is set at the balanced point, by its gauge first and by its handle roughly."""
    settings = []
    for branch, loss in zip(point.branches, losses, strict=True):
        closed = ball_closed_fraction(loss)
        gauge = f"set by the gauge: {psi(branch.port_pressure_pa)} after the valve"
        if branch.shut:
            words = "shut: the compressor can't reach this depth"
        elif loss <= 0.05:
            words = "full open"
        elif closed is None:
            words = f"{gauge}; a ball valve would be nearly shut, take a needle or globe valve"
        else:
            words = f"{gauge}; a ball valve is then roughly {100.0 * closed:.0f} % closed, real ones differ"
        if loss > 0.05:
            words += f"; it burns {psi_difference(branch.valve_drop_pa)}"
        settings.append(
            ValveSetting(branch.name, branch.port_pressure_pa, branch.valve_drop_pa, loss, closed, words)
        )
    return tuple(settings)
