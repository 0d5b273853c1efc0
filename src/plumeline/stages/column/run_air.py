"""When air runs in a run of the column alone: times with an offset, laid on the steps of the run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np

from plumeline.errors import InputError
from plumeline.job.document import AirRun
from plumeline.kernels import column_index as ix
from plumeline.stages.column.march import AirPlan


@dataclass(frozen=True)
class Blow:
    """One time that air runs: from `start` to `end`, through the diffusers named by place, all when none is."""

    start: datetime
    end: datetime
    diffuser_index: tuple[int, ...] = ()


@dataclass(frozen=True)
class RunAir:
    """The air of a run.

    Attributes:
        depth_m: depths of the membranes (diffusers).
        air_mol_s: dry air of each while it runs (diffusers).
        blows: when it runs.
        words: the same in plain words.
        names: of the diffusers, as the job's runs call them.
    """

    depth_m: tuple[float, ...] = ()
    air_mol_s: tuple[float, ...] = ()
    blows: tuple[Blow, ...] = ()
    words: str = "no air"
    names: tuple[str, ...] = ()


def past_blows(runs: Sequence[AirRun], air: RunAir, since: datetime) -> tuple[Blow, ...]:
    """Return the times that air has run from a reading on; through a diffuser without air nothing can have run.

    Raises:
        InputError: a run through a diffuser that is not there.
    """
    blows: list[Blow] = []
    for run in runs:
        unknown = [name for name in run.diffusers if name not in air.names]
        if unknown:
            raise InputError(
                f"air has run through {unknown[0]}, which is none of {', '.join(air.names) or 'no diffuser'}.",
                remedy="Put the name right, or leave the diffusers out for all of them.",
                place="runs.csv",
            )
        if run.start >= since:
            index = tuple(air.names.index(name) for name in run.diffusers)
            blows.append(Blow(run.start, run.start + timedelta(minutes=run.minutes), index))
    return tuple(blows)


def air_plan(air: RunAir, start: datetime, hour_count: int) -> AirPlan:
    """Lay the times that air runs on the steps of a run that starts at `start`.

    A step counts as running when at least half of it lies within a blow.
    """
    diffusers = len(air.depth_m)
    on = np.zeros((hour_count * ix.STEPS_EACH_HOUR, diffusers), dtype=np.uint8)
    for blow in air.blows:
        edges = [
            (moment.astimezone(UTC) - start.astimezone(UTC)).total_seconds() / ix.STEP_S
            for moment in (blow.start, blow.end)
        ]
        low, high = (min(max(int(np.floor(edge + 0.5)), 0), len(on)) for edge in edges)
        on[low:high, list(blow.diffuser_index) or slice(None)] = 1
    return AirPlan(np.array(air.depth_m), np.array(air.air_mol_s), on)
