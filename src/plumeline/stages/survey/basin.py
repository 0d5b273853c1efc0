"""The pond as a grid: cells clipped to the shore, and measures of how far a place is from the shore."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from scipy import ndimage
from scipy.linalg.lapack import dpbsv
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from plumeline.errors import ModelError
from plumeline.stages.survey.shore_cells import covered_fraction, shore_distance

INSIDE_CELLS = 6000
LARGEST_BOX = 1_200_000


@dataclass(frozen=True, eq=False)
class Basin:
    """A regular grid over the pond.

    Attributes:
        polygon: the water surface.
        x_m, y_m: cell centres, (nx) and (ny).
        area_m2: area of each cell inside the polygon, (ny, nx); sums to the polygon's area.
        inside: True where the cell's centre is in the water, (ny, nx).
        shore_distance_m: distance to the nearest shore, positive inside, below zero outside, NaN far outside.
        covers_fraction: three measures of how far from every shore a place is, (3, ny, nx), zero on the
        shore, 1
            at their greatest, below zero outside: the torsion function (see ``torsion``), round across the
            pond; the distance s, straight banks to a middle line; and 1 − exp(−3 s/s_max), banks to a flat
            floor.
    """

    polygon: Polygon
    x_m: np.ndarray
    y_m: np.ndarray
    area_m2: np.ndarray
    inside: np.ndarray
    shore_distance_m: np.ndarray
    covers_fraction: np.ndarray

    @property
    def cell_m(self) -> float:
        """Side of a cell."""
        return float(self.x_m[1] - self.x_m[0])

    @property
    def wet(self) -> np.ndarray:
        """Cells with any water, (ny, nx)."""
        return np.asarray(self.area_m2 > 0)

    def covers_at(self, xy: np.ndarray) -> np.ndarray:
        """Return the covers (0 on the shore, 1 at their greatest) at places of shape (n, 2), shape (3, n)."""
        place = [(xy[:, 1] - self.y_m[0]) / self.cell_m, (xy[:, 0] - self.x_m[0]) / self.cell_m]
        found = [
            ndimage.map_coordinates(cover, place, order=1, mode="nearest") for cover in self.covers_fraction
        ]
        return np.asarray(np.clip(np.array(found), 0.0, 1.0))


def basin_of(polygon: Polygon) -> Basin:
    """Return the grid of a valid polygon, about 6000 cells inside it."""
    x_low, y_low, x_high, y_high = polygon.bounds
    box_m2 = (x_high - x_low) * (y_high - y_low)
    cell = float(np.sqrt(max(polygon.area / INSIDE_CELLS, box_m2 / LARGEST_BOX)))
    x = np.arange(x_low - 2.5 * cell, x_high + 3.0 * cell, cell)
    y = np.arange(y_low - 2.5 * cell, y_high + 3.0 * cell, cell)
    shapely.prepare(polygon)
    mesh_x, mesh_y = np.meshgrid(x, y)
    inside = np.asarray(shapely.contains_xy(polygon, mesh_x, mesh_y))
    distance = _shore_distance(polygon, mesh_x, mesh_y, inside)
    area = _clipped_area(polygon, x, y, inside, distance)
    covers = _covers(torsion(inside, distance, cell), distance, cell)
    return Basin(polygon, x, y, area, inside, distance, covers)


def _covers(cover: np.ndarray, distance_m: np.ndarray, cell_m: float) -> np.ndarray:
    plain = np.where(np.isnan(distance_m), -3.0 * cell_m, distance_m) / np.nanmax(distance_m)
    floor = np.where(plain > 0, 1 - np.exp(-3 * plain), 3 * plain) / (1 - np.exp(-3.0))
    return np.stack([cover, plain, floor])


def walled_basin(basin: Basin, walls: BaseGeometry) -> Basin:
    """Return a basin whose covers do not come to zero at walls: there the bottom goes on as if the shore were farther.

    Args:
        basin: the grid.
        walls: lines on the shore; some of the shore is none of them.
    """
    mesh_x, mesh_y = np.meshgrid(basin.x_m, basin.y_m)
    points = shapely.points(mesh_x, mesh_y)
    banks = basin.polygon.boundary.difference(walls.buffer(1e-3 * basin.cell_m))
    shapely.prepare(banks)
    shapely.prepare(walls)
    away_m = shapely.distance(points, banks)
    walled = np.asarray(shapely.distance(points, walls) < away_m)
    inside = basin.inside
    cover = torsion(inside, basin.shore_distance_m, basin.cell_m, walled)
    signed_m = np.where(inside, away_m, np.where(np.isnan(basin.shore_distance_m), np.nan, -away_m))
    covers = _covers(cover, signed_m, basin.cell_m)
    nearest = ndimage.distance_transform_edt(~inside, return_distances=False, return_indices=True)
    beside = walled & ~inside
    covers[:, beside] = covers[:, nearest[0][beside], nearest[1][beside]]
    return replace(basin, covers_fraction=covers)


def _shore_distance(polygon: Polygon, x: np.ndarray, y: np.ndarray, inside: np.ndarray) -> np.ndarray:
    """Return the signed distance to the shore inside and up to three cells outside, NaN beyond."""
    near = ndimage.binary_dilation(inside, iterations=3)
    distance = np.full(inside.shape, np.nan)
    distance[near] = shore_distance(polygon, np.column_stack([x[near], y[near]]))
    return np.where(inside, distance, -distance)


def _clipped_area(
    polygon: Polygon, x_m: np.ndarray, y_m: np.ndarray, inside: np.ndarray, distance: np.ndarray
) -> np.ndarray:
    """Return each cell's area within the polygon; only cells that the shore may cross are cut."""
    cell = float(x_m[1] - x_m[0])
    crossed = np.abs(distance) < cell * 0.7072
    area = np.where(crossed, covered_fraction(polygon, x_m, y_m), inside) * cell * cell
    return np.asarray(area * (polygon.area / area.sum()))


