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

import numpy as np
from scipy.linalg import solve, solve_triangular
from scipy.spatial.distance import cdist
from scipy.special import ndtr

from plumeline.stages.survey.basin import Basin
from plumeline.stages.survey.points import Points
from plumeline.stages.survey.result import VolumeCases

READING_ERROR_M = 0.15
PRIOR_POWER = 0.8
POWERS = np.array([0.2, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0])
LENGTHS = np.array([0.2, 0.4, 0.8, 1.6])
SPREADS = np.array([0.1, 0.2, 0.4, 0.8])
ERRORS = READING_ERROR_M * np.array([0.1, 0.4, 0.7, 1.0, 1.5, 2.5])
FAMILIES = (*((cover, float(power)) for cover in (0, 1) for power in POWERS), (2, 0.7), (2, 1.0), (2, 1.4))
"""Which cover, and its power."""
FIT_POINTS = 150
SURFACE_POINTS = 1200
MOST_AVERAGED = 9.0
"""Readings of one cell share boat, line and position: more than nine count as nine."""
SYSTEMATIC_FRACTION = 0.005
"""Error that no number of soundings takes away: the line's or the sounder's scale. Judgement."""
QUADRATURE_BLOCKS = 500
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


def matern(distance_m: np.ndarray, length_m: float) -> np.ndarray:
    """Return the Matérn correlation with ν = 5/2 of distances, any shape."""
    t = np.sqrt(5.0) * distance_m / length_m
    return np.asarray((1.0 + t + t * t / 3.0) * np.exp(-t))


@dataclass(frozen=True, eq=False)
class _Blocks:
    """The basin in coarse blocks for integrals: centres, and the cover's power over each block by family."""

    xy: np.ndarray
    weight_m2: np.ndarray
    """Shape (families, blocks)."""


