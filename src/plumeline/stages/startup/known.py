"""What every part of the start-up stage needs of the job: the pond, what runs, the crew, and what is accepted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

import numpy as np

from plumeline.errors import ModelError
from plumeline.job.document import Job
from plumeline.stages.column import Ensemble, PastAir, Refuge, draw_ensemble, make_grid, refuge_for, runs_of
from plumeline.stages.column.grid import Basin, Grid
from plumeline.stages.mixed import STANDARD_AIR_MOL_M3
from plumeline.stages.plume import DiffuserAir
from plumeline.stages.startup.crew import Crew, crew_of
from plumeline.stages.startup.outage import after_outage
from plumeline.stages.startup.promise import Promise
from plumeline.stages.startup.scene import Running, Scene, make_scene
from plumeline.stages.startup.schedule import WHOLE_DAY_MIN

LONGEST_HORIZON_D = 21


@dataclass(frozen=True)
class Known:
    """What every part of the stage needs of the job."""

    job: Job
    grid: Grid
    refuge: Refuge
    running: Running
    names: tuple[str, ...]
    crew: Crew
    promise: Promise
    horizon_d: int
    outage_d: int
    seed: int

    @property
    def under_way(self) -> bool:
        """Whether air has run before and the plan is no restart: then what does harm is paused, not refused."""
        return bool(runs_of(self.job)[0]) and not self.outage_d

    @property
    def last_min(self) -> int:
        """Minutes of the last run of a start-up that is under way; 0 where there is none."""
        return min(int(runs_of(self.job)[0][-1].minutes), WHOLE_DAY_MIN) if self.under_way else 0

    def draw(
        self, members: int, seed: int, extra_d: int, job: Job | None = None, like: Ensemble | None = None
    ) -> Ensemble:
        """Return an ensemble with weather for the horizon and some days more; by the law of another, if given."""
        asked = job or self.job
        air = PastAir(self.running.depth_m, self.running.air_mol_s, self.names)
        hours = 24 * (self.horizon_d + 1 + extra_d + self.outage_d + self._days_to_start(asked))
        return draw_ensemble(asked, self.grid, self.refuge.as_array(), members, seed, hours, air, like=like)

    def _days_to_start(self, job: Job) -> int:
        """Return the days from the reading to the wished start."""
        wished = self.job.wishes.start_date
        if wished is None:
            return 0
        zone = ZoneInfo(self.job.site.time_zone)
        return max(0, (wished - job.profiles[-1].time.astimezone(zone).date()).days) if job.profiles else 0

    def scene(self, ensemble: Ensemble, seed: int) -> Scene:
        """Return the scene of an ensemble, after its outage where there was one."""
        if self.outage_d:
            ensemble, _ = after_outage(ensemble, self.running, self.outage_d)
        return make_scene(
            ensemble, self.running, self.refuge, site=self.job.site, crew=self.crew,
            earliest_hour=earliest_hour(self.job, ensemble), horizon_d=self.horizon_d, seed=seed,
        )  # fmt: skip


def known_of(
    job: Job, basin: Basin, area_m2: float, max_depth_m: float, diffuser_depth_m: tuple[float, ...],
    diffuser_flow_m3_s: tuple[float, ...], diffuser_names: tuple[str, ...], outage_d: int, seed: int,
) -> Known:  # fmt: skip
    if not any(flow > 0.0 for flow in diffuser_flow_m3_s):
        raise ModelError(
            "no diffuser carries air, so there is nothing to start up.",
            remedy="See the air stage: the compressor does not reach the depth of any diffuser.",
        )
    names = diffuser_names or tuple(f"D{n + 1}" for n in range(len(diffuser_depth_m)))
    carrying = [
        (name, depth, flow)
        for name, depth, flow in zip(names, diffuser_depth_m, diffuser_flow_m3_s, strict=True)
        if flow > 0.0
    ]
    running = Running(
        np.array([depth for _, depth, _ in carrying]),
        np.array([flow * STANDARD_AIR_MOL_M3 for _, _, flow in carrying]),
    )
    wishes = job.wishes
    return Known(
        job,
        make_grid(basin, max_depth_m),
        refuge_for(job.fish, area_m2, tuple(float(d) for d in running.depth_m)),
        running,
        tuple(name for name, _, _ in carrying),
        crew_of(job.attendance),
        Promise(wishes.job_risk, wishes.day_risk),
        min(wishes.longest_start_up_d, LONGEST_HORIZON_D),
        outage_d,
        seed,
    )


def airs_of(known: Known) -> list[DiffuserAir]:
    return [
        DiffuserAir(name, float(depth), float(air) / STANDARD_AIR_MOL_M3)
        for name, depth, air in zip(known.names, known.running.depth_m, known.running.air_mol_s, strict=True)
    ]


def earliest_hour(job: Job, ensemble: Ensemble) -> int:
    """Return the first hour of weather at which a run may start: an hour after the reading, or as wished."""
    earliest = ensemble.columns.hour + 1
    if job.wishes.start_date is not None:
        zone = ZoneInfo(job.site.time_zone)
        morning = datetime.combine(job.wishes.start_date, time(0), zone).astimezone(UTC)
        earliest = max(earliest, int((morning - ensemble.start).total_seconds() // 3600))
    return min(earliest, len(ensemble.local_hour) - 48)
