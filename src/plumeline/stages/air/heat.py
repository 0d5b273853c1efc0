"""The line on a hot day behind a dirty filter: its heat, what plastic then stands, where metal must come first."""

from __future__ import annotations

from dataclasses import dataclass, replace

from plumeline.notices import Notice, caution, danger, note
from plumeline.pairs import pair
from plumeline.science.air import discharge_temperature_mills_2004
from plumeline.stages.air.cabinet import CabinetHeat, Inside, cabinet_heat
from plumeline.stages.air.line import (
    DESIGN_COVER_M,
    SAFE_MARGIN_DEGC,
    cooled,
    cooling_length_m,
    metal_length_m,
    rating_fraction,
)
from plumeline.stages.air.machine import hottest_known_degc
from plumeline.stages.air.network import STANDARD_DENSITY_KG_M3
from plumeline.stages.air.power import wire_power_w
from plumeline.stages.air.results import MANIFOLD, LinePoint, OperatingPoint, TrunkPiece
from plumeline.stages.air.solving import Line
from plumeline.stages.air.words import degf
from plumeline.units import both

HOT_DAY_DEGC = 35.0
FILTER_LOSS_PA = 2700.0
"""A dirty inlet filter: 0.4 psi; common practice, no published source."""
TUBING_LIMIT_DEGC = 50.0
"""Service limit of weighted tubing in the table of pipes."""
WARM_CABINET_K = 30.0 / 1.8
"""Rise over which a cabinet needs more air: 30 °F, the high end of common practice."""


@dataclass(frozen=True)
class HotPiece:
    """One piece of the line on the hot day."""

    pipe: str
    length_m: float
    cover_m: float
    cooling_length_m: float
    """Over which its air loses 63 % of its excess over the surroundings."""
    start_temperature_degc: float
    end_temperature_degc: float


@dataclass(frozen=True)
class PlasticJoint:
    """One joint in which plastic pipe ends, on the hot day."""

    where: str
    distance_m: float
    """From the compressor."""
    pipe: str
    temperature_degc: float
    service_limit_degc: float
    rating_pa: float | None
    """For water at 73 °F; None where none is known."""
    rating_fraction: float | None
    """Part of it that is left in the heat; None beyond the service limit."""
    derated_pa: float | None
    """What it stands for water at this temperature; None where that is not known, or over the limit."""
    too_hot: bool
    """Under 10 °C from the service limit, or over it."""


@dataclass(frozen=True)
class HotDay:
    """The line on a hot day with a dirty filter, at the balanced flow."""

    outlet_degc: float
    air_degc: float
    filter_loss_pa: float
    cabinet: CabinetHeat
    pieces: tuple[HotPiece, ...]
    joints: tuple[PlasticJoint, ...]
    metal_length_m: float | None
    """First length that must be metal, in the open; None where no length is enough."""
    metal_buried_length_m: float | None
    """The same in the ground."""
    end_degc: float
    """Of the air at the manifold."""


def hot_day(line: Line, point: OperatingPoint) -> HotDay:
    """Return how hot the line gets on a hot day, in its cabinet, with a dirty filter."""
    air_degc = max(line.intake_degc, HOT_DAY_DEGC)
    filter_pa = max(line.filter_loss_pa, FILTER_LOSS_PA)
    absolute_pa = point.compressor_pressure_pa + line.ambient_pressure_pa
    ratio_number = absolute_pa / (line.ambient_pressure_pa - filter_pa)
    efficiency = line.machine.compression_efficiency
    flow_kg_s = point.flow_standard_m3_s * STANDARD_DENSITY_KG_M3
    inside = Inside(
        wire_power_w(line, point), flow_kg_s, ratio_number, efficiency, air_degc, line.ambient_pressure_pa
    )
    cabinet = cabinet_heat(line.cabinet, inside)
    intake_k = air_degc + cabinet.rise_k + 273.15
    outlet_degc = discharge_temperature_mills_2004(intake_k, ratio_number, efficiency) - 273.15
    trunk = cooled(line.trunk, outlet_degc, flow_kg_s, air_degc, line.soil_degc)
    metal_m = metal_length_m(line.trunk, outlet_degc, flow_kg_s, air_degc)
    return HotDay(
        outlet_degc=outlet_degc,
        air_degc=air_degc,
        filter_loss_pa=filter_pa,
        cabinet=cabinet,
        pieces=tuple(
            HotPiece(
                piece.pipe,
                piece.length_m,
                piece.cover_m,
                cooling_length_m(piece, flow_kg_s, piece.start_temperature_degc),
                piece.start_temperature_degc,
                piece.end_temperature_degc,
            )
            for piece in trunk
        ),
        joints=_joints(line, point, trunk, air_degc, metal_m),
        metal_length_m=metal_m,
        metal_buried_length_m=metal_length_m(
            line.trunk, outlet_degc, flow_kg_s, line.soil_degc, DESIGN_COVER_M
        ),
        end_degc=trunk[-1].end_temperature_degc,
    )


