"""Where the next soundings make the volume surest.

The volume's variance under the likeliest surface does not depend on what will be read, only on where: each place is
worth what one more sounding there takes off it. They are chosen one after the other, each given those before it.
Where the banks that nobody sounded leave more open than the surface does (unsounded.py), some of them come first,
spread over the shore that lies farthest from every sounding. After a track they alone are named: its readings share
their errors, and a line more is worth another track.

Source: Rasmussen & Williams 2006, eq. 2.26 (variance of a process); O'Hagan 1991 (of its integral); Krause et al.
2008, J. Mach. Learn. Res. 9:235 (one after the other, for variance); Nemhauser, Wolsey & Fisher 1978, Math. Program.
14:265 (one after the other, for what lies near).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.spatial.distance import cdist

from plumeline.stages.survey.basin import Basin
from plumeline.stages.survey.depths import DepthSurface, covariance
from plumeline.stages.survey.points import Points
from plumeline.stages.survey.result import NextSounding
from plumeline.stages.survey.unsounded import Banks
from plumeline.stages.survey.weighing import FAMILIES, LENGTHS, blocks_of_basin, matern

MOST = 6
BANKS = 4
"""Places at the banks, where these are what is least sure. Judgement: one on each side."""
CANDIDATES = 400
LEAST_SHORE_M = 2.0
LEAST_GAIN_FRACTION = 0.01
"""Of the volume's variance: what brings less is not worth a stop of the boat."""


class _Process:
    """What the likeliest surface leaves open in the volume, and what one more sounding in each place takes off it."""

    def __init__(self, points: Points, basin: Basin, surface: DepthSurface, xy: np.ndarray) -> None:
        """Take soundings, the grid, the smooth surface and the places to choose from, (n, 2)."""
        fits, span = surface.fits, float(np.sqrt(basin.polygon.area))
        best = int(np.argmax(fits.weight_fraction))
        family, length = int(fits.family_index[best]), float(LENGTHS[fits.length_index[best]]) * span
        cover, power = FAMILIES[family]
        covers = np.clip(basin.covers_at(points.xy), 1e-6, 1.0)
        c, variance, mean_variance = covariance(
            points, covers[cover] ** power, fits, best, matern(cdist(points.xy, points.xy), length)
        )
        phi_own, phi = covers[cover] ** power, np.clip(basin.covers_at(xy)[cover], 0.0, 1.0) ** power
        blocks = blocks_of_basin(basin)
        b = blocks.weight_m2[family]
        between = (variance * matern(cdist(xy, points.xy), length) + mean_variance) * np.outer(phi, phi_own)
        link_own = phi_own * (
            variance * (matern(cdist(points.xy, blocks.xy), length) @ b) + mean_variance * b.sum()
        )
        link = phi * (variance * (matern(cdist(xy, blocks.xy), length) @ b) + mean_variance * b.sum())
        solved = np.linalg.solve(c, np.column_stack([link_own, between.T]))
        prior = (
            variance * (b @ matern(cdist(blocks.xy, blocks.xy), length) @ b) + mean_variance * b.sum() ** 2
        )
        own = (variance * matern(cdist(xy, xy), length) + mean_variance) * np.outer(phi, phi)
        self.left_m6 = max(float(prior - link_own @ solved[:, 0]), 0.0)
        self.least_m6 = LEAST_GAIN_FRACTION * self.left_m6
        self._link = link - between @ solved[:, 0]
        self._own = own - between @ solved[:, 1:]
        self._error2 = float(fits.error_m[best] ** 2)

    def gains_m6(self) -> np.ndarray:
        """Return what a sounding in each place takes off the variance, (n)."""
        return np.asarray(self._link**2 / (np.maximum(np.diag(self._own), 0.0) + self._error2))

    def sound(self, at: int) -> None:
        """Take a sounding in a place."""
        self.left_m6 = max(self.left_m6 - float(self.gains_m6()[at]), 0.0)
        column = self._own[:, at] / (self._own[at, at] + self._error2)
        self._link = self._link - column * self._link[at]
        self._own = self._own - np.outer(column, self._own[at])


