"""Where the readings point among the scores: passes of an ensemble smoother, and a law to draw fresh ponds by.

The readings tell of a handful of combinations of the scores; of all others they tell nothing, and those stay as
the priors have them. All passes but the last are made by pilots, and the normal law in the directions in which
those moved stands for them; ponds drawn by it are fresh, and make the last pass themselves.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MOST_DIRECTIONS = 16
LEAST_SPREAD_NUMBER = 0.2  # of what ponds read, in units of the readings' error
LEAST_MOVE_NUMBER = 0.15  # of a direction, in units of the priors' spread


@dataclass(frozen=True)
class Learned:
    """A normal law in a few directions of the scores.

    Attributes:
        basis: orthonormal directions (scores, directions).
        centre: mean along them (directions).
        root: lower root of their covariance (directions, directions).
    """

    basis: Array
    centre: Array
    root: Array

    def draw(self, scores: Array) -> Array:
        """Return prior scores (scores, members) moved to the law."""
        along = self.basis.T @ scores
        return np.asarray(scores + self.basis @ (self.centre[:, None] + self.root @ along - along))


def nothing_learned(count: int) -> Learned:
    """Return the law that is the prior."""
    return Learned(np.zeros((count, 0)), np.zeros(0), np.zeros((0, 0)))


def moved(
    scores: Array, distance: Array, damping_number: float, generator: np.random.Generator
) -> Array:  # fmt: skip
    """Return scores moved toward the readings: one pass of an ensemble smoother with multiple data assimilation.

    Emerick & Reynolds 2013 (Comput. Geosci. 55:3): several passes, each with the readings' error widened by a
    number, the inverses of which sum to one. Correlations that so few ponds can't tell from nothing are taken
    for nothing.

    Args:
        scores: scores of the ponds (scores, ponds).
        distance: what each read less what was read, whitened: unit error, no correlation (numbers, ponds).
        damping_number: by which the variance of the error is widened.
        generator: of the errors drawn.
    """
    ponds = scores.shape[1]
    off = distance - distance.mean(axis=1, keepdims=True)
    axes, size, _ = np.linalg.svd(off / np.sqrt(ponds - 1.0), full_matrices=False)
    axes = axes[:, size > LEAST_SPREAD_NUMBER]
    along, off = axes.T @ distance, axes.T @ off
    about = scores - scores.mean(axis=1, keepdims=True)
    cross = about @ off.T / (ponds - 1.0)
    correlation = cross / np.outer(about.std(axis=1) + 1e-9, off.std(axis=1) + 1e-9)
    trust = np.clip(np.abs(correlation) * np.sqrt(ponds) - 1.0, 0.0, 1.0)
    inner = off @ off.T / (ponds - 1.0) + damping_number * np.eye(len(off))
    drawn = np.sqrt(damping_number) * generator.standard_normal(along.shape)
    return np.asarray(scores + (cross * trust) @ np.linalg.solve(inner, drawn - along))


def law_of(before: Array, after: Array) -> Learned:
    """Return the law in the directions in which ponds moved, from where they came to lie.

    Args:
        before: scores drawn from the priors (scores, ponds).
        after: the same ponds' scores, moved (scores, ponds).
    """
    ponds = before.shape[1]
    axes, size, _ = np.linalg.svd((after - before) / np.sqrt(ponds), full_matrices=False)
    most = min(MOST_DIRECTIONS, int((size > LEAST_MOVE_NUMBER).sum()), ponds // 8)
    if most == 0:
        return nothing_learned(len(before))
    basis = axes[:, :most]
    along = basis.T @ after
    spread = np.atleast_2d(np.cov(along)) + 1e-6 * np.eye(most)
    return Learned(basis, along.mean(axis=1), np.asarray(np.linalg.cholesky(spread)))


def weights_of(log_weight: Array) -> Array:
    """Return weights that sum to 1."""
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def effective_members(weight: Array) -> float:
    """Return how many equal members weights are worth (Kish 1965: 1/Σw²)."""
    return float(1.0 / (weight**2).sum())


def tempered(log_weight: Array, least: float) -> tuple[Array, float]:
    """Return weights of the greatest power up to one that leaves `least` effective members, and that power."""
    low, high = 0.0, 1.0
    if effective_members(weights_of(log_weight)) >= least:
        return weights_of(log_weight), 1.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        if effective_members(weights_of(middle * log_weight)) >= least:
            low = middle
        else:
            high = middle
    return weights_of(low * log_weight), low


def chosen(weight: Array, members: int, seed: int) -> NDArray[np.int64]:
    """Return which ponds stand for the ensemble: systematic resampling, in random order."""
    generator = np.random.default_rng(seed)
    marks = (np.arange(members) + generator.random()) / members
    index = np.searchsorted(np.cumsum(weight), marks).clip(0, len(weight) - 1)
    return np.asarray(generator.permutation(index), dtype=np.int64)
