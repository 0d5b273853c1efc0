"""The promise: how many simulated ponds a schedule may lose, on the whole job and on each day."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaincinv

from plumeline.stages.startup.result import Band, Comparison, Risk
from plumeline.stages.startup.rollout import HOLD_HOURS
from plumeline.stages.startup.schedule import WHOLE_DAY_MIN, Schedule

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

CLEARLY = 0.7  # of what is accepted: a bound so low needs no more ponds
NORMAL95 = 1.6449  # of the normal distribution, one-sided
FEW_EFFECTIVE = 300
"""Under so many effective members, of 500 asked for, no risk is stated (design §6)."""


def upper95(failures: int, members: int) -> float:
    """Return the one-sided 95 % upper bound of a share (Clopper & Pearson 1934)."""
    if failures >= members:
        return 1.0
    return float(betaincinv(failures + 1, members - failures, 0.95))


def lower95(failures: int, members: int) -> float:
    """Return the one-sided 95 % lower bound of a share (Clopper & Pearson 1934)."""
    if failures <= 0:
        return 0.0
    return float(betaincinv(failures, members - failures + 1, 0.05))


def added_upper95(harmed_count: int, spared_count: int, members: int) -> float:
    """Return the one-sided 95 % upper bound of a difference of paired shares (Agresti & Min 2005, from memory).

    Wald's interval with half a pond added to each of the four cells.

    Args:
        harmed_count: members lost with the schedule and not without it.
        spared_count: members lost without it and not with it.
        members: members judged.
    """
    pairs = members + 2.0
    net = float(harmed_count - spared_count)
    spread = harmed_count + spared_count + 1.0 - net**2 / pairs
    return float(net + NORMAL95 * np.sqrt(max(spread, 0.0))) / pairs


def most_allowed(members: int, accepted_risk: float) -> int:
    """Return the most failures whose upper 95 % bound is within the accepted risk: 4 of 200 at 5 %, -1 for none."""
    most = -1
    while most + 1 < members and upper95(most + 1, members) <= accepted_risk:
        most += 1
    return most


def enough_members(effective_members: float, asked_count: int) -> bool:
    """Return whether enough members differ to state a risk: 300, or three in ten of fewer than 1,000."""
    return effective_members >= min(float(FEW_EFFECTIVE), 0.3 * asked_count)


@dataclass(frozen=True)
class Promise:
    """What the owner accepts.

    Attributes:
        job_risk: of losing the refuge at any time from the first run to completion.
        day_risk: of losing it on any one day.
    """

    job_risk: float
    day_risk: float

    def kept(self, outcome: Outcome) -> bool:
        """Return whether both upper bounds are within what is accepted."""
        return (
            outcome.answered_upper95_fraction <= self.job_risk
            and outcome.worst_day_upper95_fraction <= self.day_risk
        )

    @property
    def slight_fraction(self) -> float:
        """Part of the ponds by which risks may differ and still count as alike: half of what is accepted."""
        return 0.5 * self.job_risk

    def well_kept(self, outcome: Outcome) -> bool:
        """Return whether both upper bounds are so far within what is accepted that more ponds need not be asked."""
        return (
            outcome.answered_upper95_fraction <= CLEARLY * self.job_risk
            and outcome.worst_day_upper95_fraction <= CLEARLY * self.day_risk
        )

    def over(self, still: Outcome) -> Promise:
        """Return what is accepted with the still pond's own losses allowed on top, for breaking off a march."""
        own = still.failures / still.members
        return Promise(min(self.job_risk + own, 1.0), min(self.day_risk + own, 1.0))

    def fails_still(self, still: Outcome) -> bool:
        """Return whether the pond loses its refuge without any air, by the lower bound: it is failing already."""
        return lower95(still.failures, still.members) > self.job_risk

    def hopeless(self, failures: int, worst_day: int, members: int) -> bool:
        """Return whether the lower bounds already exceed what is accepted."""
        return lower95(failures, members) > self.job_risk or lower95(worst_day, members) > self.day_risk

    def within(self, outcome: Outcome) -> bool:
        """Return whether the counts themselves are within what is accepted, though their bounds may not be."""
        return (
            outcome.answered_failures <= self.job_risk * outcome.members
            and outcome.worst_day_failures <= self.day_risk * outcome.members
            and not outcome.cut
        )

    def likely(self, outcome: Outcome) -> bool:
        """Return whether few members leave it open that the promise is kept: the counts are within it and one."""
        return (
            outcome.answered_failures <= self.job_risk * outcome.members + 1.0
            and outcome.worst_day_failures <= self.day_risk * outcome.members + 1.0
            and not outcome.cut
        )


