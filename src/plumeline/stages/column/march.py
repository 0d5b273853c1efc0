"""Run an ensemble along a schedule of air, on as many threads as there are."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from plumeline.errors import ModelError
from plumeline.kernels import column_index as ix
from plumeline.kernels.column import advance
from plumeline.kernels.column_block import Air, Basin, Conditions, Members, Told
from plumeline.stages.column.grid import Grid

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.uint8]

MOST_THREADS = 16
STEADY_STRIDE_STEPS = 2  # a step of 10 min while the air does not change: see docs/column.md for what it does
NEAR_SURFACE_M = 0.6  # two feet: where the plan's readings are taken


@dataclass(frozen=True)
class AirPlan:
    """What the diffusers are and when they run.

    Attributes:
        depth_m: depths of the membranes (diffusers).
        air_mol_s: dry air of each while it runs (diffusers).
        on: which run in each step of five minutes (steps, diffusers).
    """

    depth_m: Array
    air_mol_s: Array
    on: Flags


@dataclass(frozen=True)
class Columns:
    """An ensemble at one hour: all that a run changes, and all that it needs.

    Attributes:
        grid: the layers.
        state: (STATES, layers, members).
        bed_degc: temperature of the mud's slabs (BED_SLABS * layers, members); one row a layer means mud that is as
            warm all the way down.
        parameters: (PARAMETERS, members).
        weather: (WEATHER, hours, members).
        limits: limits of the refuge (LIMITS).
        under_steps: steps in a row without refuge (members).
        failed_step: first step of failure or -1 (members).
        cause: which limit bound at that step (members).
        stirred: 1 once the mud was stirred (1).
        hour: hour at which the ensemble stands.
    """

    grid: Grid
    state: Array
    bed_degc: Array
    parameters: Array
    weather: Array
    limits: Array
    under_steps: Ints
    failed_step: Ints
    cause: Ints
    stirred: Ints
    hour: int = 0

    def __post_init__(self) -> None:
        """Lay mud that was given by the layer on its slabs, and refuse any other shape: the kernel asks no more."""
        layers = self.grid.layers
        if len(self.bed_degc) == layers:
            object.__setattr__(self, "bed_degc", np.concatenate([self.bed_degc] * ix.BED_SLABS))
        if self.bed_degc.shape != (ix.BED_SLABS * layers, self.state.shape[2]):
            raise ModelError(f"mud of the shape {self.bed_degc.shape} does not fit {layers} layers.")

    @property
    def members(self) -> int:
        """Number of members."""
        return int(self.state.shape[2])

    def take(self, chosen: Ints | slice) -> Columns:
        """Return a copy of some of the members, even of all of them: a run changes its arrays in place."""
        return replace(
            self,
            state=np.array(self.state[:, :, chosen], order="C"),
            bed_degc=np.array(self.bed_degc[:, chosen], order="C"),
            parameters=np.array(self.parameters[:, chosen], order="C"),
            weather=np.array(self.weather[:, :, chosen], order="C"),
            under_steps=self.under_steps[chosen].copy(),
            failed_step=self.failed_step[chosen].copy(),
            cause=self.cause[chosen].copy(),
            stirred=self.stirred.copy(),
        )


@dataclass(frozen=True)
class Run:
    """What a run left.

    Attributes:
        after: the ensemble at the end.
        records: (RECORDS, hours, members), from hour 0 of the weather.
        books: gains and losses (FLUXES, members).
        snapshots: temperature and oxygen by the hour (2, hours, layers, members), or no hours.
    """

    after: Columns
    records: Array
    books: Array
    snapshots: Array


def still(hours: int) -> AirPlan:
    """Return the plan with no air."""
    return AirPlan(np.zeros(0), np.zeros(0), np.zeros((hours * ix.STEPS_EACH_HOUR, 0), dtype=np.uint8))


def march(
    columns: Columns,
    air: AirPlan,
    until_hour: int,
    *,
    keep_profiles: bool = False,
    steady_stride_steps: int = STEADY_STRIDE_STEPS,
) -> Run:
    """Carry an ensemble to `until_hour`; the ensemble given is left as it is.

    Members are split over threads in blocks; a member's result does not depend on the split.

    Args:
        columns: the ensemble.
        air: the diffusers and their schedule.
        until_hour: hour at which the run ends.
        keep_profiles: keep temperature and oxygen of every layer by the hour.
        steady_stride_steps: steps of five minutes that one step takes in an hour in which the air does not change.

    Raises:
        ModelError: a state turned unphysical, with the hour and the layer.
    """
    blocks = _blocks(columns.members)

    def run_block(block: slice) -> tuple[Run, tuple[int, int, int]]:
        return _march_block(columns.take(block), air, until_hour, keep_profiles, steady_stride_steps)

    outcomes = [run_block(blocks[0])] if len(blocks) == 1 else list(_pool(os.getpid()).map(run_block, blocks))
    for block, (part, broke) in zip(blocks, outcomes, strict=True):
        _must_be_physical(part, broke, block.start)
    parts = [part for part, _ in outcomes]
    joined = replace(
        columns,
        state=np.concatenate([part.after.state for part in parts], axis=2),
        bed_degc=np.concatenate([part.after.bed_degc for part in parts], axis=1),
        under_steps=np.concatenate([part.after.under_steps for part in parts]),
        failed_step=np.concatenate([part.after.failed_step for part in parts]),
        cause=np.concatenate([part.after.cause for part in parts]),
        stirred=parts[0].after.stirred,
        hour=until_hour,
    )
    return Run(
        joined,
        np.concatenate([part.records for part in parts], axis=2),
        np.concatenate([part.books for part in parts], axis=1),
        np.concatenate([part.snapshots for part in parts], axis=3),
    )


@cache
def _pool(_process_number: int) -> ThreadPoolExecutor:
    """Return this process's threads: a plan marches a thousand times, and to start threads each time costs a tenth."""
    return ThreadPoolExecutor(max_workers=_threads())


