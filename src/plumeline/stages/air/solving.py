"""From the parts of an air line with one manifold to its operating points, by the network of `network` and `tree`."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from plumeline.errors import DepthError
from plumeline.job.document import Cabinet
from plumeline.science import air as air_science
from plumeline.stages.air import tree
from plumeline.stages.air.balancing import NOTHING_PA, balance_tree
from plumeline.stages.air.line import cooled
from plumeline.stages.air.machine import Machine, curve_at_site
from plumeline.stages.air.network import (
    GRAVITY_M_S2,
    STANDARD_DENSITY_KG_M3,
    AirNetwork,
    Branch,
    CheckValve,
    Diffuser,
    LossPoint,
    Part,
    Pipe,
    SiteCurve,
    Valve,
    WaterPlug,
)
from plumeline.stages.air.results import (
    MANIFOLD,
    BranchPoint,
    BranchSpec,
    Junction,
    LineSpec,
    OperatingPoint,
    TrunkPiece,
)
from plumeline.stages.air.tree import Solution
from plumeline.stages.air.words import psi


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
    lines: tuple[LineSpec, ...] = ()
    """Lines beyond the manifold, where the tree has more than one."""
    membrane: tuple[LossPoint, ...] = ()
    """Curve of the membranes; empty: the same loss at any flow."""
    filter_loss_pa: float = 0.0
    cabinet: Cabinet | None = None
    """What the compressor stands in; None where nothing is known of it."""

    def membrane_of(self, branch: BranchSpec) -> tuple[LossPoint, ...]:
        """Return the curve of a branch's membrane."""
        return branch.membrane or self.membrane or (LossPoint(0.0, self.membrane_loss_pa),)

    def water_pa(self, height_m: float) -> float:
        """Return the pressure [Pa] of a height of the pond's water."""
        return self.water_density_kg_m3 * GRAVITY_M_S2 * height_m

    def needed_pa(self, branch: BranchSpec) -> float:
        """Return the gauge pressure [Pa] at a branch's head at which its outlet begins to bubble."""
        lifted_pa = self.water_pa(branch.depth_m + branch.standing_water_m)
        return lifted_pa + self.membrane_of(branch)[0].pressure_pa + branch.check_valve_pa

    def passed_pa(self, branch: BranchSpec) -> float:
        """Return what check valves and standing water take between the compressor and a branch's head [Pa]."""
        pieces = list(self.trunk)
        by_name = {line.name: line for line in self.lines}
        name = branch.hangs_from
        while name in by_name:
            pieces.append(by_name[name].piece)
            name = by_name[name].hangs_from
        return sum(piece.check_valve_pa + self.water_pa(piece.plug_height_m) for piece in pieces)

    def site_curve(self) -> SiteCurve:
        """Return the machine's curve at the site."""
        pressure_pa, flow_kg_s = curve_at_site(
            self.machine, self.ambient_pressure_pa, self.intake_degc + 273.15, self.filter_loss_pa
        )
        return SiteCurve(tuple(pressure_pa.tolist()), tuple(flow_kg_s.tolist()))

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
    branches = [Branch(MANIFOLD, parts=tuple(part for piece in line.trunk for part in _parts(line, piece)))]
    branches += [Branch(item.name, item.hangs_from, _parts(line, item.piece)) for item in line.lines]
    for spec, loss in zip(line.branches, losses, strict=True):
        opening = 0.0 if spec.name in shut else 1.0
        parts: list[Part] = [
            Valve(spec.bore_m, opening, spec.valve, loss, line.water_degc),
            Pipe(spec.length_m, spec.bore_m, spec.roughness_m, line.water_degc, loss_number=spec.loss_number),
            *_taken(line, spec.check_valve_pa, spec.standing_water_m),
        ]
        outlet = Diffuser(spec.depth_m, line.membrane_of(spec))
        branches.append(Branch(spec.name, spec.hangs_from, tuple(parts), outlet))
    return AirNetwork(
        source=line.site_curve(),
        branches=tuple(branches),
        ambient_pressure_pa=line.ambient_pressure_pa,
        water_density_kg_m3=line.water_density_kg_m3,
    )


