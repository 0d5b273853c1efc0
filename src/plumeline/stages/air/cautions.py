"""What a person must be told about an air line, as notices."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from plumeline.notices import Notice, caution, danger, note
from plumeline.pairs import pair
from plumeline.science.air import discharge_temperature_mills_2004, stored_energy_crowl_1992
from plumeline.science.pipe import reynolds_number_reynolds_1883
from plumeline.stages.air.line import SAFE_MARGIN_DEGC, cooled, metal_length_m, rating_fraction
from plumeline.stages.air.network import GRAVITY_M_S2, STANDARD_DENSITY_KG_M3
from plumeline.stages.air.results import OperatingPoint, TrunkPiece
from plumeline.stages.air.solving import Line
from plumeline.stages.air.words import degf, feet, feet_depth, psi, psi_difference, scfm

HOT_DAY_DEGC = 35.0
CABINET_RISE_DEGC = 8.0
"""A cabinet warms the intake by 10 to 30 °F: common practice, no published source."""
FILTER_LOSS_PA = 2700.0
"""A dirty inlet filter: 0.4 psi; common practice, no published source."""
TUBING_LIMIT_DEGC = 50.0
"""Service limit of weighted tubing in the table of pipes."""
TEST_FACTOR_NUMBER = 1.5
HIGH_TEST_PA = 100.0 * 6894.757293168
RELIEF_MARGIN_PA = 7000.0


@dataclass(frozen=True)
class HotDay:
    """The line on a hot day with a dirty filter, at the balanced flow."""

    outlet_degc: float
    air_degc: float
    trunk: tuple[TrunkPiece, ...]
    metal_length_m: float | None


def hot_day(line: Line, point: OperatingPoint) -> HotDay:
    """Return how hot the line gets on a hot day, in a warm cabinet, with a dirty filter."""
    air_degc = max(line.intake_degc, HOT_DAY_DEGC)
    absolute_pa = point.compressor_pressure_pa + line.ambient_pressure_pa
    ratio_number = absolute_pa / (line.ambient_pressure_pa - FILTER_LOSS_PA)
    intake_k = air_degc + CABINET_RISE_DEGC + 273.15
    efficiency = line.machine.compression_efficiency
    outlet_degc = discharge_temperature_mills_2004(intake_k, ratio_number, efficiency) - 273.15
    flow_kg_s = point.flow_standard_m3_s * STANDARD_DENSITY_KG_M3
    trunk = cooled(line.trunk, outlet_degc, flow_kg_s, air_degc, line.soil_degc)
    return HotDay(outlet_degc, air_degc, trunk, metal_length_m(line.trunk, outlet_degc, flow_kg_s, air_degc))


def derated_line(line: Line) -> Line:
    """Return the line on a hot day, in a warm cabinet, behind a dirty filter: what the compressor then has."""
    intake_degc = max(line.intake_degc, HOT_DAY_DEGC) + CABINET_RISE_DEGC
    return replace(line, intake_degc=intake_degc, filter_loss_pa=max(line.filter_loss_pa, FILTER_LOSS_PA))


def heat_notices(line: Line, hot: HotDay) -> list[Notice]:
    """Return what the heat does to plastic: the first length of metal, and limits passed."""
    notices = []
    plastic = next((piece for piece in line.trunk if not piece.metal), None)
    have_m = 0.0
    for piece in line.trunk:
        if not piece.metal and piece.service_limit_degc - SAFE_MARGIN_DEGC < hot.outlet_degc:
            break
        have_m += piece.length_m
    start = f"On a hot day with a dirty filter the air leaves at {degf(hot.outlet_degc)}"
    if plastic is not None and hot.metal_length_m is None:
        limit = degf(plastic.service_limit_degc)
        words = f"{start}, and open air is too warm to cool it enough for {plastic.pipe} (limit {limit})."
        notices.append(danger("air-hot-line", f"{words} Add an aftercooler, or keep metal to the pond."))
    elif plastic is not None and hot.metal_length_m is not None and hot.metal_length_m > have_m:
        limit = degf(plastic.service_limit_degc - SAFE_MARGIN_DEGC)
        words = (
            f"{start}; the first {feet(hot.metal_length_m)} must be metal in the open, until it is under "
            f"{limit}, for {plastic.pipe}."
        )
        notices.append(caution("air-metal-first", words))
    for piece in hot.trunk[1:]:
        if piece.start_temperature_degc > piece.service_limit_degc:
            words = f"{piece.pipe} begins at {degf(piece.start_temperature_degc)}, over its service limit."
            notices.append(danger("air-hot-pipe", words))
    end_degc = hot.trunk[-1].end_temperature_degc
    if end_degc > TUBING_LIMIT_DEGC - SAFE_MARGIN_DEGC:
        words = f"The air reaches the manifold at {degf(end_degc)}, too warm for weighted tubing."
        notices.append(
            caution("air-hot-tubing", f"{words} Lengthen the trunk, or lead it through the water.")
        )
    return notices


def _weakest_rating_pa(hot: HotDay) -> tuple[float, str] | None:
    """Return the lowest pressure rating [Pa] along the line at its temperature, and whose it is."""
    metal_m = hot.metal_length_m or 0.0
    ratings = []
    passed_m = 0.0
    for piece in hot.trunk:
        passed_m += piece.length_m
        if piece.rating_pa is None or passed_m <= metal_m:
            continue
        limit_degc = piece.service_limit_degc - SAFE_MARGIN_DEGC
        share = rating_fraction(piece.material, min(piece.start_temperature_degc, limit_degc))
        if share is not None:
            ratings.append((piece.rating_pa * share, piece.pipe))
    return min(ratings) if ratings else None


def relief_setting(
    line: Line, balanced: OperatingPoint, others: tuple[OperatingPoint, ...], hot: HotDay
) -> tuple[float, list[Notice]]:
    """Return the relief valve's setting [Pa] and what is to be said of it."""
    working_pa = balanced.compressor_pressure_pa
    highest_pa = max(point.compressor_pressure_pa for point in (balanced, *others))
    machine = line.machine
    notices = []
    if machine.relief_given and machine.relief_pressure_pa is not None:
        relief_pa = machine.relief_pressure_pa
        if relief_pa <= working_pa:
            words = f"The relief valve opens at {psi(relief_pa)}, under the working {psi(working_pa)}."
            notices.append(danger("air-relief-low", f"{words} All air is lost there: raise it."))
        elif relief_pa < highest_pa:
            words = (
                f"The relief valve opens at {psi(relief_pa)}; with one line shut or one alone the gauge "
                f"would go to {psi(highest_pa)}, so it will blow then."
            )
            notices.append(caution("air-relief-tight", words))
    else:
        relief_pa = max(1.25 * working_pa, highest_pa + RELIEF_MARGIN_PA)
        limit_pa = machine.relief_pressure_pa or machine.max_pressure_pa
        if limit_pa is not None and limit_pa > working_pa:
            relief_pa = min(relief_pa, limit_pa)
        words = f"Set a relief valve at the compressor to {psi(relief_pa)}; working {psi(working_pa)}."
        notices.append(note("air-relief", words))
    weakest = _weakest_rating_pa(hot)
    if weakest is not None and relief_pa > weakest[0]:
        words = (
            f"The relief setting {psi(relief_pa)} is over what warm {weakest[1]} stands, {psi(weakest[0])}."
        )
        notices.append(danger("air-rating", words))
    if machine.max_pressure_pa is not None and working_pa > machine.max_pressure_pa:
        words = (
            f"The working {psi(working_pa)} is over the machine's continuous {psi(machine.max_pressure_pa)}."
        )
        notices.append(danger("air-over-pressure", f"{words} It will not last."))
    return relief_pa, notices


