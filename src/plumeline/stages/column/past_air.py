"""The air that has run: from the job's runs, or from what the readings say of it, to a plan of steps."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from plumeline.errors import ModelError
from plumeline.job.document import AirRun, Job, OxygenReading, Profile, When
from plumeline.kernels import column_index as ix
from plumeline.notices import Notice, note
from plumeline.stages.column.march import AirPlan, still

Array = NDArray[np.float64]


@dataclass(frozen=True)
class PastAir:
    """The diffusers through which air has run.

    Attributes:
        depth_m: depths of the membranes (diffusers).
        air_mol_s: dry air of each while its valve is open (diffusers).
        names: their names, as runs.csv calls them.
    """

    depth_m: Array
    air_mol_s: Array
    names: tuple[str, ...]


def runs_of(job: Job) -> tuple[tuple[AirRun, ...], tuple[Notice, ...]]:
    """Return what air has run: as the job tells, else from before to shut-off of each day that was read."""
    if job.runs:
        return job.runs, ()
    zone = ZoneInfo(job.site.time_zone)
    begun: dict[object, datetime] = {}
    found: list[AirRun] = []
    visits: list[Profile | OxygenReading] = [*job.profiles, *job.oxygen_readings]
    for item in sorted(visits, key=lambda item: item.time):
        day = item.time.astimezone(zone).date()
        if item.when is When.BEFORE:
            begun[day] = item.time
        elif item.when is When.SHUT_OFF and day in begun:
            start = begun.pop(day)
            minutes = (item.time - start).total_seconds() / 60.0
            if minutes > 0.0:
                found.append(AirRun(start=start, minutes=minutes))
    if not found:
        return (), ()
    said = ", ".join(
        f"{run.start.astimezone(zone):%Y-%m-%d %H:%M} for {run.minutes:.0f} min" for run in found
    )
    text = (
        f"No runs.csv: the air is taken to have run from the reading before to the one at shut-off ({said}), "
        "through all diffusers. Give runs.csv where that is not so."
    )
    return tuple(found), (note("runs-assumed", text),)


def air_plan(runs: tuple[AirRun, ...], air: PastAir | None, start: datetime, hours: int) -> AirPlan:
    """Return the steps in which each diffuser ran.

    Args:
        runs: what has run.
        air: the diffusers.
        start: start of hour 0, UTC.
        hours: hours of the plan.

    Raises:
        ModelError: air has run and nobody said through what, or through a diffuser that is not there.
    """
    if not runs:
        return still(hours)
    if air is None or len(air.depth_m) == 0:
        raise ModelError(
            "air has run, and no diffuser is known that it ran through.",
            remedy="Give the diffusers and the compressor in job.toml, or leave runs.csv away.",
            place="runs.csv",
        )
    steps = hours * ix.STEPS_EACH_HOUR
    on = np.zeros((steps, len(air.depth_m)), dtype=np.uint8)
    for run in runs:
        strange = [name for name in run.diffusers if name not in air.names]
        if strange:
            raise ModelError(
                f"air is said to have run through {strange[0]!r}, which carries none.",
                remedy=f"Write names joined by +: {'+'.join(air.names)}; or leave it empty for all.",
                place="runs.csv",
            )
        open_index = [i for i, name in enumerate(air.names) if not run.diffusers or name in run.diffusers]
        since_s = (run.start.astimezone(UTC) - start).total_seconds()
        first = round(since_s / ix.STEP_S)
        last = max(round((since_s + 60.0 * run.minutes) / ix.STEP_S), first + 1)
        on[max(first, 0) : max(min(last, steps), 0), open_index] = 1
    return AirPlan(np.asarray(air.depth_m), np.asarray(air.air_mol_s), on)


def last_end(runs: tuple[AirRun, ...]) -> datetime | None:
    """Return when the last run ended, or None where none ran."""
    return max((run.start + timedelta(minutes=run.minutes) for run in runs), default=None)
