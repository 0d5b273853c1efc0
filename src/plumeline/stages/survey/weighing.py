"""Every combination of what is not known of the depth surface, weighed by how well it explains the soundings.

A combination is a cover and its power, the length over which the bottom changes, how much it changes, and the reading
error (see depths.py). Under it the soundings have the covariance

    C = N⁻¹ᐟ² (v A + m u uᵀ + e² I) N⁻¹ᐟ²,    A = u uᵀ ∘ K,    u = N¹ᐟ² φ,

N how many readings each is the mean of, φ the cover's power, K the kernel. Spreads (v) and errors (e) of one cover,
power and length share A: it is brought to three diagonals once (Householder), where v A + e² I is solved in n steps
instead of n³. The mean's part m u uᵀ is of rank one and is solved in closed form, as a mean that is estimated too.

Source: Golub & Van Loan 2013, Matrix Computations, sections 2.1.4 (rank one), 4.1.2 (L D Lᵀ), 8.3.1 (three diagonals);
Rasmussen & Williams 2006, Gaussian Processes for Machine Learning, eq. 2.30 (marginal likelihood), eq. 4.17 (Matérn
kernel, ν = 5/2), section 2.7 (mean); O'Hagan 1991, J. Stat. Plan. Inference 29:245 (integral of a process).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.linalg.lapack import dormqr, dsytrd, dsytrd_lwork
from scipy.spatial.distance import cdist

from plumeline.stages.survey.basin import Basin
from plumeline.stages.survey.points import Points

READING_ERROR_M = 0.15
PRIOR_POWER = 0.8
POWERS = np.array([0.2, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0])
LENGTHS = np.array([0.2, 0.4, 0.8, 1.6])
SPREADS = np.array([0.1, 0.2, 0.4, 0.8])
ERRORS = READING_ERROR_M * np.array([0.1, 0.4, 0.7, 1.0, 1.5, 2.5])
FAMILIES = (*((cover, float(power)) for cover in (0, 1) for power in POWERS), (2, 0.7), (2, 1.0), (2, 1.4))
"""Which cover, and its power."""
MOST_AVERAGED = 9.0
"""Readings of one cell share boat, line and position: more than nine count as nine."""
QUADRATURE_BLOCKS = 500
PIECE = 16_000
"""Distances worked through at once."""


def matern(distance_m: np.ndarray, length_m: float) -> np.ndarray:
    """Return the Matérn correlation with ν = 5/2 of distances, any shape: (1 + t + t²/3) e⁻ᵗ, t = √5 s/l."""
    far_m = np.ascontiguousarray(distance_m).reshape(-1)
    found = np.empty_like(far_m)
    # in pieces and in place: fetching new memory for each term takes longer than the term
    for first in range(0, len(far_m), PIECE):
        t = far_m[first : first + PIECE] * (-np.sqrt(5.0) / length_m)
        own = found[first : first + PIECE]
        np.exp(t, out=own)
        factor = t / 3.0
        factor -= 1.0
        factor *= t
        factor += 1.0
        own *= factor
    return found.reshape(distance_m.shape)


@dataclass(frozen=True, eq=False)
class Blocks:
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
    across, along = ((axis - axis.min()) // side for axis in (x, y))
    _, label = np.unique(across * (along.max() + 1.0) + along, return_inverse=True)
    total = np.bincount(label, area)
    centre = np.column_stack([np.bincount(label, area * x), np.bincount(label, area * y)]) / total[:, None]
    return centre, np.array([np.bincount(label, area * one) for one in values])


def blocks_of_basin(basin: Basin) -> Blocks:
    """Return the basin in blocks, with each family's cover over them."""
    covers = np.clip(basin.covers_fraction[:, basin.wet], 0.0, 1.0)
    return Blocks(*block_sums(basin, np.array([covers[cover] ** power for cover, power in FAMILIES])))


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


def log_error_prior(error_m: np.ndarray) -> np.ndarray:
    """Return the log prior of the reading error: lognormal about 0.15 m; spread and length are flat."""
    return np.asarray(-0.5 * (np.log(error_m / READING_ERROR_M) / 0.5) ** 2)


def scale_of(cover_fraction: np.ndarray, depth_m: np.ndarray, count: np.ndarray) -> float:
    """Return the least-squares factor between the cover's power and the depths."""
    own = count * cover_fraction
    return float(max((own * depth_m).sum() / max((own * cover_fraction).sum(), 1e-12), 1e-3))


