"""After completion: how little running keeps the pond mixed, and how long the air may fail."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.stages.column import AirPlan, Columns
from plumeline.stages.mixed import still_layered
from plumeline.stages.startup.promise import Promise
from plumeline.stages.startup.result import DaysOff, KeptRunning
from plumeline.stages.startup.scene import Scene, Standing, march_part
from plumeline.stages.startup.tree import Tally

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

WEEK_D = 7
KEPT_DAWNS_FRACTION = 0.9
TRIED_DAYS_OFF = (1, 2, 3, 5, 7, 10, 14)
RESTART_D = 4  # a full restart is judged over so many days
PATTERNS: tuple[tuple[str, int, int], ...] = (
    ("6 h from midnight", 0, 6),
    ("8 h in daylight, from 09:00", 9, 8),
    ("10 h at night, from 21:00", 21, 10),
    ("12 h in daylight, from 08:00", 8, 12),
    ("12 h at night, from 20:00", 20, 12),
    ("all day", 0, 24),
)
"""Daily running times that are judged: words, clock hour of the start, hours."""


@dataclass
class _Water:
    """Members at an hour, for a march without a schedule."""

    columns: Columns
    member: Ints
    hour: int


def _water_of(standing: Standing, most: int) -> _Water:
    """Return some of the members that are complete, without those that lost the refuge on the way."""
    good = (standing.lost_hour < 0) & (standing.complete_hour >= 0)
    chosen = np.flatnonzero(good[standing.alive])[:most]
    columns = standing.columns.take(chosen)
    nothing = np.zeros(columns.members, dtype=np.int64)
    return _Water(
        replace(columns, under_steps=nothing), standing.member[standing.alive[chosen]], standing.hour
    )


def _march(
    scene: Scene, water: _Water, on_hours: NDArray[np.bool_]
) -> tuple[_Water, Array, NDArray[np.bool_]]:
    """March through hours with all diffusers on or off; return the records and who lost the refuge."""
    end = water.hour + len(on_hours)
    on = np.repeat(on_hours[:, None], ix.STEPS_EACH_HOUR, axis=0).reshape(-1, 1)
    flags = np.repeat(on, len(scene.running.depth_m), axis=1).astype(np.uint8)
    air = AirPlan(scene.running.depth_m, scene.running.air_mol_s, flags)
    run = march_part(scene, water.columns, water.member, air, water.hour, end, stirred=True)
    return _Water(run.after, water.member, end), run.records, run.after.failed_step >= 0


def kept_running(scene: Scene, standing: Standing | None, most: int, tally: Tally) -> tuple[KeptRunning, ...]:
    """Return the running times after completion, each judged over a week of the members' own weather.

    Args:
        scene: the ensemble.
        standing: where its members stand once half are complete; None where they never are.
        most: members to ask.
        tally: counts what was marched.
    """
    if standing is None:
        return ()
    water = _water_of(standing, most)
    days = min(WEEK_D, (scene.hours - water.hour) // 24)
    if water.columns.members == 0 or days < 1:
        return ()
    local = scene.ensemble.local_hour[water.hour : water.hour + 24 * days]
    dawns = scene.dawn_index - water.hour
    dawns = dawns[(dawns >= 0) & (dawns < len(local))]
    found: list[KeptRunning] = []
    for name, first, hours in PATTERNS:
        _, records, lost = _march(scene, water, ((local - first) % 24) < hours)
        tally.member_days += days * water.columns.members
        good = ~still_layered(records[:, dawns]) & (
            records[ix.BOTTOM_O2, dawns] > scene.refuge.limits.oxygen_mg_l
        )
        mixed = float((good.mean(axis=0) >= KEPT_DAWNS_FRACTION).mean())
        found.append(KeptRunning(name, float(hours), mixed, int(lost.sum()), water.columns.members))
    return tuple(found)


def least_running(found: tuple[KeptRunning, ...]) -> KeptRunning | None:
    """Return the fewest hours a day that keep 95 % of the ponds mixed and lose no more ponds than all day does."""
    if not found:
        return None
    most_lost = found[-1].lost_members
    fit = [item for item in found if item.mixed_fraction >= 0.95 and item.lost_members <= most_lost]
    return fit[0] if fit else None


def days_off(
    scene: Scene, standing: Standing | None, promise: Promise, most: int, tally: Tally
) -> DaysOff | None:
    """Return how many days without air after completion make 24 h of air at once unsafe.

    The full restart is judged by the job's own risk over the four days that follow it, by the count itself:
    its bound in so few ponds would call every restart unsafe.

    Args:
        scene: the ensemble, with weather enough.
        standing: where its members stand once half are complete; None where they never are.
        promise: what is accepted.
        most: members to ask.
        tally: counts what was marched.
    """
    if standing is None:
        return None
    water = _water_of(standing, most)
    members = water.columns.members
    if members == 0:
        return None
    lost_by_days: list[tuple[int, int]] = []
    safe, unsafe = 0, None
    gone = 0
    for days in TRIED_DAYS_OFF:
        if water.hour + 24 * (days - gone + RESTART_D) > scene.hours:
            break
        water, _, _ = _march(scene, water, np.zeros(24 * (days - gone), dtype=bool))
        tally.member_days += (days - gone + RESTART_D) * members
        gone = days
        # what the still pond lost is not the restart's
        ready = replace(water.columns, under_steps=np.zeros(members, dtype=np.int64))
        _, _, lost = _march(
            scene, _Water(ready, water.member, water.hour), np.ones(24 * RESTART_D, dtype=bool)
        )
        count = int(lost.sum())
        lost_by_days.append((days, count))
        if count / members > promise.job_risk:
            unsafe = days
            break
        safe = days
    return DaysOff(safe, unsafe, tuple(lost_by_days), members) if lost_by_days else None
