"""Lines led through places: length, crossing lines, places out of the water, and how the crew finds the bends."""

from __future__ import annotations

from itertools import pairwise
from math import hypot

import pytest
from tests.stages.layout.test_layout import at, codes, flow_m3_s, job

from plumeline.errors import InputError
from plumeline.files.map_out import shapes_of
from plumeline.job.document import AirSystem, Diffuser, Job, LocalPoint
from plumeline.stages.layout import Layout, layout
from plumeline.stages.survey import Survey, survey


@pytest.fixture(scope="module")
def basin() -> Survey:
    return survey(job())


def led(diffuser: Diffuser, *bends: tuple[float, float]) -> Diffuser:
    places = tuple(LocalPoint(x_m=x_m, y_m=y_m) for x_m, y_m in bends)
    return diffuser.model_copy(update={"branch_through": places})


def laid(basin: Survey, *diffusers: Diffuser) -> tuple[Job, Layout]:
    given = job(AirSystem(diffusers=diffusers, manifold=LocalPoint(x_m=-60, y_m=0)))
    return given, layout(given, basin, flow_per_diffuser_water_m3_s=flow_m3_s)


def test_a_line_goes_through_its_bends_in_turn(basin: Survey) -> None:
    """On the plan it is the sum of the straight pieces, and never shorter along the bottom."""
    _, got = laid(basin, led(at(30, 0), (-20, 10), (10, -10)))
    one = got.diffusers[0]
    start = got.manifold_xy
    corners = [start, (-20.0, 10.0), (10.0, -10.0), (30.0, 0.0)]
    straight_m = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(corners))
    path = one.branch_path_xy
    level_m = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(path))
    assert level_m == pytest.approx(straight_m, abs=0.05)
    assert one.branch_run_m >= level_m
    assert [bend.name for bend in one.branch_bends] == ["A, bend 1", "A, bend 2"]
    _, without = laid(basin, at(30, 0))
    assert without.diffusers[0].branch_run_m < one.branch_run_m
    assert without.diffusers[0].branch_cut_m < one.branch_cut_m


def test_lines_that_cross_are_told_and_lines_side_by_side_are_not(basin: Survey) -> None:
    """Two straight lines from one manifold do not cross; one led over the other does."""
    _, apart = laid(basin, at(30, 8), at(30, -8, "B"))
    assert "lines-cross" not in codes(apart)
    _, crossed = laid(basin, at(30, 8), led(at(30, -8, "B"), (0, 15), (20, 15)))
    said = next(item for item in crossed.notices if item.code == "lines-cross")
    assert "A and B" in said.text


def test_a_bend_out_of_the_water_is_refused_with_its_number(basin: Survey) -> None:
    """The second of two lies on land."""
    with pytest.raises(InputError, match=r"'A' is led through a place outside the water \(bend 2\)"):
        laid(basin, led(at(30, 0), (0, 5), (400, 0)))


def test_the_crew_finds_the_bends_with_their_diffuser(basin: Survey) -> None:
    """A bend comes with its own diffuser, the one farthest out first, with the depth the line must read there."""
    given, got = laid(basin, led(at(30, 0), (-20, 10), (10, -10)), at(-40, 0, "B"))
    assert [(item.name, item.order_number) for item in got.stakes] == [
        ("A", 1), ("A, bend 2", 1), ("A, bend 1", 1), ("B", 2),
    ]  # fmt: skip
    bend = got.stakes[1]
    assert bend.line_depth_m == pytest.approx(basin.depth_at(10.0, -10.0))
    assert bend.sights[0].distance_m == pytest.approx(hypot(70.0, 10.0), abs=0.01)
    marks = [one for one in shapes_of(given.name, basin, got) if one.layer == "mark"]
    assert [one.name for one in marks] == ["manifold", "A", "A, bend 1", "A, bend 2", "B"]
