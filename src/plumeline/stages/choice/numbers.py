"""Numbers of diffusers to try, and the job with as many."""

from __future__ import annotations

import math
from collections.abc import Callable

from plumeline.job.document import Diffuser, Job
from plumeline.stages.choice.combos import DAY_S
from plumeline.stages.survey import Survey

MOST_DIFFUSERS_COUNT = 12
MORE_COUNT = 2
"""Numbers of diffusers tried beyond the one that is needed."""


def numbers_of(job: Job, basin: Survey, flow_at: Callable[[float], float]) -> range:
    """Return the numbers of diffusers to try: from one to a few more than the plumes need."""
    given = len(job.listed_diffusers)
    if job.as_built is not None and job.as_built.diffusers:
        return range(given, given + 1)
    each_m3_s = flow_at(max(0.5, basin.max_depth_m - job.air.base_height_m))
    wanted_m3_s = job.wishes.turnover_per_day * basin.volume_m3 / DAY_S
    need = math.ceil(wanted_m3_s / each_m3_s) if each_m3_s > 0.0 else MOST_DIFFUSERS_COUNT
    most = job.costs.most_diffusers or min(MOST_DIFFUSERS_COUNT, max(given, need) + MORE_COUNT)
    return range(1, most + 1)


def with_diffusers(job: Job, count: int) -> Job:
    """Return the job with so many diffusers: its own where it lists as many, else its own and more, else placed."""
    given = job.listed_diffusers
    if count == len(given):
        return job
    names = [f"D{number}" for number in range(1, count + 1)]
    kept = given if count > len(given) else ()
    taken = {item.name for item in kept}
    free = [Diffuser(name=name) for name in names if name not in taken][: count - len(kept)]
    return job.model_copy(
        update={"air": job.air.model_copy(update={"diffusers": (*kept, *free)}), "as_built": None}
    )
