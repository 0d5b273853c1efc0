"""The survey's answers on bad and odd input, and what must always hold."""

from __future__ import annotations

import time
from datetime import date
from math import cos, pi, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plumeline.errors import InputError, RangeError
from plumeline.job.document import Job, LocalPoint, Point, Pond, Shape, Site, Sounding
from plumeline.stages.survey import Survey, contours, even_step, shape_ratio, survey, volume_from_shape

SITE = Site(latitude_deg=35.9, longitude_deg=-79.7, elevation_m=207.0)
A_M, B_M, DEEP_M = 60.0, 34.0, 4.2


def job(pond: Pond, site: Site = SITE) -> Job:
    return Job(id="pond", name="pond", date=date(2025, 8, 1), site=site, pond=pond)


def local(*pairs: tuple[float, float]) -> tuple[LocalPoint, ...]:
    return tuple(LocalPoint(x_m=x, y_m=y) for x, y in pairs)


ELLIPSE = local(*((A_M * cos(2 * pi * n / 120), B_M * sin(2 * pi * n / 120)) for n in range(120)))


def bottom_m(x: float, y: float) -> float:
    return DEEP_M * max(1 - (x / A_M) ** 2 - (y / B_M) ** 2, 0.0)


def some_soundings(count: int = 40, factor: float = 1.0) -> tuple[Sounding, ...]:
    rng = np.random.default_rng(7)
    found = []
    while len(found) < count:
        x, y = rng.uniform(-A_M, A_M), rng.uniform(-B_M, B_M)
        if bottom_m(x, y) > 0.1:
            depth = factor * max(bottom_m(x, y) + rng.normal(0, 0.1), 0.0)
            found.append(Sounding(place=LocalPoint(x_m=x, y_m=y), depth_m=depth, row=len(found) + 2))
    return tuple(found)


def codes(got: Survey) -> set[str]:
    return {item.code for item in got.notices}


@pytest.fixture(scope="module")
def plain() -> Survey:
    return survey(job(Pond(outline=(ELLIPSE,), soundings=some_soundings())))


def test_grid_and_hypsograph_hold_the_same_water(plain: Survey) -> None:
    """Σ depth · cell area is the volume, the cells' areas are the outline's, mean depth is V/A."""
    grid = plain.grid
    assert np.nansum(grid.depth_m * grid.cell_area_m2) == pytest.approx(plain.volume_m3, rel=1e-12)
    assert grid.cell_area_m2.sum() == pytest.approx(plain.polygon.area, rel=1e-9)
    assert plain.hypsograph.area_at(0.0) == pytest.approx(plain.area_m2, rel=1e-12)
    assert plain.mean_depth_m == pytest.approx(plain.volume_m3 / plain.area_m2)


def test_hypsograph_integrates_to_its_volume(plain: Survey) -> None:
    """∫A dz by trapezoid is the volume within 0.1 %, and both columns fall all the way."""
    hypso = plain.hypsograph
    assert np.trapezoid(hypso.area_m2, hypso.depth_m) == pytest.approx(plain.volume_m3, rel=1e-3)
    assert all(np.diff(hypso.area_m2) <= 0)
    assert all(np.diff(hypso.volume_below_m3) < 0)
    assert hypso.volume_below(99.0) == 0.0
    assert hypso.area_at(99.0) == 0.0


@given(depth_m=st.floats(0.0, 4.0), step_m=st.floats(0.001, 0.4))
@settings(max_examples=100, deadline=None)
def test_volume_below_falls_and_lies_between_its_areas(plain: Survey, depth_m: float, step_m: float) -> None:
    """A(z+dz) dz ≤ V(z) − V(z+dz) ≤ A(z) dz, within 0.1 % of the pond."""
    hypso, slack = plain.hypsograph, 1e-3 * plain.volume_m3
    slab = hypso.volume_between(depth_m, depth_m + step_m)
    assert slab >= 0.0
    assert hypso.area_at(depth_m + step_m) * step_m - slack <= slab <= hypso.area_at(depth_m) * step_m + slack


