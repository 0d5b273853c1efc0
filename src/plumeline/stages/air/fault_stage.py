"""The job's sound line beside what its gauges show: causes, the next reading, the growth over a season."""

from __future__ import annotations

from dataclasses import dataclass

from plumeline.job.document import Job
from plumeline.notices import Notice, caution, danger, note
from plumeline.stages.air.fault_growth import Growth, growth, latest_visit
from plumeline.stages.air.faults import FaultsFound, GaugeReading, faults
from plumeline.stages.air.job_line import job_line
from plumeline.stages.air.network import COMPRESSOR, AirNetwork
from plumeline.stages.air.results import BranchSpec
from plumeline.stages.air.solving import build_network, unreachable

SAFE_ORDER = (
    "Read first, touch later: every gauge, the staff gauge and the boils, before anything is moved.",
    "Compressor off at its disconnect, locked and tagged; let the line bleed to zero before a joint is opened. A "
    "loose plastic end whips under air.",
    "Eyes covered, nobody in line with an end; never over the relief's pressure, never 100 psi into the line.",
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
        growth: of the compressor's gauge over all visits; None with too few.
        safe_order: of the work.
        notices: what cannot be told, and what can hurt.
        assumptions: what the answer rests on.
    """

    found: FaultsFound
    readings: tuple[GaugeReading, ...]
    growth: Growth | None
    safe_order: tuple[str, ...]
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]


def sound_network(job: Job, branches: tuple[BranchSpec, ...] = ()) -> AirNetwork:
    """Return a job's air line with its valves as set, nothing wrong with it.

    Raises:
        InputError: a pipe, branch or curve that can't be used.
        ModelError: a compressor that can't reach any diffuser.
    """
    choice = job_line(job, branches).choice
    return build_network(choice.line, loss_number=choice.loss_number, shut=unreachable(choice.line))


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
    found = faults(network, last)
    return FaultsResult(
        found,
        last,
        growth(network, readings),
        SAFE_ORDER,
        _notices(found, last),
        (
            "The valves stand as the air stage sets them, and the line is the job's: a line that was never proved "
            "after it was laid may differ from the first day.",
            "A gauge is right within 0.25 psi, the level within 2 in; bores within 2 %, the compressor's curve within "
            "5 %, membranes within 0.1 psi (one standard deviation each: judgement).",
            "How often each cause comes before any gauge is read is judgement (sources/faults.csv).",
            "One fault at a time.",
        ),
    )


def _notices(found: FaultsFound, last: tuple[GaugeReading, ...]) -> tuple[Notice, ...]:
    """Return what the readings leave open, and the danger of the work."""
    told: list[Notice] = [
        danger(
            "air-under-pressure",
            "The line holds compressed air: off, locked and bled before a joint is opened.",
        )
    ]
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
