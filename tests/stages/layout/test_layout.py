"""The layout's answers for a pond whose bottom is known."""

from __future__ import annotations

from datetime import date
from math import cos, hypot, pi, sin, sqrt

import numpy as np
import pytest
from pydantic import ValidationError

from plumeline.errors import InputError
from plumeline.job.document import AirSystem, AsBuilt, Diffuser, Job, LocalPoint, Pond, Site, Sounding, Wishes
from plumeline.stages.layout import Layout, layout
from plumeline.stages.survey import Survey, survey

A_M, B_M, DEEP_M = 60.0, 34.0, 4.2
SHORE = tuple(LocalPoint(x_m=A_M * cos(2 * pi * n / 96), y_m=B_M * sin(2 * pi * n / 96)) for n in range(96))


def bottom_m(x: float, y: float) -> float:
    return DEEP_M * max(1 - (x / A_M) ** 2 - (y / B_M) ** 2, 0.0)


def flow_m3_s(depth_m: float) -> float:
    """Water of one plume; the power of depth is that of Morton, Taylor & Turner 1956."""
    return 0.008 * depth_m ** (5 / 3)


def soundings() -> tuple[Sounding, ...]:
    found = []
    for x in np.arange(-57, 58, 6.0):
        for y in np.arange(-32, 33, 6.0):
            if bottom_m(x, y) > 0:
                found.append(Sounding(place=LocalPoint(x_m=x, y_m=y), depth_m=bottom_m(x, y)))
    return tuple(found)


def job(air: AirSystem | None = None, wishes: Wishes | None = None, pond: Pond | None = None) -> Job:
    return Job(
        id="pond",
        name="pond",
        date=date(2025, 8, 1),
        site=Site(latitude_deg=35.9, longitude_deg=-79.7, elevation_m=207.0),
        pond=pond or Pond(outline=(SHORE,), soundings=soundings()),
        air=air or AirSystem(),
        wishes=wishes or Wishes(),
    )


@pytest.fixture(scope="module")
def basin() -> Survey:
    return survey(job())


def codes(got: Layout) -> set[str]:
    return {item.code for item in got.notices}


def run(given: Job, basin: Survey) -> Layout:
    return layout(given, basin, flow_per_diffuser_water_m3_s=flow_m3_s)


def at(x: float, y: float, name: str = "A", **more: object) -> Diffuser:
    return Diffuser.model_validate({"name": name, "place": LocalPoint(x_m=x, y_m=y), **more})


def test_given_places_stay_and_depth_is_read_from_the_basin(basin: Survey) -> None:
    """Bottom of the ellipse at the place, less the base; within 0.1 m."""
    got = run(job(AirSystem(diffusers=(at(20, 5), at(-25, -6, "B")), base_height_m=0.25)), basin)
    for item, (x, y) in zip(got.diffusers, ((20, 5), (-25, -6)), strict=True):
        assert (item.x_m, item.y_m) == (x, y)
        assert item.bottom_depth_m == pytest.approx(bottom_m(x, y), abs=0.1)
        assert item.depth_m == pytest.approx(item.bottom_depth_m - 0.25)
        assert item.placed_by == "job"


@pytest.mark.parametrize("wanted", [0.5, 1.0, 2.0, 3.0])
def test_number_is_the_least_that_meets_the_wanted_turnover(basin: Survey, wanted: float) -> None:
    """The wish is met; one diffuser fewer, placed by the same search or all at the deepest, misses it."""
    got = run(job(wishes=Wishes(turnover_per_day=wanted)), basin)
    assert got.turnover_per_day >= wanted
    assert got.turnover_per_day == pytest.approx(got.water_flow_m3_s * 86400 / basin.volume_m3)
    if len(got.diffusers) > 1:
        fewer = tuple(Diffuser(name=item.name) for item in got.diffusers[:-1])
        assert (
            run(job(AirSystem(diffusers=fewer), Wishes(turnover_per_day=wanted)), basin).turnover_per_day
            < wanted
        )
    deepest = flow_m3_s(basin.max_depth_m - 0.3)
    assert len(got.diffusers) <= 1 + int(wanted * basin.volume_m3 / 86400 / (0.85 * deepest))


def test_one_stands_in_the_deepest_water_and_all_keep_apart(basin: Survey) -> None:
    """Deep water first: the lowest membrane is the base above the greatest depth; spacing twice the depth."""
    got = run(job(wishes=Wishes(turnover_per_day=3.0)), basin)
    lowest = max(item.bottom_depth_m for item in got.diffusers)
    assert lowest == pytest.approx(basin.max_depth_m, abs=0.02)
    assert got.spacing_m is not None
    assert got.spacing_m >= 2 * basin.max_depth_m
    assert "diffusers-crowded" not in codes(got)


