"""Lines round keep-out zones: exact ways, and words where there is none."""

from __future__ import annotations

from math import hypot

import pytest
import shapely
from tests.stages.layout.test_layout import basin, flow_m3_s, job  # noqa: F401 - the basin is a fixture

from plumeline.job.document import AirSystem, Diffuser, LocalPoint, Wishes
from plumeline.stages.layout import Layout, layout
from plumeline.stages.layout.kept_out import GAP_M
from plumeline.stages.survey import Survey

MANIFOLD = LocalPoint(x_m=0.0, y_m=-34.0)
DEEP = LocalPoint(x_m=0.0, y_m=8.0)


def piped(basin: Survey, zone: shapely.Polygon) -> Layout:  # noqa: F811
    """Return the layout of one diffuser straight across the water from its manifold, a zone between."""
    ring = tuple(LocalPoint(x_m=x, y_m=y) for x, y in list(zone.exterior.coords)[:-1])
    air = AirSystem(diffusers=(Diffuser(name="A", place=DEEP),), manifold=MANIFOLD)
    return layout(
        job(air=air, wishes=Wishes(keep_out=(ring,))), basin, flow_per_diffuser_water_m3_s=flow_m3_s
    )


def test_a_line_goes_round_a_zone_by_the_shortest_way(basin: Survey) -> None:  # noqa: F811
    """A box in the way: over its nearer corners, half a metre off; by Pythagoras to 2 %."""
    got = piped(basin, shapely.box(-6.0, -20.0, 10.0, -4.0))
    path = got.diffusers[0].branch_path_xy
    line = shapely.LineString(path)
    assert not line.intersects(shapely.box(-6.0, -20.0, 10.0, -4.0))
    out = 6.0 + GAP_M
    exact_m = hypot(out, 14.0 - GAP_M) + (16.0 + 2 * GAP_M) + hypot(out, 12.0 - GAP_M)
    assert line.length == pytest.approx(exact_m, rel=0.02)
    assert line.length > 42.0
    assert "line-in-keep-out" not in {item.code for item in got.notices}


def test_a_zone_aside_changes_nothing(basin: Survey) -> None:  # noqa: F811
    """The line stays straight."""
    got = piped(basin, shapely.box(20.0, -5.0, 30.0, 5.0))
    assert shapely.LineString(got.diffusers[0].branch_path_xy).length == pytest.approx(42.0, abs=0.3)


def test_no_way_round_is_said_with_how_much_lies_inside(basin: Survey) -> None:  # noqa: F811
    """A zone from shore to shore between them: the straight line stays, and its metres inside are named."""
    got = piped(basin, shapely.box(-80.0, -20.0, 80.0, -10.0))
    said = [item for item in got.notices if item.code == "line-in-keep-out"]
    assert len(said) == 1
    assert "A for" in said[0].text
    assert "10.0 m" in said[0].text


def test_the_manifold_is_not_put_into_a_zone(basin: Survey) -> None:  # noqa: F811
    """Left open, it would stand on the near bank; with that bank kept out it stands elsewhere."""
    zone = shapely.box(-40.0, -40.0, 40.0, -10.0)
    ring = tuple(LocalPoint(x_m=x, y_m=y) for x, y in list(zone.exterior.coords)[:-1])
    air = AirSystem(diffusers=(Diffuser(name="A", place=LocalPoint(x_m=0.0, y_m=-5.0)),))
    free = layout(job(air=air), basin, flow_per_diffuser_water_m3_s=flow_m3_s)
    assert zone.contains(shapely.Point(free.manifold_xy))
    kept = layout(
        job(air=air, wishes=Wishes(keep_out=(ring,))), basin, flow_per_diffuser_water_m3_s=flow_m3_s
    )
    assert not zone.contains(shapely.Point(kept.manifold_xy))
    assert "line-in-keep-out" not in {item.code for item in kept.notices}