def derated_line(line: Line, hot: HotDay) -> Line:
    """Return the line on the hot day: what the compressor then has."""
    return replace(line, intake_degc=hot.air_degc + hot.cabinet.rise_k, filter_loss_pa=hot.filter_loss_pa)


def _joint(where: str, distance_m: float, temperature_degc: float, piece: TrunkPiece) -> PlasticJoint:
    """Return one joint of a piece of plastic."""
    over = temperature_degc > piece.service_limit_degc
    share = None if over else rating_fraction(piece.material, temperature_degc)
    return PlasticJoint(
        where=where,
        distance_m=distance_m,
        pipe=piece.pipe,
        temperature_degc=temperature_degc,
        service_limit_degc=piece.service_limit_degc,
        rating_pa=piece.rating_pa,
        rating_fraction=share,
        derated_pa=None if piece.rating_pa is None or share is None else piece.rating_pa * share,
        too_hot=temperature_degc > piece.service_limit_degc - SAFE_MARGIN_DEGC,
    )


def _joints(
    line: Line,
    point: OperatingPoint,
    trunk: tuple[TrunkPiece, ...],
    air_degc: float,
    metal_m: float | None,
) -> tuple[PlasticJoint, ...]:
    """Return every joint at which plastic begins or ends, from the compressor to the heads of the branches."""
    found = []
    passed_m = 0.0
    for index, piece in enumerate(trunk):
        before = trunk[index - 1] if index else None
        where = "compressor" if before is None else f"{before.pipe} to {piece.pipe}"
        if before is not None and not before.metal and before.pipe != piece.pipe:
            found.append(_joint(where, passed_m, before.end_temperature_degc, before))
        if not piece.metal:
            found.append(_joint(where, passed_m, piece.start_temperature_degc, piece))
            if metal_m and passed_m < metal_m < passed_m + piece.length_m:
                goal_degc = piece.service_limit_degc - SAFE_MARGIN_DEGC
                if piece.start_temperature_degc > goal_degc:
                    found.append(_joint("end of the metal to come", metal_m, goal_degc, piece))
        passed_m += piece.length_m
    last = trunk[-1]
    if not last.metal:
        found.append(_joint(MANIFOLD, passed_m, last.end_temperature_degc, last))
    return (*found, *_joints_beyond(line, point, LinePoint(passed_m, last.end_temperature_degc), air_degc))


def _joints_beyond(
    line: Line, point: OperatingPoint, manifold: LinePoint, air_degc: float
) -> list[PlasticJoint]:
    """Return the joints of lines beyond the manifold, each with its own flow, and of the tubing."""
    ends = {MANIFOLD: manifold}
    flows = {item.name: item.flow_standard_m3_s for item in point.junctions}
    found = []
    tubing = replace(
        line.trunk[-1], pipe="tubing", material="weighted flexible tubing", metal=False, rating_pa=None,
        service_limit_degc=TUBING_LIMIT_DEGC,
    )  # fmt: skip
    waiting = list(line.lines)
    while waiting:
        spec = next((item for item in waiting if item.hangs_from in ends), None)
        if spec is None:
            break
        waiting.remove(spec)
        distance_m, start_degc = ends[spec.hangs_from].distance_m, ends[spec.hangs_from].temperature_degc
        flow_kg_s = flows.get(spec.name, 0.0) * STANDARD_DENSITY_KG_M3
        if flow_kg_s > 0.0:
            (piece,) = cooled((spec.piece,), start_degc, flow_kg_s, air_degc, line.soil_degc)
            end_degc = piece.end_temperature_degc
        else:
            piece, end_degc = spec.piece, start_degc
        if not piece.metal:
            found.append(_joint(f"head of {spec.name}", distance_m, start_degc, piece))
            found.append(_joint(f"end of {spec.name}", distance_m + piece.length_m, end_degc, piece))
        ends[spec.name] = LinePoint(distance_m + piece.length_m, end_degc)
    found += [
        _joint(f"port of {branch.name}", head.distance_m, head.temperature_degc, tubing)
        for branch in line.branches
        if (head := ends.get(branch.hangs_from)) is not None
    ]
    return found


def weakest_joint(hot: HotDay) -> PlasticJoint | None:
    """Return the joint that stands the least pressure; None where no rating is known."""
    known = [joint for joint in hot.joints if joint.derated_pa is not None]
    return min(known, key=lambda joint: joint.derated_pa or 0.0, default=None)


