"""One day of a schedule in every member, with what the crew reads, and the days after one another.

A member whose run is stopped, or whose start is held, falls a rung behind the others; members that do the
same on a day are marched together. What a day does depends on the members alone, not on who is beside them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from plumeline.kernels import column_index as ix
from plumeline.stages.column import NEAR_SURFACE_M, AirPlan, Columns, Run
from plumeline.stages.mixed import still_layered
from plumeline.stages.startup.crew import BEFORE
from plumeline.stages.startup.dissolved import early_stop_mg_l
from plumeline.stages.startup.scene import Scene, Standing, StopTable, join_columns, march_part, smells
from plumeline.stages.startup.schedule import WHOLE_DAY_MIN, Schedule, readings_in, steps_on

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

HOLD_HOURS = 72
"""A loss counts for the job up to three days after completion: mixed water goes on losing oxygen for days, and
a schedule that is quickly complete must not hide that behind its completion."""
FALLEN_MG_L = 0.5
"""A run is stopped only where the reading has fallen by this since before the start: a pond whose oxygen is low of
itself would else never be started, however little the air takes."""
NO_AIR = -1


@dataclass(frozen=True)
class DayLog:
    """One day of the members that were marched.

    Attributes:
        number: day of the plan.
        begin, end: hours of the weather.
        alive: places of the members (alive).
        records: (RECORDS, hours, alive).
        lifted_m3: water lifted in the day (alive).
        minutes: minutes of air that each was given (alive).
        stopped: whether a reading stopped or held the run (alive).
        visited: whether somebody was there (alive).
    """

    number: int
    begin: int
    end: int
    alive: Ints
    records: Array
    lifted_m3: Array
    minutes: Ints
    stopped: Flags
    visited: Flags


@dataclass
class _Day:
    """What the groups of one day leave, in the order of the alive."""

    parts: list[Columns]
    places: list[Ints]
    records: Array
    failed_step: Ints
    cause: Ints
    lifted_m3: Array
    minutes: Ints
    stopped: Flags
    stirred: Flags


def stop_readings(scene: Scene, schedule: Schedule, number: int, table: StopTable | None) -> Array:
    """Return the reading that stops the run after each watched hour of a day; NaN for none (hours)."""
    hours = scene.crew.watched_hours(schedule.start_hour_h)
    if not schedule.watched:
        return np.full(hours, np.nan)
    if schedule.stop_above_mg_l is not None:
        limit_mg_l = scene.refuge.limits.oxygen_mg_l
        return np.full(hours, early_stop_mg_l(limit_mg_l, schedule.stop_above_mg_l, scene.most_mg_l))
    if table is not None:
        return np.array([table.get((number, h + 1), np.nan) for h in range(hours)])
    clocks = (int(schedule.start_hour_h) + 1 + np.arange(hours)) % 24
    return scene.clock_stop_mg_l[clocks]


def _rungs_today(
    scene: Scene, standing: Standing, schedule: Schedule, number: int, visited: Flags
) -> tuple[Ints, Flags]:
    """Return the rung that each alive member runs today, or `NO_AIR`, and whether it is held."""
    alive = standing.alive
    last = len(schedule.minutes) - 1
    rung = standing.rung[alive].copy()
    held = np.zeros(len(alive), dtype=bool)
    stays_on = schedule.minutes[last] == WHOLE_DAY_MIN
    on_already = stays_on & (rung > last)
    if not scene.attended[standing.hour]:
        rung[~on_already] = NO_AIR
        return rung, held
    if schedule.gate is not None:
        asked = np.flatnonzero(visited & ~on_already)
        if len(asked):
            read = standing.dawn_do_mg_l[alive[asked]] + scene.errors.at(
                number, 0, standing.member[alive[asked]]
            )
            bad = (read < schedule.gate.least_do_mg_l) | smells(standing, asked)
            # mixed water has nothing more to bring up; only the custom holds all the same
            bad &= standing.layered[alive[asked]] | schedule.gate.repeat
            held[asked[bad]] = True
            # to repeat the first dose there must have been one
            rung[held] = np.where(schedule.gate.repeat & (rung[held] > 0), rung[held] - 1, NO_AIR)
    return rung, held


def live_day(
    scene: Scene, standing: Standing, schedule: Schedule, number: int, table: StopTable | None = None
) -> tuple[Standing, DayLog]:
    """Carry the alive members through one day of a schedule, from one start to the next.

    Args:
        scene: the scene.
        standing: where they stand.
        schedule: the schedule.
        number: day of the plan, from 1.
        table: stop readings by day and hour of the run; the scene's own by clock hour when None.
    """
    begin = standing.hour
    end = scene.next_start(begin + 1, schedule.start_hour_h)
    alive = standing.alive
    steps = np.minimum(standing.rung[alive], len(schedule.minutes))
    calendar = np.array([schedule.visited_at(number, step) for step in range(len(schedule.minutes) + 1)])
    visited = (calendar[steps] | standing.called[alive]) & bool(scene.attended[begin])
    rung, held = _rungs_today(scene, standing, schedule, number, visited)
    count = len(alive)
    day = _Day(
        [], [], np.zeros((ix.RECORDS, end - begin, count)), np.full(count, -1), np.zeros(count, np.int64),
        np.zeros(count), np.zeros(count, np.int64), held.copy(), standing.stirred.copy(),
    )  # fmt: skip
    stops = stop_readings(scene, schedule, number, table)
    keys = np.stack([rung, visited.astype(np.int64), standing.stirred.astype(np.int64)])
    for key in np.unique(keys, axis=1).T:
        group = np.flatnonzero((keys == key[:, None]).all(axis=0))
        _run_group(scene, standing, schedule, number, int(key[0]), stops if key[1] else None, group, end, day)
    columns = join_columns(day.parts, day.places)
    after = _after(scene, standing, begin, end, columns, day, rung, held, visited)
    log = DayLog(number, begin, end, alive, day.records, day.lifted_m3, day.minutes, day.stopped, visited)
    return after, log


def _run_group(
    scene: Scene, standing: Standing, schedule: Schedule, number: int, rung: int, stops: Array | None,
    group: Ints, end: int, day: _Day,
) -> None:  # fmt: skip
    """March members that do the same today; those that a reading stops go back and are marched with less."""
    begin = standing.hour
    minutes = 0 if rung == NO_AIR else schedule.step(rung)
    open_now = () if rung == NO_AIR else schedule.open_diffusers(rung)
    whole = len(group) == len(standing.alive)
    columns = standing.columns if whole else standing.columns.take(group)
    run = _march(scene, standing, columns, group, minutes, open_now, end)
    hour_of_stop = np.zeros(len(group), dtype=np.int64)
    if stops is not None and minutes > 60:
        member = standing.member[standing.alive[group]]
        top = columns.grid.layer_at(NEAR_SURFACE_M)
        # a low that was there before the air is the pond's own
        before = columns.state[ix.OXYGEN, top] + scene.errors.at(number, BEFORE, member)
        watched = min(readings_in(minutes, len(stops)), end - begin - 1)
        for h in range(watched, 0, -1):
            read = run.records[ix.NEAR_SURFACE_O2, h - 1] + scene.errors.at(number, h, member)
            # what lies below is up already where top and bottom are alike: to stop would spare nothing
            layered = still_layered(run.records[:, h - 1])
            hour_of_stop[(read < stops[h - 1]) & (read < before - FALLEN_MG_L) & layered] = h
    going = np.flatnonzero(hour_of_stop == 0)
    if len(going):
        kept = run if len(going) == len(group) else _part(run, going)
        _note(day, kept, group[going], minutes, end - begin)
    stopped = np.flatnonzero(hour_of_stop > 0)
    if len(stopped):
        _stop_some(
            scene, standing, columns.take(stopped), group[stopped], hour_of_stop[stopped], open_now, end, day
        )


def _stop_some(
    scene: Scene, standing: Standing, columns: Columns, group: Ints, hour_of_stop: Ints,
    open_diffusers: tuple[int, ...], end: int, day: _Day,
) -> None:  # fmt: skip
    """March members again whose runs are stopped, each after its own hour.

    Hour by hour those that still run and those that are stopped are two groups; after the last stop they are
    one. What is marched together costs little more than one of it.
    """
    begin, count = standing.hour, len(group)
    pieces = _Pieces(
        np.zeros((ix.RECORDS, end - begin, count)), np.full(count, -1), np.zeros(count, np.int64)
    )
    last = int(hour_of_stop.max())
    for hour in range(last):
        parts: list[Columns] = []
        places: list[Ints] = []
        for on in (True, False):
            some = np.flatnonzero((hour_of_stop > hour) == on)
            if len(some):
                minutes = 60 if on else 0
                run = _march_hours(
                    scene, standing, columns.take(some), group[some], minutes, open_diffusers, begin + hour,
                    begin + hour + 1, stirred=hour > 0 or bool(standing.stirred[group[0]]),
                )  # fmt: skip
                pieces.note(run, some, hour)
                parts.append(run.after)
                places.append(some)
        columns = join_columns(parts, places)
    run = _march_hours(scene, standing, columns, group, 0, open_diffusers, begin + last, end, stirred=True)
    pieces.note(run, np.arange(count), last)
    whole = replace(
        run,
        after=replace(run.after, failed_step=pieces.failed_step, cause=pieces.cause),
        records=pieces.records,
    )
    for hours in np.unique(hour_of_stop):
        some = np.flatnonzero(hour_of_stop == hours)
        _note(day, _part(whole, some), group[some], 60 * int(hours), end - begin)
    day.stopped[group] = True


@dataclass
class _Pieces:
    """A day that is marched in pieces."""

    records: Array
    failed_step: Ints
    cause: Ints

    def note(self, run: Run, some: Ints, hour: int) -> None:
        """Keep a piece that begins at an hour of the day."""
        hours = run.records.shape[1]
        self.records[:, hour : hour + hours, some] = run.records
        new = (run.after.failed_step >= 0) & (self.failed_step[some] < 0)
        self.failed_step[some[new]] = run.after.failed_step[new] + hour * ix.STEPS_EACH_HOUR
        self.cause[some[new]] = run.after.cause[new]


def _march(
    scene: Scene, standing: Standing, columns: Columns, group: Ints, minutes: int,
    open_diffusers: tuple[int, ...], end: int,
) -> Run:  # fmt: skip
    """March members that do the same through the whole day."""
    return _march_hours(
        scene, standing, columns, group, minutes, open_diffusers, standing.hour, end,
        stirred=bool(standing.stirred[group[0]]),
    )  # fmt: skip


def _march_hours(
    scene: Scene, standing: Standing, columns: Columns, group: Ints, minutes: int,
    open_diffusers: tuple[int, ...], begin: int, end: int, *, stirred: bool,
) -> Run:  # fmt: skip
    """March members through some hours, with air for so many minutes from the first."""
    running = scene.running
    on = steps_on(minutes, open_diffusers, end - begin, len(running.depth_m))
    air = AirPlan(running.depth_m, running.air_mol_s, on)
    member = standing.member[standing.alive[group]]
    return march_part(scene, columns, member, air, begin, end, stirred=stirred)


def _part(run: Run, chosen: Ints) -> Run:
    return replace(run, after=run.after.take(chosen), records=run.records[:, :, chosen])


def _note(day: _Day, run: Run, group: Ints, minutes: int, hours: int) -> None:
    """Write what a group's day was."""
    day.parts.append(run.after)
    day.places.append(group)
    day.records[:, :, group] = run.records[:, :hours]
    day.failed_step[group] = run.after.failed_step
    day.cause[group] = run.after.cause
    share_on = np.clip(min(minutes, 60 * hours) / 60.0 - np.arange(hours), 0.0, 1.0)
    day.lifted_m3[group] = 3600.0 * share_on @ run.records[ix.PLUME_FLOW, :hours]
    day.minutes[group] = minutes
    if minutes > 0:
        day.stirred[group] = True


