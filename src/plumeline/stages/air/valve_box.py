"""The valve box at the shore and the compressor's end of the line, as parts with counts and sizes."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from plumeline.job.document import Job
from plumeline.pairs import pair
from plumeline.stages.air.proving import GAUGE_SPANS_PA, PSI_PA
from plumeline.stages.air.restart import Restart, seconds_words
from plumeline.stages.air.results import MANIFOLD, BranchSpec, OperatingPoint, TrunkPiece
from plumeline.stages.air.solving import Line
from plumeline.stages.air.tubing import BarbLoss, nominal_of, pipe_names
from plumeline.stages.air.words import feet_depth, psi
from plumeline.units import both

GAUGE_SHARE_FRACTION = 0.75
"""A gauge lasts and reads best where it works in the middle of its dial: span from the highest reading over this."""
METRIC_SPANS_PA = tuple(1000.0 * span for span in (6, 10, 16, 25, 40, 60, 100, 160, 250, 400, 600))
"""Usual spans of metric gauges (EN 837-1, from memory)."""
CLAMPS_PER_BARB = 2
PORT_SIZE = "1/4 in"
BOX, MACHINE = "valve box", "compressor end"


@dataclass(frozen=True)
class PartRow:
    """One line of a parts list."""

    place: str
    """valve box or compressor end."""
    count: int
    part: str
    size: str
    why: str


@dataclass(frozen=True)
class Label:
    """What stands at one valve."""

    name: str
    words: str


def span_words(pressure_pa: float) -> str:
    """Return the usual span of gauge that holds a pressure in its middle part."""
    us_pa, si_pa = (_span_pa(spans, pressure_pa) for spans in (GAUGE_SPANS_PA, METRIC_SPANS_PA))
    return pair(f"0 to {us_pa / PSI_PA:.0f} psi", f"0 to {si_pa / 1000.0:.0f} kPa")


def _span_pa(spans_pa: tuple[float, ...], pressure_pa: float) -> float:
    """Return the least span that holds a pressure within its share; the widest where none does."""
    return next((span for span in spans_pa if GAUGE_SHARE_FRACTION * span >= pressure_pa), spans_pa[-1])


def labels(line: Line, point: OperatingPoint) -> tuple[Label, ...]:
    """Return the labels of the valves: whose it is, how deep, and the gauge to set."""
    found = []
    for spec, state in zip(line.branches, point.branches, strict=True):
        setting = (
            "keep shut" if state.shut else f"port {psi(state.port_pressure_pa)} at the level of the sheet"
        )
        depth = pair(f"{spec.depth_m / 0.3048:.1f} ft", f"{spec.depth_m:.2f} m")
        found.append(
            Label(spec.name, f"{spec.name}: {depth} deep, {both(spec.length_m, 'm')} of line, {setting}")
        )
    return tuple(found)


def box_parts(
    job: Job, line: Line, highest_pa: float, barbs: tuple[BarbLoss, ...], hub: str = MANIFOLD
) -> tuple[PartRow, ...]:
    """Return the parts of one valve box.

    Args:
        job: the job.
        line: its line.
        highest_pa: the highest gauge that any setting of the valves shows at the compressor [Pa].
        barbs: of each branch.
        hub: the manifold, or a line beyond it at whose end branches hang.
    """
    specs = [spec for spec in line.branches if spec.hangs_from == hub]
    beyond = [item for item in line.lines if item.hangs_from == hub]
    trunk = line.trunk[-1] if hub == MANIFOLD else next(i.piece for i in line.lines if i.name == hub)
    inlet = nominal_of(trunk.bore_m, trunk.pipe)
    names = pipe_names(job, line.branches)
    sizes = {spec.name: nominal_of(spec.bore_m, names[spec.name]) for spec in specs}
    outs = Counter([*sizes.values(), *(nominal_of(item.piece.bore_m, item.piece.pipe) for item in beyond)])
    place = BOX if hub == MANIFOLD else f"{BOX} at the end of {hub}"
    rows = [
        PartRow(
            place, 1, "header with its outlets", _outlets(inlet, outs), "metal or polyethylene, never PVC"
        ),
        PartRow(place, 1, "union", inlet, "the trunk comes off without a cut"),
        PartRow(place, 1, "shut-off valve", inlet, "the trunk can be held and tested alone"),
    ]
    for (kind, size), count in sorted(Counter((spec.valve, sizes[spec.name]) for spec in specs).items()):
        rows.append(PartRow(place, count, f"{kind} valve", size, "one for each branch; marked, then left"))
    ports = len(specs) + 1
    rows += [
        PartRow(
            place, ports, "gauge port with its own cock", PORT_SIZE, "after each valve, one on the header"
        ),
        PartRow(
            place, 1, "gauge that is carried round", span_words(highest_pa), "one gauge errs alike everywhere"
        ),
        PartRow(place, 1, "bleed valve", PORT_SIZE, "lets the line down to zero before a joint is opened"),
        PartRow(place, 1, "drain valve", "1/2 in", "at the header's lowest place"),
    ]
    for size, count in sorted(outs.items()):
        rows.append(PartRow(place, count, "union", size, "each branch comes off alone"))
    rows += _tubing_parts(place, specs, barbs, sizes)
    rows += [
        PartRow(place, len(specs) + len(beyond), "engraved label", "", "name, depth, gauge to set"),
        PartRow(place, 1, "box with a lid that locks", "", "vented, shaded, over the highest water"),
    ]
    return tuple(rows)


def _outlets(inlet: str, outs: Counter[str]) -> str:
    """Return a header's sizes, as "3/4 in × 3 of 1/2 in"."""
    return f"{inlet} × " + " and ".join(f"{count} of {size}" for size, count in sorted(outs.items()))


