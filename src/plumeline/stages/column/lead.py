"""Run ponds from ten days before the first reading through all readings, with the air that ran."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Job
from plumeline.kernels import column_index as ix
from plumeline.stages.column.evidence import Ran
from plumeline.stages.column.grid import Grid
from plumeline.stages.column.looks import Looks
from plumeline.stages.column.march import AirPlan, Columns, march
from plumeline.stages.column.mud import mud_at_start
from plumeline.stages.column.parameters import parameters_of
from plumeline.stages.column.priors import WEATHER_LASTING, draws_of, rows_of
from plumeline.stages.column.seen import numbers_at
from plumeline.stages.column.start import start_state
from plumeline.stages.column.water import WaterRead
from plumeline.stages.column.weather import WeatherBase, member_weather

Array = NDArray[np.float64]

SPIN_UP_HOURS = 48  # of a start that nobody read; what is lost in them is no evidence


@dataclass(frozen=True)
class Lead:
    """All that a run through the readings needs.

    Attributes:
        job: the job.
        grid: the layers.
        limits: limits of the refuge (LIMITS).
        water: the first reading by layer.
        base: the weather.
        air: what has run.
        looks: the numbers that were read.
        start: start of hour 0, UTC.
        profile_hour: hour of the latest profile with layers.
        end_hour: hour at which the ensemble will stand.
    """

    job: Job
    grid: Grid
    limits: Array
    water: WaterRead
    base: WeatherBase
    air: AirPlan
    looks: Looks
    start: datetime
    profile_hour: int
    end_hour: int

    def weather(self, scores: Array, seed: int) -> Array:
        """Return the members' weather up to the end of the lead."""
        until = replace(
            self.base,
            hours=self.base.hours[:, : self.end_hour],
            clear_w_m2=self.base.clear_w_m2[: self.end_hour],
            local_hour=self.base.local_hour[: self.end_hour],
            local_day_index=self.base.local_day_index[: self.end_hour],
        )
        return member_weather(until, scores.shape[1], seed, self.end_hour, lasting_of(scores))


def lasting_of(scores: Array) -> Array:
    """Return the scores of the weather that lasts (3, members), of all scores (scores, members)."""
    return np.asarray(scores[rows_of(WEATHER_LASTING)])


def run_lead(lead: Lead, scores: Array, seed: int) -> tuple[Columns, Ran]:
    """Run ponds of the given scores (scores, ponds); the columns returned stand at the end of the lead."""
    members = scores.shape[1]
    draws = draws_of(scores)
    state, extinction_1_m, dissolved = start_state(lead.water, draws, lead.job, lead.grid)
    draws["chlorophyll"] = state[ix.CHLOROPHYLL].max(axis=0)
    draws["sulphide_share"] = dissolved
    nothing = np.zeros(members, dtype=np.int64)
    columns = Columns(
        lead.grid,
        state,
        mud_at_start(state[ix.TEMPERATURE], lead.job.site, lead.start),
        parameters_of(draws, extinction_1_m, lead.job, float(lead.grid.area_m2[0]), sulphide_read=False),
        lead.weather(scores, seed),
        lead.limits,
        nothing.copy(),
        nothing - 1,
        nothing.copy(),
        np.zeros(1, dtype=np.int64),
    )
    looks = lead.looks
    seen = np.zeros((looks.count, members))
    least = np.ones(members)
    least_do = np.full(members, 1e9)
    lost = np.zeros(members, dtype=bool)
    layers = np.zeros((2, lead.grid.layers, members))
    stops = sorted({SPIN_UP_HOURS, lead.profile_hour, *(int(hour) for hour in looks.hour), lead.end_hour})
    for hour in stops:
        if hour > columns.hour:
            begun = columns.hour
            run = march(columns, lead.air, hour)
            columns = run.after
            if begun >= SPIN_UP_HOURS:
                least = np.minimum(least, run.records[ix.REFUGE, begun:hour].min(axis=0))
                least_do = np.minimum(least_do, run.records[ix.LEAST_O2, begun:hour].min(axis=0))
        if hour == SPIN_UP_HOURS:
            columns = _afresh(columns)
        if hour == lead.profile_hour:
            layers = columns.state[[ix.TEMPERATURE, ix.OXYGEN]].copy()
        rows = np.flatnonzero(looks.hour == hour)
        if len(rows):
            seen[rows] = numbers_at(columns, looks, rows)
    lost |= columns.failed_step >= 0
    sulphide = (columns.state[ix.SULPHIDE] * columns.parameters[ix.SULPHIDE_SHARE]).max(axis=0)
    return _afresh(columns), Ran(scores, seen, lost, least, least_do, sulphide, layers)


def _afresh(columns: Columns) -> Columns:
    """Return the columns with nothing lost yet."""
    nothing = np.zeros(columns.members, dtype=np.int64)
    return replace(columns, under_steps=nothing.copy(), failed_step=nothing - 1, cause=nothing.copy())
