"""The trunk's way over land from the compressor to the shore, and what a metre of it weighs against one of branch."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import shapely
from shapely import Polygon

from plumeline.job.document import Job
from plumeline.stages.layout.paths import Water

EDGE_M = 50.0
ALIKE = "a length of trunk counts like one of branch: the job's prices do not say both"
BY_PRICE = "lengths weighed by the job's prices of trench, pipe and branch"


def weight_of(job: Job) -> tuple[float, str]:
    """Return how many metres of branch a metre of trunk counts for, and why.

    By price, (trench + pipe) / branch, where the job says all three; else alike.
    """
    prices = job.prices
    if prices.trench_per_m is None or prices.pipe_per_m is None or not prices.branch_per_m:
        return 1.0, ALIKE
    return (prices.trench_per_m + prices.pipe_per_m) / prices.branch_per_m, BY_PRICE


def ways_over_land(shore: Polygon, start_xy: tuple[float, float], places_xy: np.ndarray) -> np.ndarray:
    """Return shortest ways [m] from a place on land to places on the shore (n, 2), none through the water.

    Only the water is gone round: fences, drives and slopes are not known. A start in the water counts from its
    nearest shore.
    """
    land = _land_of(shore, tuple(round(value, 3) for value in start_xy))
    return np.asarray(land.distances(np.array([land.nearest(start_xy)]), places_xy)[0])


@lru_cache(maxsize=4)
def _land_of(shore: Polygon, start_xy: tuple[float, ...]) -> Water:
    """Return the land about a pond as a plane to go through, with the pond as the hole in it."""
    x_low, y_low, x_high, y_high = shapely.union(shore, shapely.Point(start_xy)).bounds
    box = shapely.box(x_low - EDGE_M, y_low - EDGE_M, x_high + EDGE_M, y_high + EDGE_M)
    return Water(Polygon(box.exterior, [shore.exterior]))