def trunk_volume_m3(line: Line) -> float:
    """Return the volume inside the trunk [m³]."""
    return sum(0.25 * math.pi * piece.bore_m**2 * piece.length_m for piece in line.trunk)


def stored_energy_j(line: Line, gauge_pressure_pa: float) -> float:
    """Return the energy [J] that air at a gauge pressure [Pa] stores in the trunk."""
    ambient_pa = line.ambient_pressure_pa
    return stored_energy_crowl_1992(trunk_volume_m3(line), gauge_pressure_pa + ambient_pa, ambient_pa)


def compressed_gas_notices(line: Line, point: OperatingPoint, relief_pa: float) -> list[Notice]:
    """Return the compressed-gas caution, and what is said of PVC where it carries air."""
    working_pa = point.compressor_pressure_pa
    working_j, high_j = stored_energy_j(line, working_pa), stored_energy_j(line, HIGH_TEST_PA)
    test_pa = min(TEST_FACTOR_NUMBER * working_pa, relief_pa)
    notices = [
        caution(
            "air-compressed-gas",
            f"Compressed gas bursts, water only leaks. Test at no more than {psi(test_pa)} (1.5 × working, "
            f"not over the relief), soap the joints, nobody over the pipe; never {pair('100 psi', '690 kPa')} of "
            f"air: that would store {high_j / working_j:.0f} times the energy in this trunk ({high_j / 1000.0:.0f} kJ, "
            f"now {working_j / 1000.0:.2g} kJ). The plastic-pipe standards (ASTM D1785, D2239, D3035) are "
            "for water; ask the pipe's maker and the local code.",
        )
    ]
    if any(piece.material == "pvc" for piece in line.trunk):
        words = (
            "This air line has PVC in it. PVC shatters under compressed gas: ASTM D1785 is for pressurised "
            "liquids only, ASME B31.3 A323.4.2 and B31.9 923.3.2 shut it out of air service, and OSHA "
            "(hazard bulletin of 13 Dec 1990, memo of 28 Feb 1991) cites it above ground. Ask the maker and "
            "the local code; prefer polyethylene, buried; riser and manifold of metal."
        )
        notices.append(danger("air-pvc", words))
    return notices


