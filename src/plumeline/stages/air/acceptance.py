"""From a visit's gauges to the record as built: what was read is kept, and what stands there with it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from plumeline.errors import InputError
from plumeline.job.document import (
    AcceptedGauge,
    AsBuilt,
    Commissioned,
    Diffuser,
    Job,
    PipeSegment,
    Place,
)
from plumeline.stages.air.commissioning import CommissioningResult
from plumeline.stages.air.network import COMPRESSOR
from plumeline.stages.air.results import AirResult, BranchSpec
from plumeline.stages.air.sheet_compare import Compared, Comparison, Verdict


@dataclass(frozen=True)
class Standing:
    """Where a diffuser stands, and of which pipe its branch is."""

    place: Place
    branch_pipe: str


def accepted(found: CommissioningResult, line: AirResult, who: str, reason: str, day: date) -> Commissioned:
    """Return the record of a visit's gauges as the crew accepts them.

    Args:
        found: the sheet with what was read.
        line: the air line that it is of.
        who: accepts.
        reason: why, where a gauge disagrees; empty where none does.
        day: of the acceptance.

    Raises:
        InputError: too little was read, a gauge disagrees and no reason is given, the compressor was never named, or
            a later record stands.
    """
    compared = found.comparison
    _check_whole(found, line)
    assert compared is not None
    if not compared.agrees and not reason.strip():
        raise InputError(
            f"the record is not accepted: {_what_disagrees(compared)}.",
            remedy="Without --accept it is shown by how much. Read again and mend the line, or say with --reason why "
            "it is right.",
            place="the record as built",
        )
    record = Commissioned(
        accepted_on=day,
        accepted_by=who.strip(),
        reason="" if compared.agrees else reason.strip(),
        intake_temperature_degc=found.intake_degc,
        gauges=tuple(_gauge(row, found.water_level_m) for row in compared.rows),
    )
    _check_newer(found.accepted, record)
    return record


def _check_whole(found: CommissioningResult, line: AirResult) -> None:
    """Refuse a record that would tell too little of the line.

    Raises:
        InputError: such a record.
    """
    rows = found.comparison.rows if found.comparison else ()
    if not any(row.state == "valves set" and row.reading.place == COMPRESSOR for row in rows):
        raise InputError(
            "the compressor's gauge with the valves set was not read: without it nothing can be compared later.",
            remedy="Read it, in a row with an empty open_ports.",
            place="the record as built",
        )
    if not found.level_read:
        raise InputError(
            "the staff gauge was not read with every gauge, and water is most of what a gauge shows.",
            remedy="Fill the column water_level_m, or give --level.",
            place="the record as built",
        )
    if line.compressor_chosen:
        raise InputError(
            "the job names no compressor, so the sheet holds for one of an invented curve.",
            remedy="Put the one that stands there, with its maker's curve, into [air.compressor].",
            place="the record as built",
        )


def _check_newer(standing: Commissioned | None, record: Commissioned) -> None:
    """Refuse to put an earlier visit in the place of a later one.

    Raises:
        InputError: it is earlier.
    """
    if standing is None:
        return
    old, new = (max(item.time for item in one.gauges) for one in (standing, record))
    if new < old:
        raise InputError(
            f"a record of {old.date().isoformat()} is accepted already, later than these readings.",
            remedy="Give the readings of a later visit.",
            place="the record as built",
        )


def _what_disagrees(compared: Comparison) -> str:
    rows = compared.disagreeing
    if rows:
        return (
            f"{', '.join(f'{row.reading.place} ({row.state})' for row in rows)} disagrees with a sound line"
        )
    return "together the gauges fit no sound line"


def _gauge(row: Compared, level_m: float) -> AcceptedGauge:
    """Return one reading as it is kept."""
    item = row.reading
    return AcceptedGauge(
        time=item.time,
        place=item.place,
        pressure_pa=item.pressure_pa,
        expected_pa=round(max(row.expected_pa, 0.0), 1),
        p05_pa=round(max(row.p05_pa, 0.0), 1),
        p95_pa=round(row.p95_pa, 1),
        water_level_m=level_m if item.water_level_m is None else item.water_level_m,
        open_ports=item.open_ports or (),
        full_open=item.full_open,
        disagreed=row.verdict is Verdict.DISAGREES,
    )


def as_built(
    job: Job,
    line: AirResult,
    record: Commissioned,
    standing: dict[str, Standing] | None = None,
    manifold: Place | None = None,
) -> AsBuilt:
    """Return what stands there, with the accepted record.

    Args:
        job: the job; where it holds a record as built, that keeps all but its gauges.
        line: the air line that was accepted.
        record: the gauges.
        standing: of each diffuser that was laid out in the pond, by name.
        manifold: where the manifold stands, where that was laid out.
    """
    if job.as_built is not None:
        return job.as_built.model_copy(update={"commissioned": record})
    given = {item.name: item for item in job.air.diffusers}
    diffusers = tuple(
        _diffuser(given.get(spec.name), spec, (standing or {}).get(spec.name)) for spec in line.branches
    )
    return AsBuilt(
        made_on=min(item.time for item in record.gauges).date(),
        manifold=manifold,
        diffusers=diffusers,
        # a trunk that the job names, or that follows from a pipe in the ground, stays where it is told
        trunk=_trunk(line) if line.trunk_chosen else (),
        commissioned=record,
    )


def _diffuser(given: Diffuser | None, spec: BranchSpec, standing: Standing | None) -> Diffuser:
    """Return a diffuser as it stands: as the job types it, else as it was laid out."""
    base = given or Diffuser(name=spec.name)
    if standing is None:
        return base
    return base.model_copy(
        update={
            "place": standing.place,
            "depth_m": spec.depth_m,
            "branch_length_m": spec.length_m,
            "branch_pipe": standing.branch_pipe,
            "branch_bore_m": spec.bore_m,
            "served_volume_m3": spec.served_volume_m3,
        }
    )


def _trunk(line: AirResult) -> tuple[PipeSegment, ...]:
    """Return the trunk that was chosen here, as the job would name it."""
    return tuple(
        PipeSegment(
            pipe=piece.pipe,
            length_m=piece.length_m,
            cover_m=piece.cover_m,
            start_elevation_m=piece.start_elevation_m,
            end_elevation_m=piece.end_elevation_m,
        )
        for piece in line.trunk
    )
