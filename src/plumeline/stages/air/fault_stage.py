"""The job's sound line beside what its gauges show: causes, the next reading, the growth over a season."""

from __future__ import annotations

from dataclasses import dataclass, replace

from plumeline.job.document import Commissioned, Job
from plumeline.notices import Notice, caution, danger, note
from plumeline.pairs import pair
from plumeline.stages.air.fault_bench import GAUGE_SD_PA, Bench, Look, State
from plumeline.stages.air.fault_growth import Growth, growth, latest_visit
from plumeline.stages.air.fault_start import DRIFT_NUMBER, Start, start_of
from plumeline.stages.air.faults import FaultsFound, GaugeReading, check_readings, faults
from plumeline.stages.air.job_line import job_line
from plumeline.stages.air.network import COMPRESSOR, AirNetwork
from plumeline.stages.air.results import MANIFOLD, BranchSpec
from plumeline.stages.air.solving import build_network, unreachable
from plumeline.stages.air.words import psi

UPHILL_NUMBER = 3.0 * 2.0**0.5  # of one gauge's error: three of a difference's
SAFE_ORDER = (
    "Read first, touch later: every gauge, the staff gauge and the boils, before anything is moved.",
    "Compressor off at its disconnect, locked and tagged; let the line bleed to zero before a joint is opened. A "
    "loose plastic end whips under air.",
    "Eyes covered, nobody in line with an end; never over the relief's pressure, never "
    f"{pair('100 psi', '690 kPa')} into the line.",
    "From the dry end outward: filter and machine, trunk, manifold valves, branches; the water last.",
    "On the water two people, life jackets on, no swimming while anything electric runs at the shore.",
    "Electrical faults are for the licensed electrician.",
    "Start again as after an outage where the air stood still for days: the bottom water has gone foul meanwhile.",
)


@dataclass(frozen=True)
class FaultsResult:
    """What the gauges say of a job's line.

    Attributes:
        found: causes, places, pictures and the next readings, of the last visit.
        readings: of the last visit, the order of the pictures.
        accepted_pa: what each gauge showed when the line was accepted, put to this visit's water; None where unread.
        growth: of the compressor's gauge over all visits, the accepted one first; None with too few.
        safe_order: of the work.
        notices: what cannot be told, and what can hurt.
        assumptions: what the answer rests on.
    """

    found: FaultsFound
    readings: tuple[GaugeReading, ...]
    accepted_pa: tuple[float | None, ...]
    growth: Growth | None
    safe_order: tuple[str, ...]
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]


def sound_network(
    job: Job, branches: tuple[BranchSpec, ...] = (), intake_degc: float | None = None
) -> AirNetwork:
    """Return a job's air line with its valves as set, nothing wrong with it.

    Args:
        job: the job.
        branches: of the line; those typed into the job when empty.
        intake_degc: air that the compressor draws; the job's when None.

    Raises:
        InputError: a pipe, branch or curve that can't be used.
        ModelError: a compressor that can't reach any diffuser.
    """
    choice = job_line(job, branches).choice
    line = choice.line if intake_degc is None else replace(choice.line, intake_degc=intake_degc)
    return build_network(line, loss_number=choice.loss_number, shut=unreachable(choice.line))


def find_faults(
    job: Job, readings: tuple[GaugeReading, ...], branches: tuple[BranchSpec, ...] = ()
) -> FaultsResult:
    """Say what is wrong with a job's air line, from the gauges of its visits.

    Raises:
        InputError: no reading, an unknown port, a gauge behind a shut valve.
        ModelError: the line has no operating point.
    """
    network = sound_network(job, branches)
    last = latest_visit(readings) if readings else ()
    check_readings(network, last)
    record = job.as_built.commissioned if job.as_built else None
    that_day = record.intake_temperature_degc if record else None
    start = start_of(network if that_day is None else sound_network(job, branches, that_day), record)
    bench = Bench(network, level_read=all(item.water_level_m is not None for item in last), start=start)
    found = faults(network, last, bench)
    return FaultsResult(
        found,
        last,
        _accepted_pa(bench, last, record),
        growth(network, (*_first_visit(record, readings), *readings)),
        SAFE_ORDER,
        _notices(found, last),
        (
            "The valves stand as the air stage sets them, and the line is the job's.",
            _start_words(record, start),
            "A gauge is right within 0.25 psi, the level within 2 in; bores within 2 %, the compressor's curve within "
            "5 %, each membrane within 0.1 psi, what a set valve burns within 10 % (one standard deviation each: "
            "judgement).",
            "How often each cause comes before any gauge is read is judgement (sources/faults.csv).",
            "One fault at a time.",
        ),
    )


