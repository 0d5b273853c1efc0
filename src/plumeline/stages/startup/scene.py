"""What every schedule that is tried on one ensemble shares, and where its members stand on a day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Site
from plumeline.kernels import column_index as ix
from plumeline.kernels.smell import fill_h2s
from plumeline.stages.column import NEAR_SURFACE_M, AirPlan, Columns, Ensemble, Refuge, Run, march
from plumeline.stages.column.sun import sun_hours
from plumeline.stages.startup.crew import Crew, Errors, attended_hours, draw_errors
from plumeline.stages.startup.dissolved import most_dissolved_mg_l

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

SMELL_MG_L = 0.005
"""Undissociated H₂S at 0.6 m over which the crew smells it: the nose finds some 5 parts in 10⁹ of air, and air over
a pond holds a few hundredths of what would be in balance with the water (judgement)."""
StopTable = Mapping[tuple[int, int], float]
"""The reading that stops a run, by day of the plan and hour of the run; NaN where no reading keeps the promise."""


@dataclass(frozen=True)
class Running:
    """The diffusers as they run.

    Attributes:
        depth_m: depths of the membranes (diffusers).
        air_mol_s: dry air of each (diffusers).
    """

    depth_m: Array
    air_mol_s: Array


@dataclass(frozen=True)
class Scene:
    """One ensemble, its diffusers, its fish, its crew.

    Attributes:
        ensemble: the ensemble, standing at the reading.
        running: the diffusers.
        refuge: the fish's limits.
        earliest_hour: hour of weather before which no run starts.
        horizon_d: days that a start-up may take.
        crew: when somebody can come.
        attended: whether somebody can come on the local day of each hour (hours).
        dawn_index: hours of the weather that hold a sunrise.
        dusk_index: hours that hold a sunset.
        errors: of the readings that would be taken.
        clock_stop_mg_l: stop readings by clock hour from the pond without air, for the search (24).
        most_mg_l: what the middle pond's water dissolves at the reading.
    """

    ensemble: Ensemble
    running: Running
    refuge: Refuge
    earliest_hour: int
    horizon_d: int
    crew: Crew
    attended: Flags
    dawn_index: Ints
    dusk_index: Ints
    errors: Errors
    clock_stop_mg_l: Array
    most_mg_l: float

    @property
    def members(self) -> int:
        """Number of members."""
        return self.ensemble.columns.members

    @property
    def hours(self) -> int:
        """Hours of weather."""
        return len(self.ensemble.local_hour)

    def next_start(self, hour: int, clock_h: float) -> int:
        """Return the first hour at or after `hour` at which the clock shows `clock_h`, or the end."""
        later = np.flatnonzero(self.ensemble.local_hour[hour:] == int(clock_h))
        return hour + int(later[0]) if len(later) else self.hours


def make_scene(
    ensemble: Ensemble, running: Running, refuge: Refuge, *, site: Site, crew: Crew, earliest_hour: int,
    horizon_d: int, seed: int,
) -> Scene:  # fmt: skip
    """Return the scene of an ensemble.

    Args:
        ensemble: the ensemble.
        running: the diffusers.
        refuge: the fish's limits.
        site: where the pond lies, for its dawns and its clock.
        crew: when somebody can come.
        earliest_hour: hour of weather before which no run starts.
        horizon_d: days that a start-up may take.
        seed: seed of the readings' errors.
    """
    hours, columns = len(ensemble.local_hour), ensemble.columns
    sun = sun_hours(site, ensemble.start, hours)
    return Scene(
        ensemble, running, refuge, earliest_hour, horizon_d, crew,
        attended_hours(crew, ensemble.start, hours, site.time_zone),
        sun.dawn_index, sun.dusk_index,
        draw_errors(ensemble.columns.members, horizon_d + 4, seed),
        np.full(24, np.nan), most_dissolved_mg_l(columns, float(np.median(columns.weather[ix.PRESSURE, columns.hour]))),
    )  # fmt: skip


def some_of(scene: Scene, member: Ints) -> Scene:
    """Return the scene of some of its members, each with its own weather and errors."""
    errors = Errors(scene.errors.bias_mg_l[:, member], scene.errors.place_mg_l[:, :, member])
    ensemble = replace(scene.ensemble, columns=scene.ensemble.columns.take(member))
    return replace(scene, ensemble=ensemble, errors=errors)


@dataclass(frozen=True)
class Standing:
    """Where some members stand at the start of a day of the plan; arrays of all of them but `columns`.

    Attributes:
        member: which members of the ensemble these are (members).
        hour: hour of the weather.
        alive: places, among `member`, of those that are still marched (alive).
        columns: their water, with no weather of its own.
        stirred: whether the mud under each was stirred (alive).
        rung: steps of the ladder behind each (members).
        lost_hour: hour at which each first lost the refuge, or -1 (members).
        cause: which limit took it (members).
        complete_hour: hour of completion, or -1 (members).
        mixed: whether the last dawn was one of mixed water with oxygen (members).
        layered: whether top and bottom differed at the last dawn, or no dawn has been (members).
        dawn_do_mg_l: oxygen at 0.6 m at the last dawn; NaN before the first (members).
        called: whether somebody must come today because yesterday's run was stopped or held (members).
        visits: visits up to now and up to completion (members).
        held: days on which a run was stopped or held (members).
        running_h: hours of air so far (members).
    """

    member: Ints
    hour: int
    alive: Ints
    columns: Columns
    stirred: Flags
    rung: Ints
    lost_hour: Ints
    cause: Ints
    complete_hour: Ints
    mixed: Flags
    layered: Flags
    dawn_do_mg_l: Array
    called: Flags
    visits: Ints
    held: Ints
    running_h: Array


def lead_in(scene: Scene, member: Ints, clock_h: float, wait_d: int = 0) -> tuple[Standing, Run | None]:
    """Return members as they stand at the first run, marched there without air.

    What they lose before it is the pond's own and does not count: `Run` tells it.
    """
    base = scene.ensemble.columns
    first = scene.next_start(scene.earliest_hour, clock_h)
    if wait_d:
        first = scene.next_start(min(first + 24 * wait_d - 2, scene.hours - 1), clock_h)
    columns = _dry(base).take(member)
    count = len(member)
    run: Run | None = None
    if first > base.hour:
        none = AirPlan(
            np.zeros(0), np.zeros(0), np.zeros(((first - base.hour) * ix.STEPS_EACH_HOUR, 0), np.uint8)
        )
        run = march_part(scene, columns, member, none, base.hour, first)
        columns = _dry(run.after)
    nothing = np.zeros(count, dtype=np.int64)
    dawn = np.full(count, np.nan)
    if run is not None:
        dawns = scene.dawn_index[(scene.dawn_index >= base.hour) & (scene.dawn_index < first)]
        if len(dawns):
            dawn = run.records[ix.NEAR_SURFACE_O2, dawns[-1] - base.hour].copy()
    stirred = np.full(count, bool(base.stirred[0]))
    standing = Standing(
        member, first, np.arange(count), replace(columns, under_steps=nothing.copy()), stirred, nothing,
        nothing - 1, nothing, nothing - 1, np.zeros(count, bool), np.ones(count, bool), dawn,
        np.zeros(count, bool), nothing, nothing, np.zeros(count),
    )  # fmt: skip
    return standing, run


def _dry(columns: Columns) -> Columns:
    """Return the columns without their weather: it is taken by the hour from the ensemble."""
    return replace(columns, weather=np.zeros((ix.WEATHER, 0, columns.members)), hour=0)


def march_part(
    scene: Scene, columns: Columns, member: Ints, air: AirPlan, begin: int, end: int, *, stirred: bool = False
) -> Run:
    """March some members over some hours; the run's hours count from `begin`, and it forgets older losses."""
    nothing = np.zeros(columns.members, dtype=np.int64)
    weather = np.ascontiguousarray(scene.ensemble.columns.weather[:, begin:end][:, :, member])
    standing = replace(
        columns, weather=weather, failed_step=nothing - 1, cause=nothing.copy(), hour=0,
        stirred=np.array([int(stirred)], dtype=np.int64),
    )  # fmt: skip
    run = march(standing, air, end - begin)
    return replace(run, after=_dry(run.after))


