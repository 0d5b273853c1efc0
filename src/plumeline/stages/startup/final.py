"""The chosen plan in every member of an ensemble: what each day brings, and the water on the way."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.stages.startup.promise import Outcome, band
from plumeline.stages.startup.result import Band, ProfileBand
from plumeline.stages.startup.rollout import DayLog, drop, live_day, lost_in_job, settled
from plumeline.stages.startup.scene import Scene, Standing, StopTable, lead_in
from plumeline.stages.startup.schedule import Schedule
from plumeline.stages.startup.tree import outcome_of

Array = NDArray[np.float64]

DAYS_AFTER_D = 2  # shown after the median completion


@dataclass(frozen=True)
class DayFigures:
    """What one day brought in all members.

    Attributes:
        number: day of the plan.
        begin, end: hours of the weather.
        dawn_do_mg_l, least_do_mg_l, bottom_do_mg_l, difference_k, refuge_fraction, lifted_m3: bands.
        least_hour_h: commonest clock hour of the least oxygen.
        held_members: members whose run a reading stopped or held.
    """

    number: int
    begin: int
    end: int
    dawn_do_mg_l: Band
    least_do_mg_l: Band
    bottom_do_mg_l: Band
    difference_k: Band
    refuge_fraction: Band
    lifted_m3: Band
    least_hour_h: int
    held_members: int


@dataclass(frozen=True)
class Final:
    """The chosen plan in every member.

    Attributes:
        outcome: losses and completion.
        days: what each day brought.
        profiles: the water at the reading and at the starts of later days.
        least_do_mg_l: each member's least oxygen at 0.6 m from the first run until its job ended (members).
        complete: where the members stand two days after the median completion, for what follows it; None
            where the plan does not complete.
    """

    outcome: Outcome
    days: tuple[DayFigures, ...]
    profiles: tuple[ProfileBand, ...]
    least_do_mg_l: Array
    complete: Standing | None


@dataclass
class _Kept:
    days: list[DayFigures] = field(default_factory=list)
    profiles: list[ProfileBand] = field(default_factory=list)
    complete: Standing | None = None


def final_run(
    scene: Scene, schedule: Schedule, table: StopTable | None, told: Callable[[float], None] = lambda _s: None
) -> Final:
    """Run the plan in every member to the end of what counts; none is dropped while days are shown.

    Args:
        scene: the fresh ensemble.
        schedule: the plan.
        table: its stop readings.
        told: how far it is.
    """
    member = np.arange(scene.members)
    standing, _ = lead_in(scene, member, schedule.start_hour_h, schedule.wait_d)
    first = standing.hour
    kept = _Kept()
    base = scene.ensemble.columns
    kept.profiles.append(profile_band(scene, base.state, 0.0))
    least = np.full(scene.members, np.inf)
    number = 1
    last_shown = scene.horizon_d
    while number <= scene.horizon_d and standing.hour + 24 <= scene.hours:
        standing, log = live_day(scene, standing, schedule, number, table)
        if number <= last_shown:
            kept.days.append(_figures(scene, log))
        least[log.alive] = np.minimum(least[log.alive], log.records[ix.LEAST_O2].min(axis=0))
        half = float((standing.complete_hour >= 0).mean()) >= 0.5
        if (number in (1, 2, 7) and number <= last_shown) or (half and kept.complete is None):
            kept.profiles.append(
                profile_band(scene, standing.columns.state, float(standing.hour - base.hour))
            )
        if half and kept.complete is None:
            kept.complete = standing
            # a median over the ponds that keep their refuge can come out a day later than this one over all
            last_shown = number + DAYS_AFTER_D + 1
        if number >= last_shown:
            standing = drop(standing, settled(standing))
        told(number / scene.horizon_d)
        number += 1
        if settled(standing).all() or not len(standing.alive):
            break
    return Final(
        outcome_of(schedule, standing, first), tuple(kept.days), tuple(kept.profiles), least, kept.complete
    )


def _figures(scene: Scene, log: DayLog) -> DayFigures:
    records = log.records
    dawns = scene.dawn_index[(scene.dawn_index >= log.begin) & (scene.dawn_index < log.end)]
    dawn = int(dawns[0] - log.begin) if len(dawns) else records.shape[1] - 1
    near = records[ix.LEAST_O2]
    low_hours = scene.ensemble.local_hour[log.begin : log.end][np.argmin(near, axis=0)]
    return DayFigures(
        log.number,
        log.begin,
        log.end,
        band(records[ix.NEAR_SURFACE_O2, dawn]),
        band(near.min(axis=0)),
        band(records[ix.BOTTOM_O2, dawn]),
        band(records[ix.DIFFERENCE, dawn]),
        band(records[ix.REFUGE].min(axis=0)),
        band(log.lifted_m3),
        int(np.bincount(low_hours, minlength=24).argmax()),
        int(log.stopped.sum()),
    )


def profile_band(scene: Scene, state: Array, hours_h: float) -> ProfileBand:
    """Return temperature and oxygen by depth, as bands, of a state (STATES, layers, members)."""
    quantiles = np.quantile(state[[ix.TEMPERATURE, ix.OXYGEN]], [0.5, 0.05, 0.95], axis=2)

    def rows(variable: int) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
        middle, low, high = (tuple(float(v) for v in quantiles[q, variable]) for q in range(3))
        return middle, low, high

    depth = tuple(float(z) for z in scene.ensemble.columns.grid.centre_m)
    return ProfileBand(hours_h, depth, rows(0), rows(1))


def shown_days(final: Final) -> int:
    """Return how many days the table shows: to some days after the median completion."""
    days = final.outcome.days_to_complete
    if days is None:
        return len(final.days)
    return min(len(final.days), int(np.ceil(days)) + DAYS_AFTER_D - 1)


def lost_on(outcome: Outcome, day: DayFigures) -> int:
    """Return the members that lost the refuge on a day."""
    return int((outcome.lost & (outcome.lost_hour >= day.begin) & (outcome.lost_hour < day.end)).sum())


__all__ = ["DayFigures", "Final", "final_run", "lost_in_job", "lost_on", "profile_band", "shown_days"]
