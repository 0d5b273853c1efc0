"""Score one schedule on one ensemble: losses, completion, and what each day brings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import beta

from plumeline.kernels import column_index as ix
from plumeline.stages.column import AirPlan, Columns, Ensemble, Refuge, Run, march
from plumeline.stages.startup.result import Band, Comparison, Risk
from plumeline.stages.startup.schedule import WHOLE_DAY_MIN, Schedule, steps_on

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

DAWN_HOUR = 6
HOLD_HOURS = 72
"""A loss counts for the job up to three days after completion: mixed water goes on losing oxygen for days, and
a schedule that is quickly complete must not hide that behind its completion."""
MIXED_K = 1.0
"""Top to bottom difference at dawn under which the water counts as mixed (design §6)."""


@dataclass(frozen=True)
class Running:
    """The diffusers as they run.

    Attributes:
        depth_m: depths of the membranes (diffusers).
        air_mol_s: dry air of each (diffusers).
    """

    depth_m: Array
    air_mol_s: Array


@dataclass(frozen=True)
class Scored:
    """One schedule on one ensemble.

    Attributes:
        schedule: the schedule.
        run: the march.
        on: steps in which air runs (steps,).
        first_hour: hour of the weather of the first run.
        complete_hour: hour of each member's completion, or -1 (members).
        lost: whether each member lost the refuge between the first run and its completion (members).
    """

    schedule: Schedule
    run: Run
    on: NDArray[np.bool_]
    first_hour: int
    complete_hour: Ints
    lost: NDArray[np.bool_]

    @property
    def failures(self) -> int:
        """Members that lost the refuge."""
        return int(self.lost.sum())

    @property
    def completed_fraction(self) -> float:
        """Members that completed within the horizon."""
        return float((self.complete_hour >= 0).mean())

    @property
    def days_to_complete(self) -> float | None:
        """Median days from the first run to completion; None when fewer than half completed."""
        hours = np.where(self.complete_hour >= 0, self.complete_hour, 10**9)
        middle = float(np.median(hours))
        return None if middle > 10**8 else (middle - self.first_hour) / 24.0


def first_run_hour(ensemble: Ensemble, schedule: Schedule, earliest_hour: int) -> int:
    """Return the hour of weather at which the schedule's first run starts."""
    for hour in range(earliest_hour, len(ensemble.local_hour)):
        if ensemble.local_hour[hour] == int(schedule.start_hour_h):
            return hour
    return earliest_hour


def dawn_hours(ensemble: Ensemble, first_hour: int) -> Ints:
    """Return the hours of weather that end at dawn, after the first run."""
    hours = np.flatnonzero(ensemble.local_hour == DAWN_HOUR - 1)
    return hours[hours > first_hour]


def completion(ensemble: Ensemble, run: Run, refuge: Refuge, first_hour: int) -> Ints:
    """Return the hour at which each member is complete: mixed, with oxygen below, at two dawns running."""
    dawns = dawn_hours(ensemble, first_hour)
    dawns = dawns[dawns < run.after.hour]
    mixed = (run.records[ix.DIFFERENCE, dawns] < MIXED_K) & (
        run.records[ix.BOTTOM_O2, dawns] > refuge.limits.oxygen_mg_l
    )
    done = np.full(run.after.members, -1)
    for day in range(1, len(dawns)):
        both = mixed[day] & mixed[day - 1] & (done < 0)
        done[both] = dawns[day] + 1
    return done


