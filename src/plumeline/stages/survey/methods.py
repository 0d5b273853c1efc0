"""Two ways to draw the bottom, tried on soundings that were left out, and the better one taken.

*Smooth*: the weighed Gaussian processes of depths.py. *Facets*: flat triangles between neighbouring soundings
(Delaunay) of the depth over the cover's power, so that the shore stays zero; they follow a narrow old channel that
was sounded along, which a smooth surface blurs.

What is left out is a block: a whole line of a track, or a patch of single soundings, for a point between its
neighbours is no test. The Gaussian process needs no second fit for that (closed form), the facets are drawn anew.
What whole lines of a track miss also widens the band of the volume.

Source: Roberts et al. 2017, Ecography 40:913 (blocked cross-validation); Rasmussen & Williams 2006, section 5.4.2,
its eq. 5.12 for a block instead of a point.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.cluster.vq import kmeans2
from scipy.interpolate import LinearNDInterpolator, NearestNDInterpolator
from scipy.spatial import QhullError

from plumeline.stages.survey.basin import Basin
from plumeline.stages.survey.depths import DepthSurface, Likely, banded, likeliest
from plumeline.stages.survey.points import Points
from plumeline.stages.survey.result import MethodError
from plumeline.stages.survey.weighing import FAMILIES

SURFACES_TRIED = 6
FEWEST_TRIED = 12
"""Soundings; with fewer nothing can be left out."""
BLOCK_POINTS = 4
MOST_BLOCKS = 12
FEWEST_BLOCKS = 4
LEAST_GAIN_FRACTION = 0.05
LEFT_OUT_FRACTION = 0.5
"""How much of what whole lines missed, left out, stays as an error of the volume when all of them are there: then
the next line lies half as far. Judgement, held by the test of bands (tests/published/test_natural_ponds.py)."""
NEAR_SHORE_FRACTION = 0.05
"""Cover under which a depth is no longer divided by it: the error of the reading would be blown up."""


@dataclass(frozen=True, eq=False)
class Tried:
    """What came of leaving blocks out: errors (n) of both ways, and the block of each."""

    smooth_m: np.ndarray
    facets_m: np.ndarray | None
    block_index: np.ndarray


def blocks_of(points: Points) -> np.ndarray:
    """Return the block of each point, (n): its line, or its patch; −1 for what was said and is never left out."""
    if not points.sounded.all():
        label = np.full(len(points.depth_m), -1)
        label[points.sounded] = blocks_of(points.part(points.sounded))
        return label
    if points.line_index is not None and len(np.unique(points.line_index)) >= FEWEST_BLOCKS:
        return points.line_index
    count = int(np.clip(len(points.depth_m) // BLOCK_POINTS, FEWEST_BLOCKS, MOST_BLOCKS))
    scaled = points.xy - points.xy.mean(axis=0)
    start = scaled[np.linspace(0, len(scaled) - 1, count).astype(int)]
    _, label = kmeans2(scaled, start, minit="matrix", iter=20, missing="warn")
    return np.asarray(label)


def _smooth_errors(points: Points, block_index: np.ndarray, fitted: Iterator[Likely]) -> np.ndarray:
    """Return the errors at left-out points, (n)."""
    error = np.zeros(len(block_index))
    for one in fitted:
        inverse = np.linalg.inv(one.covariance_m2)
        solved = inverse @ points.depth_m
        for number in np.unique(block_index[block_index >= 0]):
            own = np.flatnonzero(block_index == number)
            error[own] += one.weight_fraction * np.linalg.solve(inverse[np.ix_(own, own)], solved[own])
    return error


def facets(
    points: Points,
    covers: np.ndarray,
    power: tuple[int, float],
    xy: np.ndarray,
    at: np.ndarray,
    floor_m: float = 0.0,
) -> np.ndarray:
    """Return depths by triangles of the depth over the cover's power, shape of ``xy``'s first axis.

    Args:
        points: soundings.
        covers: covers at the soundings, (3, n).
        power: which cover, and its power.
        xy: places, (m, 2).
        at: covers there, (3, m).
        floor_m: least depth.

    Raises:
        QhullError: the soundings span no triangle.
    """
    which, exponent = power
    relative = points.depth_m / np.clip(covers[which], NEAR_SHORE_FRACTION, 1.0) ** exponent
    found = LinearNDInterpolator(points.xy, relative)(xy)
    beyond = np.isnan(found)
    if beyond.any():
        found[beyond] = NearestNDInterpolator(points.xy, relative)(xy[beyond])
    return np.asarray(np.maximum(found * np.clip(at[which], 0.0, 1.0) ** exponent, floor_m))


def tried(
    points: Points, covers: np.ndarray, surface: DepthSurface, span_m: float, floor_m: float = 0.0
) -> Tried | None:
    """Return what came of leaving blocks out, or None with too few soundings."""
    sounded = points.sounded
    if sounded.sum() < FEWEST_TRIED:
        return None
    block = blocks_of(points)
    smooth = _smooth_errors(points, block, likeliest(points, covers, surface.fits, span_m, SURFACES_TRIED))
    power = (surface.cover_index, surface.power_number)
    drawn: np.ndarray | None = np.zeros(len(block))
    try:
        for number in np.unique(block[sounded]):
            out = block == number
            assert drawn is not None
            drawn[out] = points.depth_m[out] - facets(
                points.part(~out), covers[:, ~out], power, points.xy[out], covers[:, out], floor_m
            )
    except QhullError:
        drawn = None
    return Tried(smooth[sounded], None if drawn is None else drawn[sounded], block[sounded])


def _better(trial: Tried) -> bool:
    """Return whether the facets are better by 5 % and by more than the scatter between blocks."""
    if trial.facets_m is None:
        return False
    numbers, at = np.unique(trial.block_index, return_inverse=True)
    count = np.bincount(at)
    gain = np.bincount(at, trial.smooth_m**2 - trial.facets_m**2) / len(at) * len(numbers)
    scatter = float(gain.std(ddof=1)) / np.sqrt(len(count))
    root = [float(np.sqrt((item**2).mean())) for item in (trial.smooth_m, trial.facets_m)]
    return bool(gain.mean() > scatter) and root[1] < (1 - LEAST_GAIN_FRACTION) * root[0]


def lines_missed_m3(trial: Tried, basin: Basin) -> float:
    """Return the error of the volume that lines leave between them.

    Equation: 0.5 A √(mean of squares of the lines' mean errors, each left out / number of lines).
    """
    _, at = np.unique(trial.block_index, return_inverse=True)
    mean = np.bincount(at, trial.smooth_m) / np.bincount(at)
    return LEFT_OUT_FRACTION * float(basin.polygon.area * np.sqrt((mean**2).mean() / len(mean)))


def better_surface(
    points: Points, basin: Basin, surface: DepthSurface, *, floor_m: float = 0.0, more_m3: float = 0.0
) -> tuple[DepthSurface, tuple[MethodError, ...], int]:
    """Return the better of both surfaces with its band, both errors, and how many blocks were left out.

    Args:
        points: soundings.
        basin: the grid.
        surface: the smooth one.
        floor_m: least depth of a surface.
        more_m3: a standard error of the volume besides.
    """
    span = float(np.sqrt(basin.polygon.area))
    covers = np.clip(basin.covers_at(points.xy), 1e-6, 1.0)
    trial = tried(points, covers, surface, span, floor_m)
    if trial is None:
        return _widened(surface, basin, more_m3), (), 0
    taken = _better(trial)
    errors = [("smooth", trial.smooth_m), ("facets", trial.facets_m)]
    table = tuple(
        MethodError(name, float(np.sqrt((item**2).mean())), float(item.mean()), (name == "facets") == taken)
        for name, item in errors
        if item is not None
    )
    count = len(np.unique(trial.block_index))
    missed_m3 = lines_missed_m3(trial, basin) if points.line_index is not None else 0.0
    missed_m3 = float(np.hypot(missed_m3, more_m3))
    if not taken:
        return _widened(surface, basin, missed_m3), table, count
    depth = np.zeros(basin.area_m2.shape)
    mesh_x, mesh_y = np.meshgrid(basin.x_m, basin.y_m)
    wet = basin.wet
    cells = np.column_stack([mesh_x[wet], mesh_y[wet]])
    power = (surface.cover_index, surface.power_number)
    assert power in FAMILIES
    depth[wet] = facets(points, covers, power, cells, basin.covers_fraction[:, wet], floor_m)
    apart = float(((depth - surface.depth_m) * basin.area_m2).sum())
    apart_m3 = float(np.hypot(apart, missed_m3))
    return banded(depth, basin, surface.fits, span, apart_m3=apart_m3), table, count


def _widened(surface: DepthSurface, basin: Basin, apart_m3: float) -> DepthSurface:
    """Return a surface whose band holds a further standard error of the volume."""
    if not apart_m3:
        return surface
    span = float(np.sqrt(basin.polygon.area))
    return banded(surface.depth_m, basin, surface.fits, span, apart_m3=apart_m3)
