"""The length of the air line held against the straight way from the compressor's place."""

from __future__ import annotations

import pytest

from plumeline.files.findings import Findings
from plumeline.files.power_place import check_way
from plumeline.job.document import AirSystem, Job, LocalPoint, PipeSegment, Pond, Power, Site

SHORE = tuple(LocalPoint(x_m=x, y_m=y) for x, y in ((0, 0), (60, 0), (60, 80), (0, 80)))
"""A pond 60 m by 80 m; the compressor stands 100 m west of it."""


def said(shore: tuple[LocalPoint, ...] = SHORE, **air: object) -> dict[str, str]:
    """Return what is said of a line, by code."""
    job = Job(
        id="x", name="X", date="2026-08-11", site=Site(latitude_deg=36, longitude_deg=-79, elevation_m=200),
        pond=Pond(outline=(shore,)), power=Power(place=LocalPoint(x_m=-100, y_m=0)), air=AirSystem(**air),
    )  # fmt: skip
    findings = Findings()
    check_way(job, findings)
    return {one.code: one.said("si") for one in findings.notices}


@pytest.mark.parametrize(
    ("line_m", "code"),
    [(90.0, "line-under-straight"), (98.0, ""), (150.0, ""), (360.0, ""), (375.0, "line-over-straight")],
)
def test_a_line_is_held_against_the_nearest_and_the_farthest_shore(line_m: float, code: str) -> None:
    """100 m to the nearest, √(160² + 80²) = 178.9 m to the farthest corner; 5 m are a phone's error."""
    found = said(route_length_m=line_m)
    assert list(found) == ([code] if code else [])


def test_with_a_manifold_its_own_distance_counts() -> None:
    """Manifold on the far shore, 160 m off: 120 m are too short, 340 m over twice; said with both lengths."""
    manifold = LocalPoint(x_m=60, y_m=0)
    short = said(route_length_m=120.0, manifold=manifold)["line-under-straight"]
    assert "air.route_length" in short
    assert "120 m long" in short
    assert "the manifold it is 160 m" in short
    assert said(route_length_m=200.0, manifold=manifold) == {}
    assert "line-over-straight" in said(route_length_m=340.0, manifold=manifold)


def test_a_manifold_out_in_the_water_is_not_where_the_trench_ends() -> None:
    """100 m out in a large pond, 200 m from the compressor: 110 m of trench reach the shore, 110 m of line not it."""
    wide = tuple(LocalPoint(x_m=5 * corner.x_m, y_m=5 * corner.y_m - 200) for corner in SHORE)
    out = LocalPoint(x_m=100, y_m=0)
    assert said(wide, route_length_m=110.0, manifold=out) == {}
    pieces = (PipeSegment(bore_m=0.02, length_m=110.0),)
    assert "air.trunk: the air line is 110 m" in said(wide, trunk=pieces, manifold=out)["line-under-straight"]
    assert "the manifold it is 200 m" in said(wide, trunk=pieces, manifold=out)["line-under-straight"]


def test_nothing_is_said_where_nothing_is_known() -> None:
    """No length; the demo and every older job stay as they are."""
    assert said() == {}
