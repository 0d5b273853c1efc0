"""Whether an air line mixes the simulated water: the same ponds in the same weather for whatever is tried."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from plumeline.job.document import Job
from plumeline.kernels import column_index as ix
from plumeline.stages.air import AirResult
from plumeline.stages.column import AirPlan, believed, make_grid, refuge_for
from plumeline.stages.column.march import Columns, march
from plumeline.stages.column.run import standing
from plumeline.stages.layout import Layout
from plumeline.stages.survey import Survey

STANDARD_AIR_MOL_M3 = 101325.0 / (8.314462618 * 293.15)
MIXED_K = 1.0
"""Top to bottom difference at dawn under which the water counts as mixed. Judgement."""
MIXED_SALT_G_KG = 0.5
"""The same for salt: half a gram lies as heavy under fresh water as a degree does in warm (Chen & Millero 1986)."""
MIXED_WORDS = f"top and bottom differ by under {MIXED_K:g} K and by under {MIXED_SALT_G_KG:g} g/kg of salt"
MEMBERS = 24
DAYS = 7
"""Days of air all day in which a pond has to come to be mixed, and stay so at the last dawn. Judgement."""
OFTEN_PROBABILITY = 0.9
"""Share of the simulated ponds that must come to be mixed. Judgement."""
DAWN_H = 6


@dataclass(frozen=True)
class SimulatedPonds:
    """Simulated ponds at the last reading, and the hours of their weather that end at a dawn."""

    columns: Columns
    hour_count: int
    dawn_index: NDArray[np.int64]


def simulated_ponds(job: Job, basin: Survey, seed: int, members: int = MEMBERS) -> SimulatedPonds:
    """Return ponds that stand at the job's last profile.

    Args:
        job: the job, with a profile.
        basin: the surveyed pond.
        seed: of the ponds' draws.
        members: simulated ponds.

    Raises:
        InputError: from the column.
    """
    grid = make_grid(basin.hypsograph, basin.max_depth_m)
    limits = refuge_for(job.fish, basin.area_m2, ()).as_array()
    hours = 24 * (DAYS + 1)
    stand = standing(believed(job), grid, limits, members, seed, hours)
    zone = ZoneInfo(job.site.time_zone)
    begin = stand.columns.hour
    clock = np.array([(stand.start + timedelta(hours=h)).astimezone(zone).hour for h in range(hours)])
    dawns = np.flatnonzero((clock == DAWN_H) & (np.arange(hours) > begin))
    return SimulatedPonds(stand.columns, hours, dawns)


def mixed_at_dawns(placed: Layout, line: AirResult, ponds: SimulatedPonds) -> NDArray[np.bool_]:
    """Return whether each pond is mixed, dawn by dawn (dawns, members), with the air on all day."""
    depth_m = np.array([item.depth_m for item in placed.diffusers])
    air = [line.diffuser_flow_standard_m3_s(item.name) for item in placed.diffusers]
    on = np.ones((ponds.hour_count * ix.STEPS_EACH_HOUR, len(depth_m)), dtype=np.uint8)
    end = int(ponds.dawn_index[-1]) + 1
    run = march(ponds.columns, AirPlan(depth_m, np.array(air) * STANDARD_AIR_MOL_M3, on), end)
    return ~still_layered(run.records[:, ponds.dawn_index])


def still_layered(records: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return whether warmth or salt keeps top and bottom apart.

    Args:
        records: of the column (records, ...).
    """
    return np.asarray(
        (records[ix.DIFFERENCE] >= MIXED_K) | (records[ix.SALT_DIFFERENCE] >= MIXED_SALT_G_KG), dtype=np.bool_
    )
