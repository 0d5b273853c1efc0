"""Ways through the water against elementary geometry and a fine grid."""

from __future__ import annotations

from itertools import pairwise
from math import acos, hypot, pi, sqrt

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon

from plumeline.stages.layout.paths import MOST_KNOWN, Water, water_of

L_SHAPE = Polygon([(0, 0), (30, 0), (30, 10), (10, 10), (10, 40), (0, 40)])


def length(path: np.ndarray) -> float:
    return float(np.hypot(*np.diff(path, axis=0).T).sum())


def test_way_around_a_corner_is_two_straight_lines() -> None:
    """In an L the shortest way touches its inner corner: √(15²+5²) + √(5²+25²), by Pythagoras."""
    water = Water(L_SHAPE)
    want = hypot(15, 5) + hypot(5, 25)
    assert length(water.path((25, 5), (5, 35))) == pytest.approx(want, rel=1e-4)
    got = water.distances(np.array([[25.0, 5.0]]), np.array([[5.0, 35.0]]))
    assert got[0, 0] == pytest.approx(want, rel=1e-4)


def test_way_in_sight_is_straight() -> None:
    """Inside one arm nothing stands between."""
    water = Water(L_SHAPE)
    assert len(water.path((2, 2), (28, 8))) == 2
    assert water.distances(np.array([[2.0, 2.0]]), np.array([[28.0, 8.0]]))[0, 0] == pytest.approx(
        hypot(26, 6)
    )


def test_way_around_a_round_island_is_two_tangents_and_an_arc() -> None:
    """Island radius 10, ends 30 m off the middle on both sides: 2√(30²−10²) + 10 (π − 2 acos(10/30))."""
    island = Point(0, 0).buffer(10, quad_segs=64)
    water = Water(Polygon(Point(0, 0).buffer(60).exterior, [island.exterior.coords]))
    want = 2 * sqrt(30**2 - 10**2) + 10 * (pi - 2 * acos(10 / 30))
    got = water.distances(np.array([[-30.0, 0.0]]), np.array([[30.0, 0.0]]))[0, 0]
    assert got == pytest.approx(want, rel=2e-3)
    assert length(water.path((-30, 0), (30, 0))) == pytest.approx(got, rel=1e-9)


turns = np.linspace(0, 2 * pi, 90, endpoint=False)
radius = 40 * (1 + 0.45 * np.cos(2 * turns) + 0.15 * np.cos(5 * turns + 1))
BAY = Polygon(np.column_stack([radius * np.cos(turns), radius * np.sin(turns)]))
BAY_WATER = Water(BAY)
XY = st.tuples(st.floats(-65, 65), st.floats(-40, 40))


@given(a=XY, b=XY, c=XY)
@settings(max_examples=60, deadline=None)
def test_ways_are_a_metric_and_stay_in_the_water(
    a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]
) -> None:
    """Symmetric, at least the straight line, no longer than by a third place; the path has that length."""
    a, b, c = (BAY_WATER.nearest(place) for place in (a, b, c))
    way = BAY_WATER.distances(np.array([a, b, c]), np.array([a, b, c]))
    assert np.isfinite(way).all()
    assert way == pytest.approx(way.T, abs=1e-6)
    assert way[0, 1] >= hypot(a[0] - b[0], a[1] - b[1]) - 1e-6
    assert way[0, 1] <= way[0, 2] + way[2, 1] + 1e-6
    path = BAY_WATER.path(a, b)
    assert length(path) == pytest.approx(way[0, 1], abs=1e-6)
    grown = BAY.buffer(0.01)
    assert all(
        grown.covers(shapely.LineString(pair)) for pair in pairwise(path) if (pair[0] != pair[1]).any()
    )


def test_shore_of_many_corners_is_simplified_and_says_by_how_much() -> None:
    """A thousand corners: 160 or fewer are used, and the tolerance is a fraction of a metre."""
    many = np.linspace(0, 2 * pi, 1000, endpoint=False)
    wavy = 50 + 8 * np.cos(6 * many) + 0.05 * np.cos(301 * many)
    water = Water(Polygon(np.column_stack([wavy * np.cos(many), wavy * np.sin(many)])))
    assert len(water.corners) <= 160
    assert 0 < water.tolerance_m < 1.0


def test_ways_asked_for_again_are_the_same_and_can_not_be_spoilt():
    """Kept tables are those of a water made anew; nobody can write in one; the least used goes."""
    places = np.array([(1.0, 1.0), (2.0, 9.0), (9.0, 2.0)])
    water = Water(L_SHAPE)
    first = water.distances(places, places)
    assert water.distances(places.copy(), places) is first
    for n in range(2 * MOST_KNOWN):
        water.distances(places + 0.01 * n, places)
    again = water.distances(places, places)
    np.testing.assert_array_equal(again, first)
    np.testing.assert_array_equal(again, Water(L_SHAPE).distances(places, places))
    with pytest.raises(ValueError, match="read-only"):
        again[0, 0] = 1.0
    assert water_of(L_SHAPE) is water_of(Polygon(L_SHAPE.exterior.coords))
