"""The depth surface from scattered soundings, and how sure its volume is.

The depth is a power of the cover (zero on the shore, see basin.py) times a smooth random field:
d(x) = w(x)^p · f(x), f a Gaussian process with an unknown mean. Each sounding carries a reading error. What
is not known (which cover, the power, the length over which the bottom changes, how much it changes, the
reading error) is not fixed at a best value: every combination on a grid is weighed by how well it explains
the soundings (its marginal likelihood) and its prior, and all take part in the surface and in the volume's
distribution.

Source: Rasmussen & Williams 2006, Gaussian Processes for Machine Learning, eq. 2.30 (marginal likelihood),
eq. 4.17 (Matérn kernel, ν = 5/2), section 2.7 (mean); O'Hagan 1991, J. Stat. Plan. Inference 29:245
(integral of a process).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from scipy.linalg import solve
from scipy.linalg.lapack import dposv
from scipy.spatial.distance import cdist
from scipy.special import ndtr

from plumeline.stages.survey.basin import Basin
from plumeline.stages.survey.points import Points
from plumeline.stages.survey.result import VolumeCases
from plumeline.stages.survey.weighing import (
    FAMILIES,
    LENGTHS,
    Blocks,
    Fits,
    blocks_of_basin,
    matern,
    scale_of,
    weigh,
)

FIT_POINTS = 150
SURFACE_POINTS = 1200
PIECE = 60_000
"""Pairs of a cell and a sounding worked through at once: they stay in the processor's own memory."""
SYSTEMATIC_FRACTION = 0.005
"""Error that no number of soundings takes away: the line's or the sounder's scale. Judgement."""
SHARED_FRACTION = 0.85
"""Part of the error's variance that a reading of a track shares with its neighbours on the line. Judgement, held
by the test of bands (tests/published/test_natural_ponds.py)."""
SHARED_OVER_M = 30.0
"""How far along a line an error lasts: minutes of a boat's drifting position. Judgement, as above."""


@dataclass(frozen=True, eq=False)
class DepthSurface:
    """The mean surface on the basin's cells and the volume's distribution."""

    depth_m: np.ndarray
    volume_se_m3: float
    volume_p05_m3: float
    volume_p95_m3: float
    reading_error_m: float
    cover_index: int
    power_number: float
    length_m: float
    cases: VolumeCases
    fits: Fits
    all_fits: Fits | None = None
    """Every combination weighed; ``fits`` are the likeliest alone where there are many soundings."""


def covariance(
    points: Points, cover_fraction: np.ndarray, fits: Fits, k: int, k_own: np.ndarray
) -> tuple[np.ndarray, float, float]:
    """Return the soundings' covariance under combination k, (n, n), and the variances of process and mean."""
    variance = float(fits.spread[k] ** 2)
    mean_variance = float((3.0 * scale_of(cover_fraction, points.depth_m, points.count)) ** 2)
    c = (variance * k_own + mean_variance) * np.outer(cover_fraction, cover_fraction)
    c[np.diag_indices_from(c)] += points.variance_m2(float(fits.error_m[k]))
    return c, variance, mean_variance


class Likely(NamedTuple):
    """One of the likeliest combinations, as the soundings see it.

    Attributes:
        weight_fraction: its part among those that are taken.
        covariance_m2: of the soundings, (n, n).
        cover_fraction: the cover's power at them, (n).
        cover_index, power_number: which cover, and its power.
        length_m: of the kernel.
        variance_m2, mean_variance_m2: of the process and of its mean.
    """

    weight_fraction: float
    covariance_m2: np.ndarray
    cover_fraction: np.ndarray
    cover_index: int
    power_number: float
    length_m: float
    variance_m2: float
    mean_variance_m2: float


def likeliest(points: Points, covers: np.ndarray, fits: Fits, span_m: float, most: int) -> Iterator[Likely]:
    """Yield the likeliest combinations, the likeliest first."""
    chosen = np.argsort(fits.weight_fraction)[::-1][:most]
    own = cdist(points.xy, points.xy)
    total = float(fits.weight_fraction[chosen].sum())
    for k in chosen:
        (cover, power), length_m = (
            FAMILIES[fits.family_index[k]],
            float(LENGTHS[fits.length_index[k]] * span_m),
        )
        phi = covers[cover] ** power
        c, variance, mean_variance = covariance(points, phi, fits, int(k), matern(own, length_m))
        weight = float(fits.weight_fraction[k]) / total
        yield Likely(weight, c, phi, cover, power, length_m, variance, mean_variance)