def test_depth_at_meets_the_true_bottom(plain: Survey) -> None:
    """At places never sounded the surface is within 0.25 m of the ellipse's true bottom; zero outside."""
    for x, y in ((0.0, 0.0), (30.0, 5.0), (-25.0, -12.0), (0.0, 25.0), (50.0, 0.0)):
        assert plain.depth_at(x, y) == pytest.approx(bottom_m(x, y), abs=0.25)
    assert plain.depth_at(200.0, 0.0) == 0.0


def test_contours_lie_on_their_depth_inside_the_pond(plain: Survey) -> None:
    """Every point of a line reads its depth back from the surface, to a centimetre or so."""
    assert [line.depth_m for line in plain.contours] == pytest.approx(
        [0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0][: len(plain.contours)]
    )
    for contour in contours(plain.grid, (1.0, 2.0)):
        for line in contour.lines_xy:
            xy = np.array(line)
            assert plain.grid.sample(xy[:, 0], xy[:, 1]) == pytest.approx(contour.depth_m, abs=0.03)


@pytest.mark.parametrize(("deep", "step"), [(0.8, 0.1), (4.2, 0.5), (9.0, 1.0), (40.0, 5.0)])
def test_even_step_gives_at_most_nine_lines(deep: float, step: float) -> None:
    """The smallest even step with nine lines or fewer."""
    assert even_step(deep) == step


def test_islands_are_shore_too() -> None:
    """The depth is zero at an island and its area is no water."""
    island = local(*((8 * cos(a), 8 * sin(a)) for a in np.linspace(0, 2 * pi, 40)[:-1]))
    soundings = []
    for item in some_soundings(60):
        assert isinstance(item.place, LocalPoint)
        off = np.hypot(item.place.x_m, item.place.y_m) - 8
        if off > 0:
            soundings.append(item.model_copy(update={"depth_m": item.depth_m * (1 - np.exp(-off / 6))}))
    got = survey(job(Pond(outline=(ELLIPSE, island), soundings=tuple(soundings))))
    assert got.depth_at(0.0, 0.0) == 0.0
    assert got.depth_at(8.5, 0.0) < 0.5 * got.depth_at(20.0, 0.0)
    whole = survey(job(Pond(outline=(ELLIPSE,), soundings=tuple(soundings))))
    assert got.area_m2 == pytest.approx(whole.area_m2 - 39 / 2 * 64 * sin(2 * pi / 39), rel=1e-9)
    assert len(got.outline_xy) == 2


def test_crossing_outline_is_an_error_that_says_where() -> None:
    """A bow tie is refused with the place of the crossing."""
    with pytest.raises(InputError, match="Self-intersection"):
        survey(job(Pond(outline=(local((0, 0), (50, 50), (50, 0), (0, 50)),), max_depth_m=3.0)))


def test_outline_of_two_corners_is_an_error() -> None:
    """Two corners hold no water."""
    with pytest.raises(InputError, match="three different corners"):
        survey(job(Pond(outline=(local((0, 0), (50, 50), (0, 0)),), max_depth_m=3.0)))


def test_pond_of_no_known_size_or_depth_is_an_error() -> None:
    """Neither outline nor area; an area without any depth."""
    with pytest.raises(InputError, match="neither an outline nor an area"):
        survey(job(Pond(max_depth_m=3.0)))
    with pytest.raises(InputError, match="no depth"):
        survey(job(Pond(area_m2=3000.0)))


def test_sounding_ten_times_its_neighbours_is_left_out_and_listed() -> None:
    """One depth typed ten times too great: named by its row, and the volume hardly moves."""
    soundings = list(some_soundings())
    wild = soundings[11].model_copy(update={"depth_m": 10 * soundings[11].depth_m})
    soundings[11] = wild
    got = survey(job(Pond(outline=(ELLIPSE,), soundings=tuple(soundings))))
    clean = survey(job(Pond(outline=(ELLIPSE,), soundings=some_soundings())))
    assert [item.row for item in got.left_out] == [13]
    assert "sounding-wild" in codes(got)
    assert got.volume_m3 == pytest.approx(clean.volume_m3, rel=0.02)


def test_plain_soundings_leave_nothing_out(plain: Survey) -> None:
    """No false alarm on forty good soundings."""
    assert plain.left_out == ()
    assert codes(plain) == set()