def test_diffuser_with_a_depth_but_no_place_is_put_where_the_bottom_fits(basin: Survey) -> None:
    """Membranes at 3.6, 3.0 and 2.2 m: bottom there is that plus the base, within 0.15 m."""
    listed = tuple(Diffuser(name=name, depth_m=depth) for name, depth in (("A", 3.6), ("B", 3.0), ("C", 2.2)))
    got = run(job(AirSystem(diffusers=listed)), basin)
    assert [item.name for item in got.diffusers] == ["A", "B", "C"]
    for item, want in zip(got.diffusers, listed, strict=True):
        assert item.depth_m == want.depth_m
        assert item.bottom_depth_m == pytest.approx((want.depth_m or 0) + 0.3, abs=0.15)
        assert item.placed_by == "search"


def test_served_volumes_share_out_the_whole_pond_once(basin: Survey) -> None:
    """Σ served = V, whatever the places."""
    got = run(job(AirSystem(diffusers=(at(20, 5), at(-25, -6, "B"), at(0, 10, "C")))), basin)
    assert sum(item.served_volume_m3 for item in got.diffusers) == pytest.approx(basin.volume_m3, rel=1e-9)


def test_served_share_counts_no_more_than_the_plumes_move(basin: Survey) -> None:
    """One weak plume in the middle: the share is its flow over the wanted flow."""
    given = job(AirSystem(diffusers=(at(0, 0),)), Wishes(turnover_per_day=1.0))
    got = layout(given, basin, flow_per_diffuser_water_m3_s=lambda _: 0.02)
    assert got.served_fraction == pytest.approx(0.02 * 86400 / basin.volume_m3, rel=1e-9)
    assert got.diffusers[0].reach_m < 60
    assert "turnover-short" in codes(got)


def test_branch_is_as_long_as_the_straight_line_and_the_fall_say(basin: Survey) -> None:
    """Manifold on the west shore, diffuser in the middle: the arc of the parabola, plus the base."""
    given = job(AirSystem(manifold=LocalPoint(x_m=-A_M, y_m=0), diffusers=(at(0, 0),), slack_fraction=0.1))
    item = run(given, basin).diffusers[0]
    along = np.linspace(-A_M, 0, 2001)
    arc = np.hypot(np.diff(along), np.diff([bottom_m(x, 0) for x in along]))
    assert item.branch_run_m == pytest.approx(arc.sum() + 0.3, rel=0.005)
    assert item.branch_length_m == pytest.approx(1.1 * item.branch_run_m)
    assert 0 <= item.branch_cut_m - item.branch_length_m < 1.524 + 1e-6
    assert item.branch_cut_m / 1.524 == pytest.approx(round(item.branch_cut_m / 1.524), abs=1e-5)


def test_given_branch_length_and_bore_are_kept(basin: Survey) -> None:
    """What the job says of a branch is not computed again."""
    given = job(AirSystem(diffusers=(at(0, 0, branch_length_m=77.0, branch_bore_m=0.0127),)))
    item = run(given, basin).diffusers[0]
    assert (item.branch_length_m, item.branch_bore_m) == (77.0, 0.0127)


def test_free_manifold_has_the_shortest_branches_of_the_whole_shore(basin: Survey) -> None:
    """No corner of the outline gives a shorter total; the reason says how it was chosen."""
    places = ((20, 5), (-10, -6))
    got = run(job(AirSystem(diffusers=(at(*places[0]), at(*places[1], name="B")))), basin)

    def total(x: float, y: float) -> float:
        return sum(hypot(x - a, y - b) for a, b in places)

    assert total(*got.manifold_xy) <= 1.005 * min(total(p.x_m, p.y_m) for p in SHORE)
    assert "shortest branches" in got.manifold_reason


def test_keep_out_zone_is_kept_out_of(basin: Survey) -> None:
    """The middle is closed to diffusers: none is placed there."""
    corners = ((-30, -20), (30, -20), (30, 20), (-30, 20))
    zone = tuple(LocalPoint(x_m=x, y_m=y) for x, y in corners)
    got = run(job(wishes=Wishes(turnover_per_day=2.0, keep_out=(zone,))), basin)
    assert all(abs(item.x_m) > 30 or abs(item.y_m) > 20 for item in got.diffusers)


def test_keep_out_of_the_whole_pond_is_an_error(basin: Survey) -> None:
    """Nothing is left to stand on."""
    zone = tuple(LocalPoint(x_m=x, y_m=y) for x, y in ((-99, -99), (99, -99), (99, 99), (-99, 99)))
    with pytest.raises(InputError, match="keep-out"):
        run(job(wishes=Wishes(keep_out=(zone,))), basin)


def test_diffuser_outside_the_water_is_an_error(basin: Survey) -> None:
    """140 m east of a pond of 60 m."""
    with pytest.raises(InputError, match="outside the water"):
        run(job(AirSystem(diffusers=(at(200, 0),))), basin)