def score(
    ensemble: Ensemble, running: Running, refuge: Refuge, schedule: Schedule, earliest_hour: int,
    *, keep_profiles: bool = False, days_after_d: int | None = None,
) -> Scored:  # fmt: skip
    """Run a schedule from the reading and judge it.

    Args:
        ensemble: the ensemble.
        running: the diffusers.
        refuge: the fish's limits.
        schedule: the schedule.
        earliest_hour: hour of weather before which no run starts.
        keep_profiles: keep temperature and oxygen of every hour.
        days_after_d: end this many days after the air stays on; at the end of the weather when None.
    """
    hours = len(ensemble.local_hour)
    on = steps_on(schedule, ensemble.local_hour, earliest_hour, len(running.depth_m))
    plan = AirPlan(running.depth_m, running.air_mol_s, on)
    first = first_run_hour(ensemble, schedule, earliest_hour)
    if days_after_d is not None:
        hours = min(hours, first + 24 * (len(schedule.minutes) + days_after_d))
    run = _march_from(ensemble.columns, plan, first, hours, keep_profiles=keep_profiles)
    done = completion(ensemble, run, refuge, first)
    failed = run.after.failed_step
    after_start = failed >= first * ix.STEPS_EACH_HOUR
    before_end = (done < 0) | (failed < (done + HOLD_HOURS) * ix.STEPS_EACH_HOUR)
    return Scored(schedule, run, np.asarray(on.any(axis=1)), first, done, after_start & before_end)


def _march_from(
    columns: Columns, plan: AirPlan, first_hour: int, until_hour: int, *, keep_profiles: bool
) -> Run:
    """March to the first run, forget what was lost until then, and march on.

    A loss before the first run is the pond's own, not the job's; but a member keeps its first loss only, so
    without this one that lost its refuge the night before could never be counted again.
    """
    first_hour = min(max(first_hour, columns.hour), until_hour)
    before = march(columns, plan, first_hour, keep_profiles=keep_profiles)
    nothing = np.zeros(columns.members, dtype=np.int64)
    standing = replace(before.after, under_steps=nothing, failed_step=nothing - 1, cause=nothing.copy())
    run = march(standing, plan, until_hour, keep_profiles=keep_profiles)
    run.records[:, :first_hour] = before.records[:, :first_hour]
    if keep_profiles:
        run.snapshots[:, :first_hour] = before.snapshots[:, :first_hour]
    return replace(run, books=before.books + run.books)


def upper95(failures: int, members: int) -> float:
    """Return the one-sided 95 % upper bound of a share (Clopper & Pearson 1934)."""
    if failures >= members:
        return 1.0
    return float(beta.ppf(0.95, failures + 1, members - failures))


def lower95(failures: int, members: int) -> float:
    """Return the one-sided 95 % lower bound of a share (Clopper & Pearson 1934)."""
    if failures <= 0:
        return 0.0
    return float(beta.ppf(0.05, failures, members - failures + 1))


def risk_of(scored: Scored, baseline: Scored) -> Risk:
    """Return the risk beside that of the same ponds over the same days without air.

    A member's days end three days after its own completion; where it does not complete, with the horizon.
    """
    members = scored.run.after.members
    failed = baseline.run.after.failed_step
    done = scored.complete_hour
    end = np.where(done >= 0, done + HOLD_HOURS, 10**7) * ix.STEPS_EACH_HOUR
    still_lost = (failed >= scored.first_hour * ix.STEPS_EACH_HOUR) & (failed < end)
    base = float(still_lost.mean())
    share = scored.failures / members
    return Risk(members, scored.failures, share, upper95(scored.failures, members), base, share - base)


def comparison(scored: Scored, baseline: Scored) -> Comparison:
    """Return one line of the table that compares schedules."""
    minutes = [m for m in scored.schedule.minutes if 0 < m < WHOLE_DAY_MIN]
    return Comparison(
        scored.schedule.name,
        risk_of(scored, baseline),
        scored.days_to_complete,
        scored.completed_fraction,
        scored.schedule.run_days,
        sum(minutes) / 60.0,
    )


def band(values: Array | Sequence[float]) -> Band:
    """Return median, 5 % and 95 %."""
    low, middle, high = np.quantile(np.asarray(values), [0.05, 0.5, 0.95])
    return Band(float(middle), float(low), float(high))