def _tubing_parts(
    place: str, specs: list[BranchSpec], barbs: tuple[BarbLoss, ...], sizes: dict[str, str]
) -> list[PartRow]:
    """Return barbs, couplings, clamps and check valves of the branches."""
    own = {item.name: item for item in barbs}
    ends: Counter[str] = Counter()
    joins: Counter[str] = Counter()
    for spec in specs:
        ends[sizes[spec.name]] += 2
        joins[sizes[spec.name]] += own[spec.name].count - 2
    rows = [
        PartRow(place, count, "barb to thread", size, "one at the box, one at the diffuser of each branch")
        for size, count in sorted(ends.items())
    ]
    rows += [
        PartRow(place, count, "barbed coupling", size, "where one coil ends and the next begins")
        for size, count in sorted(joins.items())
        if count
    ]
    # a coupling has a barb at either side
    for size in sorted(ends):
        held = CLAMPS_PER_BARB * (ends[size] + 2 * joins[size])
        rows.append(PartRow(place, held, "clamp, all stainless", size, "two for each barb, screws opposite"))
    checks = Counter(sizes[spec.name] for spec in specs)
    rows += [
        PartRow(
            place, count, "check valve", size, "in each branch before the diffuser: holds silt and water out"
        )
        for size, count in sorted(checks.items())
    ]
    return rows


def machine_parts(
    line: Line, relief_pa: float, highest_pa: float, held: Restart | None, loop_m: float | None, drip: bool
) -> tuple[PartRow, ...]:
    """Return the parts at the compressor.

    Args:
        line: its line.
        relief_pa: setting of the relief valve [Pa].
        highest_pa: the highest gauge that any setting of the valves shows [Pa].
        held: what stays in the line when it stops.
        loop_m: height of a riser loop's top over the compressor [m]; None where none is needed.
        drip: water runs back to the compressor.
    """
    first: TrunkPiece = line.trunk[0]
    size, count = nominal_of(first.bore_m, first.pipe), line.machine.count
    rows = [
        PartRow(MACHINE, count, "relief valve", psi(relief_pa), "before any valve that can be shut"),
        PartRow(MACHINE, count, "check valve for hot air", size, "the line can't blow back, nor the pond"),
        PartRow(MACHINE, 1, "union", size, "the machine comes off without a cut"),
        PartRow(
            MACHINE,
            1,
            "gauge with its own cock",
            span_words(max(highest_pa, relief_pa)),
            "read at every visit",
        ),
        PartRow(
            MACHINE, 1, "bleed valve", PORT_SIZE, "between machine and check valve: no start under pressure"
        ),
        PartRow(MACHINE, count, "short flexible connector, hot air", size, "keeps the shaking off the pipe"),
    ]
    if held is not None and held.unloader:
        words = "vents the machine's side whenever it stops"
        rows.append(PartRow(MACHINE, count, "unloader valve", PORT_SIZE, words))
    elif held is not None and held.off_s:
        wait = f"{seconds_words(held.off_s)} or more"
        rows.append(PartRow(MACHINE, 1, "delay timer", wait, "time off before a start"))
    if loop_m is not None:
        loop = f"{size}, top {feet_depth(loop_m)} up"
        rows.append(PartRow(MACHINE, 1, "riser loop of metal", loop, "over the highest water"))
    if drip or loop_m is not None:
        rows.append(
            PartRow(MACHINE, 1, "drip leg with a drain", size, "at the riser's foot, lower than the outlet")
        )
    return tuple(rows)
