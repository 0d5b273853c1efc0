"""The pond cut into parts whose water is to be served, and the places where a diffuser may stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from plumeline.job.document import Job
from plumeline.stages.survey import Survey

PARTS = 350
CANDIDATES = 130
DEPTH_TOLERANCE_M = 0.1


@dataclass(frozen=True, eq=False)
class Cells:
    """Wet cells of the survey's grid: places (n, 2), depth (n), volume (n)."""

    xy: np.ndarray
    depth_m: np.ndarray
    volume_m3: np.ndarray


def wet_cells(survey: Survey) -> Cells:
    """Return the cells whose centre is in the water."""
    grid = survey.grid
    depth = np.nan_to_num(grid.depth_m)
    x, y = np.meshgrid(grid.x_m, grid.y_m)
    polygon = survey.polygon
    shapely.prepare(polygon)
    keep = (grid.cell_area_m2 > 0) & (depth > 0) & shapely.contains_xy(polygon, x, y)
    volume = depth[keep] * grid.cell_area_m2[keep]
    return Cells(np.column_stack([x[keep], y[keep]]), depth[keep], volume * (survey.volume_m3 / volume.sum()))


def _blocks(xy: np.ndarray, area_m2: float, count: int) -> np.ndarray:
    """Return for each place the number of its square block, about ``count`` blocks in the pond."""
    side = float(np.sqrt(area_m2 / count))
    corner = np.floor((xy - xy.min(axis=0)) / side).astype(int)
    # one number a block: to sort pairs takes ten times as long
    one = corner[:, 0] * (corner[:, 1].max() + 1) + corner[:, 1]
    return np.asarray(np.unique(one, return_inverse=True)[1])


def parts_of(cells: Cells, area_m2: float) -> tuple[np.ndarray, np.ndarray]:
    """Return places (m, 2) and volumes (m) of about 350 parts; the volumes sum to the pond's.

    A part stands at its cell nearest to its centre of volume, so that it is always in the water.
    """
    label = _blocks(cells.xy, area_m2, PARTS)
    volume = np.bincount(label, cells.volume_m3)
    centre = np.column_stack([np.bincount(label, cells.volume_m3 * cells.xy[:, axis]) for axis in (0, 1)])
    away = np.hypot(*(cells.xy - centre[label] / volume[label, None]).T)
    order = np.lexsort((away, label))
    first = order[np.unique(label[order], return_index=True)[1]]
    return cells.xy[first], volume


def thinned(cells: Cells, chosen_indices: np.ndarray, prefer_number: np.ndarray) -> np.ndarray:
    """Return at most about 130 of the chosen cells: in each block the least by ``prefer_number``."""
    if len(chosen_indices) <= CANDIDATES:
        return chosen_indices
    area_m2 = float(len(chosen_indices))
    span = cells.xy[chosen_indices].max(axis=0) - cells.xy[chosen_indices].min(axis=0)
    cell_m2 = float(np.prod(span + 1e-9)) / area_m2
    count = CANDIDATES
    while True:
        label = _blocks(cells.xy[chosen_indices], area_m2 * cell_m2, count)
        if label.max() < CANDIDATES or count <= 2:
            break
        count = int(count * 0.8)
    order = np.lexsort((prefer_number[chosen_indices], label))
    return np.asarray(chosen_indices[order[np.unique(label[order], return_index=True)[1]]])


def allowed(job: Job, survey: Survey, cells: Cells) -> np.ndarray:
    """Return True for cells outside every keep-out zone."""
    keep = np.ones(len(cells.depth_m), dtype=bool)
    for ring in job.wishes.keep_out:
        xy = survey.plane.many_to_xy(ring)
        if len(xy) >= 3:
            zone = shapely.Polygon(xy).buffer(0)
            keep &= ~shapely.contains_xy(zone, cells.xy[:, 0], cells.xy[:, 1])
    return keep


def at_depth(cells: Cells, free: np.ndarray, bottom_m: float) -> np.ndarray:
    """Return candidates whose bottom lies at a depth [m], or the nearest to it that there is."""
    off = np.abs(cells.depth_m - bottom_m)
    off = np.where(free, off, np.inf)
    near = np.flatnonzero(off <= max(DEPTH_TOLERANCE_M, float(off.min()) + 1e-9))
    return thinned(cells, near, off)


def deep(cells: Cells, free: np.ndarray, floor_m: float) -> np.ndarray:
    """Return candidates at least ``floor_m`` deep, the deepest cell of each block."""
    return thinned(cells, np.flatnonzero(free & (cells.depth_m >= floor_m)), -cells.depth_m)
