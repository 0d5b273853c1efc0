"""The job's own design, whose line a plan simulates, counted as the combinations are that it is compared with."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

from plumeline.job.document import Job
from plumeline.notices import Notice
from plumeline.stages.air.heat import HotDay
from plumeline.stages.air.results import AirResult
from plumeline.stages.choice.catalogue import Entry
from plumeline.stages.choice.combos import (
    Field,
    Solved,
    combination_of,
    cost_of,
    failures_of,
    power_failures,
)
from plumeline.stages.choice.result import Combination
from plumeline.stages.choice.terms import Terms
from plumeline.stages.choice.trunks import TrunkOption, trunk_of
from plumeline.stages.sizing import Sized


@dataclass(frozen=True)
class OwnDesign:
    """A job's design as its stages solved it.

    Attributes:
        air: its air line.
        turnover_per_day: by the layout; None without a pond.
        served_fraction: part of the pond that its own nearest diffuser turns over; None without a pond.
        notices: of the layout.
    """

    air: AirResult
    turnover_per_day: float | None = None
    served_fraction: float | None = None
    notices: tuple[Notice, ...] = ()


def design_of(sized: Sized) -> OwnDesign:
    """Return a sized job as the design that others are compared with."""
    placed = sized.layout
    return OwnDesign(sized.air, placed.turnover_per_day, placed.served_fraction, placed.notices)


class Planned(NamedTuple):
    """A job's design as a combination, and what it is made of."""

    combination: Combination
    entry: Entry
    trunk: TrunkOption


def planned(job: Job, design: OwnDesign, catalogue: tuple[Entry, ...], field: Field, terms: Terms) -> Planned:
    """Return the job's own design as a combination: its figures are those of its air line, not solved anew.

    Args:
        job: the job.
        design: its design.
        catalogue: what each compressor costs to buy and to keep.
        field: what stands at the pond.
        terms: prices.
    """
    entry, option = _entry(design.air, catalogue), trunk_of(job, design.air.trunk)
    solved = Solved(design.air.balanced, _hot(design.air))
    failures = (
        *power_failures(job, entry),
        *failures_of(entry, field, solved, design.turnover_per_day, terms),
    )
    found = combination_of(
        entry, option, field, solved, design.turnover_per_day,
        cost_of(entry, option, field, solved, terms), failures, terms,
    )  # fmt: skip
    # its relief valve is the one that the page of the air line sets, not the highest that such a machine may have
    relief_pa = design.air.relief_pressure_pa - design.air.balanced.compressor_pressure_pa
    own = replace(
        found,
        machine=design.air.compressor_words,
        served_fraction=design.served_fraction,
        relief_margin_pa=relief_pa,
    )
    return Planned(own, entry, option)


def _entry(line: AirResult, catalogue: tuple[Entry, ...]) -> Entry:
    """Return the compressor of a line with its costs; they are the nearest machine's by power where it has none."""
    name, count, power_w = line.compressor.name, line.compressor.count, line.wire_power_w
    singles = [entry for entry in catalogue if entry.count == 1]
    known = [entry for entry in singles if entry.machine.name == name]
    like = known[0] if known else min(singles, key=lambda entry: abs(max(entry.power_w) - power_w / count))
    # its energy is that of the page of the air line, whichever figures of its keep are another's
    return replace(
        like, machine=replace(like.machine, count=count), power_pressure_pa=(0.0,), power_w=(power_w / count,)
    )


def _hot(line: AirResult) -> HotDay:
    assert line.heat is not None, "an air line always has its hot day"
    return line.heat
