"""Cells cut to the shore and distances to it, against GEOS, which works through each cell and place by itself."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import Polygon

from plumeline.stages.survey.shore_cells import covered_fraction, shore_distance


def pond(corners, seed, *, island=True):
    """A pond of many corners, jagged, off the origin; its island touches the lines of the grid at will."""
    rng = np.random.default_rng(seed)
    angle = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    far_m = 40.0 * (1 + 0.35 * rng.uniform(-1, 1, corners))
    shore = np.column_stack([37.0 + 1.6 * far_m * np.cos(angle), -12.0 + far_m * np.sin(angle)])
    holes = [[(30, -20), (30, -10), (44, -10), (44, -20)]] if island else []
    found = Polygon(shore, holes)
    assert found.is_valid
    return found


def grid(polygon, cell_m):
    x_low, y_low, x_high, y_high = polygon.bounds
    return (
        np.arange(low - 2.5 * cell_m, high + 3.0 * cell_m, cell_m)
        for low, high in ((x_low, x_high), (y_low, y_high))
    )


@pytest.mark.parametrize("clockwise", [False, True])
@pytest.mark.parametrize(("corners", "cell_m"), [(3, 7.0), (9, 2.0), (60, 3.1), (400, 1.0)])
def test_cells_are_cut_as_geos_cuts_them(corners, cell_m, clockwise):
    """Source of the other answer: GEOS, each cell as a polygon of its own intersected with the pond."""
    polygon = pond(corners, corners, island=corners > 3)
    if clockwise:
        polygon = Polygon(polygon.exterior.coords[::-1], [ring.coords[::-1] for ring in polygon.interiors])
    x_m, y_m = grid(polygon, cell_m)
    mesh_x, mesh_y = np.meshgrid(x_m, y_m)
    half = cell_m / 2
    boxes = shapely.box(mesh_x - half, mesh_y - half, mesh_x + half, mesh_y + half)
    wanted = shapely.area(shapely.intersection(boxes, polygon)) / cell_m**2
    found = covered_fraction(polygon, x_m, y_m)
    assert found == pytest.approx(wanted, abs=2e-9)
    assert float(found.sum()) * cell_m**2 == pytest.approx(polygon.area, rel=1e-9)
    assert not found[wanted == 0].any()


def test_a_shore_along_the_edges_of_cells_leaves_no_slivers():
    """A rectangle of whole cells: each is full or empty, by arithmetic."""
    found = covered_fraction(
        Polygon([(0, 0), (6, 0), (6, 4), (0, 4)]), np.arange(-2.5, 9.0), np.arange(-2.5, 7.0)
    )
    assert sorted(set(found.ravel().tolist())) == pytest.approx([0.0, 1.0])
    assert found.sum() == pytest.approx(24.0)


@pytest.mark.parametrize("corners", [3, 72, 500])
def test_distances_are_those_of_geos(corners):
    """Every place, near and far, in and out of the water; lines left out of a tile would be seen."""
    polygon = pond(corners, 7, island=corners > 3)
    rng = np.random.default_rng(1)
    x_low, y_low, x_high, y_high = polygon.bounds
    xy = rng.uniform((x_low - 9, y_low - 9), (x_high + 9, y_high + 9), (3000, 2))
    wanted = shapely.distance(shapely.points(xy), polygon.boundary)
    assert shore_distance(polygon, xy) == pytest.approx(wanted, abs=1e-9)


def test_places_in_one_line_and_a_single_one():
    """Tiles without width are tiles too."""
    polygon = pond(9, 3)
    for xy in (np.array([[37.0, -12.0]]), np.column_stack([np.full(20, 37.0), np.linspace(-40, 20, 20)])):
        wanted = shapely.distance(shapely.points(xy), polygon.boundary)
        assert shore_distance(polygon, xy) == pytest.approx(wanted, abs=1e-9)
