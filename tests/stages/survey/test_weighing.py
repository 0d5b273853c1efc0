"""Combinations of the surface's unknowns, weighed, against the textbook's sums over whole matrices."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.distance import cdist
from shapely import Point

from plumeline.stages.survey.basin import basin_of
from plumeline.stages.survey.weighing import (
    FAMILIES,
    LENGTHS,
    Points,
    blocks_of_basin,
    log_power_prior,
    weigh,
)

BASIN = basin_of(Point(0, 0).buffer(40.0, quad_segs=32))
SPAN_M = float(np.sqrt(BASIN.polygon.area))


def soundings(count, seed, *, said):
    """Depths of a bowl, read with errors; some are the mean of several readings, some may be said and not sounded."""
    rng = np.random.default_rng(seed)
    angle, far_m = rng.uniform(0, 2 * np.pi, count), 37.0 * np.sqrt(rng.uniform(0, 1, count))
    xy = np.column_stack([far_m * np.cos(angle), far_m * np.sin(angle)])
    depth_m = 3.0 * (1 - (far_m / 40.0) ** 2) + rng.normal(0, 0.1, count)
    own_m = np.where(np.arange(count) % 3 == 2, 0.4, 0.0) if said else None
    return Points(xy, np.maximum(depth_m, 0.05), rng.integers(1, 4, count).astype(float), own_error_m=own_m)


def matern_of(far_m, length_m):
    """Rasmussen & Williams 2006, eq. 4.17."""
    t = np.sqrt(5) * far_m / length_m
    return (1 + t + t**2 / 3) * np.exp(-t)


@pytest.mark.parametrize("said", [False, True])
@pytest.mark.parametrize("count", [1, 2, 7, 45, 100])
def test_weights_and_volumes_are_those_of_the_whole_covariance(count, said):
    """Rasmussen & Williams 2006, eq. 2.25 and 2.30; O'Hagan 1991 for the integral: the matrices whole, one by one."""
    points = soundings(count, count, said=said)
    covers = np.clip(BASIN.covers_at(points.xy), 1e-6, 1.0)
    blocks = blocks_of_basin(BASIN)
    fits = weigh(points, covers, blocks, SPAN_M)
    assert len(fits.log_weight) == len(FAMILIES) * len(LENGTHS) * 24
    rng = np.random.default_rng(5)
    for k in rng.choice(len(fits.log_weight), 40, replace=False):
        cover, power = FAMILIES[fits.family_index[k]]
        length_m = LENGTHS[fits.length_index[k]] * SPAN_M
        phi, b = covers[cover] ** power, blocks.weight_m2[fits.family_index[k]]
        scale = (points.count * phi * points.depth_m).sum() / (points.count * phi**2).sum()
        v, m, e = fits.spread[k] ** 2, (3 * scale) ** 2, fits.error_m[k]
        c = (v * matern_of(cdist(points.xy, points.xy), length_m) + m) * np.outer(phi, phi)
        own_m = np.zeros(count) if points.own_error_m is None else points.own_error_m
        c += np.diag(e**2 / points.count + own_m**2)
        link = phi * ((v * matern_of(cdist(points.xy, blocks.xy), length_m) + m) @ b)
        prior = b @ (v * matern_of(cdist(blocks.xy, blocks.xy), length_m) + m) @ b
        solved = np.linalg.solve(c, np.column_stack([points.depth_m, link, own_m == 0]))
        sign, log_determinant = np.linalg.slogdet(c)
        weight = -0.5 * (points.depth_m @ solved[:, 0] + log_determinant)
        weight += log_power_prior(np.array(power)) - 0.5 * (np.log(e / 0.15) / 0.5) ** 2
        assert sign == 1
        assert fits.log_weight[k] == pytest.approx(weight, rel=1e-7, abs=1e-6)
        assert fits.volume_m3[k] == pytest.approx(link @ solved[:, 0], rel=1e-7)
        assert fits.variance_m6[k] == pytest.approx(prior - link @ solved[:, 1], rel=1e-3, abs=1e-6 * prior)
        assert fits.lost_m2[k] == pytest.approx(link @ solved[:, 2], rel=1e-5, abs=1e-6 * b.sum())
        assert fits.weight_slope_number[k] == pytest.approx(points.depth_m @ solved[:, 2], rel=1e-5, abs=1e-4)
