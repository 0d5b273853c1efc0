"""From the parts of an air line with one manifold to its operating points, by the network of `network` and `tree`."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from plumeline.errors import ModelError
from plumeline.science import air as air_science
from plumeline.stages.air import tree
from plumeline.stages.air.balancing import balance_tree
from plumeline.stages.air.line import cooled
from plumeline.stages.air.machine import Machine, curve_at_site
from plumeline.stages.air.network import (
    GRAVITY_M_S2,
    STANDARD_DENSITY_KG_M3,
    AirNetwork,
    Branch,
    Diffuser,
    LossPoint,
    Part,
    Pipe,
    SiteCurve,
    Valve,
    WaterPlug,
)
from plumeline.stages.air.results import (
    BranchPoint,
    BranchSpec,
    OperatingPoint,
    TrunkPiece,
    ValveSetting,
)
from plumeline.stages.air.tree import Solution
from plumeline.stages.air.valves import closed_fraction
from plumeline.stages.air.words import psi, psi_difference

TRUNK = "trunk"
"""Name of the branch that the manifold ends; no diffuser is named so."""


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
) -> AirNetwork:
    """Return the network of a line, with a valve's loss on each branch and some branches shut."""
    losses = loss_number or (0.0,) * len(line.branches)
    pressure_pa, flow_kg_s = curve_at_site(line.machine, line.ambient_pressure_pa, line.intake_degc + 273.15)
    trunk: list[Part] = []
    for piece in line.trunk:
        trunk.append(
            Pipe(
                piece.length_m,
                piece.bore_m,
                piece.roughness_m,
                piece.mean_temperature_degc,
                loss_number=piece.minor_loss_number,
            )
        )
        if piece.plug_height_m > 0.0:
            trunk.append(WaterPlug(piece.plug_height_m))
    branches = [Branch(TRUNK, parts=tuple(trunk))]
    for spec, loss in zip(line.branches, losses, strict=True):
        valve = Valve(
            spec.bore_m,
            0.0 if spec.name in shut else 1.0,
            loss_number=loss,
            temperature_degc=line.water_degc,
        )
        pipe = Pipe(spec.length_m, spec.bore_m, spec.roughness_m, line.water_degc)
        membrane = (LossPoint(0.0, line.membrane_loss_pa),)
        branches.append(Branch(spec.name, TRUNK, (valve, pipe), Diffuser(spec.depth_m, membrane)))
    return AirNetwork(
        source=SiteCurve(tuple(pressure_pa.tolist()), tuple(flow_kg_s.tolist())),
        branches=tuple(branches),
        ambient_pressure_pa=line.ambient_pressure_pa,
        water_density_kg_m3=line.water_density_kg_m3,
    )


def _operating_point(line: Line, case: str, solution: Solution) -> OperatingPoint:
    """Return a solution of the whole tree as the trade reads it: trunk, manifold, branches."""
    manifold_pa = solution.gauge_pa[TRUNK]
    points = []
    for spec in line.branches:
        state = solution.branch(spec.name)
        needed_pa = line.needed_pa(spec)
        flows = not state.dead and not state.shut
        points.append(
            BranchPoint(
                name=spec.name,
                flow_standard_m3_s=state.flow_standard_m3_s,
                port_pressure_pa=needed_pa if state.shut else state.port_pressure_pa,
                valve_drop_pa=manifold_pa - state.port_pressure_pa if flows else 0.0,
                needed_pressure_pa=needed_pa,
                reynolds_number=state.reynolds_number,
                shut=state.shut,
                dead=state.dead,
                shortfall_pa=max(needed_pa - manifold_pa, 0.0) if state.dead else 0.0,
            )
        )
    return OperatingPoint(
        case=case,
        compressor_pressure_pa=solution.compressor_pressure_pa,
        manifold_pressure_pa=manifold_pa,
        flow_standard_m3_s=solution.flow_standard_m3_s,
        flow_intake_m3_s=air_science.intake_flow_iso_1217_2009(
            solution.flow_standard_m3_s, line.ambient_pressure_pa, 0.0, line.intake_degc + 273.15
        ),
        branches=tuple(points),
        beyond_curve=solution.beyond_curve,
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
    solution = tree.solve(build_network(line, loss_number=loss_number, shut=shut))
    if not solution.reached:
        raise _no_reach(line)
    return _operating_point(line, case, solution)


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
    shares = {spec.name: spec.share_number for spec in line.branches if spec.name not in shut}
    found = balance_tree(tree.compile_tree(build_network(line, shut=shut)), shares)
    if found is None:
        raise _no_reach(line)
    losses = tuple(found.loss_number.get(spec.name, 0.0) for spec in line.branches)
    return _operating_point(line, case, found.solution), losses


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


def valve_settings(point: OperatingPoint, losses: tuple[float, ...]) -> tuple[ValveSetting, ...]:
    """Return how each valve is set at the balanced point, by its gauge first and by its handle roughly."""
    settings = []
    for branch, loss in zip(point.branches, losses, strict=True):
        closed = closed_fraction("ball", loss)
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
