"""The gauges that were accepted at commissioning, beside what the job's line shows in the same standing now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from plumeline.errors import InputError
from plumeline.job.document import AcceptedGauge, Job
from plumeline.notices import Notice, caution, note
from plumeline.stages.air import tree
from plumeline.stages.air.commissioning import state_words
from plumeline.stages.air.network import COMPRESSOR, AirNetwork
from plumeline.stages.air.results import MANIFOLD
from plumeline.stages.air.sheet_bands import ValveState, gauge_at, standing
from plumeline.stages.air.words import psi_difference

MOVED_PA = 700.0
"""A gauge that must now show so much more or less than at the acceptance is of another line: 0.1 psi."""


@dataclass(frozen=True)
class AcceptedRow:
    """One accepted gauge.

    Attributes:
        state: how the valves stood, in words.
        place: compressor, manifold or a port.
        read_pa: what was read.
        water_level_m: over the level at which the diffusers' depths hold.
        then_pa: what it was to show when it was accepted.
        now_pa: what the job's line shows there; None where the line has no such place any more.
        disagreed: it was accepted although it disagreed.
    """

    state: str
    place: str
    read_pa: float
    water_level_m: float
    then_pa: float
    now_pa: float | None
    disagreed: bool


@dataclass(frozen=True)
class AcceptedLine:
    """The record as built.

    Attributes:
        accepted_on: day.
        accepted_by: who.
        reason: why, where a gauge disagreed.
        rows: the gauges.
        moved: the line in the job is another one than the accepted.
        notices: what is to be said of it.
    """

    accepted_on: date
    accepted_by: str
    reason: str
    rows: tuple[AcceptedRow, ...]
    moved: bool
    notices: tuple[Notice, ...]


def accepted_line(job: Job, network: AirNetwork) -> AcceptedLine | None:
    """Return the accepted gauges beside the line as the job tells it now; None where nothing was accepted.

    Args:
        job: the job.
        network: its line, valves as set, with the air that it drew on that day.
    """
    record = job.as_built.commissioned if job.as_built else None
    if record is None:
        return None
    rows = tuple(_row(network, item) for item in record.gauges)
    off_pa = [abs(row.now_pa - row.then_pa) for row in rows if row.now_pa is not None]
    lost = [row.place for row in rows if row.now_pa is None]
    told = [
        note(
            "air-accepted",
            f"As built: {len(rows)} gauges were accepted on {record.accepted_on.isoformat()} by {record.accepted_by}. "
            "They are shown beside this line, and faults starts from them; they do not change the numbers here.",
        )
    ]
    moved = bool(lost) or max(off_pa, default=0.0) > MOVED_PA
    if moved:
        what = (
            f"it has no {', '.join(dict.fromkeys(lost))}"
            if lost
            else f"a gauge must show {psi_difference(max(off_pa))} more or less than then"
        )
        told.append(
            caution(
                "air-not-as-accepted",
                f"The line in job.toml is not the one that was accepted: {what}. Put it right, or commission it anew.",
            )
        )
    return AcceptedLine(record.accepted_on, record.accepted_by, record.reason, rows, moved, tuple(told))


def _row(network: AirNetwork, item: AcceptedGauge) -> AcceptedRow:
    """Return one accepted gauge beside the line as it is now."""
    names = network.outlet_names
    state = ValveState(item.open_ports or None, item.full_open)
    level_m = item.water_level_m or 0.0
    known = set(item.open_ports) <= set(names) and item.place in (*names, COMPRESSOR, MANIFOLD)
    return AcceptedRow(
        state=state_words(state, names) if known else " ".join(item.open_ports),
        place=item.place,
        read_pa=item.pressure_pa,
        water_level_m=level_m,
        then_pa=item.expected_pa,
        now_pa=_now_pa(network, state, level_m, item.place) if known else None,
        disagreed=item.disagreed,
    )


def _now_pa(network: AirNetwork, state: ValveState, level_m: float, place: str) -> float | None:
    """Return what a gauge of the line shows now [Pa]; None where a diffuser stands dry by that level."""
    try:
        compiled = tree.compile_tree(standing(network, state, level_m))
    except InputError:
        return None
    return gauge_at(compiled, tree.run(compiled.arrays), place)