@dataclass(frozen=True, eq=False)
class _Lined:
    """A covariance in three diagonals, and what is asked of it in the same frame.

    Attributes:
        diagonal_number, beside_number: the diagonals, (n) and (n − 1).
        asked: rows (4, n): depths less the mean's scale, u, the integral's link without its mean, N¹ᐟ² of soundings.
        scale_m: the factor between the cover's power and the depths.
        block_m2: integral of the cover's power.
        prior_m4: variance of the integral for a process of variance 1.
        log_errors_number: log of the diagonal of N⁻¹, summed.
    """

    diagonal_number: np.ndarray
    beside_number: np.ndarray
    asked: np.ndarray
    scale_m: float
    block_m2: float
    prior_m4: float
    log_errors_number: float


def _lined(
    kernel: np.ndarray, phi: np.ndarray, points: Points, across: np.ndarray, errors_m2: np.ndarray,
    *, block_m2: float, prior_m4: float,
) -> _Lined:  # fmt: skip
    """Return one cover, power and length in three diagonals.

    Args:
        kernel: correlation of the soundings, (n, n).
        phi: the cover's power at them, (n).
        points: soundings.
        across: integral of the correlation with each over the basin, (n).
        errors_m2: the diagonal of N⁻¹, (n).
        block_m2: integral of the cover's power.
        prior_m4: its variance for a process of variance 1.
    """
    root, scale = 1.0 / np.sqrt(errors_m2), scale_of(phi, points.depth_m, points.count)
    u, count, log_errors_number = root * phi, len(phi), float(np.log(errors_m2).sum())
    asked = np.column_stack([root * points.depth_m - scale * u, u, u * across, root * points.sounded])
    if count == 1:
        return _Lined(kernel[0] * u * u, np.zeros(0), asked.T, scale, block_m2, prior_m4, log_errors_number)
    matrix = np.asfortranarray(kernel * np.outer(u, u))
    # below 64 the plain way is as quick as the one in blocks
    work = int(dsytrd_lwork(count, lower=1)[0]) if count > 64 else count
    packed, diagonal, beside, factors, _ = dsytrd(matrix, lower=1, lwork=work, overwrite_a=1)
    asked[1:] = dormqr("L", "T", packed[1:, :-1], factors, asked[1:], 4 * 64)[0]
    return _Lined(diagonal, beside, asked.T, scale, block_m2, prior_m4, log_errors_number)


class _Products(NamedTuple):
    """Inner products xᵀB⁻¹y of what is asked, (4, 4, lined, k), and the log determinant of B, (lined, k)."""

    between: np.ndarray
    log_determinant: np.ndarray


def _products(lined: list[_Lined], variance_m2: np.ndarray, added: np.ndarray) -> _Products:
    """Return the inner products with B = v A + e² I under every spread and error.

    Args:
        lined: the covers, powers and lengths.
        variance_m2: v, (lined, k).
        added: e², (k).
    """
    diagonal = np.array([one.diagonal_number for one in lined]).T[:, :, None]
    beside = np.array([one.beside_number for one in lined]).T[:, :, None]
    asked = np.array([one.asked for one in lined]).transpose(2, 1, 0)[..., None]
    pivots = np.empty((len(diagonal), *variance_m2.shape))
    solved = np.empty((len(diagonal), 4, *variance_m2.shape))
    pivots[0], solved[0] = variance_m2 * diagonal[0] + added, asked[0]
    for n in range(1, len(diagonal)):
        off = variance_m2 * beside[n - 1]
        share = off / pivots[n - 1]
        pivots[n] = variance_m2 * diagonal[n] + added - share * off
        solved[n] = asked[n] - share * solved[n - 1]
    between = np.empty((4, 4, *variance_m2.shape))
    for a in range(4):
        scaled = solved[:, a] / pivots
        for b in range(a, 4):
            between[a, b] = between[b, a] = (scaled * solved[:, b]).sum(axis=0)
    return _Products(between, np.log(pivots).sum(axis=0))


