"""A compressor so weak that every plume turns back: said, with what would break through."""

from __future__ import annotations

from collections.abc import Sequence

from plumeline.job.document import Job, Profile
from plumeline.notices import Notice, danger
from plumeline.pairs import pair
from plumeline.stages.plume import DiffuserAir, plume
from plumeline.units import both

FEW_PROBABILITY = 0.05
MOST_PROBABILITY = 0.5
AIR_FACTORS = (1.5, 2.0, 3.0, 4.0, 6.0, 8.0)
DEPTH_FACTORS = (0.85, 0.7, 0.55, 0.4)
COOLER_K = (1.0, 2.0, 3.0, 4.0, 6.0)


def turning_back(job: Job, diffusers: Sequence[DiffuserAir], seed: int) -> tuple[Notice, ...]:
    """Warn where hardly any plume reaches the surface, and say what would break through.

    Args:
        job: the job; its last profile is the water.
        diffusers: diffusers that carry air.
        seed: seed of the plumes' priors.
    """
    if not job.profiles or _surfacing(job, diffusers, seed) >= FEW_PROBABILITY:
        return ()
    ways: list[str] = []
    for factor in AIR_FACTORS:
        more = [DiffuserAir(d.name, d.depth_m, d.air_m3_s * factor) for d in diffusers]
        if _surfacing(job, more, seed) >= MOST_PROBABILITY:
            ways.append(
                f"{factor:g} times the air at each diffuser (or as many fewer diffusers open at a time)"
            )
            break
    for factor in DEPTH_FACTORS:
        higher = [DiffuserAir(d.name, d.depth_m * factor, d.air_m3_s) for d in diffusers]
        if _surfacing(job, higher, seed) >= MOST_PROBABILITY:
            depth = both(max(d.depth_m for d in higher), "m")
            ways.append(f"diffusers no deeper than {depth}, with the water under them left alone")
            break
    for cooler in COOLER_K:
        if _surfacing(_cooled(job, cooler), diffusers, seed) >= MOST_PROBABILITY:
            ways.append(
                "an evening on which the upper water is "
                f"{pair(f'{1.8 * cooler:.0f} °F', f'{cooler:g} K')} cooler than read"
            )
            break
    said = (
        "; or ".join(ways)
        if ways
        else "none of eight times the air, two fifths of the depth, or 6 K cooler water"
    )
    text = (
        "Every plume turns back below the surface: bubbles will show, but the bottom water peels off and sinks, so "
        f"this air does not mix this pond. What would break through in at least half of the draws: {said}."
    )
    return (danger("every-plume-turns-back", text),)


def _surfacing(job: Job, diffusers: Sequence[DiffuserAir], seed: int) -> float:
    """Return the best chance among the diffusers that the first plume reaches the surface."""
    return max(item.surfacing_probability for item in plume(job, list(diffusers), seed=seed).diffusers)


def _cooled(job: Job, cooler_k: float) -> Job:
    """Return the job with its upper water cooled, and nothing below warmer than what lies over it."""
    last = job.profiles[-1]
    most = last.points[0].temperature_degc - cooler_k
    points = tuple(
        point.model_copy(update={"temperature_degc": min(point.temperature_degc, most)})
        for point in last.points
    )
    others = tuple(
        item for item in job.observations if not (isinstance(item, Profile) and item.id == last.id)
    )
    return job.model_copy(update={"observations": (*others, last.model_copy(update={"points": points}))})
