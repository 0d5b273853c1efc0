"""How much of each cell of a grid lies in the water, and how far places are from the shore.

Both go along the shore's lines and not from cell to cell: a shore may have hundreds of corners, and is worked through
anew each time that one of them is dragged.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from shapely import Polygon
from shapely.geometry.polygon import orient

TILES = 6
"""Tiles a side, for the distance: each looks only at the lines that may be nearest to a place in it."""
TOUCHED_FRACTION = 1e-9
"""Of a cell: less than that is rounding, and no water."""


def _lines(polygon: Polygon) -> np.ndarray:
    """Return the lines of shore and islands, water to their left, shape (lines, 4): x and y of both ends."""
    turned = orient(polygon)
    rings = [np.asarray(ring.coords)[:, :2] for ring in (turned.exterior, *turned.interiors)]
    return np.concatenate([np.hstack([ring[:-1], ring[1:]]) for ring in rings])


def _crossings(start: np.ndarray, end: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return where lines cross whole numbers on one axis: the line's index and the fraction of its length."""
    first = np.floor(np.minimum(start, end)).astype(int) + 1
    count = np.maximum(np.ceil(np.maximum(start, end)).astype(int) - first, 0)
    index = np.repeat(np.arange(len(start)), count)
    whole = first[index] + np.arange(len(index)) - np.repeat(np.cumsum(count) - count, count)
    return index, (whole - start[index]) / (end - start)[index]


def covered_fraction(polygon: Polygon, x_m: np.ndarray, y_m: np.ndarray) -> np.ndarray:
    """Return the fraction of each cell that lies in a valid polygon, (ny, nx).

    Equation: ∮ u dv along the shore, each line cut at the cells' edges (Green's theorem): a piece that rises by dv in a
    cell covers its cell up to itself, and all cells to its left, by dv.

    Args:
        polygon: shore and islands.
        x_m: middles of the cells, (nx), evenly spaced; the polygon lies inside the grid.
        y_m: the same north, (ny), as far apart.
    """
    cell_m = float(x_m[1] - x_m[0])
    ends = (_lines(polygon) - np.tile([x_m[0], y_m[0]], 2)) / cell_m + 0.5
    start, end = ends[:, :2], ends[:, 2:]
    every = np.arange(len(ends))
    cuts = [(every, np.zeros(len(ends))), (every, np.ones(len(ends)))]
    cuts += [_crossings(start[:, axis], end[:, axis]) for axis in (0, 1)]
    line, part = (np.concatenate(column) for column in zip(*cuts, strict=True))
    order = np.lexsort((part, line))
    line, part = line[order], np.clip(part[order], 0.0, 1.0)
    places = start[line] + part[:, None] * (end - start)[line]
    same = line[1:] == line[:-1]
    before, after = places[:-1][same], places[1:][same]
    middle, rise = (before + after) / 2, (after - before)[:, 1]
    column, row = np.floor(middle).astype(int).T
    shape = (len(y_m), len(x_m))
    at = row * len(x_m) + column
    own = np.bincount(at, rise * (middle[:, 0] - column), minlength=shape[0] * shape[1]).reshape(shape)
    beyond = np.bincount(at, rise, minlength=shape[0] * shape[1]).reshape(shape)
    found = own + np.cumsum(beyond[:, ::-1], axis=1)[:, ::-1] - beyond
    return np.where(found > TOUCHED_FRACTION, found, 0.0)


def _to_lines(xy: np.ndarray, lines: np.ndarray) -> np.ndarray:
    """Return the distances of places (n, 2) to lines (m, 4), shape (n, m)."""
    east_m, north_m = (lines[:, 2:] - lines[:, :2]).T
    length2 = np.maximum(east_m**2 + north_m**2, 1e-300)
    x, y = (xy[:, k, None] - lines[None, :, k] for k in (0, 1))
    share = x * (east_m / length2)
    part = y * (north_m / length2)
    share += part
    np.clip(share, 0.0, 1.0, out=share)
    np.multiply(share, east_m, out=part)
    x -= part
    share *= north_m
    y -= share
    x *= x
    y *= y
    x += y
    return np.asarray(np.sqrt(x))


def shore_distance(polygon: Polygon, xy: np.ndarray) -> np.ndarray:
    """Return the distances of places (n, 2) to the nearest line of shore or island, (n).

    Of a tile of places only those lines are looked at that are no farther from its middle than the nearest is, and the
    tile's width more.
    """
    lines = _lines(polygon)
    found = np.empty(len(xy))
    edges = [
        np.linspace(low, high, TILES + 1) for low, high in zip(xy.min(axis=0), xy.max(axis=0), strict=True)
    ]
    tile = [
        np.clip(np.searchsorted(edge, xy[:, k], side="right") - 1, 0, TILES - 1)
        for k, edge in enumerate(edges)
    ]
    order = np.argsort(tile[0] * TILES + tile[1], kind="stable")
    ends = np.searchsorted((tile[0] * TILES + tile[1])[order], np.arange(TILES * TILES + 1))
    for first, last in pairwise(ends):
        if first == last:
            continue
        own = order[first:last]
        middle = (xy[own].min(axis=0) + xy[own].max(axis=0)) / 2
        radius = float(np.hypot(*(xy[own] - middle).T).max())
        far = _to_lines(middle[None], lines)[0]
        found[own] = _to_lines(xy[own], lines[far <= far.min() + 2.0 * radius]).min(axis=1)
    return found