def _surface(
    points: Points, covers: np.ndarray, basin: Basin, fits: Fits, span_m: float, floor_m: float
) -> np.ndarray:
    """Return the weighted mean surface on the wet cells, shape (cells)."""
    mesh_x, mesh_y = np.meshgrid(basin.x_m, basin.y_m)
    cells = np.column_stack([mesh_x[basin.wet], mesh_y[basin.wet]])
    cell_covers = np.clip(basin.covers_fraction[:, basin.wet], 0.0, 1.0)
    weight = fits.weight_fraction
    most = 60 if len(points.depth_m) <= FIT_POINTS else 6
    chosen = np.argsort(weight)[::-1][:most]
    weight = weight / weight[chosen].sum()
    own = cdist(points.xy, points.xy)
    lengths = np.unique(fits.length_index[chosen])
    vectors = np.zeros((len(lengths), len(own), len(FAMILIES)))
    constants = np.zeros(len(FAMILIES))
    for n, j in enumerate(lengths):
        k_own = matern(own, LENGTHS[j] * span_m)
        for k in chosen[fits.length_index[chosen] == j]:
            i = int(fits.family_index[k])
            phi = covers[FAMILIES[i][0]] ** FAMILIES[i][1]
            c, variance, mean_variance = covariance(points, phi, fits, k, k_own)
            a = phi * dposv(c, points.depth_m, lower=1)[1] * weight[k]
            vectors[n, :, i] += variance * a
            constants[i] += mean_variance * float(a.sum())
    taken = np.unique(fits.family_index[chosen])
    field = _field(cells, points.xy, LENGTHS[lengths] * span_m, vectors[:, :, taken]) + constants[taken]
    depth = np.zeros(len(cells))
    for column, (cover, power) in zip(field.T, (FAMILIES[i] for i in taken), strict=True):
        depth += cell_covers[cover] ** power * column
    return np.maximum(depth, floor_m)


