"""What a person must be told about an air line, as notices."""

from __future__ import annotations

import math

from plumeline.job.document import Job
from plumeline.notices import Notice, caution, danger, note
from plumeline.pairs import pair
from plumeline.science.air import stored_energy_crowl_1992
from plumeline.science.pipe import reynolds_number_reynolds_1883
from plumeline.stages.air.heat import HotDay, weakest_joint
from plumeline.stages.air.line import used_lines
from plumeline.stages.air.machine import SEA_LEVEL_PRESSURE_PA
from plumeline.stages.air.network import GRAVITY_M_S2, STANDARD_DENSITY_KG_M3
from plumeline.stages.air.results import BranchSpec, OperatingPoint
from plumeline.stages.air.solving import Line
from plumeline.stages.air.words import feet_depth, psi, psi_difference, scfm

TEST_FACTOR_NUMBER = 1.5
EXPOSED = ("polyethylene", "pvc", "unknown")
"""Plastics that are not to lie in the open with compressed gas in them."""
HIGH_TEST_PA = 100.0 * 6894.757293168
RELIEF_MARGIN_PA = 7000.0
USUAL_MEMBRANE_M_S = 0.028
"""Most standard air by area of membrane where no maker's figure is known."""


def unused_lines(job: Job, branches: tuple[BranchSpec, ...]) -> list[Notice]:
    """Return that lines beyond the manifold carry no air: nothing that is solved hangs from them."""
    used = used_lines(job, branches)
    idle = [line.name for line in job.air.lines if line.name not in used]
    if not idle:
        return []
    names, one = ", ".join(idle), len(idle) == 1
    hung = [item.name for item in job.listed_diffusers if item.hangs_from in idle]
    words = f"{'Line' if one else 'Lines'} {names} of air.lines {'carries' if one else 'carry'} no air here"
    if not hung:
        way_out = "nothing hangs from it. Name it as hangs_from of a diffuser, or take it out."
        return [caution("air-line-unused", f"{words}: {way_out}")]
    way_out = (
        f"in a surveyed pond each branch is laid from the manifold, that of {', '.join(hung)} too, and the loss in "
        f"{'that line' if one else 'those lines'} is not counted. Put the manifold where the branches part, and "
        "what leads there into air.trunk; or give every diffuser its depth and branch_length, and `plumeline air` "
        "solves the tree as it is typed."
    )
    return [caution("air-line-unused", f"{words}: {way_out}")]


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
            notices.append(
                danger("air-relief-low", f"{words} All air is lost there: {_more_relief(line, working_pa)}")
            )
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
    weakest = weakest_joint(hot)
    if weakest is not None and weakest.derated_pa is not None and relief_pa > weakest.derated_pa:
        words = (
            f"The relief setting {psi(relief_pa)} is over what warm {weakest.pipe} stands, "
            f"{psi(weakest.derated_pa)}."
        )
        notices.append(danger("air-rating", words))
    if machine.max_pressure_pa is not None and working_pa > machine.max_pressure_pa:
        words = (
            f"The working {psi(working_pa)} is over the machine's continuous {psi(machine.max_pressure_pa)}."
        )
        notices.append(danger("air-over-pressure", f"{words} It will not last."))
    return relief_pa, notices


def _more_relief(line: Line, working_pa: float) -> str:
    """Return what to do about a relief valve that opens under the working pressure.

    It may be raised only as far as the machine goes: else the depth or the machine is the fault.
    """
    machine = line.machine
    most_pa = machine.max_pressure_pa or machine.curve[-1].pressure_pa
    if working_pa + RELIEF_MARGIN_PA <= most_pa:
        return f"raise it, to {psi(most_pa)} at most, where the machine's own limit lies."
    return (
        f"do not raise it, the machine itself goes to {psi(most_pa)} only. Set the diffusers shallower, or take a "
        "machine for this pressure."
    )