def join_columns(parts: list[Columns], places: list[Ints]) -> Columns:
    """Return the members of several parts as one, each back in its own place."""
    first = parts[0]
    if len(parts) == 1:
        return first.take(np.argsort(places[0], kind="stable"))
    counts = [part.members for part in parts]
    joined: dict[str, Array] = {}
    for field in fields(first):
        value = getattr(first, field.name)
        if not isinstance(value, np.ndarray) or field.name in ("limits", "stirred"):
            continue
        if value.ndim and value.shape[-1] == counts[0]:
            joined[field.name] = np.concatenate([getattr(part, field.name) for part in parts], axis=-1)
    order = np.argsort(np.concatenate(places), kind="stable")
    return replace(first, **joined).take(order)  # type: ignore[arg-type]


def smells(standing: Standing, chosen: Ints) -> Flags:
    """Return which of some alive members smell of hydrogen sulphide at the water, now.

    Args:
        standing: where the members stand.
        chosen: places among the alive.
    """
    columns = standing.columns
    top = columns.grid.layer_at(NEAR_SURFACE_M) + 1
    state = np.ascontiguousarray(columns.state[:, :top, chosen])
    share = np.ascontiguousarray(columns.parameters[ix.SULPHIDE_SHARE, chosen])
    h2s = np.empty((top, len(chosen)))
    fill_h2s(state, share, h2s)
    return np.asarray(h2s.max(axis=0) > SMELL_MG_L)