def next_soundings(
    points: Points,
    basin: Basin,
    surface: DepthSurface,
    banks: Banks,
    *,
    error_m3: float,
    unsaid_m3: Callable[[np.ndarray], float],
) -> tuple[NextSounding, ...]:
    """Return at most six places with what the standard error of the volume falls to after each.

    Args:
        points: soundings so far.
        basin: the grid.
        surface: the smooth surface, with what was weighed.
        banks: how far the shore is from them.
        error_m3: standard error of the volume as the survey states it now.
        unsaid_m3: standard error besides, that soundings in places (n, 2) leave unsaid.
    """
    under_way = points.line_index is not None
    strip_first = banks.strip.error_m3 > float(np.hypot(surface.volume_se_m3, unsaid_m3(points.xy)))
    if under_way and not strip_first:
        return ()
    xy, depth = _candidates(basin, surface)
    wanted: list[int] = []
    if strip_first:
        bank_xy, bank_depth = _bank_places(basin, surface, banks)
        wanted = list(range(len(xy), len(xy) + len(bank_xy)))
        xy, depth = np.vstack([xy, bank_xy]), np.append(depth, bank_depth)
    process = _Process(points, basin, surface, xy)
    fixed_m6 = surface.volume_se_m3**2 - process.left_m6

    def inside_m6(near: Banks) -> float:
        return max(fixed_m6 + process.left_m6, near.strip.error_m3**2)

    there = points.xy
    # what the survey's own error holds besides: facets that lie apart from the smooth surface
    apart_m6 = error_m3**2 - inside_m6(banks) - unsaid_m3(there) ** 2
    found: list[NextSounding] = []
    last_m3 = error_m3
    while len(found) < MOST:
        gains, named = process.gains_m6(), bool(wanted)
        at = wanted.pop(0) if named else int(np.argmax(gains))
        if not named and (under_way or gains[at] < process.least_m6 or process.left_m6 <= 0):
            break
        process.sound(at)
        there, banks = np.vstack([there, xy[at]]), banks.sounded(xy[at][None])
        after_m3 = float(np.sqrt(max(inside_m6(banks) + apart_m6 + unsaid_m3(there) ** 2, 0.0)))
        if after_m3 > last_m3 or (after_m3 == last_m3 and not named):
            break
        found.append(NextSounding(float(xy[at, 0]), float(xy[at, 1]), float(depth[at]), after_m3))
        last_m3 = after_m3
    return tuple(found)


def _candidates(basin: Basin, surface: DepthSurface) -> tuple[np.ndarray, np.ndarray]:
    """Return places over the water, a boat's length from shore, and their depth."""
    free = basin.inside & (np.nan_to_num(basin.shore_distance_m) > LEAST_SHORE_M)
    return _cells(basin, surface, free if free.any() else basin.inside)


def _cells(basin: Basin, surface: DepthSurface, free: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the centres of some of the cells that are free, evenly in their order, and their depth."""
    rows, columns = np.nonzero(free)
    every = np.linspace(0, len(rows) - 1, min(CANDIDATES, len(rows))).astype(int)
    rows, columns = rows[every], columns[every]
    return np.column_stack([basin.x_m[columns], basin.y_m[rows]]), surface.depth_m[rows, columns]


def _bank_places(basin: Basin, surface: DepthSurface, banks: Banks) -> tuple[np.ndarray, np.ndarray]:
    """Return at most four places a boat's length off the banks, each nearest to shore that lies far from all others."""
    off_m = np.nan_to_num(basin.shore_distance_m)
    near = basin.inside & (off_m > LEAST_SHORE_M) & (off_m < LEAST_SHORE_M + 1.5 * basin.cell_m)
    xy, depth = _cells(basin, surface, near if near.any() else basin.inside)
    apart_m, away_m = cdist(xy, banks.shore_xy), banks.away_m
    chosen: list[int] = []
    for _ in range(BANKS):
        at = int(np.argmin(np.minimum(apart_m, away_m).sum(axis=1)))
        if at in chosen:  # a puddle
            break
        chosen.append(at)
        away_m = np.minimum(away_m, apart_m[at])
    return xy[chosen], depth[chosen]