def _field(cells: np.ndarray, xy: np.ndarray, lengths_m: np.ndarray, vectors: np.ndarray) -> np.ndarray:
    """Return Σ kernel(cells, points) @ vectors over the lengths, (cells, columns), in pieces that keep memory small.

    Args:
        cells: places, (cells, 2).
        xy: soundings, (n, 2).
        lengths_m: lengths of the kernels, (k).
        vectors: (k, n, columns).
    """
    found = np.zeros((len(cells), vectors.shape[2]))
    for own in np.array_split(np.arange(len(cells)), max(1, len(cells) * len(xy) // PIECE)):
        far = cdist(cells[own], xy)
        for length_m, vector in zip(lengths_m, vectors, strict=True):
            found[own] += matern(far, length_m) @ vector
    return found


def mixture_quantile(mean: np.ndarray, se: np.ndarray, weight: np.ndarray, probability: float) -> float:
    """Return a quantile of a mixture of normal distributions, by bisection."""
    low, high = float((mean - 8 * se).min()), float((mean + 8 * se).max())
    for _ in range(80):
        middle = (low + high) / 2
        below = float((weight * ndtr((middle - mean) / se)).sum())
        low, high = (middle, high) if below < probability else (low, middle)
    return (low + high) / 2


def depth_surface(points: Points, basin: Basin, seed: int, *, floor_m: float = 0.0) -> DepthSurface:
    """Fit the surface to soundings.

    Args:
        points: soundings, duplicates averaged, at most a few thousand.
        basin: the grid.
        seed: for the draw of the soundings by which the unknowns are weighed, where there are many.
        floor_m: least depth of the surface: below zero where depths count from the foot of a wall.

    Returns:
        The mean surface on the cells, shape as the basin's grid, and the volume's error.
    """
    span = float(np.sqrt(basin.polygon.area))
    covers = np.clip(basin.covers_at(points.xy), 1e-6, 1.0)
    used = np.arange(len(points.depth_m))
    if len(used) > FIT_POINTS:
        sounded, said = np.flatnonzero(points.sounded), np.flatnonzero(~points.sounded)
        drawn = np.random.default_rng(seed).choice(sounded, min(FIT_POINTS, len(sounded)), replace=False)
        used = np.concatenate([drawn, said])
    few = points.part(used)
    blocks = blocks_of_basin(basin)
    fits = weigh(few, covers[:, used], blocks, span)
    depth = np.zeros(basin.area_m2.shape)
    depth[basin.wet] = _surface(points, covers, basin, fits, span, floor_m)
    whole = fits
    if len(points.depth_m) > FIT_POINTS or points.line_index is not None:
        fits = _many(points, covers, blocks, fits, span)
    return replace(banded(depth, basin, fits, span), all_fits=whole)


def banded(
    depth_m: np.ndarray, basin: Basin, fits: Fits, span_m: float, *, apart_m3: float = 0.0
) -> DepthSurface:
    """Return a surface with the volume's error from the combinations weighed.

    Args:
        depth_m: the surface on the grid, (ny, nx).
        basin: the grid.
        fits: the combinations weighed.
        span_m: root of the pond's area.
        apart_m3: how far the surface's volume lies from that of the combinations, counted as an error.
    """
    weight, volume = fits.weight_fraction, float((depth_m * basin.area_m2).sum())
    centre = float((weight * fits.volume_m3).sum())
    variance = fits.variance_m6 + (SYSTEMATIC_FRACTION * volume) ** 2 + apart_m3**2
    se = float(np.sqrt((weight * (variance + (fits.volume_m3 - centre) ** 2)).sum()))
    low, high = (
        mixture_quantile(fits.volume_m3, np.sqrt(variance), weight, probability)
        for probability in (0.05, 0.95)
    )
    best = int(np.argmax(weight))
    return DepthSurface(
        depth_m=depth_m,
        volume_se_m3=se,
        volume_p05_m3=volume + low - centre,
        volume_p95_m3=volume + high - centre,
        reading_error_m=float((weight * fits.error_m).sum()),
        cover_index=FAMILIES[fits.family_index[best]][0],
        power_number=FAMILIES[fits.family_index[best]][1],
        length_m=float(LENGTHS[fits.length_index[best]] * span_m),
        cases=VolumeCases(weight, fits.volume_m3, np.sqrt(variance), fits.error_m),
        fits=fits,
    )


def _shared(points: Points, own_m: np.ndarray, share: np.ndarray) -> float:
    """Return what shared errors add to the variance of a weighted sum of readings, for a reading error of 1.

    The surface is fitted as if errors were independent (a fit with shared errors takes the pond's own swells for
    errors, and errs the more: docs/survey.md); the variance of what was so fitted counts them as they are.

    Args:
        points: soundings.
        own_m: their distances apart, (n, n).
        share: weight of each in the sum, (n).
    """
    if points.line_index is None:
        return 0.0
    scaled = share / np.sqrt(points.count)
    near = np.equal.outer(points.line_index, points.line_index) * np.exp(-own_m / SHARED_OVER_M)
    return SHARED_FRACTION * float(scaled @ near @ scaled - scaled @ scaled)


def _many(points: Points, covers: np.ndarray, blocks: Blocks, fits: Fits, span_m: float) -> Fits:
    """Return the six likeliest combinations with the volume's mean and variance from all soundings."""
    chosen = np.argsort(fits.weight_fraction)[::-1][:6]
    own, across = cdist(points.xy, points.xy), cdist(points.xy, blocks.xy)
    within = cdist(blocks.xy, blocks.xy)
    volume, variance_m6 = np.zeros(len(chosen)), np.zeros(len(chosen))
    for n, k in enumerate(chosen):
        length, (cover, power) = LENGTHS[fits.length_index[k]] * span_m, FAMILIES[fits.family_index[k]]
        phi, b = covers[cover] ** power, blocks.weight_m2[fits.family_index[k]]
        c, variance, mean_variance = covariance(points, phi, fits, int(k), matern(own, length))
        link = phi * (variance * (matern(across, length) @ b) + mean_variance * b.sum())
        solved = solve(c, np.column_stack([points.depth_m, link]), assume_a="pos", check_finite=False)
        volume[n] = link @ solved[:, 0]
        prior = variance * (b @ matern(within, length) @ b) + mean_variance * b.sum() ** 2
        variance_m6[n] = max(prior - link @ solved[:, 1], 0.0) + fits.error_m[k] ** 2 * _shared(
            points, own, solved[:, 1]
        )
    return Fits(
        fits.family_index[chosen], fits.length_index[chosen], fits.spread[chosen], fits.error_m[chosen],
        fits.log_weight[chosen], volume, variance_m6, fits.lost_m2[chosen], fits.weight_slope_number[chosen],
    )  # fmt: skip