def test_unknown_pipe_is_an_error_that_names_near_ones(basin: Survey) -> None:
    """A slip in the name of the branch pipe."""
    with pytest.raises(InputError, match="tubing-1/2"):
        run(job(AirSystem(diffusers=(at(0, 0),), branch_pipe="tubng-1/2")), basin)


def test_notices_say_what_is_wrong_with_a_poor_layout(basin: Survey) -> None:
    """Two shallow diffusers side by side, one given deeper than the bottom."""
    poor = (at(45, 0), at(47, 0, "B"), at(0, 25, "C", depth_m=3.5))
    got = run(job(AirSystem(diffusers=poor)), basin)
    assert {"diffuser-shallow", "diffusers-close", "diffuser-below-bottom"} <= codes(got)
    only_shallow = run(job(AirSystem(diffusers=(at(45, 0),))), basin)
    assert "dead-water" in codes(only_shallow)
    below = only_shallow.diffusers[0].depth_m
    assert only_shallow.dead_volume_m3 == pytest.approx(basin.volume_m3 * (1 - below / DEEP_M) ** 2, rel=0.06)


def test_small_pond_is_said_to_have_no_quiet_water() -> None:
    """Under a quarter acre, round, no outline: caution, and positions are schematic."""
    small = job(pond=Pond(area_m2=600.0, max_depth_m=3.0))
    got = run(small, survey(small))
    assert {"pond-small", "positions-schematic"} <= codes(got)
    assert got.schematic


def test_published_air_rule_is_shown_beside(basin: Survey) -> None:
    """Lorenzen & Fast 1977 (from memory): 1.3 cfm an acre, as Nebraska Game and Parks prints it too."""
    got = run(job(AirSystem(diffusers=(at(0, 0),), air_per_diffuser_m3_s=6e-4)), basin)
    scfm_acre = got.rule_air_m3_s / 4.71947e-4 / (basin.area_m2 / 4046.856)
    assert scfm_acre == pytest.approx(1.3, abs=0.02)
    assert got.planned_air_m3_s == 6e-4


def test_what_was_built_goes_before_what_was_asked_for(basin: Survey) -> None:
    """As-built diffusers and manifold are the ones laid out."""
    built = AsBuilt(
        made_on=date(2025, 8, 9), diffusers=(at(5, 5, "built"),), manifold=LocalPoint(x_m=0, y_m=B_M)
    )
    given = job(AirSystem(diffusers=(at(20, 0),))).model_copy(update={"as_built": built})
    got = run(given, basin)
    assert [item.name for item in got.diffusers] == ["built"]
    assert got.manifold_xy == (0, B_M)


def test_chosen_places_serve_better_than_an_even_row(basin: Survey) -> None:
    """Mean way to the nearest diffuser: no worse than for a row of the same number along the long axis."""
    got = run(job(wishes=Wishes(turnover_per_day=3.0)), basin)
    count = len(got.diffusers)
    deep = A_M * sqrt(0.2)
    row = tuple(at(x, 0, f"R{n}") for n, x in enumerate(np.linspace(-deep, deep, count)))
    even = run(job(AirSystem(diffusers=row)), basin)
    assert got.mean_distance_m <= 1.05 * even.mean_distance_m


def test_job_refuses_a_depth_of_zero() -> None:
    """The document itself guards the type of a diffuser's depth."""
    with pytest.raises(ValidationError):
        Diffuser(name="A", depth_m=0.0)


@pytest.mark.parametrize(("x_m", "said"), [(0.0, True), (-78.0, False)])
def test_a_manifold_out_in_the_water_is_said(basin: Survey, x_m: float, said: bool) -> None:
    """A valve box stands on the bank (common practice, no published source); two metres off it is a phone's error."""
    west_m = basin.polygon.bounds[0]
    place = LocalPoint(x_m=0.0 if x_m == 0.0 else west_m + 2.0, y_m=0.0)
    got = run(job(AirSystem(manifold=place, diffusers=(at(5.0, 0.0),))), basin)
    assert ("manifold-in-water" in codes(got)) is said


def test_a_base_higher_than_half_the_water_is_said_and_the_membrane_stands_half_way(basin: Survey) -> None:
    """30 ft for 3 ft, say: no membrane stands over the water; a usual base says nothing."""
    got = run(job(AirSystem(base_height_m=9.0, diffusers=(at(0.0, 0.0),))), basin)
    (found,) = [item for item in got.notices if item.code == "base-high"]
    assert "is more than half of the depth there" in found.text
    (one,) = got.diffusers
    assert one.depth_m == pytest.approx(0.5 * one.bottom_depth_m)
    assert "base-high" not in codes(run(job(AirSystem(diffusers=(at(0.0, 0.0),))), basin))