def heat_notices(line: Line, hot: HotDay) -> list[Notice]:
    """Return what the heat does to plastic: the first length of metal, and limits passed."""
    notices = [*_outlet_notices(line, hot), *_metal_notices(line, hot)]
    for index, (piece, made) in enumerate(zip(hot.pieces, line.trunk, strict=True)):
        # plastic at the head of the trunk has its notice already
        if (index > 0 or made.metal) and piece.start_temperature_degc > made.service_limit_degc:
            words = f"{piece.pipe} begins at {degf(piece.start_temperature_degc)}, over its service limit."
            notices.append(danger("air-hot-pipe", words))
    if hot.end_degc > TUBING_LIMIT_DEGC - SAFE_MARGIN_DEGC:
        words = f"The air reaches the manifold at {degf(hot.end_degc)}, too warm for weighted tubing."
        notices.append(
            caution("air-hot-tubing", f"{words} Lengthen the trunk, or lead it through the water.")
        )
    return [*notices, *_cabinet_notices(hot.cabinet)]


def _outlet_notices(line: Line, hot: HotDay) -> list[Notice]:
    """Return whether the machine itself stands the heat of its own air."""
    limit_degc = line.machine.outlet_limit_degc
    stands = "such a machine is built for (sources/compressor_care.csv, invented; the maker's sheet beats it)"
    if limit_degc is None:
        limit_degc = hottest_known_degc()
        stands = (
            "the hottest of the generic machines is built for; what this one stands, its maker's sheet says"
        )
    if hot.outlet_degc <= limit_degc:
        return []
    words = (
        f"On a hot day with a dirty filter the compressor's own air leaves at up to {degf(hot.outlet_degc)}, over the "
        f"{degf(limit_degc)} that {stands}. Seals, valves and hoses at the outlet go first, and then the air is off. "
        "Set the diffusers shallower, cool the cabinet, keep the filter clean, or take a machine whose maker rates it "
        "for this pressure day and night."
    )
    return [danger("air-hot-outlet", words)]


def _metal_notices(line: Line, hot: HotDay) -> list[Notice]:
    """Return whether metal must come first, and how much of it."""
    plastic = next((index for index, piece in enumerate(line.trunk) if not piece.metal), None)
    if plastic is None:
        return []
    piece = line.trunk[plastic]
    goal_degc = piece.service_limit_degc - SAFE_MARGIN_DEGC
    if hot.pieces[plastic].start_temperature_degc <= goal_degc:
        return []
    start = f"On a hot day with a dirty filter the air leaves at {degf(hot.outlet_degc)}"
    if hot.metal_length_m is None:
        words = (
            f"{start}, and open air is too warm to cool it enough for {piece.pipe} (limit "
            f"{degf(piece.service_limit_degc)})."
        )
        return [danger("air-hot-line", f"{words} Add an aftercooler, or keep metal to the pond.")]
    ground = (
        ""
        if hot.metal_buried_length_m is None
        else f" ({both(hot.metal_buried_length_m, 'm')} where it lies in the ground)"
    )
    words = (
        f"{start}; the first {both(hot.metal_length_m, 'm')} must be metal in the open{ground}, until it is under "
        f"{degf(goal_degc)}, for {piece.pipe}."
    )
    return [caution("air-metal-first", words)]


def _cabinet_notices(found: CabinetHeat) -> list[Notice]:
    """Return what is said of the cabinet: what was not known, and what would cool it."""
    notices = []
    fan = "" if found.fan_flow_wanted_m3_s is None else air_flow(found.fan_flow_wanted_m3_s)
    vent = "" if found.vent_area_wanted_m2 is None else free_area(found.vent_area_wanted_m2)
    mend = f"for {kelvin(found.wanted_rise_k)} it takes a fan of {fan}, or {vent} free, low and high each"
    if found.assumed:
        words = (
            f"The compressor's cabinet is not fully known; counted as usual: {', '.join(found.assumed)}. Its "
            f"air is then {kelvin(found.rise_k)} over the air outside; {mend}. Give air.cabinet."
        )
        notices.append(note("air-cabinet-assumed", words))
    if found.rise_k > WARM_CABINET_K:
        words = (
            f"The cabinet gets {kelvin(found.rise_k)} warmer than the air outside, beyond what is usual "
            f"({kelvin(10.0 / 1.8)} to {kelvin(WARM_CABINET_K)}): {mend}; or shade it. Heat wears out "
            "compressors first."
        )
        notices.append(caution("air-hot-cabinet", words))
    return notices


def kelvin(rise_k: float) -> str:
    """Return a difference of temperatures, as "15 °F (8 °C)"."""
    return pair(f"{rise_k * 1.8:.0f} °F", f"{rise_k:.0f} °C")


def air_flow(flow_m3_s: float) -> str:
    """Return a fan's flow, as "95 cfm (160 m³/h)"."""
    return pair(f"{flow_m3_s / 4.719474432e-4:.0f} cfm", f"{3600.0 * flow_m3_s:.0f} m³/h")


def free_area(area_m2: float) -> str:
    """Return the area of an opening, as "120 sq in (770 cm²)"."""
    return pair(f"{area_m2 / 0.00064516:.0f} sq in", f"{10000.0 * area_m2:.0f} cm²")
