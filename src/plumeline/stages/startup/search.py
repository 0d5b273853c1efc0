"""Find the plan of least effort that keeps the promise: all candidates on few members, the best on all.

What is guaranteed: the chosen schedule kept the promise, by the upper bounds of job and day, on the search
ensemble, and its printed risk comes from a fresh ensemble it was not chosen on. Where none keeps it, the one of
least effort among those that are no worse than the safest (`near_equal`) is returned. Not guaranteed: that no
schedule outside the searched families takes less effort.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from plumeline.stages.startup.families import more_visits, neighbours, softened, unlike
from plumeline.stages.startup.near_equal import near_least, promptest, safety
from plumeline.stages.startup.promise import Outcome, Promise, effort, joined
from plumeline.stages.startup.scene import Scene
from plumeline.stages.startup.schedule import NOTHING, Schedule, cautious
from plumeline.stages.startup.tree import Tally, run_all

Ints = NDArray[np.int64]
Progress = Callable[[str, float], None]

FEW_MEMBERS, SOME_MEMBERS, MANY_MEMBERS = 64, 200, 500
LAST_FEW = 4
SAFEST = 2
SOFTER = 6
QUICKEST = 6


@dataclass(frozen=True)
class Found:
    """The outcome of the search.

    Attributes:
        best: the chosen schedule on the search ensemble.
        kept: whether it kept the promise there.
        candidate_count: schedules tried.
        judged: schedules judged on at least `SOME_MEMBERS` members (or on all there are), for the value of
            readings; in each the first members of `order`.
        order: the order in which members were asked.
    """

    best: Outcome
    kept: bool
    candidate_count: int
    judged: tuple[Outcome, ...]
    order: Ints


@dataclass
class _Search:
    scene: Scene
    promise: Promise
    tally: Tally
    progress: Progress
    order: Ints
    so_far: dict[Schedule, Outcome]
    still_lost_hour: dict[tuple[float, int], Ints]
    breaking: Promise
    failing: bool = False
    last_min: int = 0

    def look_still(self) -> None:
        """See whether the pond fails without any air: then schedules answer for what they add to that."""
        still = run_all(self.scene, self.order[:FEW_MEMBERS], [NOTHING], promise=None, tally=self.tally)[0]
        if not still.failures:
            return
        some = self.order[FEW_MEMBERS:SOME_MEMBERS]
        if len(some):
            still = joined([still, run_all(self.scene, some, [NOTHING], promise=None, tally=self.tally)[0]])
        self.failing = self.promise.fails_still(still)
        if self.failing:
            self.breaking = self.promise.over(still)

    def _still(self, schedule: Schedule, have_count: int, upto_count: int) -> Ints:
        """Return when some members lose their refuge without air, counted from a schedule's own first run."""
        key = (schedule.start_hour_h, schedule.wait_d)
        known = self.still_lost_hour.get(key, np.zeros(0, dtype=np.int64))
        if len(known) < upto_count:
            still = replace(NOTHING, start_hour_h=key[0], wait_d=key[1])
            more = run_all(
                self.scene, self.order[len(known) : upto_count], [still], promise=None, tally=self.tally
            )[0]
            known = np.concatenate([known, more.lost_hour])
            self.still_lost_hour[key] = known
        return known[have_count:upto_count]

    def judge(
        self,
        schedules: list[Schedule],
        upto_count: int,
        words: str,
        *,
        cut: bool = True,
        enough_count: int = 0,
    ) -> list[Outcome]:
        """Return the schedules' outcomes in the first members, marching only those that are missing."""
        upto_count = min(upto_count, len(self.order))
        by_count: dict[int, list[Schedule]] = {}
        for schedule in schedules:
            known = self.so_far.get(schedule)
            again = known is not None and known.cut and not cut
            have = 0 if known is None or again else known.members
            if again:
                del self.so_far[schedule]
            if have < upto_count:
                by_count.setdefault(have, []).append(schedule)
        for have, group in by_count.items():

            def told(count: int, group_count: int = len(group)) -> None:
                self.progress(words, count / group_count)

            new = run_all(
                self.scene, self.order[have:upto_count], group, promise=self.breaking if cut else None,
                tally=self.tally, told=told, enough_count=enough_count,
            )  # fmt: skip
            for schedule, outcome in zip(group, new, strict=True):
                known = self.so_far.get(schedule)
                if self.failing:
                    outcome = replace(outcome, still_lost_hour=self._still(schedule, have, upto_count))
                self.so_far[schedule] = outcome if known is None else joined([known, outcome])
        return [self.so_far[schedule] for schedule in schedules]


