"""What a reading not yet taken is worth, and what one more visit would save.

A reading parts the simulated ponds: those that would read low, middle or high. In each part the plan may be
another one. The plans are chosen in one half of a part and judged in the other half, so that chance is not
taken for knowledge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Job
from plumeline.kernels import column_index as ix
from plumeline.stages.column import NEAR_SURFACE_M, believed
from plumeline.stages.startup.families import more_visits
from plumeline.stages.startup.promise import Outcome, Promise, effort
from plumeline.stages.startup.result import ReadingValue, VisitValue
from plumeline.stages.startup.scene import Scene, StopTable
from plumeline.stages.startup.tree import Tally, run_all
from plumeline.units import both

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

PARTS = 3
LEAST_IN_HALF = 10
KIT_ERROR_FRACTION = 0.2  # of a field kit; and of a bottle test (judgement)
FOUL_MG_L = 2.0  # at the bottom; with more there is no foul water to find the edge of
OXYGEN_ERROR_MG_L = 0.9  # meter 0.5 and place 0.7 together
PH_ERROR = 0.15
TEMPERATURE_ERROR_K = 0.3


@dataclass(frozen=True)
class Would:
    """A reading that could be taken: its name, how, and what each member would read."""

    name: str
    how: str
    read: Array


def already_read(job: Job) -> frozenset[str]:
    """Return which chemistry some profile that is believed holds: the ponds were held against it already."""
    points = [point for profile in believed(job).profiles for point in profile.points]
    names = ("ph", "sulphide_mg_l", "ammonia_mg_l", "alkalinity_mg_l")
    return frozenset(name for name in names if any(getattr(point, name) is not None for point in points))


def would_read(
    job: Job, scene: Scene, baseline_dawn_mg_l: Array, thermocline_m: float, seed: int
) -> tuple[Would, ...]:
    """Return the readings that the job does not hold yet, with what each member would read.

    Args:
        job: the job; what it holds is left out.
        scene: the search ensemble at the reading.
        baseline_dawn_mg_l: oxygen at 0.6 m at the next dawn without air (members).
        thermocline_m: where a second depth would be read [m].
        seed: seed of the readings' errors.
    """
    columns = scene.ensemble.columns
    grid, state = columns.grid, columns.state
    deep = grid.layer_at(float(scene.running.depth_m.max()))
    middle = grid.layer_at(thermocline_m)
    generator = np.random.default_rng(seed + 9_001)

    def with_error(values: Array, spread: Array | float) -> Array:
        return np.asarray(values + spread * generator.standard_normal(len(values)))

    debt = state[ix.DEBT_A, deep] + ix.SULPHIDE_DEMAND * state[ix.SULPHIDE, deep] + state[ix.DEBT_C, deep] * (
        1.0 - np.exp(-columns.parameters[ix.RATE_C] * 86400.0)
    )  # fmt: skip
    sulphide = state[ix.SULPHIDE, deep] * columns.parameters[ix.SULPHIDE_SHARE]
    alkaline = state[ix.ALKALINITY, deep] - state[ix.CARBON, deep]
    found: list[Would] = []
    taken = already_read(job)
    if not job.bottles:
        how = "dark bottles, half bottom and half surface water, and the surface alone, read after 15 min and 24 h"
        found.append(Would("bottle test", how, with_error(debt, 0.5 + KIT_ERROR_FRACTION * debt)))
    if "sulphide_mg_l" not in taken:
        how = "field kit on water from the deepest diffuser, at once"
        found.append(
            Would(
                "sulphide of the bottom water",
                how,
                with_error(sulphide, 0.05 + KIT_ERROR_FRACTION * sulphide),
            )
        )
    if "ph" not in taken:
        found.append(
            Would("pH at the bottom", "meter or strip on fresh bottom water", with_error(alkaline, 0.05))
        )
    how = f"meter at {both(NEAR_SURFACE_M, 'm')}, at sunrise, away from the boils"
    found.append(Would("oxygen at the next dawn", how, with_error(baseline_dawn_mg_l, OXYGEN_ERROR_MG_L)))
    foul = float(np.median(state[ix.OXYGEN, -1])) < FOUL_MG_L
    edge = "the upper edge of the foul water" if foul else "the water below as well as the top"
    how = f"meter at {both(round(thermocline_m, 1), 'm')}, {edge}"
    found.append(
        Would("oxygen at a second depth", how, with_error(state[ix.OXYGEN, middle], OXYGEN_ERROR_MG_L))
    )
    return tuple(found)


def values_of(
    would: Sequence[Would], judged: Sequence[Outcome], order: Ints, promise: Promise
) -> tuple[ReadingValue, ...]:
    """Return what each reading would save, the one that saves most losses first, then days.

    Args:
        would: the readings.
        judged: schedules judged on the same members, in the same order.
        order: the ensemble's member of each of those.
        promise: what is accepted.
    """
    if not judged or judged[0].members < 4 * LEAST_IN_HALF:
        return ()
    found: list[ReadingValue] = []
    lost = np.array([o.lost for o in judged])
    days = np.array([_days(o) for o in judged])
    visits = np.array([o.visits + 1.0 for o in judged])
    members = judged[0].members
    all_of = np.zeros(members, dtype=np.int64)
    lost_without, without = _chosen_cost(all_of, lost, days, visits, promise)
    for reading in would:
        values = reading.read[order[:members]]
        if float(np.ptp(values)) == 0.0:
            continue
        part = np.searchsorted(np.quantile(values, [1.0 / PARTS, 2.0 / PARTS]), values)
        lost_with, cost = _chosen_cost(part, lost, days, visits, promise)
        saved = without - cost
        found.append(
            ReadingValue(
                reading.name, reading.how, int(lost_without.sum()), int(lost_with.sum()),
                float(saved[0]), float(saved[1]), members, int((lost_without != lost_with).sum()),
            )
        )  # fmt: skip
    return tuple(sorted(found, key=lambda v: (v.lost_with_count - v.lost_without_count, -v.days_saved_d)))


def _days(outcome: Outcome) -> Array:
    """Return each member's days to completion; of one that does not complete, the horizon's 21."""
    done = outcome.complete_hour
    return np.where(done >= 0, (done - outcome.first_hour) / 24.0, 21.0)


def _chosen_cost(
    part: Ints, lost: NDArray[np.bool_], days: Array, visits: Array, promise: Promise
) -> tuple[NDArray[np.bool_], Array]:
    """Return who is lost, and mean days and visits, when each part has the plan that its other half chose."""
    members = lost.shape[1]
    total, gone = np.zeros(2), np.zeros(members, dtype=bool)
    half = np.arange(members) % 2
    for one in np.unique(part):
        for side in (0, 1):
            learn = np.flatnonzero((part == one) & (half == side))
            test = np.flatnonzero((part == one) & (half != side))
            if len(learn) < LEAST_IN_HALF:
                learn = np.flatnonzero(part == one)
            best = _best(lost[:, learn], days[:, learn], visits[:, learn], promise)
            gone[test] = lost[best, test]
            total += [days[best, test].sum(), visits[best, test].sum()]
    return gone, np.asarray(total / members)


def _best(lost: NDArray[np.bool_], days: Array, visits: Array, promise: Promise) -> int:
    """Return the schedule of least effort whose losses are within the job's risk; else of fewest losses."""
    share = lost.mean(axis=1)
    cost = np.round(2.0 * visits.mean(axis=1)) / 2.0 * 100.0 + np.median(days, axis=1)
    within = share <= promise.job_risk
    if within.any():
        return int(np.flatnonzero(within)[np.argmin(cost[within])])
    return int(np.lexsort((cost, share))[0])