def _threads() -> int:
    return min(os.cpu_count() or 1, MOST_THREADS)


def _blocks(members: int) -> list[slice]:
    """Return what each thread runs: whole blocks of the kernel, for a block that is not full costs as much."""
    count = -(-members // ix.LANES)
    threads = max(1, min(_threads(), count))
    edges = np.minimum(np.linspace(0, count, threads + 1).astype(int) * ix.LANES, members)
    return [slice(int(a), int(b)) for a, b in pairwise(edges)]


def _march_block(
    columns: Columns, air: AirPlan, until_hour: int, keep_profiles: bool, steady_stride_steps: int
) -> tuple[Run, tuple[int, int, int]]:
    """Run some members on this thread; return what they left, and where a state broke (-1 for nowhere)."""
    hours = columns.weather.shape[1]
    layers, members = columns.grid.layers, columns.members
    records = np.zeros((ix.RECORDS, hours, members))
    books = np.zeros((ix.FLUXES, members))
    snapshots = np.zeros((2, hours if keep_profiles else 0, layers, members))
    grid = columns.grid
    broke = advance(
        Members(
            columns.state, columns.bed_degc, columns.under_steps, columns.failed_step, columns.cause,
            columns.stirred,
        ),
        Basin(grid.interface_depth_m, grid.area_m2, grid.volume_m3, grid.centre_m),
        Conditions(columns.parameters, columns.weather, columns.limits),
        Air(air.on, air.depth_m, air.air_mol_s),
        Told(books, records, snapshots),
        grid.layer_at(NEAR_SURFACE_M),
        steady_stride_steps,
        columns.hour,
        until_hour,
    )  # fmt: skip
    return Run(replace(columns, hour=until_hour), records, books, snapshots), broke


def _must_be_physical(part: Run, where_index: tuple[int, int, int], first_member: int) -> None:
    """Stop where a state was not finite or can't be water, and say where."""
    hour, layer, member = where_index
    if hour < 0:
        return
    t, o = (part.after.state[i, layer, member] for i in (ix.TEMPERATURE, ix.OXYGEN))
    raise ModelError(
        f"the water column turned unphysical by hour {hour}: layer {layer} of member {first_member + member} has "
        f"{t:.2f} °C and {o:.2f} mg/L of oxygen.",
        remedy="This is a fault of the program or of an extreme input: please report the job folder.",
    )