def search(
    scene: Scene, schedules: tuple[Schedule, ...], promise: Promise, progress: Progress, *, seed: int,
    tally: Tally, refine: bool = True, last_min: int = 0,
) -> Found:  # fmt: skip
    """Search the schedules by halving.

    Args:
        scene: the search ensemble with everything around it.
        schedules: the candidates.
        promise: what is accepted.
        progress: told what is done and how far.
        seed: seed of the order in which members are asked.
        tally: counts what was marched.
        refine: whether to try schedules near the best ones too.
        last_min: minutes of the last run of a start-up under way, where the cautious rule goes on; else 0.
    """
    order = np.random.default_rng(seed + 5).permutation(scene.members)
    hunt = _Search(scene, promise, tally, progress, order, {}, {}, promise, last_min=last_min)
    hunt.look_still()
    quarter = max(4, len(schedules) // 4)
    first = hunt.judge(list(schedules), FEW_MEMBERS, "searching schedules", enough_count=quarter)
    hopeful = sorted((o for o in first if promise.likely(o)), key=effort)
    if not hopeful:
        return _least_loss(hunt, first)
    second = hunt.judge(
        [o.schedule for o in hopeful[:quarter]], SOME_MEMBERS, "checking the best quarter of them"
    )
    ranked = _ranked(second, promise)
    if refine:
        ranked = _refined(hunt, ranked)
    wholes: list[Outcome] = []
    queue = [outcome.schedule for outcome in ranked[:LAST_FEW]]
    softer = 0
    while queue:
        schedule = queue.pop(0)
        whole = hunt.judge([schedule], MANY_MEMBERS, "judging the last few")[0]
        if promise.within(whole) and not promise.well_kept(whole):
            # what wins among many on few ponds has had luck with them, and a day's bound is wide in 500: what is
            # not clearly kept is asked in all of them before fresh ones judge it
            whole = hunt.judge([schedule], len(order), "judging a close one on all ponds")[0]
        wholes.append(whole)
        if promise.kept(whole) and whole.finishes:
            return Found(whole, True, len(hunt.so_far), _judged(hunt), order)
        soft = softened(schedule, whole.riskiest_day, scene.horizon_d)
        if refine and soft is not None and softer < SOFTER and soft not in hunt.so_far:
            softer += 1
            if promise.likely(hunt.judge([soft], SOME_MEMBERS, "taking the riskiest day in two steps")[0]):
                queue.insert(0, soft)
    # nothing cheap keeps it: the safest of those that went far are asked, and the cautious rule
    done = {o.schedule for o in wholes}
    far = [
        o for o in hunt.so_far.values() if not o.cut and o.members > FEW_MEMBERS and o.schedule not in done
    ]
    asked = [o.schedule for o in sorted(far, key=safety)[:SAFEST]]
    asked.append(cautious(scene.horizon_d, ranked[0].schedule.start_hour_h, last_min))
    wholes += hunt.judge(asked, MANY_MEMBERS, "judging the safest")
    kept = sorted((o for o in wholes if promise.kept(o) and o.finishes), key=effort)
    if not kept:
        # a quick one may have been broken off for one day's losses and yet lose no more in all than a slow one
        return _least_loss(hunt, first, [o for o in wholes if not o.cut])
    return Found(kept[0], True, len(hunt.so_far), _judged(hunt), order)


def _refined(hunt: _Search, ranked: list[Outcome]) -> list[Outcome]:
    """Return the ranked schedules with those close to the best two that proved as good, on as many members."""
    promise, scene = hunt.promise, hunt.scene
    near = [n for o in ranked[:2] for n in neighbours(o.schedule, scene.horizon_d)]
    best = ranked[0]
    if best.answered_failures > 0.5 * promise.job_risk * best.members or not promise.likely(best):
        near += more_visits(best.schedule, best.riskiest_day)
    tried = {replace(s, name="") for s in hunt.so_far}
    fresh = [s for s in unlike(near) if replace(s, name="") not in tried]
    few = hunt.judge(fresh, FEW_MEMBERS, "trying schedules close to the best", enough_count=LAST_FEW)
    likely = sorted((o for o in few if promise.likely(o)), key=effort)[:LAST_FEW]
    return _ranked(
        [*ranked, *hunt.judge([o.schedule for o in likely], SOME_MEMBERS, "and judging those")], promise
    )


def _ranked(outcomes: list[Outcome], promise: Promise) -> list[Outcome]:
    """Return the likely ones by effort, then the others by losses."""
    likely = sorted((o for o in outcomes if promise.likely(o)), key=effort)
    others = sorted((o for o in outcomes if not promise.likely(o)), key=safety)
    return [*likely, *others]


def _least_loss(hunt: _Search, outcomes: list[Outcome], wholes: Sequence[Outcome] = ()) -> Found:
    """Return the promptest schedule of least loss, the cautious rule among those asked, all marched to the end.

    Args:
        hunt: the search.
        outcomes: the candidates on few members.
        wholes: what was judged on many members before.
    """
    # those that were broken off late, or lost little until then, are asked in full; and because a quick one loses
    # what it loses early, the best of each length of ladder as well
    near = sorted(outcomes, key=lambda o: (o.cut, o.failures / o.members, -_endured(o)))
    lengths: dict[int, Outcome] = {}
    for outcome in near:
        lengths.setdefault(outcome.schedule.run_days, outcome)
    quick = [lengths[length] for length in sorted(lengths)][:QUICKEST]
    asked = list(dict.fromkeys(o.schedule for o in [*near[:10], *quick]))
    clock = min(s.start_hour_h for s in asked)
    asked.append(cautious(hunt.scene.horizon_d, clock, hunt.last_min))
    few = hunt.judge(asked, FEW_MEMBERS, "looking for the least loss", cut=False)
    slight = hunt.promise.slight_fraction
    some = hunt.judge(_short(few, 3, slight), SOME_MEMBERS, "judging the least losses", cut=False)
    many = hunt.judge(_short(some, 2, slight), MANY_MEMBERS, "judging the least losses", cut=False)
    whole = promptest([*many, *wholes], slight)
    return Found(whole, hunt.promise.kept(whole), len(hunt.so_far), _judged(hunt), hunt.order)


def _short(outcomes: list[Outcome], count: int, slight_fraction: float) -> list[Schedule]:
    """Return the safest so many schedules, and the promptest so many of those that are no worse."""
    safest = sorted(outcomes, key=safety)[:count]
    return list(dict.fromkeys(o.schedule for o in [*safest, *near_least(outcomes, slight_fraction)[:count]]))


def _endured(outcome: Outcome) -> int:
    """Return how many days a schedule went before its losses came."""
    return len(outcome.day_failures)


def _judged(hunt: _Search) -> tuple[Outcome, ...]:
    least = min(SOME_MEMBERS, len(hunt.order))
    found = [o for o in hunt.so_far.values() if o.members >= least and not o.cut]
    return tuple(o.take(slice(0, least)) for o in found)