def _start_words(record: Commissioned | None, start: Start | None) -> str:
    """Return from where the search starts."""
    if record is None:
        return (
            "No gauge of the first day is kept (`plumeline commission` keeps them): a line that was never proved after "
            "it was laid may differ from what is drawn."
        )
    day = record.accepted_on.isoformat()
    if start is None:
        return f"None of the gauges accepted on {day} can be used: they disagreed, or their places are gone."
    left = (
        f"; {start.left_out_count} are left out, for they disagreed then or their place is gone"
        if start.left_out_count
        else ""
    )
    return (
        f"What is not known of the line (bores, compressor, membranes, valves) starts from {start.used_count} gauges "
        f"accepted on {day} by {record.accepted_by}{left}. It may have drifted since by {DRIFT_NUMBER} of what it was "
        "unknown by: judgement."
    )


def _first_visit(record: Commissioned | None, readings: tuple[GaugeReading, ...]) -> tuple[GaugeReading, ...]:
    """Return the accepted gauges that the file does not hold itself, as readings of a first visit."""
    held = {(item.time, item.place) for item in readings}
    return tuple(
        GaugeReading(
            item.time,
            item.place,
            item.pressure_pa,
            item.water_level_m,
            item.open_ports or None,
            full_open=item.full_open,
        )
        for item in (record.gauges if record else ())
        if (item.time, item.place) not in held and not item.disagreed
    )


def _accepted_pa(
    bench: Bench, visit: tuple[GaugeReading, ...], record: Commissioned | None
) -> tuple[float | None, ...]:
    """Return what each gauge of a visit showed when the line was accepted, put to the visit's water [Pa]."""
    kept = {
        (item.place, frozenset(item.open_ports), item.full_open): item
        for item in (record.gauges if record else ())
    }
    names = set(bench.network.outlet_names)
    found: list[float | None] = []
    for item in visit:
        state = State(item.open_ports, item.water_level_m or 0.0, item.full_open)
        ports = frozenset(item.open_ports or ())
        first = kept.get((item.place, frozenset() if ports == names else ports, item.full_open))
        if first is None:
            found.append(None)
            continue
        then = State(item.open_ports, first.water_level_m or 0.0, item.full_open)
        now_pa, then_pa = bench.sound([Look(state, item.place), Look(then, item.place)]).tolist()
        found.append(first.pressure_pa + now_pa - then_pa)
    return tuple(found)


def _uphill(last: tuple[GaugeReading, ...]) -> list[Notice]:
    """Warn of a gauge that reads over one nearer to the compressor: air does not flow uphill."""
    order = {COMPRESSOR: 0, MANIFOLD: 1}
    told: list[Notice] = []
    for item in last:
        for other in last:
            same = (item.open_ports, item.full_open) == (other.open_ports, other.full_open)
            downstream = order.get(item.place, 2) > order.get(other.place, 2)
            if same and downstream and item.pressure_pa > other.pressure_pa + UPHILL_NUMBER * GAUGE_SD_PA:
                text = (
                    f"{item.place} reads {psi(item.pressure_pa)}, over the {psi(other.pressure_pa)} of {other.place}, "
                    "which lies nearer to the compressor: no air flows so. One of the two gauges is wrong; read both "
                    "again with one gauge before anything else."
                )
                told.append(caution("gauge-uphill", text))
    return told


def _notices(found: FaultsFound, last: tuple[GaugeReading, ...]) -> tuple[Notice, ...]:
    """Return what the readings leave open, and the danger of the work."""
    told: list[Notice] = [
        danger(
            "air-under-pressure",
            "The line holds compressed air: off, locked and bled before a joint is opened.",
        )
    ]
    told += _uphill(last)
    if found.alike:
        names = ", ".join(found.alike)
        told.append(
            caution(
                "faults-alike",
                f"These gauges can't part {found.cause_probability[0][0]} from: {names}. Take the next reading.",
            )
        )
    if all(item.water_level_m is None for item in last):
        told.append(
            caution(
                "no-level",
                "The water's level was not read: a foot of water is 0.43 psi, so a low pond, a lost head, a leak and a "
                "tired machine all pull the gauge the same way. Read the staff gauge.",
            )
        )
    if len(last) == 1 and last[0].place == COMPRESSOR:
        told.append(
            note(
                "one-gauge",
                "One gauge gives a cause and no place: which branch is at fault takes the ports, or each branch alone.",
            )
        )
    return tuple(told)
