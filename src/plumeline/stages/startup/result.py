"""What the start-up stage returns."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from plumeline.notices import Notice
from plumeline.stages.startup.chosen_as import ChosenAs
from plumeline.stages.startup.policy import Policy


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
        expected_visits_number: mean visits to completion, the one that proves it among them.
    """

    name: str
    risk: Risk
    days_to_complete: float | None
    completed_fraction: float
    run_days: int
    running_hours_h: float
    expected_visits_number: float


@dataclass(frozen=True)
class StopReading:
    """The reading that stops a run at one hour of it.

    Attributes:
        after_h: hours since the run's start.
        clock_hour_h: local clock hour.
        do_mg_l: shut off when oxygen at 0.6 m reads under this; None where no reading keeps the promise.
    """

    after_h: int
    clock_hour_h: int
    do_mg_l: float | None


@dataclass(frozen=True)
class RunDay:
    """One day of the plan.

    Attributes:
        number: 1 for the first run day of the start-up, also where the plan is a later one of it.
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
        stop_do_mg_l: shut off when the reading at 0.6 m, away from the boils, falls under this at the end of
            the watched hours; None where no reading keeps the promise.
        stop_by_hour: the same for every hour that can be watched.
        visit: whether the calendar has a visit on this day.
        firm: whether the day is firm (the first two) or provisional.
        diffusers: names of the open diffusers; all where empty.
        held_members: simulated ponds whose run a reading stopped or held on this day.
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
    stop_by_hour: tuple[StopReading, ...] = ()
    visit: bool = True
    firm: bool = True
    diffusers: tuple[str, ...] = ()
    held_members: int = 0


@dataclass(frozen=True)
class LaterLosses:
    """Ponds lost after the last day of the day table.

    Attributes:
        first_number, last_number: days of the start-up that are taken together.
        failures: simulated ponds that lost the refuge on these days.
        worst_failures: those of the worst of these days.
        worst_upper95_fraction: upper bound of that day's risk.
    """

    first_number: int
    last_number: int
    failures: int
    worst_failures: int
    worst_upper95_fraction: float


@dataclass(frozen=True)
class Waiting:
    """The plan's schedule begun later, in the same simulated ponds and their later weather.

    Attributes:
        name: in plain words.
        wait_d: days waited (median).
        waiting_failures: ponds that lost the refuge while waiting, without air.
        risk: from the first run on, beside no air over the same days.
        days_to_complete: median days from the first run, or None.
        started_fraction: ponds in which the start came within the days simulated.
    """

    name: str
    wait_d: float
    waiting_failures: int
    risk: Risk
    days_to_complete: float | None
    started_fraction: float


@dataclass(frozen=True)
class ReadingValue:
    """What a reading not yet taken is worth: the plan chosen after it against the plan chosen without.

    Attributes:
        name: what is read.
        how: how, where and when.
        lost_without_count, lost_with_count: ponds of `members` that lose their refuge.
        days_saved_d: mean days to completion saved; below zero where the reading buys safety with days.
        visits_saved_number: mean visits saved.
        members: simulated ponds.
        apart_count: ponds that are lost in one of the two cases only.
    """

    name: str
    how: str
    lost_without_count: int
    lost_with_count: int
    days_saved_d: float
    visits_saved_number: float
    members: int
    apart_count: int


@dataclass(frozen=True)
class VisitValue:
    """What one more visit would save.

    Attributes:
        day_number: day of the plan on which it would fall.
        lost_without_count, lost_with_count: ponds of `members` that lose their refuge.
        days_saved_d: mean days to completion saved.
        members: simulated ponds.
        apart_count: ponds that are lost in one of the two cases only.
    """

    day_number: int
    lost_without_count: int
    lost_with_count: int
    days_saved_d: float
    members: int
    apart_count: int


@dataclass(frozen=True)
class Measure:
    """What to read next.

    Attributes:
        when: before, shut-off, later, dusk or dawn, as in readings.csv.
        time: local date and hour in words.
        depth_m: depths to read.
        what: quantities.
        why: what it decides.
    """

    when: str
    time: str
    depth_m: tuple[float, ...]
    what: str
    why: str


@dataclass(frozen=True)
class KeptRunning:
    """A daily running time after completion, judged over a week.

    Attributes:
        name: in plain words.
        hours_h: hours of air a day.
        mixed_fraction: ponds that stay mixed with oxygen below at nine dawns of ten.
        lost_members: ponds that lose their refuge in that week.
        members: ponds judged.
    """

    name: str
    hours_h: float
    mixed_fraction: float
    lost_members: int
    members: int


@dataclass(frozen=True)
class DaysOff:
    """How many days without air after completion make a full restart unsafe.

    Attributes:
        safe_d: most days off after which 24 h of air at once kept the promise in these ponds.
        unsafe_d: fewest days off after which it did not; None where none of those tried.
        lost_by_days: days off, ponds lost at the full restart and the days after it.
        members: ponds judged.
    """

    safe_d: int
    unsafe_d: int | None
    lost_by_days: tuple[tuple[int, int], ...]
    members: int


@dataclass(frozen=True)
class Narrowing:
    """How much of the spread among the simulated ponds one missing input explains.

    Attributes:
        input: the input, in the job folder's words.
        how: what to do to get it.
        share_fraction: part of the variance of the outcome (R² of ranks, adjusted).
        members: simulated ponds asked.
    """

    input: str
    how: str
    share_fraction: float
    members: int


@dataclass(frozen=True)
class ProfileBand:
    """Temperature and oxygen by depth at one hour: median, 5 % and 95 %."""

    hours_after_reading_h: float
    depth_m: tuple[float, ...]
    temperature_degc: tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]
    do_mg_l: tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]


@dataclass(frozen=True)
class BeforeReadings:
    """Simulated ponds of the priors, before any reading spoke, without air over the days simulated.

    Attributes:
        members: simulated ponds.
        failures: those that lose the refuge.
    """

    members: int
    failures: int


@dataclass(frozen=True)
class StartUp:
    """The start-up plan.

    Attributes:
        name: the schedule in words.
        chosen_as: how the schedule came to be chosen.
        days: one entry a day until the plan is complete.
        later: losses after the last of these days; None where the simulation ends with them.
        risk: on the fresh ensemble.
        promise_kept: whether the upper bounds, on fresh ponds, are within the accepted risks.
        already_failing: whether the pond loses its refuge without any air.
        accepted_job_risk: what the job accepts.
        days_to_complete: median days from the first run to completion, None when under half complete.
        completed_fraction: ponds that complete within the horizon.
        comparisons: do nothing, 24 h from day 1, the doubling customs.
        bound_by: limits that took the refuge, most often first, with how often.
        narrowing: inputs not given, the most telling first.
        profiles: profiles at the reading, at the first days and at the end.
        searched_candidates: schedules tried.
        search_members: simulated ponds on which they could be tried; few of them each, all the last ones.
        drawn_members: simulated ponds drawn to find those that agree with the reading (search ensemble).
        horizon_d: days simulated.
        limits_words: the fish's limits in words.
        policy: the plan as somebody at the pond, or another model of ponds, can carry it out.
        accepted_day_risk: what the job accepts on any one day.
        worst_day_upper95_fraction: upper bound of the riskiest day.
        answered_upper95_fraction: upper bound of what the plan answers for on the job: of its risk, or of a pond
            that is failing already, of what it adds to that (then the bound of the day is one of added losses too).
        hold_until: date of the reading until which a start-up that is under way is paused; None for no pause.
        first_run: date of the first run that was made, from which the days are counted; None before it.
        no_air_failures: ponds of `risk.members` that lose the refuge without air over all days simulated.
        no_air_before: the same before the readings.
        risk_stated: whether enough simulated ponds differ from each other to state a risk.
        effective_members: how many members the readings left apart.
        expected_visits_number: mean visits to completion, the one that proves it among them.
        waiting: the schedule begun later.
        readings_value: what each reading not yet taken would save, the most telling first.
        one_more_visit: what one more visit would save; None where no other day takes one.
        measures: what to read next, where and when.
        stop_words: how the stop rule is carried out.
        emergency: what comes first where the pond is already failing.
        changes: what changed since the last plan, and why; empty without earlier readings.
        kept_running: running times after completion, the least hours first.
        days_off: how long the air may fail after completion.
        comparison_members: simulated ponds of the comparisons.
        member_days: member-days marched by the search.
        notices: warnings.
        assumptions: in plain words.
    """

    name: str
    chosen_as: ChosenAs
    days: tuple[RunDay, ...]
    later: LaterLosses | None
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
    search_members: int
    drawn_members: int
    horizon_d: int
    limits_words: str
    policy: Policy
    accepted_day_risk: float
    worst_day_upper95_fraction: float
    answered_upper95_fraction: float
    hold_until: date | None
    first_run: date | None
    no_air_failures: int
    no_air_before: BeforeReadings | None
    risk_stated: bool
    effective_members: float
    expected_visits_number: float
    waiting: tuple[Waiting, ...]
    readings_value: tuple[ReadingValue, ...]
    one_more_visit: VisitValue | None
    measures: tuple[Measure, ...]
    stop_words: tuple[str, ...]
    emergency: tuple[str, ...]
    changes: tuple[str, ...]
    kept_running: tuple[KeptRunning, ...]
    days_off: DaysOff | None
    comparison_members: int
    member_days: int
    notices: tuple[Notice, ...]
    assumptions: tuple[str, ...]
