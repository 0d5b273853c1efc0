"""What the shore does to the volume: upright walls, and how the banks begin.

The surface is d(x) = h + w(x)^p f(x): h the depth at the water's edge (edge.py), w zero on every shore. The power p
says how the banks begin: under 1 steep, 1 an even slope, over 1 a flat shelf. It is weighed like all else, with a
prior about 0.8 (lognormal, factor 1.8; judgement): few soundings lie near a shore.
"""

from __future__ import annotations

import numpy as np

from plumeline.job.document import Pond
from plumeline.stages.survey.basin import Basin
from plumeline.stages.survey.depths import DepthSurface
from plumeline.stages.survey.edge import Edge
from plumeline.stages.survey.result import ShoreEffect
from plumeline.stages.survey.weighing import FAMILIES, Fits, log_power_prior


def shore_effect(
    basin: Basin, surface: DepthSurface, edge: Edge, pond: Pond, without: DepthSurface | None
) -> ShoreEffect:
    """Return what the shore does to the volume.

    Args:
        basin: the grid.
        surface: the smooth surface, drawn under the wall's foot.
        edge: the water's edge.
        pond: what the job says of it.
        without: the surface, had the job said nothing of walls and banks; None where it says nothing.
    """
    fits = surface.all_fits or surface.fits
    power_number, shift_m3 = prior_shift(fits)
    return ShoreEffect(
        wall_m=edge.mean_m,
        given=pond.shore_depth_m is not None or bool(pond.walls),
        gain_m2=wall_gain(fits, basin),
        power_number=power_number,
        prior_shift_m3=shift_m3,
        walled_m=edge.walled_m,
        run_number=pond.bank_run_number,
        without_m3=None if without is None else float((without.depth_m * basin.area_m2).sum()),
        without_se_m3=None if without is None else without.volume_se_m3,
    )


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