def visit_value(
    scene: Scene, best: Outcome, member: Ints, table: StopTable, tally: Tally
) -> VisitValue | None:
    """Return what one more visit would save, with its stop rule, and its gate at dawn where that spares ponds.

    Args:
        scene: the search ensemble.
        best: the chosen schedule.
        member: which members judge it.
        table: the plan's stop readings.
        tally: counts what was marched.
    """
    days = best.day_failures
    taken = {n for n in range(1, scene.horizon_d + 1) if best.schedule.visited(n)}
    free = [n for n in range(2, scene.horizon_d) if n not in taken]
    if best.schedule.is_nothing or not free:
        return None
    day = max(free, key=lambda n: (days[n - 1] if n <= len(days) else 0, -n))
    others = more_visits(replace(best.schedule, visit_every_d=0), day)
    wider = [
        replace(
            other,
            visit_every_d=best.schedule.visit_every_d,
            visits=tuple(sorted({*best.schedule.visits, day})),
        )
        for other in others
        if day in other.visits
    ]
    if not wider:
        return None
    as_is, *more = run_all(scene, member, [best.schedule, *wider], promise=None, tally=tally, table=table)
    least = min(more, key=lambda outcome: (outcome.failures, effort(outcome)))
    apart = int((as_is.lost != least.lost).sum())
    saved = float(_days(as_is).mean() - _days(least).mean())
    return VisitValue(day, as_is.failures, least.failures, saved, len(member), apart)