def block_sums(basin: Basin, values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return centres of coarse blocks, (blocks, 2), and the integral of each value over them, (values, blocks).

    Args:
        basin: the grid.
        values: shape (values, wet cells).
    """
    wet = basin.wet
    mesh_x, mesh_y = np.meshgrid(basin.x_m, basin.y_m)
    x, y, area = mesh_x[wet], mesh_y[wet], basin.area_m2[wet]
    side = float(np.sqrt(area.sum() / QUADRATURE_BLOCKS))
    _, label = np.unique(
        np.column_stack([(x - x.min()) // side, (y - y.min()) // side]), axis=0, return_inverse=True
    )
    label = label.ravel()
    total = np.bincount(label, area)
    centre = np.column_stack([np.bincount(label, area * x), np.bincount(label, area * y)]) / total[:, None]
    return centre, np.array([np.bincount(label, area * one) for one in values])


def blocks_of_basin(basin: Basin) -> _Blocks:
    """Return the basin in blocks, with each family's cover over them."""
    covers = np.clip(basin.covers_fraction[:, basin.wet], 0.0, 1.0)
    return _Blocks(*block_sums(basin, np.array([covers[cover] ** power for cover, power in FAMILIES])))


@dataclass(frozen=True, eq=False)
class Fits:
    """Every combination weighed: index arrays into the grids, log weights, volume mean and variance."""

    family_index: np.ndarray
    length_index: np.ndarray
    spread: np.ndarray
    error_m: np.ndarray
    log_weight: np.ndarray
    volume_m3: np.ndarray
    variance_m6: np.ndarray
    lost_m2: np.ndarray
    """What the volume loses for each metre by which all soundings are less."""
    weight_slope_number: np.ndarray
    """By how much the log weight grows for each metre by which all soundings are less."""

    @property
    def weight_fraction(self) -> np.ndarray:
        """Posterior weights, summing to one."""
        weight = np.exp(self.log_weight - self.log_weight.max())
        return np.asarray(weight / weight.sum())


def log_power_prior(power: np.ndarray) -> np.ndarray:
    """Return the log prior of the banks' power: lognormal about 0.8."""
    return np.asarray(-0.5 * (np.log(power / PRIOR_POWER) / 0.6) ** 2)


def _log_prior(power: np.ndarray, error_m: np.ndarray) -> np.ndarray:
    """Return the log prior: power about 0.8 and reading error about 0.15 m, both lognormal; the rest flat."""
    return np.asarray(log_power_prior(power) - 0.5 * (np.log(error_m / READING_ERROR_M) / 0.5) ** 2)


def _scale(phi: np.ndarray, depth_m: np.ndarray, count: np.ndarray) -> float:
    """Return the least-squares factor between the cover's power and the depths."""
    return float(max((count * phi * depth_m).sum() / max((count * phi * phi).sum(), 1e-12), 1e-3))


def _weigh(points: Points, covers: np.ndarray, blocks: _Blocks, span_m: float) -> Fits:
    """Return every combination of the grids with its marginal likelihood and its volume."""
    spread_grid, error_grid = (grid.ravel() for grid in np.meshgrid(SPREADS, ERRORS, indexing="ij"))
    own, across = cdist(points.xy, points.xy), cdist(points.xy, blocks.xy)
    within = cdist(blocks.xy, blocks.xy)
    columns: list[tuple[np.ndarray, ...]] = []
    for j, length in enumerate(LENGTHS):
        k_own, k_across = matern(own, length * span_m), matern(across, length * span_m)
        k_within = matern(within, length * span_m)
        for i, (cover, power) in enumerate(FAMILIES):
            phi, b = covers[cover] ** power, blocks.weight_m2[i]
            scale = _scale(phi, points.depth_m, points.count)
            variance, mean_variance = (spread_grid * scale) ** 2, (3.0 * scale) ** 2
            outer = np.outer(phi, phi)
            c = variance[:, None, None] * (k_own * outer) + mean_variance * outer
            diagonal = np.arange(len(own))
            c[:, diagonal, diagonal] += points.variance_m2(error_grid)
            factor = np.linalg.cholesky(c)
            link = phi * (np.outer(variance, k_across @ b) + mean_variance * b.sum())
            right = np.stack(
                [
                    np.broadcast_to(points.depth_m, link.shape),
                    link,
                    np.broadcast_to(points.sounded, link.shape),
                ],
                axis=-1,
            )
            # a general solution would factor the triangle over again, at twice the cost of the factor itself
            half = np.stack(
                [
                    solve_triangular(lower, sides, lower=True, check_finite=False)
                    for lower, sides in zip(factor, right, strict=True)
                ]
            )
            log_determinant = 2 * np.log(np.einsum("kii->ki", factor)).sum(axis=1)
            log_likelihood = -0.5 * ((half[..., 0] ** 2).sum(axis=1) + log_determinant)
            volume, lost, slope = (
                (half[..., one] * half[..., other]).sum(axis=1) for one, other in ((0, 1), (1, 2), (0, 2))
            )
            prior = variance * (b @ k_within @ b) + mean_variance * b.sum() ** 2
            left = np.maximum(prior - (half[..., 1] ** 2).sum(axis=1), 0.0)
            shape = np.ones_like(spread_grid)
            weight = log_likelihood + _log_prior(power * shape, error_grid)
            columns.append(
                (shape * i, shape * j, spread_grid * scale, error_grid, weight, volume, left, lost, slope)
            )
    family_index, length_index, *rest = (np.concatenate(column) for column in zip(*columns, strict=True))
    return Fits(family_index.astype(int), length_index.astype(int), *rest)


def covariance(
    points: Points, cover_fraction: np.ndarray, fits: Fits, k: int, k_own: np.ndarray
) -> tuple[np.ndarray, float, float]:
    """Return the soundings' covariance under combination k, (n, n), and the variances of process and mean."""
    variance = float(fits.spread[k] ** 2)
    mean_variance = float((3.0 * _scale(cover_fraction, points.depth_m, points.count)) ** 2)
    c = (variance * k_own + mean_variance) * np.outer(cover_fraction, cover_fraction)
    c[np.diag_indices_from(c)] += points.variance_m2(float(fits.error_m[k]))
    return c, variance, mean_variance


def covariances(
    points: Points, covers: np.ndarray, fits: Fits, span_m: float, most: int
) -> Iterator[tuple[float, np.ndarray, np.ndarray]]:
    """Yield weight, covariance (n, n) and cover's power (n) of the likeliest combinations."""
    chosen = np.argsort(fits.weight_fraction)[::-1][:most]
    own = cdist(points.xy, points.xy)
    total = float(fits.weight_fraction[chosen].sum())
    for k in chosen:
        cover, power = FAMILIES[fits.family_index[k]]
        phi = covers[cover] ** power
        c, _, _ = covariance(points, phi, fits, int(k), matern(own, LENGTHS[fits.length_index[k]] * span_m))
        yield float(fits.weight_fraction[k]) / total, c, phi


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
    depth = np.zeros(len(cells))
    for j in np.unique(fits.length_index[chosen]):
        k_own = matern(own, LENGTHS[j] * span_m)
        sums: dict[int, tuple[np.ndarray, float]] = {}
        for k in chosen[fits.length_index[chosen] == j]:
            i = int(fits.family_index[k])
            phi = covers[FAMILIES[i][0]] ** FAMILIES[i][1]
            c, variance, mean_variance = covariance(points, phi, fits, k, k_own)
            a = phi * solve(c, points.depth_m, assume_a="pos", check_finite=False) * weight[k]
            vector, constant = sums.get(i, (np.zeros_like(a), 0.0))
            sums[i] = (vector + variance * a, constant + mean_variance * float(a.sum()))
        stack = np.column_stack([vector for vector, _ in sums.values()])
        field = _field(cells, points.xy, LENGTHS[j] * span_m, stack)
        for column, (i, (_, constant)) in enumerate(sums.items()):
            depth += cell_covers[FAMILIES[i][0]] ** FAMILIES[i][1] * (field[:, column] + constant)
    return np.maximum(depth, floor_m)


def _field(cells: np.ndarray, xy: np.ndarray, length_m: float, vectors: np.ndarray) -> np.ndarray:
    """Return kernel(cells, points) @ vectors, in pieces that keep memory small."""
    pieces = np.array_split(cells, max(1, len(cells) * len(xy) // 2_000_000))
    return np.concatenate([matern(cdist(piece, xy), length_m) @ vectors for piece in pieces])


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
    fits = _weigh(few, covers[:, used], blocks, span)
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


def _many(points: Points, covers: np.ndarray, blocks: _Blocks, fits: Fits, span_m: float) -> Fits:
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
