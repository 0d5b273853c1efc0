"""The layers hold the basin's water."""

import math

import numpy as np
import pytest

from plumeline.stages.column import make_grid


@pytest.mark.parametrize("power_number", [0.0, 0.5, 1.0, 2.0, 3.0])
@pytest.mark.parametrize("depth_m", [1.2, 3.8, 12.0])
def test_layers_hold_the_volume_of_a_solid(bowl, power_number, depth_m):
    """Boxes, bowls, paraboloids, cones: A H/(power + 1) is in the layers, the thin tip with it."""
    solid = bowl(5000.0, depth_m, power_number)
    grid = make_grid(solid, depth_m)
    assert grid.volume_m3.sum() == pytest.approx(5000.0 * depth_m / (power_number + 1.0), rel=1e-12)
    assert (grid.volume_m3 > 0.0).all()
    assert 10 <= grid.layers <= 40
    assert np.diff(grid.interface_depth_m) == pytest.approx(grid.interface_depth_m[1])


def test_a_layer_of_a_cone_is_a_frustum(bowl):
    """Each layer but the last is h/3 (A₁ + A₂ + √(A₁A₂)), the frustum's volume (elementary geometry)."""
    grid = make_grid(bowl(900.0, 3.0, 2.0), 3.0)
    upper, lower = grid.area_m2[:-1], grid.area_m2[1:]
    frustum = np.diff(grid.interface_depth_m) / 3.0 * (upper + lower + np.sqrt(upper * lower))
    assert grid.volume_m3[:-1] == pytest.approx(frustum[:-1], rel=1e-9)


def test_a_layer_of_a_paraboloid_is_as_wide_as_its_middle(bowl):
    """A paraboloid's area is linear in depth, so a layer holds its mean area times its thickness."""
    grid = make_grid(bowl(math.pi * 400.0, 4.0, 1.0), 4.0)
    mean = 0.5 * (grid.area_m2[1:] + grid.area_m2[:-1]) * np.diff(grid.interface_depth_m)
    assert grid.volume_m3[:-1] == pytest.approx(mean[:-1], rel=1e-9)


def test_a_depth_lies_in_its_layer(bowl):
    """A depth is found between the faces of its layer; anything deeper than the last face in the last layer."""
    grid = make_grid(bowl(900.0, 3.0, 1.0), 3.0)
    for depth_m in (0.0, 0.6, 1.7, 2.9):
        k = grid.layer_at(depth_m)
        assert grid.interface_depth_m[k] <= depth_m
        assert depth_m < grid.interface_depth_m[k + 1] or k == grid.layers - 1
    assert grid.layer_at(99.0) == grid.layers - 1