def test_soundings_outside_are_left_out_and_said() -> None:
    """Two far outside are left out; one within the 3 m of a position's error stays."""
    extra = tuple(
        Sounding(place=LocalPoint(x_m=x, y_m=0.0), depth_m=1.0, row=row)
        for x, row in ((300.0, 90), (120.0, 91), (A_M + 1.0, 92))
    )
    got = survey(job(Pond(outline=(ELLIPSE,), soundings=some_soundings() + extra)))
    assert {item.row for item in got.left_out} == {90, 91}
    assert got.sounding_count == 41
    assert "soundings-outside" in codes(got)


def test_feet_labelled_metres_are_suspected() -> None:
    """Depths in feet read as metres: by the ratio to the job's greatest depth, or by the pond's size."""
    feet = some_soundings(factor=3.2808)
    assert "soundings-in-feet" in codes(
        survey(job(Pond(outline=(ELLIPSE,), soundings=feet, max_depth_m=DEEP_M)))
    )
    assert "depth-suspicious" in codes(survey(job(Pond(outline=(ELLIPSE,), soundings=feet))))
    assert "max-depth-in-feet" in codes(
        survey(job(Pond(outline=(ELLIPSE,), soundings=some_soundings(), max_depth_m=3.28 * DEEP_M)))
    )


def test_greatest_depth_that_differs_is_said() -> None:
    """Job says 6 m, soundings 4.2 m: the soundings decide and it is said."""
    got = survey(job(Pond(outline=(ELLIPSE,), soundings=some_soundings(), max_depth_m=6.0)))
    assert "max-depth-differs" in codes(got)
    assert got.max_depth_m < 4.8


def test_outline_far_from_the_site_is_suspected() -> None:
    """Latitude and longitude swapped in the outline."""
    ring = tuple(
        Point(longitude_deg=35.9 + 0.0005 * cos(a), latitude_deg=-79.7 + 0.0001 * sin(a))
        for a in np.linspace(0, 2 * pi, 30)
    )
    got = survey(job(Pond(outline=(ring,), max_depth_m=3.0)))
    said = next(notice for notice in got.notices if notice.code == "outline-far-from-site")
    assert " miles from the site" in said.said("us")
    assert "km" not in said.said("us")
    assert " km from the site" in said.said("si")


def test_duplicate_soundings_are_averaged() -> None:
    """Two readings of each place pull the surface to their mean, not into a spike."""
    once = some_soundings()
    up = tuple(item.model_copy(update={"depth_m": item.depth_m + 0.3}) for item in once)
    twice = survey(job(Pond(outline=(ELLIPSE,), soundings=once + up)))
    mean = tuple(item.model_copy(update={"depth_m": item.depth_m + 0.15}) for item in once)
    middle = survey(job(Pond(outline=(ELLIPSE,), soundings=mean)))
    assert twice.sounding_count == 80
    assert twice.volume_m3 == pytest.approx(middle.volume_m3, rel=0.01)


def test_lower_level_takes_the_water_off_the_top(plain: Survey) -> None:
    """0.8 m down: what the hypsograph holds below 0.8 m, depths 0.8 m less, the shore drawn inwards."""
    got = survey(job(Pond(outline=(ELLIPSE,), soundings=some_soundings(), level_offset_m=-0.8)))
    assert got.volume_m3 == pytest.approx(plain.hypsograph.volume_below(0.8), rel=0.01)
    assert got.area_m2 == pytest.approx(plain.hypsograph.area_at(0.8), rel=0.01)
    assert got.max_depth_m == pytest.approx(plain.max_depth_m - 0.8, abs=1e-9)
    assert got.polygon.area == pytest.approx(got.area_m2, rel=1e-9)
    assert "level-lowered" in codes(got)


def test_higher_level_adds_water_on_the_known_area(plain: Survey) -> None:
    """0.5 m up: the old volume plus area times 0.5 m, banks upright, and it says so."""
    got = survey(job(Pond(outline=(ELLIPSE,), soundings=some_soundings(), level_offset_m=0.5)))
    assert got.volume_m3 == pytest.approx(plain.volume_m3 + 0.5 * plain.area_m2, rel=1e-6)
    assert "level-raised" in codes(got)