def torsion(
    inside: np.ndarray, distance_m: np.ndarray, cell_m: float, walled: np.ndarray | None = None
) -> np.ndarray:
    """Return the torsion function of the shore, scaled to a greatest value of 1.

    Equation: ∇²w = −1 inside, w = 0 on every shore. In a circle it is the paraboloid 1 − (r/R)²; near a
    straight shore it grows as the distance, and it is smooth across the middle line, where the distance
    itself has a ridge. Solved by five-point differences; a shore between two nodes is met by the linear
    ghost value of Gibou et al. 2002 (J. Comput. Phys. 176:205), second order in the cell. Beside a wall nothing is
    zero: no flux goes through it.

    Args:
        inside: cells in the water.
        distance_m: signed distance to the shore.
        cell_m: side of a cell.
        walled: cells whose nearest shore is a wall; none.
    """
    walled = np.zeros(inside.shape, dtype=bool) if walled is None else walled
    index = np.full(inside.shape, -1)
    index[inside] = np.arange(int(inside.sum()))
    count = int(inside.sum())
    diagonal = np.zeros(count)
    rows: list[np.ndarray] = []
    columns: list[np.ndarray] = []
    for axis, step in ((0, 1), (0, -1), (1, 1), (1, -1)):
        neighbour = np.roll(index, -step, axis=axis)[inside]
        own = distance_m[inside]
        other = -np.roll(distance_m, -step, axis=axis)[inside]
        outside = neighbour < 0
        part = np.clip(own[outside] / (own[outside] + np.maximum(other[outside], 1e-12)), 0.02, 1.0)
        diagonal[~outside] += 1.0
        diagonal[outside] += np.where(walled[inside][outside], 0.0, 1.0 / part)
        rows.append(np.flatnonzero(~outside))
        columns.append(neighbour[~outside])
    solved = _solved(diagonal, np.concatenate(rows), np.concatenate(columns), cell_m)
    cover = np.zeros(inside.shape)
    cover[inside] = solved / solved.max()
    return extend(cover, inside, distance_m, cell_m)


def _solved(diagonal: np.ndarray, row: np.ndarray, column: np.ndarray, cell_m: float) -> np.ndarray:
    """Return w of the nodes, (n), the neighbours of each in the matrix as −1.

    A node's neighbours are at most a row of the grid away: a band, which is factored in a third of the time that a
    sparse matrix takes.
    """
    upper = column > row
    apart = column[upper] - row[upper]
    wide = int(apart.max(initial=0))
    band = np.zeros((wide + 1, len(diagonal)), order="F")
    band[wide] = diagonal
    band[wide - apart, column[upper]] = -1.0
    _, solved, code = dpbsv(band, np.full(len(diagonal), cell_m * cell_m), overwrite_ab=1)
    if code != 0:
        raise ModelError(
            "the grid over the pond can't be solved: its shore leaves no cell that hangs together."
        )
    return np.asarray(solved).ravel()


def extend(values: np.ndarray, inside: np.ndarray, distance_m: np.ndarray, cell_m: float) -> np.ndarray:
    """Return values that are zero on the shore, carried on below zero outside with the slope inside."""
    nearest = ndimage.distance_transform_edt(~inside, return_distances=False, return_indices=True)
    own = np.nan_to_num(distance_m, nan=3.0 * cell_m)
    slope = np.where(inside, values, 0.0) / np.maximum(np.abs(own), 0.25 * cell_m)
    beyond = -np.abs(np.nan_to_num(distance_m, nan=4.0 * cell_m))
    return np.where(inside, values, beyond * slope[nearest[0], nearest[1]])