def _after(
    scene: Scene, standing: Standing, begin: int, end: int, columns: Columns, day: _Day,
    rung: Ints, held: Flags, visited: Flags,
) -> Standing:  # fmt: skip
    """Return where the members stand after the day."""
    alive = standing.alive
    lost, cause = standing.lost_hour.copy(), standing.cause.copy()
    new = (day.failed_step >= 0) & (lost[alive] < 0)
    lost[alive[new]] = begin + day.failed_step[new] // ix.STEPS_EACH_HOUR
    cause[alive[new]] = day.cause[new]
    complete, mixed = standing.complete_hour.copy(), standing.mixed.copy()
    layered = standing.layered.copy()
    dawn_do = standing.dawn_do_mg_l.copy()
    for dawn in scene.dawn_index[(scene.dawn_index >= begin) & (scene.dawn_index < end)]:
        record = day.records[:, dawn - begin]
        now = ~still_layered(record) & (record[ix.BOTTOM_O2] > scene.refuge.limits.oxygen_mg_l)
        both = now & mixed[alive] & (complete[alive] < 0)
        complete[alive[both]] = dawn + 1
        mixed[alive] = now
        layered[alive] = still_layered(record)
        dawn_do[alive] = record[ix.NEAR_SURFACE_O2]
    climbed = standing.rung.copy()
    ran = (rung != NO_AIR) & ~held & ~day.stopped
    climbed[alive[ran]] += 1
    visits = standing.visits.copy()
    visits[alive] += visited & (standing.complete_hour[alive] < 0)
    called = np.zeros_like(standing.called)
    # who was to come on a day that nobody can comes on the next one
    called[alive] = day.stopped | (standing.called[alive] & ~visited)
    counts = standing.held.copy()
    counts[alive] += day.stopped
    hours_h = standing.running_h.copy()
    hours_h[alive] += np.minimum(day.minutes / 60.0, end - begin) * (standing.complete_hour[alive] < 0)
    return replace(
        standing, hour=end, columns=columns, stirred=day.stirred, rung=climbed, lost_hour=lost, cause=cause,
        complete_hour=complete, mixed=mixed, layered=layered, dawn_do_mg_l=dawn_do, called=called, visits=visits,
        held=counts, running_h=hours_h,
    )  # fmt: skip


def lost_in_job(standing: Standing) -> Flags:
    """Return which members lost the refuge between the first run and three days after their completion."""
    lost, done = standing.lost_hour, standing.complete_hour
    return (lost >= 0) & ((done < 0) | (lost < done + HOLD_HOURS))


def drop(standing: Standing, gone: Flags) -> Standing:
    """Return the standing without marching on the members that are gone (members)."""
    stays = np.flatnonzero(~gone[standing.alive])
    if len(stays) == len(standing.alive):
        return standing
    return replace(
        standing,
        alive=standing.alive[stays],
        columns=standing.columns.take(stays),
        stirred=standing.stirred[stays],
    )


def settled(standing: Standing) -> Flags:
    """Return which members nothing more can happen to: lost, or three days past completion."""
    done = standing.complete_hour
    return lost_in_job(standing) | ((done >= 0) & (standing.hour >= done + HOLD_HOURS))
