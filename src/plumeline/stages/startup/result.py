"""What the start-up stage returns."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from plumeline.notices import Notice


@dataclass(frozen=True)
class Band:
    """Median and the 5 % and 95 % of the simulated ponds."""

    median: float
    p05: float
    p95: float


@dataclass(frozen=True)
class Risk:
    """How many simulated ponds lost the fish's refuge from the first run to completion.

    Attributes:
        members: simulated ponds.
        failures: ponds that lost the refuge for more than an hour.
        risk: failures over members.
        risk_upper95_fraction: upper end of the one-sided 95 % interval (Clopper & Pearson 1934).
        baseline_risk: the same ponds and days without any air.
        added_risk: risk less baseline.
    """

    members: int
    failures: int
    risk: float
    risk_upper95_fraction: float
    baseline_risk: float
    added_risk: float


@dataclass(frozen=True)
class Comparison:
    """One schedule judged on the fresh ensemble.

    Attributes:
        name: in plain words.
        risk: its risk.
        days_to_complete: median days to completion, or None when fewer than half the ponds complete.
        completed_fraction: ponds that complete within the horizon.
        run_days: days with a timed run.
        running_hours_h: running hours up to the day it stays on.
    """

    name: str
    risk: Risk
    days_to_complete: float | None
    completed_fraction: float
    run_days: int
    running_hours_h: float


@dataclass(frozen=True)
class RunDay:
    """One day of the plan.

    Attributes:
        number: 1 for the first run day.
        date: its date.
        start_hour_h: local clock hour at which the run starts, or None when it runs on.
        minutes: minutes of air.
        dawn_do_mg_l: oxygen at 0.6 m at the dawn that follows.
        least_do_mg_l: least oxygen at 0.6 m between this run's start and the next.
        least_hour_h: local clock hour of that least oxygen, the commonest.
        bottom_do_mg_l: oxygen at the deepest diffuser at the dawn that follows.
        difference_k: top less bottom temperature at that dawn.
        refuge_fraction: least usable part of the volume between this run's start and the next.
        turnover_fraction: water lifted in this run, over the pond's volume.
        failures: simulated ponds that lost the refuge between this run's start and the next.
        risk_upper95_fraction: upper bound of that day's risk.
        stop_do_mg_l: shut off when the reading at 0.6 m, away from the boils, falls under this; None where
            no reading keeps the promise.
    """

    number: int
    date: date
    start_hour_h: float | None
    minutes: int
    dawn_do_mg_l: Band
    least_do_mg_l: Band
    least_hour_h: int
    bottom_do_mg_l: Band
    difference_k: Band
    refuge_fraction: Band
    turnover_fraction: Band
    failures: int
    risk_upper95_fraction: float
    stop_do_mg_l: float | None


@dataclass(frozen=True)
class Narrowing:
    """How much of the spread among the simulated ponds one missing input explains.

    Attributes:
        input: the input, in the job folder's words.
        how: what to do to get it.
        share_fraction: part of the variance of the outcome (rank correlation squared).
    """

    input: str
    how: str
    share_fraction: float


@dataclass(frozen=True)
class ProfileBand:
    """Temperature and oxygen by depth at one hour: median, 5 % and 95 %."""

    hours_after_reading_h: float
    depth_m: tuple[float, ...]
    temperature_degc: tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]
    do_mg_l: tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]


@dataclass(frozen=True)
class StartUp:
    """The start-up plan.

    Attributes:
        name: the schedule in words.
        days: one entry a day until the plan is complete.
        risk: on the fresh ensemble.
        promise_kept: whether the upper bound of `risk`, on fresh ponds, is within the accepted risk.
        already_failing: whether the pond loses its refuge without any air.
        accepted_job_risk: what the job accepts.
        days_to_complete: median days from the first run to completion, None when under half complete.
        completed_fraction: ponds that complete within the horizon.
        comparisons: do nothing, 24 h from day 1, the doubling customs.
        bound_by: limits that took the refuge, most often first, with how often.
        narrowing: inputs not given, the most telling first.
        profiles: profiles at the reading, at the first days and at the end.
        searched_candidates: schedules tried.
        drawn_members: simulated ponds drawn to find those that agree with the reading (search ensemble).
        horizon_d: days simulated.
        limits_words: the fish's limits in words.
        notices: warnings.
        assumptions: in plain words.
    """

    name: str
    days: tuple[RunDay, ...]
    risk: Risk
    promise_kept: bool
    already_failing: bool
    accepted_job_risk: float
    days_to_complete: float | None
    completed_fraction: float
    comparisons: tuple[Comparison, ...]
    bound_by: tuple[tuple[str, int], ...]
    narrowing: tuple[Narrowing, ...]
    profiles: tuple[ProfileBand, ...]
    searched_candidates: int
    drawn_members: int
    horizon_d: int
    limits_words: str
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]
