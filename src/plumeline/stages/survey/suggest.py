"""Where the next soundings make the volume surest.

The volume's variance under the likeliest surface does not depend on what will be read, only on where: each place is
worth what one more sounding there takes off it. They are chosen one after the other, each given those before it.

Source: Rasmussen & Williams 2006, eq. 2.26 (variance of a process); O'Hagan 1991 (of its integral); Krause et al.
2008, J. Mach. Learn. Res. 9:235 (one after the other, for variance).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.spatial.distance import cdist

from plumeline.stages.survey.basin import Basin
from plumeline.stages.survey.depths import DepthSurface, covariance
from plumeline.stages.survey.points import Points
from plumeline.stages.survey.result import NextSounding
from plumeline.stages.survey.weighing import FAMILIES, LENGTHS, blocks_of_basin, matern

MOST = 6
CANDIDATES = 400
LEAST_SHORE_M = 2.0
LEAST_GAIN_FRACTION = 0.01
"""Of the volume's variance: what brings less is not worth a stop of the boat."""


def next_soundings(
    points: Points,
    basin: Basin,
    surface: DepthSurface,
    *,
    error_m3: float,
    unsaid_m3: Callable[[np.ndarray], float],
) -> tuple[NextSounding, ...]:
    """Return at most six places with what the standard error of the volume falls to after each.

    Args:
        points: soundings so far.
        basin: the grid.
        surface: the smooth surface, with what was weighed.
        error_m3: standard error of the volume as the survey states it now.
        unsaid_m3: standard error besides, that soundings in places (n, 2) leave unsaid.
    """
    fits, span = surface.fits, float(np.sqrt(basin.polygon.area))
    best = int(np.argmax(fits.weight_fraction))
    family, length = int(fits.family_index[best]), float(LENGTHS[fits.length_index[best]]) * span
    cover, power = FAMILIES[family]
    covers = np.clip(basin.covers_at(points.xy), 1e-6, 1.0)
    c, variance, mean_variance = covariance(
        points, covers[cover] ** power, fits, best, matern(cdist(points.xy, points.xy), length)
    )
    xy, depth = _candidates(basin, surface)
    phi_own, phi = covers[cover] ** power, np.clip(basin.covers_at(xy)[cover], 0.0, 1.0) ** power
    blocks = blocks_of_basin(basin)
    b = blocks.weight_m2[family]
    between = (variance * matern(cdist(xy, points.xy), length) + mean_variance) * np.outer(phi, phi_own)
    link_own = phi_own * (
        variance * (matern(cdist(points.xy, blocks.xy), length) @ b) + mean_variance * b.sum()
    )
    link = phi * (variance * (matern(cdist(xy, blocks.xy), length) @ b) + mean_variance * b.sum())
    solved = np.linalg.solve(c, np.column_stack([link_own, between.T]))
    prior = variance * (b @ matern(cdist(blocks.xy, blocks.xy), length) @ b) + mean_variance * b.sum() ** 2
    left = max(float(prior - link_own @ solved[:, 0]), 0.0)
    link = link - between @ solved[:, 0]
    own = (variance * matern(cdist(xy, xy), length) + mean_variance) * np.outer(phi, phi) - between @ solved[
        :, 1:
    ]
    error2 = float(fits.error_m[best] ** 2)
    found: list[NextSounding] = []
    start, rest = left, error_m3**2 - unsaid_m3(points.xy) ** 2 - left
    while len(found) < MOST and start > 0:
        gain = link**2 / (np.maximum(np.diag(own), 0.0) + error2)
        at = int(np.argmax(gain))
        if gain[at] < LEAST_GAIN_FRACTION * start:
            break
        left = max(left - float(gain[at]), 0.0)
        there = np.vstack([points.xy, *([item.x_m, item.y_m] for item in found), xy[at]])
        after_m3 = float(np.hypot(np.sqrt(max(rest + left, 0.0)), unsaid_m3(there)))
        found.append(NextSounding(float(xy[at, 0]), float(xy[at, 1]), float(depth[at]), after_m3))
        column = own[:, at] / (own[at, at] + error2)
        link = link - column * link[at]
        own = own - np.outer(column, own[at])
    return tuple(found)


def _candidates(basin: Basin, surface: DepthSurface) -> tuple[np.ndarray, np.ndarray]:
    """Return places over the water, a boat's length from shore, and their depth."""
    free = basin.inside & (np.nan_to_num(basin.shore_distance_m) > LEAST_SHORE_M)
    rows, columns = np.nonzero(free if free.any() else basin.inside)
    every = np.linspace(0, len(rows) - 1, min(CANDIDATES, len(rows))).astype(int)
    rows, columns = rows[every], columns[every]
    return np.column_stack([basin.x_m[columns], basin.y_m[rows]]), surface.depth_m[rows, columns]
