"""The reading at which to stop: shut off at it, and the refuge still holds in 95 of 100 simulated ponds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.stages.column import AirPlan
from plumeline.stages.mixed import still_layered
from plumeline.stages.startup.dissolved import most_dissolved_mg_l, shown_down_mg_l, shown_up_mg_l
from plumeline.stages.startup.one_way import one_way
from plumeline.stages.startup.rollout import drop, live_day, settled
from plumeline.stages.startup.scene import Scene, Standing, lead_in, march_part
from plumeline.stages.startup.schedule import Schedule, readings_in, steps_on
from plumeline.stages.startup.tree import Tally

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

KEPT_FRACTION = 0.95
SLACK_MG_L = 0.5  # a run is read once an hour and a hand needs minutes: never less than this over the limit
LEAST_SLOPE = 0.05  # of the low on the reading; under it the reading tells nothing
LONGEST_STOPS_D = 9
FEWEST_LAYERED_FRACTION = 0.1
FEWEST_LAYERED = 20  # one in twenty of fewer than twenty is no pond at all
SETTLED_FRACTION = 0.8  # with so many ponds settled, the few left tell no reading for the others


@dataclass(frozen=True)
class Shut:
    """The ponds still layered at one hour of a run, with the air shut off then.

    Attributes:
        read_mg_l: what the crew of each reads at that hour (ponds).
        least_mg_l: the least oxygen from then to the next run (ponds).
        lost: whether the pond lost its refuge after shut-off (ponds).
        other_lost: whether another limit than oxygen took it (ponds).
        layered_fraction: how many of all ponds these are.
    """

    read_mg_l: Array
    least_mg_l: Array
    lost: NDArray[np.bool_]
    other_lost: NDArray[np.bool_]
    layered_fraction: float


def _holding_reading(read_mg_l: Array, least_mg_l: Array, limit_mg_l: float) -> float:
    """Return the reading from which 95 % of the ponds stay over a limit after shut-off; NaN where none tells.

    What oxygen still falls depends on where it stands: a pond that reads high in the afternoon makes much oxygen
    and falls far by dawn, a low one falls little. So the least is a straight line of the reading, lowered until
    95 % of the ponds lie over it, and the reading is where that line meets the limit. One fall for all ponds
    would ask of the low ones what only the high ones lose, and stop nearly every run.

    Args:
        read_mg_l: what the crew of each pond reads.
        least_mg_l: the least oxygen from then to the next run.
        limit_mg_l: the fish's oxygen limit.
    """
    spread = float(np.var(read_mg_l))
    together = float(np.mean((read_mg_l - read_mg_l.mean()) * (least_mg_l - least_mg_l.mean())))
    # a lower reading is never the better one, and no pond falls less by reading more
    slope = min(max(together / spread, 0.0), 1.0) if spread > 0.0 else 0.0
    kept_mg_l = float(np.quantile(least_mg_l - slope * read_mg_l, 1.0 - KEPT_FRACTION))
    if slope < LEAST_SLOPE:
        # the reading says nothing of the low: either nearly all hold at any reading, or at none
        return float("nan") if kept_mg_l < limit_mg_l else limit_mg_l
    return (limit_mg_l - kept_mg_l) / slope


def stop_reading(read_mg_l: Array, least_mg_l: Array, lost: NDArray[np.bool_], other_lost: NDArray[np.bool_],
                 limit_mg_l: float) -> float:  # fmt: skip
    """Return the reading at which shutting off now still keeps the refuge in 95 % of the ponds; NaN for none.

    Oxygen goes on falling after shut-off: the reading is the one from which 95 % of the ponds stay over the
    limit; and it is raised until, of the ponds that read so much or more, 95 % keep their refuge. Where other
    limits than oxygen take more than 5 % of the ponds, no reading of oxygen helps; nor does one that half of the
    ponds do not reach, for it would stop nearly every run.

    Args:
        read_mg_l: what the crew of each pond reads at shut-off, with its error.
        least_mg_l: the least oxygen at 0.6 m from then to the next run.
        lost: whether the pond lost its refuge after shut-off.
        other_lost: whether another limit than oxygen took it.
        limit_mg_l: the fish's oxygen limit.
    """
    if float(other_lost.mean()) > 1.0 - KEPT_FRACTION:
        return float("nan")
    x_mg_l = max(_holding_reading(read_mg_l, least_mg_l, limit_mg_l), limit_mg_l + SLACK_MG_L)
    order = np.argsort(-read_mg_l)
    share = np.cumsum(lost[order]) / np.arange(1, len(order) + 1)
    # few ponds above a reading tell nothing of it
    kept = np.flatnonzero((share <= 1.0 - KEPT_FRACTION) & (np.arange(len(order)) >= min(19, len(order) - 1)))
    if lost.any():
        if not len(kept):
            return float("nan")
        x_mg_l = max(x_mg_l, float(read_mg_l[order][kept[-1]])) if share[-1] > 1.0 - KEPT_FRACTION else x_mg_l
    return shown_up_mg_l(x_mg_l) if x_mg_l <= float(np.median(read_mg_l)) else float("nan")


def clock_stops(scene: Scene, records: Array) -> Array:
    """Return stop readings by clock hour from the pond without air: what its nights take (24).

    The search uses them for every candidate; the chosen plan gets its own.

    Args:
        scene: the scene.
        records: (RECORDS, hours, members) without air, from the hour of the reading.
    """
    near, least = records[ix.NEAR_SURFACE_O2], records[ix.LEAST_O2]
    base = scene.ensemble.columns.hour
    most_mg_l = max(scene.most_mg_l, scene.refuge.limits.oxygen_mg_l)
    found = np.full(24, np.nan)
    for clock in range(24):
        read: list[Array] = []
        low: list[Array] = []
        hours = np.flatnonzero(scene.ensemble.local_hour[base : base + len(near) - 24] == clock)
        for i, hour in enumerate(hours[:3]):
            # a reading in the clock hour that begins is the record of the hour before it
            if hour == 0:
                continue
            error = scene.errors.at(i + 1, 1, np.arange(near.shape[1]))
            read.append(near[hour - 1] + error)
            low.append(least[hour : hour + 23].min(axis=0))
        if read:
            limit_mg_l = scene.refuge.limits.oxygen_mg_l
            x_mg_l = _holding_reading(np.concatenate(read), np.concatenate(low), limit_mg_l)
            x_mg_l = min(max(x_mg_l, limit_mg_l + SLACK_MG_L), most_mg_l)
            found[clock] = x_mg_l if x_mg_l <= float(np.median(np.concatenate(read))) else np.nan
    return found


def stop_table(scene: Scene, member: Ints, schedule: Schedule, tally: Tally) -> dict[tuple[int, int], float]:
    """Return the plan's own stop readings, from runs that are shut off after each hour of each day.

    Args:
        scene: the scene.
        member: which members.
        schedule: the plan.
        tally: counts what was marched.
    """
    table: dict[tuple[int, int], float] = {}
    if schedule.is_nothing:
        return table
    standing, _ = lead_in(scene, member, schedule.start_hour_h, schedule.wait_d)
    before: dict[int, float] = {}
    for number in range(1, min(scene.horizon_d, LONGEST_STOPS_D) + 1):
        if standing.hour + 24 > scene.hours or float(settled(standing).mean()) > SETTLED_FRACTION:
            break
        minutes = schedule.step(number - 1)
        hours = readings_in(minutes, scene.crew.watched_hours(schedule.start_hour_h))
        shut = [_shut_off(scene, standing, schedule, number, hour, minutes) for hour in range(1, hours + 1)]
        tally.member_days += hours * len(standing.alive)
        limit_mg_l = scene.refuge.limits.oxygen_mg_l
        pressure_pa = float(np.median(scene.ensemble.columns.weather[ix.PRESSURE, standing.hour]))
        # never over what the water dissolves, nor under the limit itself
        most_mg_l = max(shown_down_mg_l(most_dissolved_mg_l(standing.columns, pressure_pa)), limit_mg_l)
        before = day_stops(shut, before, limit_mg_l, most_mg_l)
        table.update({(number, hour): reading_mg_l for hour, reading_mg_l in before.items()})
        # on the way the plan itself is watched by what has been found so far
        standing, _ = live_day(scene, standing, schedule, number, table)
        tally.member_days += len(standing.alive)
        standing = drop(standing, settled(standing))
    return table


def day_stops(
    shut: list[Shut], before_mg_l: Mapping[int, float], limit_mg_l: float, most_mg_l: float
) -> dict[int, float]:
    """Return the stop readings of a day by hour of the run, NaN for none.

    The ponds of an hour are asked together with those of the hour before and the hour after, and from hour to hour
    the readings then go one way only, never lower than what the ponds ask. What 200 ponds tell of one hour alone
    jumps by some tenths of a mg/L for no reason that a crew could see in the water.

    Args:
        shut: the ponds of each hour.
        before_mg_l: readings of the day before by hour: they stand where too few ponds are layered to tell another.
        limit_mg_l: the fish's oxygen limit.
        most_mg_l: what the water dissolves.
    """
    found: list[float] = []
    for place, one in enumerate(shut):
        if one.layered_fraction < FEWEST_LAYERED_FRACTION:
            found.append(float("nan"))
            continue
        near = [other for other in shut[max(place - 1, 0) : place + 2] if len(other.read_mg_l)]
        if len(one.read_mg_l) < FEWEST_LAYERED:
            found.append(before_mg_l.get(place + 1, float("nan")))
            continue
        found.append(
            stop_reading(
                np.concatenate([other.read_mg_l for other in near]),
                np.concatenate([other.least_mg_l for other in near]),
                np.concatenate([other.lost for other in near]),
                np.concatenate([other.other_lost for other in near]),
                limit_mg_l,
            )
        )
    return {
        place + 1: float("nan") if reading != reading else min(reading, most_mg_l)
        for place, reading in enumerate(one_way(found))
    }


def _shut_off(
    scene: Scene, standing: Standing, schedule: Schedule, number: int, hour: int, minutes: int
) -> Shut:
    """Return what the ponds tell of one hour of one day, from that day with the air shut off after the hour."""
    begin = standing.hour
    end = scene.next_start(begin + 1, schedule.start_hour_h)
    member = standing.member[standing.alive]
    open_now = schedule.open_diffusers(number - 1)
    on = steps_on(min(minutes, 60 * hour), open_now, end - begin, len(scene.running.depth_m))
    air = AirPlan(scene.running.depth_m, scene.running.air_mol_s, on)
    run = march_part(scene, standing.columns, member, air, begin, end, stirred=bool(standing.stirred.all()))
    # water that is mixed is not stopped, so only layered ponds tell the reading
    layered = still_layered(run.records[:, hour - 1])
    read = run.records[ix.NEAR_SURFACE_O2, hour - 1] + scene.errors.at(number, hour, member)
    least = run.records[ix.LEAST_O2, hour:].min(axis=0)
    lost = run.after.failed_step >= hour * ix.STEPS_EACH_HOUR
    other = lost & (run.after.cause != 0)
    return Shut(read[layered], least[layered], lost[layered], other[layered], float(layered.mean()))