def split_notices(opened: OperatingPoint, balanced: OperatingPoint, line: Line) -> list[Notice]:
    """Return the trap of the trade: what open valves do to the deepest diffuser, and what would mend it."""
    notices = []
    live = [branch for branch in opened.branches if not branch.dead]
    deepest = max(line.branches, key=lambda spec: spec.depth_m)
    for branch in (branch for branch in opened.branches if branch.dead):
        spec = next(spec for spec in line.branches if spec.name == branch.name)
        revive_m = spec.depth_m - branch.shortfall_pa / (line.water_density_kg_m3 * GRAVITY_M_S2)
        after = balanced.branch(branch.name)
        mend = f"setting the valves revives it with {scfm(after.flow_standard_m3_s)}; or "
        words = (
            f"With all valves open {branch.name} is dead: it needs {psi(branch.needed_pressure_pa)} and the "
            f"{spec.hangs_from} has {psi(branch.needed_pressure_pa - branch.shortfall_pa)}, "
            f"{psi_difference(branch.shortfall_pa)} short. "
            f"What revives it: {'' if after.shut else mend}a membrane set no deeper than "
            f"{feet_depth(revive_m)}."
        )
        notices.append(caution("air-dead-branch", words))
    flows = [branch.flow_standard_m3_s for branch in live]
    if len(opened.branches) > 1 and min(flows) < 0.7 * max(flows) and len(live) == len(opened.branches):
        most = max(live, key=lambda branch: branch.flow_standard_m3_s)
        least = min(live, key=lambda branch: branch.flow_standard_m3_s)
        words = (
            f"With all valves open {most.name} takes {scfm(most.flow_standard_m3_s)} and {least.name} "
            f"{scfm(least.flow_standard_m3_s)}"
        )
        if least.name == deepest.name:
            words += ": the deepest, the one that matters, is starved"
        cost_pa = balanced.compressor_pressure_pa - opened.compressor_pressure_pa
        notices.append(
            caution(
                "air-starved",
                f"{words}. Setting the valves costs {psi_difference(cost_pa)} at the compressor.",
            )
        )
    for branch in (branch for branch in balanced.branches if branch.shut):
        words = f"The compressor can never reach {branch.name}, which needs {psi(branch.needed_pressure_pa)}."
        notices.append(
            danger("air-no-reach", f"{words} Take a machine for more pressure, or set it shallower.")
        )
    return notices


def low_point_notices(line: Line) -> list[Notice]:
    """Return where water gathers, by the heights of the trunk's pieces."""
    notices = []
    trunk = line.trunk
    heights = [(piece.start_elevation_m, piece.end_elevation_m) for piece in trunk]
    for index in range(1, len(trunk)):
        low_m = heights[index][0]
        before_m, after_m = heights[index - 1][0], heights[index][1]
        if low_m is None or before_m is None or after_m is None:
            continue
        if low_m < before_m and low_m < after_m:
            words = f"Between {trunk[index - 1].pipe} and {trunk[index].pipe} the line has a low point:"
            notices.append(note("air-low-point", f"{words} water gathers there; drain it or fill the dip."))
    return notices


def flow_notices(line: Line, point: OperatingPoint, wanted_flow_standard_m3_s: float) -> list[Notice]:
    """Return what is said of the flow itself: short of the wish, beyond the curve, in transition."""
    notices = []
    short = [
        branch
        for branch, spec in zip(point.branches, line.branches, strict=True)
        if branch.flow_standard_m3_s < 0.98 * wanted_flow_standard_m3_s * spec.share_number
    ]
    if short:
        least = min(short, key=lambda branch: branch.flow_standard_m3_s)
        words = (
            f"The compressor gives {least.name} {scfm(least.flow_standard_m3_s)}, under the wanted "
            f"{scfm(wanted_flow_standard_m3_s)}."
        )
        notices.append(caution("air-short", words))
    if point.beyond_curve:
        words = f"{psi(point.compressor_pressure_pa)} is beyond the end of the compressor's curve."
        notices.append(caution("air-beyond-curve", words))
    flow_kg_s = point.flow_standard_m3_s * STANDARD_DENSITY_KG_M3
    numbers = {branch.name: branch.reynolds_number for branch in point.branches}
    numbers["the trunk"] = reynolds_number_reynolds_1883(flow_kg_s, line.trunk[-1].bore_m, 1.83e-5)
    between = [name for name, value in numbers.items() if 2000.0 < value < 4000.0]
    if between:
        words = f"In {', '.join(between)} the flow is between laminar and turbulent (Re 2,000 to 4,000):"
        notices.append(note("air-transition", f"{words} friction there is uncertain by 30 %."))
    return notices