@dataclass(frozen=True)
class Outcome:
    """What a schedule came to in some members.

    Attributes:
        schedule: the schedule.
        first_hour: hour of the weather of the first run.
        lost_hour: hour of the first loss of the refuge from then on, or -1 (members).
        cause: which limit took it (members).
        complete_hour: hour of completion, or -1 (members).
        visits: visits up to completion, without the one that proves it (members).
        held: days stopped or held by a reading (members).
        running_h: hours of air up to completion (members).
        cut: whether the march was broken off because the promise was out of reach.
        still_lost_hour: of a pond that is failing already, the hour of the first loss without air, or -1
            (members): the schedule answers for what it adds to those; None where it answers for every loss.
    """

    schedule: Schedule
    first_hour: int
    lost_hour: Ints
    cause: Ints
    complete_hour: Ints
    visits: Ints
    held: Ints
    running_h: Array
    cut: bool = False
    still_lost_hour: Ints | None = None

    @property
    def members(self) -> int:
        """Members judged."""
        return len(self.lost_hour)

    @property
    def lost(self) -> Flags:
        """Members that lost the refuge between the first run and three days after their completion."""
        done = self.complete_hour
        return (self.lost_hour >= 0) & ((done < 0) | (self.lost_hour < done + HOLD_HOURS))

    @property
    def failures(self) -> int:
        """Members that lost the refuge."""
        return int(self.lost.sum())

    @property
    def day_failures(self) -> tuple[int, ...]:
        """Members that lost it on each day from the first run."""
        days = (self.lost_hour[self.lost] - self.first_hour) // 24
        return tuple(int(n) for n in np.bincount(days)) if len(days) else ()

    @property
    def still_lost(self) -> Flags:
        """Members that lose it without air, in the time that counts for each; none where all losses are answered."""
        if self.still_lost_hour is None:
            return np.zeros(self.members, dtype=bool)
        end = np.where(self.complete_hour >= 0, self.complete_hour + HOLD_HOURS, 10**7)
        return (self.still_lost_hour >= self.first_hour) & (self.still_lost_hour < end)

    @property
    def answered_failures(self) -> int:
        """Losses that the schedule answers for: all, or of a failing pond those it adds."""
        return max(0, self.failures - int(self.still_lost.sum()))

    @property
    def answered_upper95_fraction(self) -> float:
        """Upper bound of what the schedule answers for."""
        if self.still_lost_hour is None:
            return upper95(self.failures, self.members)
        return _paired_upper95(self.lost, self.still_lost)

    @property
    def worst_day_failures(self) -> int:
        """Losses that the schedule answers for on the day with most of them."""
        if self.still_lost_hour is None:
            return max(self.day_failures, default=0)
        return max((int(ours.sum()) - int(still.sum()) for ours, still in self._by_day()), default=0)

    @property
    def worst_day_upper95_fraction(self) -> float:
        """Upper bound of what the schedule answers for on its riskiest day."""
        if self.still_lost_hour is None:
            return upper95(max(self.day_failures, default=0), self.members)
        return max((_paired_upper95(*pair) for pair in self._by_day()), default=upper95(0, self.members))

    @property
    def riskiest_day(self) -> int:
        """Day of the plan on which most members were lost; the second where none was."""
        days = self.day_failures
        return int(np.argmax(days)) + 1 if days else 2

    def _by_day(self) -> list[tuple[Flags, Flags]]:
        """Return who is lost on each day, with the schedule and without air."""
        assert self.still_lost_hour is not None
        ours = np.where(self.lost, (self.lost_hour - self.first_hour) // 24, -1)
        still = np.where(self.still_lost, (self.still_lost_hour - self.first_hour) // 24, -1)
        return [(ours == day, still == day) for day in range(int(ours.max(initial=-1)) + 1)]

    @property
    def finishes(self) -> bool:
        """Whether half of the members that keep their refuge complete within the horizon."""
        return self.days_to_complete is not None

    @property
    def completed_fraction(self) -> float:
        """Members that completed within the horizon and kept their refuge."""
        return float(((self.complete_hour >= 0) & ~self.lost).mean())

    @property
    def days_to_complete(self) -> float | None:
        """Median days from the first run to completion of those that kept their refuge; None under half of them."""
        kept = self.complete_hour[~self.lost]
        if not len(kept):
            return None
        middle = float(np.median(np.where(kept >= 0, kept, 10**9)))
        return None if middle > 10**8 else (middle - self.first_hour) / 24.0

    @property
    def expected_visits(self) -> float:
        """Mean visits: those to completion, and one to prove it."""
        return 0.0 if self.schedule.is_nothing else float(self.visits.mean()) + 1.0

    def take(self, chosen: Ints | slice) -> Outcome:
        """Return the outcome in some of the members."""
        return replace(
            self,
            lost_hour=self.lost_hour[chosen],
            cause=self.cause[chosen],
            complete_hour=self.complete_hour[chosen],
            visits=self.visits[chosen],
            held=self.held[chosen],
            running_h=self.running_h[chosen],
            still_lost_hour=None if self.still_lost_hour is None else self.still_lost_hour[chosen],
        )


def _paired_upper95(ours: Flags, still: Flags) -> float:
    return added_upper95(int((ours & ~still).sum()), int((still & ~ours).sum()), len(ours))


def joined(parts: list[Outcome]) -> Outcome:
    """Return the outcome of one schedule in the members of several parts."""
    return replace(
        parts[0],
        lost_hour=np.concatenate([part.lost_hour for part in parts]),
        cause=np.concatenate([part.cause for part in parts]),
        complete_hour=np.concatenate([part.complete_hour for part in parts]),
        visits=np.concatenate([part.visits for part in parts]),
        held=np.concatenate([part.held for part in parts]),
        running_h=np.concatenate([part.running_h for part in parts]),
        still_lost_hour=_joined_still(parts),
        cut=any(part.cut for part in parts),
    )


def _joined_still(parts: list[Outcome]) -> Ints | None:
    hours = [part.still_lost_hour for part in parts if part.still_lost_hour is not None]
    return np.concatenate(hours) if len(hours) == len(parts) else None


def effort(outcome: Outcome) -> tuple[float, float, int, float, int]:
    """Return what a schedule costs: expected visits to the half, days, timed runs, lateness, losses.

    The days count to the dawn of completion from one moment for all schedules, not from each one's first run:
    a later start is no quicker one.
    """
    days = outcome.days_to_complete
    late = 1.0 - outcome.completed_fraction
    unfinished = 100.0 * (not outcome.finishes)
    visits = round(2.0 * outcome.expected_visits) / 2.0 + unfinished
    until = 99.0 if days is None else days + outcome.first_hour / 24.0
    return (visits, until, outcome.schedule.run_days, late, outcome.failures)


def risk_of(outcome: Outcome, baseline: Outcome) -> Risk:
    """Return the risk beside that of the same ponds over the same days without air.

    A member's days end three days after its own completion; where it does not complete, with the horizon.
    """
    members = outcome.members
    done = outcome.complete_hour
    end = np.where(done >= 0, done + HOLD_HOURS, 10**7)
    still_lost = (baseline.lost_hour >= outcome.first_hour) & (baseline.lost_hour < end)
    base = float(still_lost.mean())
    failures = outcome.failures
    share = failures / members
    return Risk(members, failures, share, upper95(failures, members), base, share - base)


def comparison(outcome: Outcome, baseline: Outcome) -> Comparison:
    """Return one line of the table that compares schedules."""
    minutes = [m for m in outcome.schedule.minutes if 0 < m < WHOLE_DAY_MIN]
    return Comparison(
        outcome.schedule.name,
        risk_of(outcome, baseline),
        outcome.days_to_complete,
        outcome.completed_fraction,
        outcome.schedule.run_days,
        sum(minutes) / 60.0,
        outcome.expected_visits,
    )


def band(values: Array) -> Band:
    """Return median, 5 % and 95 %."""
    low, middle, high = np.quantile(np.asarray(values), [0.05, 0.5, 0.95])
    return Band(float(middle), float(low), float(high))
