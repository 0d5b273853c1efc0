"""How a crew without GPS finds the places: sights, order, depth; and keep-out over the deep water."""

from __future__ import annotations

from math import cos, hypot, radians, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.stages.layout.test_layout import at, codes, flow_m3_s, job

from plumeline.cli.show_layout import _stakes
from plumeline.job.document import AirSystem, AsBuilt, Diffuser, LocalPoint, Mark, Wishes
from plumeline.stages.layout import layout
from plumeline.stages.layout.stakes import crossing, sight
from plumeline.stages.survey import Survey, survey

MARKS = (
    Mark(name="post", place=LocalPoint(x_m=-62, y_m=0)),
    Mark(name="dock", place=LocalPoint(x_m=0, y_m=-36)),
)


@pytest.fixture(scope="module")
def basin() -> Survey:
    return survey(job())


@pytest.mark.parametrize(
    ("to", "bearing"), [((0, 5), 0), ((5, 0), 90), ((0, -5), 180), ((-5, 0), 270), ((3, 3), 45)]
)
def test_bearings_go_clockwise_from_north(to: tuple[float, float], bearing: float) -> None:
    """The compass by hand."""
    assert sight("post", (0.0, 0.0), to).bearing_deg == pytest.approx(bearing)


@given(st.floats(-500, 500), st.floats(-500, 500))
def test_a_sight_leads_back_to_the_place(x_m: float, y_m: float) -> None:
    """Walking the distance on the bearing arrives within a millimetre."""
    got = sight("post", (3.0, -7.0), (x_m, y_m))
    east = 3.0 + got.distance_m * sin(radians(got.bearing_deg))
    north = -7.0 + got.distance_m * cos(radians(got.bearing_deg))
    assert hypot(east - x_m, north - y_m) < 1e-3


@pytest.mark.parametrize(
    ("bearings", "angle"), [([10.0], None), ([10.0, 100.0], 90.0), ([350.0, 10.0], 20.0), ([0.0, 180.0], 0.0)]
)
def test_crossing_is_the_angle_between_the_lines(bearings: list[float], angle: float | None) -> None:
    """Two sights along one line cross at nothing."""
    assert crossing(bearings) == (None if angle is None else pytest.approx(angle))


def test_stakes_go_by_the_marks_farthest_first_with_the_depth_to_find(basin: Survey) -> None:
    """Two marks, two sights each; the longest line first; the line reads the bottom, not the membrane."""
    given = job(AirSystem(diffusers=(at(-40, 0), at(30, 5, "B")), manifold=LocalPoint(x_m=-60, y_m=0)))
    given = given.model_copy(update={"pond": given.pond.model_copy(update={"marks": MARKS})})
    got = layout(given, basin, flow_per_diffuser_water_m3_s=flow_m3_s)
    assert [item.name for item in got.stakes] == ["B", "A"]
    placed = {item.name: item for item in got.diffusers}
    for item in got.stakes:
        assert [one.mark for one in item.sights] == ["post", "dock"]
        assert item.line_depth_m == placed[item.name].bottom_depth_m
        assert item.tolerance_m >= 0.3
    assert got.stakes[0].sights[0].distance_m == pytest.approx(hypot(92, 5))
    assert "dock" in _stakes(got, "us")


def test_flat_sights_are_cautioned(basin: Survey) -> None:
    """Both marks west of the diffuser, on one line with it."""
    marks = (MARKS[0], Mark(name="oak", place=LocalPoint(x_m=-66, y_m=1)))
    given = job(AirSystem(diffusers=(at(20, 0),)))
    given = given.model_copy(update={"pond": given.pond.model_copy(update={"marks": marks})})
    assert "marks-narrow" in codes(layout(given, basin, flow_per_diffuser_water_m3_s=flow_m3_s))


def test_keep_out_over_all_deep_water_is_said(basin: Survey) -> None:
    """The middle closed: what is left is shallower than four fifths of the pond's depth."""
    zone = tuple(LocalPoint(x_m=x, y_m=y) for x, y in ((-40, -25), (40, -25), (40, 25), (-40, 25)))
    closed = layout(job(wishes=Wishes(keep_out=(zone,))), basin, flow_per_diffuser_water_m3_s=flow_m3_s)
    opened = layout(job(), basin, flow_per_diffuser_water_m3_s=flow_m3_s)
    assert "keep-out-deep" in codes(closed)
    assert "keep-out-deep" not in codes(opened)


def test_places_as_built_come_back_into_the_stakes(basin: Survey) -> None:
    """The crew's own place, not the one asked for."""
    built = AsBuilt(made_on=job().date, diffusers=(Diffuser(name="A", place=LocalPoint(x_m=-25, y_m=4)),))
    given = job(AirSystem(diffusers=(at(20, 0),))).model_copy(update={"as_built": built})
    given = given.model_copy(update={"pond": given.pond.model_copy(update={"marks": MARKS})})
    got = layout(given, basin, flow_per_diffuser_water_m3_s=flow_m3_s)
    assert got.stakes[0].sights[0].distance_m == pytest.approx(hypot(37, 4))
