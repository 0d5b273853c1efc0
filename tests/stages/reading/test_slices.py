"""Integrals over the basin against closed forms."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from plumeline.stages.reading.slices import crossings_m, slices_of
from plumeline.stages.survey import Hypsograph


def cone(depth_m=4.0, area_m2=1000.0, levels=400):
    """Return a cone: A₀ (1 − z/H)²."""
    z = np.linspace(0.0, depth_m, levels)
    left = 1.0 - z / depth_m
    return Hypsograph(tuple(z), tuple(area_m2 * left**2), tuple(area_m2 * depth_m / 3.0 * left**3))


def test_volumes_are_the_basins_own():
    """The slices hold the hypsograph's volume to round-off, all together and under any level."""
    basin = cone(levels=9)
    slices = slices_of(basin, [1.234])
    assert slices.volume_m3.sum() == pytest.approx(basin.volume_below_m3[0], rel=1e-13)
    under = slices.volume_where(lambda z: z > 1.234)
    assert under == pytest.approx(basin.volume_below(1.234), rel=1e-12)


def test_a_straight_quantity_in_a_cylinder_is_exact():
    """∫ (3 + 2z) A dz = A (3H + H²)."""
    basin = Hypsograph((0.0, 5.0), (200.0, 200.0), (1000.0, 0.0))
    assert slices_of(basin).integral(lambda z: 3.0 + 2.0 * z) == pytest.approx(
        200.0 * (15.0 + 25.0), rel=1e-13
    )


def test_moment_of_a_cone():
    """∫ z A dz = A₀ H²/12 for a cone: 0.001 %."""
    assert slices_of(cone()).integral(lambda z: z) == pytest.approx(1000.0 * 16.0 / 12.0, rel=1e-5)


@given(st.lists(st.floats(0.0, 10.0), min_size=2, max_size=8), st.floats(0.5, 9.5))
def test_every_change_of_side_has_one_crossing(values, limit):
    """A line through points crosses a limit once in each interval whose ends lie on both sides."""
    depth = [float(i) for i in range(len(values))]
    found = crossings_m(depth, values, limit)
    sides = [value < limit for value in values]
    assert len(found) == sum(a != b for a, b in pairwise(sides))
    for z in found:
        assert np.interp(z, depth, values) == pytest.approx(limit, abs=1e-9)
