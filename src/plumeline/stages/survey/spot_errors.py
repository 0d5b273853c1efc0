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
from plumeline.stages.survey.depths import DepthSurface, likeliest
from plumeline.stages.survey.points import Points
from plumeline.stages.survey.weighing import block_sums, matern

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
    wet = basin.wet
    xy, (volume, area) = block_sums(basin, np.array([drawn_m[wet], np.ones(int(wet.sum()))]))
    depth, span = volume / area, float(np.sqrt(basin.polygon.area))
    covers_own = np.clip(basin.covers_at(points.xy), 1e-6, 1.0)
    covers = np.clip(basin.covers_at(xy), 0.0, 1.0)
    across, square = cdist(points.xy, xy), np.zeros(len(xy))
    for one in likeliest(points, covers_own, smooth.fits, span, MOST):
        phi = covers[one.cover_index] ** one.power_number
        link = one.variance_m2 * matern(across, one.length_m) + one.mean_variance_m2
        link *= np.outer(one.cover_fraction, phi)
        solved = cho_solve(cho_factor(one.covariance_m2, lower=True), link)
        left = np.maximum(
            (one.variance_m2 + one.mean_variance_m2) * phi**2 - (link * solved).sum(axis=0), 0.0
        )
        square += one.weight_fraction * (left + (points.depth_m @ solved - depth) ** 2)
    spread = np.sqrt(square)
    mesh_x, mesh_y = np.meshgrid(basin.x_m, basin.y_m)
    _, nearest = cKDTree(xy).query(np.column_stack([mesh_x.ravel(), mesh_y.ravel()]))
    return np.asarray(spread[nearest].reshape(mesh_x.shape))
