"""What the shore does to the volume: upright walls, and how the banks begin.

The surface is d(x) = h + w(x)^p f(x): h the depth at the water's edge (0 but where somebody says that walls stand
there), w zero on every shore. The power p says how the banks begin: under 1 steep, 1 an even slope, over 1 a flat
shelf. It is weighed like all else, with a prior about 0.8 (lognormal, factor 1.8): few soundings lie near a shore.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from plumeline.stages.survey.basin import Basin
from plumeline.stages.survey.depths import FAMILIES, DepthSurface, Fits, Points, log_power_prior
from plumeline.stages.survey.result import ShoreEffect


def lowered(points: Points, wall_m: float) -> Points:
    """Return soundings as depths under the wall's foot."""
    return replace(points, depth_m=points.depth_m - wall_m) if wall_m else points


def raised(surface: DepthSurface, basin: Basin, wall_m: float) -> DepthSurface:
    """Return a surface drawn under the wall's foot, with the water above that.

    Args:
        surface: the surface.
        basin: the grid.
        wall_m: depth at the water's edge.
    """
    if not wall_m:
        return surface
    more_m3 = wall_m * float(basin.area_m2.sum())
    return replace(
        surface,
        depth_m=np.where(basin.wet, np.maximum(surface.depth_m + wall_m, 0.0), 0.0),
        volume_p05_m3=surface.volume_p05_m3 + more_m3,
        volume_p95_m3=surface.volume_p95_m3 + more_m3,
        cases=replace(surface.cases, volume_m3=surface.cases.volume_m3 + more_m3),
    )


def shore_effect(basin: Basin, surface: DepthSurface, wall_m: float, *, given: bool) -> ShoreEffect:
    """Return what the shore does to the volume.

    Args:
        basin: the grid.
        surface: the smooth surface, drawn under the wall's foot.
        wall_m: depth at the water's edge.
        given: whether the job says it.
    """
    fits = surface.all_fits or surface.fits
    power_number, shift_m3 = prior_shift(fits)
    return ShoreEffect(wall_m, given, wall_gain(fits, basin), power_number, shift_m3)


def wall_gain(fits: Fits, basin: Basin) -> float:
    """Return what each metre of upright wall all round adds to the volume, under the same soundings [m³/m].

    Equation: dV/dh = A − Σ wᵢ bᵢᵀCᵢ⁻¹1 + Σ wᵢ (Vᵢ − V) 1ᵀCᵢ⁻¹d, the last for the weights that move with h.

    Args:
        fits: every combination weighed.
        basin: the grid.
    """
    weight = fits.weight_fraction
    moved = (fits.volume_m3 - weight @ fits.volume_m3) * fits.weight_slope_number
    return float(basin.area_m2.sum() - weight @ fits.lost_m2 + weight @ moved)


def prior_shift(fits: Fits) -> tuple[float, float]:
    """Return the mean power of the banks, and the volume less that with a flat prior on the power [m³].

    Args:
        fits: every combination weighed.
    """
    power = np.array([FAMILIES[i][1] for i in fits.family_index])
    weight = fits.weight_fraction
    free = np.exp(np.log(np.maximum(weight, 1e-300)) - log_power_prior(power))
    free /= free.sum()
    return float(weight @ power), float((weight - free) @ fits.volume_m3)
