"""How sure the bottom's depth is at one place.

Each of the likeliest combinations of weighing.py says a depth at a place and how far it may be off (the variance of the
process there, given the soundings); together they are a mixture. What is said is its root mean square about the surface
that is drawn, so that it also holds where that surface is made of facets.

Source: Rasmussen & Williams 2006, Gaussian Processes for Machine Learning, eq. 2.25 and 2.26 (mean and variance at a
place).
"""

from __future__ import annotations

import numpy as np
from scipy.linalg import cho_factor, cho_solve
from scipy.spatial import cKDTree
from scipy.spatial.distance import cdist

from plumeline.stages.survey.basin import Basin
from plumeline.stages.survey.depths import DepthSurface, covariance
from plumeline.stages.survey.points import Points
from plumeline.stages.survey.weighing import FAMILIES, LENGTHS, block_sums, matern

MOST = 6
"""Combinations taken, the likeliest first."""


def spot_errors(points: Points, basin: Basin, smooth: DepthSurface, drawn_m: np.ndarray) -> np.ndarray:
    """Return the standard error of the depth on the grid [m], shape (ny, nx), one for each block of cells.

    Args:
        points: soundings, and what was said of the banks.
        basin: the grid.
        smooth: the smooth surface, with what was weighed.
        drawn_m: the surface that is drawn, (ny, nx), from the same zero as the soundings.
    """
    wet, fits = basin.wet, smooth.fits
    xy, (depth,) = block_sums(basin, drawn_m[wet][None])
    _, (area,) = block_sums(basin, np.ones((1, int(wet.sum()))))
    depth, span = depth / area, float(np.sqrt(basin.polygon.area))
    covers_own = np.clip(basin.covers_at(points.xy), 1e-6, 1.0)
    covers = np.clip(basin.covers_at(xy), 0.0, 1.0)
    own, across = cdist(points.xy, points.xy), cdist(points.xy, xy)
    chosen = np.argsort(fits.weight_fraction)[::-1][:MOST]
    square = np.zeros(len(xy))
    for k in chosen:
        length, (cover, power) = LENGTHS[fits.length_index[k]] * span, FAMILIES[fits.family_index[k]]
        phi_own, phi = covers_own[cover] ** power, covers[cover] ** power
        c, variance, mean_variance = covariance(points, phi_own, fits, int(k), matern(own, length))
        link = (variance * matern(across, length) + mean_variance) * np.outer(phi_own, phi)
        solved = cho_solve(cho_factor(c, lower=True), link)
        left = np.maximum((variance + mean_variance) * phi**2 - (link * solved).sum(axis=0), 0.0)
        square += fits.weight_fraction[k] * (left + (points.depth_m @ solved - depth) ** 2)
    spread = np.sqrt(square / fits.weight_fraction[chosen].sum())
    mesh_x, mesh_y = np.meshgrid(basin.x_m, basin.y_m)
    _, nearest = cKDTree(xy).query(np.column_stack([mesh_x.ravel(), mesh_y.ravel()]))
    return np.asarray(spread[nearest].reshape(mesh_x.shape))