def test_dry_pond_is_an_error() -> None:
    """A level below the bottom leaves no water."""
    with pytest.raises(InputError, match="no water"):
        survey(job(Pond(outline=(ELLIPSE,), soundings=some_soundings(), level_offset_m=-9.0)))


@pytest.mark.parametrize("shape", list(Shape))
def test_without_soundings_the_class_of_shape_decides(shape: Shape) -> None:
    """Volume is the class's ratio, with a caution, a wide band and an assumed round outline."""
    got = survey(job(Pond(area_m2=6475.0, max_depth_m=4.267, shape=shape)))
    ratio = shape_ratio(shape)[0]
    assert got.volume_m3 == pytest.approx(ratio * 6475.0 * 4.267, rel=2e-3)
    assert got.area_m2 == pytest.approx(6475.0, rel=1e-9)
    assert got.max_depth_m == pytest.approx(4.267)
    assert got.outline_assumed
    assert {"volume-estimated", "outline-assumed"} <= codes(got)
    assert got.volume_p05_m3 < 0.85 * got.volume_m3 < 1.15 * got.volume_m3 < got.volume_p95_m3
    exponent = 1 / ratio - 1
    for part in (0.2, 0.5, 0.8):
        true_m2 = 6475.0 * (1 - part) ** exponent
        assert got.hypsograph.area_at(part * 4.267) == pytest.approx(true_m2, abs=0.02 * 6475.0)


def test_shape_volume_refuses_what_is_no_pond() -> None:
    """Negative area, zero depth, unknown class."""
    for area_m2, depth_m, shape in ((-1.0, 2.0, "cone"), (100.0, 0.0, "cone"), (100.0, 2.0, "saucer")):
        with pytest.raises(RangeError):
            volume_from_shape(area_m2, depth_m, shape)


def test_soundings_without_outline_draw_a_hull() -> None:
    """Area and soundings only: the hull drawn out to the area, said to be assumed."""
    got = survey(job(Pond(area_m2=pi * A_M * B_M, soundings=some_soundings())))
    assert got.outline_assumed
    assert got.area_m2 == pytest.approx(pi * A_M * B_M, rel=1e-6)
    assert got.volume_m3 == pytest.approx(pi * A_M * B_M * DEEP_M / 2, rel=0.15)


def test_same_job_and_seed_give_the_same_survey(plain: Survey) -> None:
    """Every number is bit for bit the same."""
    again = survey(job(Pond(outline=(ELLIPSE,), soundings=some_soundings())))
    assert again == plain


def test_more_soundings_narrow_the_band() -> None:
    """Ten against eighty soundings of the same pond."""
    few, many = (survey(job(Pond(outline=(ELLIPSE,), soundings=some_soundings(count)))) for count in (10, 80))
    assert many.volume_se_m3 < 0.6 * few.volume_se_m3
    assert "few-soundings" in codes(few)


def test_two_hundred_thousand_soundings_finish() -> None:
    """A logged track: under 40 s of processor time (it takes about 8), and the volume within 1 %."""
    rng = np.random.default_rng(3)
    xy = rng.uniform((-A_M, -B_M), (A_M, B_M), (300_000, 2))
    depth = DEEP_M * (1 - (xy[:, 0] / A_M) ** 2 - (xy[:, 1] / B_M) ** 2)
    keep = np.flatnonzero(depth > 0)[:200_000]
    depth = np.maximum(depth[keep] + rng.normal(0, 0.1, len(keep)), 0)
    soundings = tuple(
        Sounding.model_construct(place=LocalPoint.model_construct(x_m=x, y_m=y), depth_m=z, row=0)
        for (x, y), z in zip(xy[keep].tolist(), depth.tolist(), strict=True)
    )
    pond = Pond(outline=(ELLIPSE,)).model_copy(update={"soundings": soundings})
    start = time.process_time()
    got = survey(job(Pond(outline=(ELLIPSE,))).model_copy(update={"pond": pond}))
    assert time.process_time() - start < 40.0
    assert got.volume_m3 == pytest.approx(pi * A_M * B_M * DEEP_M / 2, rel=0.01)
    # of so many random places a few lie on one spot with one depth: those count once, and none is lost otherwise
    assert len(keep) - 100 < got.sounding_count <= len(keep)
