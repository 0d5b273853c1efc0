"""Lines of equal depth, and the hypsograph, from the depth surface."""

from __future__ import annotations

import numpy as np
from contourpy import LineType, contour_generator
from shapely import LinearRing, MultiPolygon, Polygon
from shapely.ops import unary_union

from plumeline.stages.survey.result import Contour, DepthGrid, Hypsograph, Ring

STEPS_M = (0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)
MOST_LINES = 9
LEVELS = 120


def even_step(max_depth_m: float) -> float:
    """Return the smallest even step [m] that gives at most nine lines."""
    return next((step for step in STEPS_M if max_depth_m / step <= MOST_LINES), STEPS_M[-1])


def _lines(grid: DepthGrid, depths_m: tuple[float, ...]) -> list[list[np.ndarray]]:
    """Return the lines of each depth, each of shape (n, 2)."""
    generator = contour_generator(x=grid.x_m, y=grid.y_m, z=grid.extended_m, line_type=LineType.Separate)
    return [[np.asarray(line) for line in generator.lines(depth_m)] for depth_m in depths_m]


def contours(grid: DepthGrid, depths_m: tuple[float, ...]) -> tuple[Contour, ...]:
    """Return the lines at depths [m] above zero, by marching squares (contourpy)."""
    found = []
    for depth_m, drawn in zip(depths_m, _lines(grid, depths_m), strict=True):
        lines = tuple(tuple((x, y) for x, y in line.tolist()) for line in drawn if len(line) > 2)
        if lines:
            found.append(Contour(depth_m, lines))
    return tuple(found)


def even_contours(grid: DepthGrid, max_depth_m: float) -> tuple[Contour, ...]:
    """Return the lines at even steps."""
    step = even_step(max_depth_m)
    return contours(grid, tuple(step * n for n in range(1, int(np.ceil(max_depth_m / step - 1e-9)))))


def hypsograph(depth_m: np.ndarray, cell_area_m2: np.ndarray) -> Hypsograph:
    """Return area and volume by depth from cells.

    Equation: V(z) = Σ aᵢ max(dᵢ − z, 0), exact for the cells; A(z) is the mean of −ΔV/Δz on both sides, and
    at the surface the sum of all cells, the pond's own area.

    Args:
        depth_m: depths of the cells, any shape.
        cell_area_m2: their areas, same shape.

    Returns:
        The hypsograph at 121 levels.
    """
    wet = cell_area_m2 > 0
    depth, area = depth_m[wet], cell_area_m2[wet]
    order = np.argsort(depth)
    depth, area = depth[order], area[order]
    levels = np.linspace(0.0, float(depth[-1]), LEVELS + 1)
    area_above = np.append(np.cumsum(area[::-1])[::-1], 0.0)
    moment_above = np.append(np.cumsum((area * depth)[::-1])[::-1], 0.0)
    first = np.searchsorted(depth, levels, side="right")
    volume = np.maximum(moment_above[first] - levels * area_above[first], 0.0)
    volume[-1] = 0.0
    slab = -np.diff(volume) / np.diff(levels)
    at = np.concatenate([[area.sum()], (slab[1:] + slab[:-1]) / 2, [0.0]])
    at[-1] = min(max(1.5 * slab[-1] - 0.5 * slab[-2], 0.0), at[-2])
    at = np.minimum.accumulate(at)
    return Hypsograph(_floats(levels), _floats(at), _floats(volume))


def _floats(values: np.ndarray) -> tuple[float, ...]:
    return tuple(float(value) for value in values)


def polygon_below(grid: DepthGrid, level_m: float) -> Polygon:
    """Return the largest pool of the water deeper than a level [m], islands taken out."""
    rings = [Polygon(line).buffer(0) for line in _lines(grid, (level_m,))[0] if len(line) > 3]
    rings.sort(key=lambda item: -item.area)
    shore = rings[0]
    islands = [ring for ring in rings[1:] if shore.contains(ring)]
    pool = shore.difference(unary_union(islands)) if islands else shore
    parts = list(pool.geoms) if isinstance(pool, MultiPolygon) else [pool]
    polygons = [part for part in parts if isinstance(part, Polygon)]
    return max(polygons, key=lambda item: item.area)


def rings_of(polygon: Polygon) -> tuple[Ring, ...]:
    """Return a polygon's rings, closed, the shore first."""
    rings: list[LinearRing] = [polygon.exterior, *polygon.interiors]
    return tuple(tuple((float(x), float(y)) for x, y in ring.coords) for ring in rings)