def _parts(line: Line, piece: TrunkPiece) -> tuple[Part, ...]:
    """Return the parts of one piece of the trunk or of a line."""
    pipe = Pipe(
        piece.length_m,
        piece.bore_m,
        piece.roughness_m,
        piece.mean_temperature_degc,
        loss_number=piece.minor_loss_number,
    )
    return (pipe, *_taken(line, piece.check_valve_pa, piece.plug_height_m))


def _taken(line: Line, check_valve_pa: float, standing_water_m: float) -> list[Part]:
    """Return a check valve and standing water, where there are any."""
    parts: list[Part] = []
    if check_valve_pa > 0.0:
        parts.append(CheckValve(check_valve_pa))
    if standing_water_m > 0.0:
        parts.append(WaterPlug(standing_water_m, line.water_density_kg_m3))
    return parts


def _operating_point(line: Line, case: str, solution: Solution) -> OperatingPoint:
    """Return a solution of the whole tree as the trade reads it: trunk, manifold, branches."""
    manifold_pa = solution.gauge_pa[MANIFOLD]
    points = []
    for spec in line.branches:
        state = solution.branch(spec.name)
        needed_pa = line.needed_pa(spec)
        burned_pa = state.head_pressure_pa - state.port_pressure_pa
        flows = not state.dead and not state.shut and burned_pa > NOTHING_PA
        points.append(
            BranchPoint(
                name=spec.name,
                flow_standard_m3_s=state.flow_standard_m3_s,
                port_pressure_pa=needed_pa if state.shut else state.port_pressure_pa,
                valve_drop_pa=burned_pa if flows else 0.0,
                needed_pressure_pa=needed_pa,
                reynolds_number=state.reynolds_number,
                shut=state.shut,
                dead=state.dead,
                shortfall_pa=max(needed_pa - state.head_pressure_pa, 0.0) if state.dead else 0.0,
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
        junctions=tuple(
            Junction(item.name, solution.gauge_pa[item.name], solution.branch(item.name).flow_standard_m3_s)
            for item in line.lines
        ),
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
    curve = line.site_curve()
    pressure_pa, flow_kg_s = curve.pressure_pa, curve.flow_kg_s
    slope = (flow_kg_s[-1] - flow_kg_s[-2]) / (pressure_pa[-1] - pressure_pa[-2])
    return float(pressure_pa[-1] - flow_kg_s[-1] / slope) if slope < 0.0 else math.inf


def _no_reach(line: Line) -> DepthError:
    """Return the error of a compressor that can't reach any diffuser."""
    easiest = min(line.branches, key=line.needed_pa)
    return DepthError(
        f"{line.machine.words} can't reach the depth: it gives no air beyond "
        f"{psi(shutoff_pressure_pa(line))}, and {easiest.name}, the easiest, needs "
        f"{psi(line.needed_pa(easiest))}.",
        remedy="Take a compressor for a higher pressure, or set the diffusers shallower.",
        place="air.compressor",
    )


def unreachable(line: Line) -> frozenset[str]:
    """Return the names of the branches that this compressor can never reach."""
    limit_pa = shutoff_pressure_pa(line)
    return frozenset(
        spec.name for spec in line.branches if line.needed_pa(spec) + line.passed_pa(spec) >= limit_pa
    )


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


def _cooled_lines(line: Line, trunk: tuple[TrunkPiece, ...], point: OperatingPoint) -> tuple[LineSpec, ...]:
    """Return the lines beyond the manifold at the temperatures of their flows."""
    start_degc = {MANIFOLD: trunk[-1].end_temperature_degc if trunk else line.intake_degc}
    flow_kg_s = {item.name: item.flow_standard_m3_s * STANDARD_DENSITY_KG_M3 for item in point.junctions}
    found: dict[str, LineSpec] = {}
    left = list(line.lines)
    while left:
        ready = [item for item in left if item.hangs_from in start_degc]
        for item in ready:
            left.remove(item)
            if flow_kg_s[item.name] > 0.0:
                (piece,) = cooled(
                    (item.piece,),
                    start_degc[item.hangs_from],
                    flow_kg_s[item.name],
                    line.intake_degc,
                    line.soil_degc,
                )
                item = replace(item, piece=piece)
            start_degc[item.name] = item.piece.end_temperature_degc
            found[item.name] = item
    return tuple(found[item.name] for item in line.lines)


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
        line = replace(line, trunk=trunk, lines=_cooled_lines(line, trunk, point))
    return line