def _columns(
    lined: list[_Lined], log_power: np.ndarray, spread: np.ndarray, added: np.ndarray
) -> tuple[np.ndarray, ...]:
    """Return spread, log weight without the prior of the error, volume, variance, loss and slope, each (lined, k).

    Equations: with B = v A + e² I, a = uᵀB⁻¹u, t = m/(1 + m a) and β the integral of the cover's power, for any x, y
    xᵀC⁻¹y = xᵀB⁻¹y − t xᵀB⁻¹u uᵀB⁻¹y; for the integral V, E[V] = gᵀB⁻¹y + t (β − gᵀB⁻¹u) uᵀB⁻¹y and
    Var[V] = prior − gᵀB⁻¹g + t (β − gᵀB⁻¹u)². The depths stand as y + s u, s their scale, and 1 − t a = 1/(1 + m a).

    Args:
        lined: the covers, powers and lengths.
        log_power: log prior of the power of each, (lined).
        spread: of the process over the scale, (k).
        added: e², (k).
    """
    scale, beta, prior, log_errors_number = (
        np.array([getattr(one, name) for one in lined])[:, None]
        for name in ("scale_m", "block_m2", "prior_m4", "log_errors_number")
    )
    variance, mean_variance = (spread * scale) ** 2, (3.0 * scale) ** 2
    between, log_determinant = _products(lined, variance, added)
    (yy, yu, yg, y1), (_, uu, ug, u1), (_, _, gg, g1) = between[0], between[1], between[2]
    whole = 1.0 + mean_variance * uu
    t = mean_variance / whole
    yg, gg, g1, ug = variance * yg, variance**2 * gg, variance * g1, variance * ug
    square = yy - t * yu**2 + (2.0 * scale * yu + scale**2 * uu) / whole
    yu_all = yu + scale * uu
    volume = yg + scale * ug + t * (beta - ug) * yu_all
    left = np.maximum(variance * prior - gg + t * (beta - ug) ** 2, 0.0)
    lost, slope = g1 + t * (beta - ug) * u1, y1 + scale * u1 - t * yu_all * u1
    weight = -0.5 * (square + log_determinant + np.log(whole) + log_errors_number) + log_power[:, None]
    return spread * scale, weight, volume, left, lost, slope


def weigh(points: Points, covers: np.ndarray, blocks: Blocks, span_m: float) -> Fits:
    """Return every combination of the grids with its marginal likelihood and its volume.

    Where the error of each reading is e²/count, all errors share A. What was said of the banks has an error of its own
    besides: then each e has another N, with nothing but 1 to add.

    Args:
        points: soundings.
        covers: covers at them, (3, n).
        blocks: the basin in blocks.
        span_m: root of the pond's area.
    """
    own, across, within = (
        cdist(a, b) for a, b in ((points.xy,) * 2, (points.xy, blocks.xy), (blocks.xy,) * 2)
    )
    powers = np.array([covers[cover] ** power for cover, power in FAMILIES])
    kernels = [matern(own, length) for length in LENGTHS * span_m]
    links = [matern(across, length) @ blocks.weight_m2.T for length in LENGTHS * span_m]
    priors = [
        ((blocks.weight_m2 @ matern(within, length)) * blocks.weight_m2).sum(axis=1)
        for length in LENGTHS * span_m
    ]
    sums, every = (
        blocks.weight_m2.sum(axis=1),
        [(j, i) for j in range(len(LENGTHS)) for i in range(len(FAMILIES))],
    )
    log_power = log_power_prior(np.array([FAMILIES[i][1] for _, i in every]))
    index = np.array(every)[:, :, None]
    columns: list[tuple[np.ndarray, ...]] = []
    for errors_m2, error_m, added in _errors(points):
        lined = [
            _lined(
                kernels[j],
                powers[i],
                points,
                links[j][:, i],
                errors_m2,
                block_m2=float(sums[i]),
                prior_m4=float(priors[j][i]),
            )
            for j, i in every
        ]
        spread = np.repeat(SPREADS, len(error_m))
        error = np.tile(error_m, len(SPREADS))
        found = _columns(lined, log_power, spread, np.tile(added, len(SPREADS)))
        shape = np.ones_like(found[0])
        weight = found[1] + log_error_prior(error)
        columns.append(
            (index[:, 1] * shape, index[:, 0] * shape, found[0], error * shape, weight, *found[2:])
        )
    family_index, length_index, *rest = (
        np.concatenate([one.ravel() for one in column]) for column in zip(*columns, strict=True)
    )
    return Fits(family_index.astype(int), length_index.astype(int), *rest)


def _errors(points: Points) -> list[tuple[np.ndarray, np.ndarray, np.ndarray]]:
    """Return what the reading error makes of the covariance: the diagonal of N⁻¹ (n), errors [m] and e² to add, (k)."""
    if points.own_error_m is None:
        return [(points.variance_m2(1.0), ERRORS, ERRORS**2)]
    return [(points.variance_m2(float(error)), np.array([error]), np.ones(1)) for error in ERRORS]