def beyond_curve(line: Line, working_pa: float) -> list[Notice]:
    """Warn where a line works at a pressure of which the machine's curve says nothing."""
    last_pa = line.machine.curve[-1].pressure_pa * line.ambient_pressure_pa / SEA_LEVEL_PRESSURE_PA
    if working_pa <= last_pa:
        return []
    words = (
        f"The working {psi(working_pa)} lies beyond the last point of the compressor's curve, {psi(last_pa)} at this "
        "elevation: what is shown there is drawn on from the last two points, and no maker has promised it. Set the "
        "diffusers shallower, or give the curve as far as its shut-off."
    )
    return [danger("air-beyond-curve", words)]


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
            "for water, ASTM D1785 for pressurised liquids only; ask the pipe's maker and the local code.",
        )
    ]
    bare = [piece for piece in line.trunk if piece.material in EXPOSED and piece.cover_m == 0.0]
    if bare:
        words = (
            f"{bare[0].pipe} lies in the open. OSHA (hazard bulletin of 13 Dec 1990) and Recommendation B of the "
            "plastic-pipe makers (1972, revised 2005) want plastic that carries compressed gas buried, or inside "
            "something that holds the splinters, and flexible pipe above ground tied against whipping. Bury it, "
            "case it, or take metal there."
        )
        notices.append(caution("air-plastic-exposed", words))
    if any(piece.material == "pvc" for piece in line.trunk):
        words = (
            "This air line has PVC in it. PVC shatters under compressed gas: ASTM D1785 is for pressurised "
            "liquids only, ASME B31.3 A323.4.2 and B31.9 923.3.2 shut it out of air service, and OSHA "
            "(hazard bulletin of 13 Dec 1990, memo of 28 Feb 1991) cites it above ground. Ask the maker and "
            "the local code; prefer polyethylene, buried; riser and manifold of metal."
        )
        notices.append(danger("air-pvc", words))
    return notices


def membrane_notices(
    job: Job, balanced: OperatingPoint, opened: OperatingPoint, alone: tuple[OperatingPoint, ...]
) -> list[Notice]:
    """Return what is said of membranes that carry more air than their maker allows, or less.

    Where nobody gave the most, a flow by area that is more than membranes are sold for is told; the bound is that of
    a disc of 9 in at 2.5 scfm (EPA/625/1-89/023, fine pore aeration systems, from memory).

    Args:
        job: what a membrane stands, where it is known.
        balanced: valves as set.
        opened: all valves open.
        alone: each branch by itself, as a start-up may run it.
    """
    most, least = job.air.membrane_most_air_m3_s, job.air.membrane_least_air_m3_s
    if most is None:
        notices = _over_usual(job, max(_flows(balanced, opened).values(), default=0.0))
    else:
        notices = _over_most(_flows(balanced, opened, *alone), most)
    short = [
        one.name for one in balanced.branches if least is not None and 0.0 < one.flow_standard_m3_s < least
    ]
    if short and least is not None:
        words = (
            f"Under the least air of a membrane, {scfm(least)}: {', '.join(short)}. It bubbles in patches, and what "
            "does not bubble fouls. Fewer diffusers open at a time, or more air."
        )
        notices.append(caution("air-membrane-under", words))
    return notices


def _flows(*points: OperatingPoint) -> dict[str, float]:
    """Return the greatest flow of each branch in several cases [m³/s]."""
    found: dict[str, float] = {}
    for branch in (branch for point in points for branch in point.branches):
        found[branch.name] = max(found.get(branch.name, 0.0), branch.flow_standard_m3_s)
    return found


def _over_most(flow_by_name: dict[str, float], most_m3_s: float) -> list[Notice]:
    """Return what is said of membranes over their maker's most."""
    over = [name for name, flow in flow_by_name.items() if flow > most_m3_s]
    if not over:
        return []
    words = (
        f"More air than a membrane is made for, {scfm(most_m3_s)}, goes through {', '.join(over)}: "
        f"{scfm(max(flow_by_name[name] for name in over))} at most, valves as set, all open, or that one alone. It "
        "stretches, its bubbles grow coarse, and it tears. More diffusers open at a time, or a smaller machine; to "
        "bleed air off is the last way."
    )
    return [caution("air-membrane-over", words)]


def _over_usual(job: Job, flow_m3_s: float) -> list[Notice]:
    """Return what is said where the maker's most is not known and the flow is much for such a disc."""
    usual_m3_s = USUAL_MEMBRANE_M_S * math.pi * job.air.disc_radius_m**2
    if flow_m3_s <= usual_m3_s:
        return []
    words = (
        f"The most air of a membrane is not known; {scfm(flow_m3_s)} goes through one here, and discs of this size are "
        f"made for some {scfm(usual_m3_s)}. Look it up in the maker's sheet and give air.membrane_most_air: over it a "
        "membrane stretches and tears."
    )
    return [caution("air-membrane-most-unknown", words)]


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
        words = f"In {', '.join(between)} the flow is between laminar and turbulent (Re 2000 to 4000):"
        notices.append(note("air-transition", f"{words} friction there is uncertain by 30 %."))
    return notices
