"""Run many schedules at once: what they share of their days is marched once.

Schedules are told apart day by day. Those that do the same from the first run on stand in one branch; where
they part, the branch forks. A branch whose losses already put the promise out of reach is broken off, and so
are members to whom nothing more can happen.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from plumeline.stages.startup.promise import Outcome, Promise
from plumeline.stages.startup.rollout import drop, live_day, lost_in_job, settled
from plumeline.stages.startup.scene import Scene, Standing, StopTable, lead_in
from plumeline.stages.startup.schedule import Schedule

Ints = NDArray[np.int64]
Done = Callable[[int], None]


@dataclass
class Tally:
    """What the search has cost.

    Attributes:
        member_days: member-days marched.
        shared_days: member-days that shared prefixes saved.
    """

    member_days: int = 0
    shared_days: int = 0


@dataclass
class _Walk:
    scene: Scene
    promise: Promise | None
    table: StopTable | None
    tally: Tally
    told: Done
    enough_count: int
    found: dict[Schedule, Outcome] = field(default_factory=dict)
    found_d: list[float] = field(default_factory=list)

    def too_long(self, standing: Standing, number: int) -> bool:
        """Return whether enough likely schedules were complete by now and half of these ponds are not."""
        if self.enough_count == 0 or len(self.found_d) < self.enough_count:
            return False
        bound_d = sorted(self.found_d)[self.enough_count - 1]
        return number - 1 > bound_d + 1.0 and float((standing.complete_hour >= 0).mean()) < 0.5

    def note(self, schedule: Schedule, outcome: Outcome) -> None:
        """Keep what a schedule came to."""
        self.found[schedule] = outcome
        days = outcome.days_to_complete
        if self.promise is not None and days is not None and self.promise.likely(outcome):
            self.found_d.append(days)


def run_all(
    scene: Scene, member: Ints, schedules: Sequence[Schedule], *, promise: Promise | None, tally: Tally,
    table: StopTable | None = None, told: Done = lambda _count: None, enough_count: int = 0,
) -> list[Outcome]:  # fmt: skip
    """Return what each schedule comes to in some members of a scene.

    Args:
        scene: the scene.
        member: which members.
        schedules: the schedules.
        promise: breaks off what can no longer keep it; None to march everything to its end.
        tally: counts what was marched.
        table: stop readings by day and hour of the run, for all of the schedules.
        told: called with the number of schedules that are done.
        enough_count: once so many likely schedules are found, longer ones are broken off; 0 for never.
    """
    walk = _Walk(scene, promise, table, tally, told, enough_count)
    starts: dict[tuple[float, int], list[Schedule]] = {}
    # short ladders first, so that longer ones can be broken off
    for schedule in sorted(dict.fromkeys(schedules), key=lambda s: len(s.minutes)):
        starts.setdefault((schedule.start_hour_h, schedule.wait_d), []).append(schedule)
    for (clock, wait), group in starts.items():
        standing, _ = lead_in(scene, member, clock, wait)
        _grow(walk, standing, group, 1, standing.hour)
    return [walk.found[schedule] for schedule in schedules]


def _key(schedule: Schedule, number: int) -> tuple[object, ...]:
    """Return what tells schedules apart on a day, given that they were alike before it."""
    rung = number - 1
    ended = rung >= len(schedule.minutes) - 1
    return (
        schedule.step(rung), schedule.open_diffusers(rung), schedule.visited(number), schedule.visited_at(number, 0),
        schedule.gate,
        schedule.watched, schedule.stop_above_mg_l, ended,
    )  # fmt: skip


def _grow(walk: _Walk, standing: Standing, group: list[Schedule], number: int, first_hour: int) -> None:
    """March a branch from one day on."""
    scene = walk.scene
    lost = lost_in_job(standing)
    members = len(standing.member)
    late = number > scene.horizon_d or standing.hour + 24 > scene.hours
    hopeless = False
    if walk.promise is not None and lost.any():
        days = np.bincount((standing.lost_hour[lost] - first_hour) // 24)
        hopeless = walk.promise.hopeless(int(lost.sum()), int(days.max()), members)
    hopeless = hopeless or walk.too_long(standing, number)
    nothing = group[0].is_nothing
    standing = drop(standing, lost if nothing else settled(standing))
    if late or hopeless or len(standing.alive) == 0:
        for schedule in group:
            walk.note(schedule, outcome_of(schedule, standing, first_hour, cut=hopeless))
        walk.told(len(walk.found))
        return
    branches: dict[tuple[object, ...], list[Schedule]] = {}
    for schedule in group:
        branches.setdefault(_key(schedule, number), []).append(schedule)
    for branch in branches.values():
        after, _ = live_day(scene, standing, branch[0], number, walk.table)
        walk.tally.member_days += len(standing.alive)
        walk.tally.shared_days += len(standing.alive) * (len(branch) - 1)
        _grow(walk, after, branch, number + 1, first_hour)


def outcome_of(schedule: Schedule, standing: Standing, first_hour: int, *, cut: bool = False) -> Outcome:
    """Return what a schedule came to, from where its members stand at the end."""
    return Outcome(
        schedule, first_hour, standing.lost_hour, standing.cause, standing.complete_hour, standing.visits,
        standing.held, standing.running_h, cut,
    )  # fmt: skip
