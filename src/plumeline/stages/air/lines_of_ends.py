"""What the two ends of a line come to, as names and values: the same lines in the shell and on paper."""

from __future__ import annotations

from plumeline.pairs import pair
from plumeline.stages.air.ends import EndsResult, gallons
from plumeline.stages.air.restart import LINEAR, Restart, seconds_words
from plumeline.stages.air.siphon import SiphonRisk, water_words
from plumeline.stages.air.tubing import BarbLoss, TubingState, by_foot, weight
from plumeline.stages.air.words import feet_depth, psi, psi_fine, small


def end_rows(found: EndsResult) -> list[tuple[str, str]]:
    """Return the figures of the two ends, values as pairs of units."""
    riser = found.riser
    rows = [
        ("floor of the valve box", f"{feet_depth(riser.box_over_water_m)} or more over today's water"),
        ("riser into the box", f"{feet_depth(riser.height_m)} from the trunk up"),
        ("water at its foot", f"{gallons(riser.water_kg_d)} a day on a hot, damp day"),
    ]
    rows += _siphon_rows(found.siphon)
    if found.restart is not None:
        rows += _restart_rows(found.restart)
    for state in found.tubing:
        rows += _tubing_rows(state)
    return rows + _barb_rows(found.barbs)


def _siphon_rows(found: SiphonRisk | None) -> list[tuple[str, str]]:
    if found is None:
        return [("compressor over the water", "not known: give air.rise or route.csv")]
    told = found.heights
    side = "over" if told.compressor_m >= 0.0 else "UNDER"
    rows = [("compressor", f"{feet_depth(abs(told.compressor_m))} {side} today's water")]
    if told.crest_m is not None:
        crest = "over" if told.crest_m >= 0.0 else "under"
        rows.append(("highest place of the line", f"{feet_depth(abs(told.crest_m))} {crest} today's water"))
    if not found.low:
        return [*rows, ("can the pond run back", "no: the compressor stands over the highest water")]
    if found.crest_protects:
        return [*rows, ("can the pond run back", "no, while the line's own crest stays where it is")]
    rows.append(("can the pond run back", "YES, when a check valve fails"))
    if found.high_flow_m3_s > 0.0:
        now = water_words(found.flow_m3_s) if found.flow_m3_s > 0.0 else "none"
        rows.append(("flood at today's level", now))
        rows.append(("flood at the highest water", water_words(found.high_flow_m3_s)))
        rows.append(("the line is full in", seconds_words(found.fill_s or 0.0)))
    if found.loop_over_compressor_m is not None:
        top = f"{feet_depth(found.loop_over_compressor_m)} over the compressor, "
        rows.append(("riser loop's top", f"{top}{feet_depth(found.loop_over_water_m)} over today's water"))
    return rows


def _restart_rows(found: Restart) -> list[tuple[str, str]]:
    rows = [
        ("gauge when it stops", psi(found.running_pressure_pa)),
        ("gauge that stays trapped", f"{psi(found.trapped_pressure_pa)}, the water over {found.last_branch}"),
        ("comes down in", seconds_words(found.decay_s)),
    ]
    if found.drive == LINEAR:
        return [*rows, ("starts against it", "yes: no crank to stall")]
    if found.start_pressure_pa is not None:
        by = "maker's sheet" if found.start_pressure_given else f"a {found.motor}, low end"
        rows.append(("motor surely starts against", f"{psi(found.start_pressure_pa)} ({by})"))
    share = f"{100.0 * found.torque_trapped_fraction:.0f} % of full-load torque"
    rows.append(("start against what stays", f"{share}; such motors have {_span(found)}"))
    if found.unloader:
        rows.append(("unloader", "NEEDED: no time off is enough"))
    elif found.off_s:
        rows.append(("unloader", f"or at least {seconds_words(found.off_s)} off before a start"))
    else:
        rows.append(("unloader", "not needed"))
    return rows


def _span(found: Restart) -> str:
    return f"{100.0 * found.motor_low_fraction:.0f} to {100.0 * found.motor_high_fraction:.0f} %"


def _tubing_rows(state: TubingState) -> list[tuple[str, str]]:
    sinks = f"sinks from {by_foot(state.sinking_mass_kg_m)}"
    if state.submerged_kg_m is None:
        return [(f"{state.pipe} full of air", f"{sinks}; its own weight is not known")]
    weighs = f"weighs {by_foot(state.mass_kg_m or 0.0)} ({state.mass_source})"
    if state.submerged_kg_m >= 0.0:
        held = f"{by_foot(state.submerged_kg_m)} on the bottom"
        return [(f"{state.pipe} full of air", f"{weighs}, {sinks}: stays down with {held}")]
    apart = pair("5 ft", "1.5 m")
    each = f"{weight(state.weight_each_kg or 0.0)} of brick or concrete every {apart}"
    return [(f"{state.pipe} full of air", f"{weighs}, {sinks}: FLOATS; tie on {each}")]


def _barb_rows(losses: tuple[BarbLoss, ...]) -> list[tuple[str, str]]:
    """Return one row for each size of barb."""
    sizes: dict[tuple[str, float, bool], list[BarbLoss]] = {}
    for item in losses:
        sizes.setdefault((item.nominal, item.barb_bore_m, item.in_network), []).append(item)
    rows = []
    for (nominal, bore_m, counted), items in sizes.items():
        each = ", ".join(f"{item.name} {item.count}: {psi_fine(item.pressure_pa)}" for item in items)
        place = "in the network" if counted else "not in the network"
        rows.append((f"barbs of {nominal}", f"bore {small(bore_m)}; {each}; {place}"))
    return rows


def part_words(found: EndsResult) -> list[tuple[str, str]]:
    """Return each place with its parts in one sentence, for paper."""
    places: dict[str, list[str]] = {}
    for row in found.parts:
        size = f" {row.size}" if row.size else ""
        places.setdefault(row.place, []).append(f"{row.count} {row.part}{size}")
    return [(place, "; ".join(parts)) for place, parts in places.items()]
