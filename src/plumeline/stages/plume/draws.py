"""Draws of what is not known about a plume, from the table of priors, by a seeded Latin hypercube."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from plumeline.kernels.plume_samples import (
    DRAW_ALPHA,
    DRAW_BUBBLE_RADIUS,
    DRAW_COLUMNS,
    DRAW_FROUDE,
    DRAW_LAMBDA,
    DRAW_SOURCE_RADIUS,
    DRAW_TRANSFER,
)
from plumeline.sources.priors import prior

Array = npt.NDArray[np.float64]

MEMBERS = 512
ALPHA_NUMBER = 0.075
FROUDE_NUMBER = 1.6
LAMBDA_NUMBER = 0.8
BUBBLE_RADIUS_M = 1.0e-3
DISC_RADIUS_M = 0.115
CLEAN_WATER_FACTOR = 1.0
"""The central case: middles of the priors, and bubbles without surfactant, as the published model has."""

COLUMN = {
    "plume_alpha": DRAW_ALPHA,
    "plume_source_radius_ratio": DRAW_SOURCE_RADIUS,
    "plume_froude": DRAW_FROUDE,
    "bubble_radius": DRAW_BUBBLE_RADIUS,
    "plume_lambda": DRAW_LAMBDA,
    "transfer_factor": DRAW_TRANSFER,
}


@dataclass(frozen=True)
class Source:
    """What is known of a diffuser's source of bubbles; None means not known: drawn from its prior.

    Attributes:
        disc_radius_m: radius of the membrane.
        alpha_number: top-hat entrainment coefficient.
        bubble_radius_m: radius of the bubbles as they leave it.
    """

    disc_radius_m: float = DISC_RADIUS_M
    alpha_number: float | None = None
    bubble_radius_m: float | None = None


def central_draw(source: Source) -> Array:
    """Return the one draw of the central case, shape (1, DRAW_COLUMNS)."""
    draw = np.empty((1, DRAW_COLUMNS))
    draw[0, DRAW_ALPHA] = ALPHA_NUMBER if source.alpha_number is None else source.alpha_number
    draw[0, DRAW_SOURCE_RADIUS] = source.disc_radius_m
    draw[0, DRAW_FROUDE] = FROUDE_NUMBER
    draw[0, DRAW_BUBBLE_RADIUS] = (
        BUBBLE_RADIUS_M if source.bubble_radius_m is None else source.bubble_radius_m
    )
    draw[0, DRAW_LAMBDA] = LAMBDA_NUMBER
    draw[0, DRAW_TRANSFER] = CLEAN_WATER_FACTOR
    return draw


def prior_draws(source: Source, members: int, seed: int) -> Array:
    """Return draws from the priors, with what is known of the source held.

    Args:
        source: what is known.
        members: n, how many.
        seed: of the random numbers.
    Returns:
        Draws, shape (n, DRAW_COLUMNS), the bubble radius in metres.
    """
    generator = np.random.default_rng(seed)
    draws = np.empty((members, DRAW_COLUMNS))
    for name, column in COLUMN.items():
        strata = (generator.permutation(members) + generator.random(members)) / members
        draws[:, column] = prior(name).quantile(strata)
    draws[:, DRAW_SOURCE_RADIUS] *= source.disc_radius_m
    draws[:, DRAW_BUBBLE_RADIUS] *= 1e-3
    if source.alpha_number is not None:
        draws[:, DRAW_ALPHA] = source.alpha_number
    if source.bubble_radius_m is not None:
        draws[:, DRAW_BUBBLE_RADIUS] = source.bubble_radius_m
    return draws
