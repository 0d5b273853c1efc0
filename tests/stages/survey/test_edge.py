"""The water's edge: walls on a stretch of shore, the banks' slope as the job says it, and what both do to it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from tests.natural_ponds import NaturalPond, by_line, by_sonar, natural_pond
from tests.published.test_natural_ponds import job_of

from plumeline.errors import InputError
from plumeline.job.document import Job, LocalPoint, Pond, Sounding, Wall
from plumeline.stages.survey import survey
from plumeline.stages.survey.basin import basin_of, walled_basin


def changed(job: Job, **more: object) -> Job:
    """Return a job with other fields of its pond."""
    return job.model_copy(update={"pond": job.pond.model_copy(update=more)})


def test_beside_a_wall_the_bank_s_cover_goes_on_as_in_the_mirror() -> None:
    """∇²w = −1 in a strip 40 m wide with a wall on one side: w ~ 1 − (y/40)², half of a strip of 80 m.

    Closed form, far from the strip's short ends, to 1.5 % of its greatest.
    """
    strip = shapely.box(0.0, 0.0, 400.0, 40.0)
    basin = walled_basin(basin_of(strip), shapely.LineString([(0.0, 0.0), (400.0, 0.0)]))
    y_m = np.array([1.0, 10.0, 20.0, 30.0, 39.0])
    got = basin.covers_at(np.column_stack([np.full(5, 200.0), y_m]))
    assert got[0] == pytest.approx(1.0 - (y_m / 40.0) ** 2, abs=0.015)
    assert got[1] == pytest.approx(1.0 - y_m / 40.0, abs=0.03)


def dock(depth_m: float) -> Job:
    """Return a basin 60 m by 40 m: a quay along y = 0, nothing at the other three sides, nobody sounded near it.

    Depth H (1 − |x/30 − 1|⁸) (1 − (y/40)²), read to 0.1 m.
    """
    shore = tuple(LocalPoint(x_m=x, y_m=y) for x, y in ((0, 0), (60, 0), (60, 40), (0, 40)))
    noise = np.random.default_rng(3)
    soundings = tuple(
        Sounding(
            place=LocalPoint(x_m=float(x), y_m=float(y)),
            depth_m=depth_m * (1 - abs(x / 30 - 1) ** 8) * (1 - (y / 40) ** 2)
            + 0.1 * noise.standard_normal(),
        )
        for x in range(5, 60, 10)
        for y in (14, 24, 34)
    )
    base = job_of(natural_pond(0), by_line(natural_pond(0), 12, np.random.default_rng(1)))
    return base.model_copy(update={"pond": Pond(outline=(shore,), soundings=soundings)})


QUAY = Wall(start=LocalPoint(x_m=0.0, y_m=0.0), end=LocalPoint(x_m=60.0, y_m=0.0), depth_m=3.0)


def test_a_quay_on_one_side_is_told_in_the_volume_and_its_error() -> None:
    """3 m at the quay: V = 3 · (60 · 8/9) · (40 · 2/3), its integral; with the wall said it is nearer."""
    plain = survey(dock(3.0))
    walled = survey(changed(dock(3.0), walls=(QUAY,)))
    true_m3 = 3.0 * 60.0 * 8 / 9 * 40.0 * 2 / 3
    assert abs(walled.volume_m3 / true_m3 - 1) < 0.6 * abs(plain.volume_m3 / true_m3 - 1)
    assert walled.volume_se_m3 < plain.volume_se_m3
    assert walled.volume_p05_m3 < true_m3 < walled.volume_p95_m3
    assert walled.shore is not None
    assert walled.shore.walled_m == pytest.approx(60.0, rel=0.01)
    assert walled.shore.wall_m == pytest.approx(3.0 * 60.0 / 200.0, rel=0.01)
    assert walled.shore.without_m3 == pytest.approx(plain.volume_m3, rel=0.02)
    assert plain.shore is not None
    assert plain.shore.without_m3 is None


def test_deep_at_the_quay_and_nothing_at_the_shore_across() -> None:
    """A metre off the quay 3 m by the formula, a metre off the other side nearly nothing."""
    got = survey(changed(dock(3.0), walls=(QUAY,)))
    assert got.depth_at(30.0, 1.0) == pytest.approx(3.0, abs=0.4)
    assert survey(dock(3.0)).depth_at(30.0, 1.0) < 2.0
    assert got.depth_at(30.0, 39.0) < 0.5
    assert "of wall" in got.method


def test_walls_all_round_are_asked_for_as_a_shore_depth() -> None:
    """Four walls that take the whole shore between them: the error says what to write instead."""
    corners = [LocalPoint(x_m=x, y_m=y) for x, y in ((0.0, 0.0), (60.0, 0.0), (60.0, 40.0), (0.0, 40.0))]
    walls = tuple(Wall(start=corners[n], end=corners[(n + 1) % 4], depth_m=1.0) for n in range(4))
    with pytest.raises(InputError) as error:
        survey(changed(dock(3.0), walls=walls))
    assert "pond.shore_depth" in error.value.remedy


def test_a_wall_that_begins_far_from_the_shore_is_an_error_that_says_which() -> None:
    """Its end 300 m off."""
    far = QUAY.model_copy(update={"end": LocalPoint(x_m=360.0, y_m=0.0)})
    with pytest.raises(InputError, match="end of wall 2") as error:
        survey(changed(dock(3.0), walls=(QUAY, far)))
    assert error.value.place == "pond.walls, end"


def told_run(pond: NaturalPond, rng: np.random.Generator) -> float:
    """Return the run of a pond's banks for one of fall as told: the true one 2 m off, with an error of a quarter."""
    at = np.linspace(0, 1, 200, endpoint=False)
    xy = np.concatenate(
        [
            shapely.get_coordinates(shapely.line_interpolate_point(one.exterior, at, normalized=True))
            for one in shapely.get_parts(pond.polygon.buffer(-2.0))
        ]
    )
    run = 2.0 / float(pond.depth_m(xy[:, 0], xy[:, 1]).mean()) * float(np.exp(0.25 * rng.standard_normal()))
    return float(np.clip(run, 0.2, 50.0))


def slope_rows(numbers: range) -> np.ndarray:
    """Return, without and with the slope said, whether the band held, the error and its standard error.

    The twelve soundings are those farthest from the shore of sixty; the slope is the true one, 2 m off the shore,
    told with an error of a quarter.
    """
    rows = []
    for number in numbers:
        pond, rng = natural_pond(number), np.random.default_rng([9, number, 10])
        log = by_line(pond, 60, rng)
        off = shapely.distance(pond.polygon.boundary, shapely.points(log.xy))
        deep = np.argsort(-off)[:12]
        plain = job_of(pond, replace(log, xy=log.xy[deep], depth_m=log.depth_m[deep]))
        true_m3 = pond.volume_m3(400)
        for job in (plain, changed(plain, bank_run_number=told_run(pond, rng))):
            got = survey(job)
            held = got.volume_p05_m3 <= true_m3 <= got.volume_p95_m3
            rows.append((float(held), got.volume_m3 / true_m3 - 1, got.volume_se_m3 / true_m3))
    return np.array(rows).reshape(-1, 2, 3)


def test_a_slope_said_brings_the_volume_nearer_where_nobody_sounded_the_banks() -> None:
    """Ten natural ponds sounded in the deep alone: the error falls by a tenth or more, the stated error by as much."""
    found = slope_rows(range(0, 20, 2))
    error = np.sqrt((found[:, :, 1] ** 2).mean(axis=0))
    stated = np.sqrt((found[:, :, 2] ** 2).mean(axis=0))
    print(f"held {found[:, :, 0].sum(axis=0)}, error {error}, stated {stated}")
    assert error[1] < 0.9 * error[0]
    assert stated[1] < 0.9 * stated[0]
    assert found[:, 1, 0].sum() >= 8


def tank(kept_off_m: float) -> tuple[Job, float]:
    """Return a round pond dug with banks of 3:1 to a flat floor, sounded by sonar, and its exact volume.

    Shore at 40 m, floor at 32.5 m, 2.5 m deep: a frustum, V = π h (R² + R r + r²) / 3. Nine lanes keep off the shore.
    """
    radius_m, floor_m, depth_m, rng = 40.0, 32.5, 2.5, np.random.default_rng(2)
    turns = np.linspace(0.0, 2.0 * np.pi, 180, endpoint=False)
    shore = tuple(
        LocalPoint(x_m=float(x), y_m=float(y))
        for x, y in radius_m * np.column_stack([np.cos(turns), np.sin(turns)])
    )
    inner_m, soundings = radius_m - kept_off_m, []
    for n, y in enumerate(np.linspace(1.0 - inner_m, inner_m - 1.0, 9)):
        half = np.sqrt(inner_m**2 - y**2)
        for x in np.arange(-half, half)[:: 1 if n % 2 else -1]:
            read_m = min((radius_m - np.hypot(x, y)) / 3.0, depth_m) + 0.05 * rng.standard_normal()
            soundings.append(
                Sounding(
                    place=LocalPoint(x_m=float(x), y_m=float(y)),
                    depth_m=float(read_m),
                    row=len(soundings) + 2,
                )
            )
    base = job_of(natural_pond(0), by_line(natural_pond(0), 12, np.random.default_rng(1)))
    true_m3 = np.pi * depth_m * (radius_m**2 + radius_m * floor_m + floor_m**2) / 3.0
    return base.model_copy(update={"pond": Pond(outline=(shore,), soundings=tuple(soundings))}), float(
        true_m3
    )


@pytest.mark.parametrize(("kept_off_m", "told_run"), [(8.5, 3.0), (8.5, 3.75), (8.5, 2.4), (10.0, 3.0)])
def test_a_slope_counts_where_a_boat_kept_off_the_banks(kept_off_m: float, told_run: float) -> None:
    """Without it the flat floor is drawn out to the shore, 14 % too much; with it, told to a quarter, 3 % at most."""
    job, true_m3 = tank(kept_off_m)
    plain, said = survey(job), survey(changed(job, bank_run_number=told_run))
    assert plain.taken_under_way
    assert plain.volume_m3 / true_m3 - 1.0 > 0.12
    assert abs(said.volume_m3 / true_m3 - 1.0) < 0.03
    assert said.volume_p05_m3 < true_m3 < said.volume_p95_m3
    assert not {"bank-slope-unused", "banks-unsounded"} & {item.code for item in said.notices}
    (asked,) = [item for item in plain.notices if item.code == "banks-unsounded"]
    assert "pond.bank_slope" in asked.text
    assert plain.volume_p05_m3 < true_m3, "what the notice says of the band is so"


def test_beside_a_track_that_kept_off_the_banks_the_slope_brings_natural_ponds_nearer() -> None:
    """Five natural ponds, lanes 10 m off the shore, the slope told to a quarter: a fifth less error."""
    rows = []
    for number in range(0, 20, 4):
        pond, rng = natural_pond(number), np.random.default_rng([6, number])
        log = by_sonar(pond, rng, lines=int(rng.integers(6, 14)), transducer_m=0.0, faults=False)
        off = shapely.distance(pond.polygon.boundary, shapely.points(log.xy)) >= 10.0
        plain = job_of(pond, replace(log, xy=log.xy[off], depth_m=log.depth_m[off]))
        for job in (plain, changed(plain, bank_run_number=told_run(pond, rng))):
            got, true_m3 = survey(job), pond.volume_m3(400)
            held = got.volume_p05_m3 <= true_m3 <= got.volume_p95_m3
            rows.append((float(held), got.volume_m3 / true_m3 - 1))
    found = np.array(rows).reshape(-1, 2, 2)
    error = np.sqrt((found[:, :, 1] ** 2).mean(axis=0))
    print(f"held {found[:, :, 0].sum(axis=0)}, error {error}")
    assert error[1] < 0.8 * error[0]
    assert found[:, 1, 0].sum() >= 4


def test_where_lines_come_near_the_shore_they_say_more_than_a_slope() -> None:
    """Lanes 2 m off leave little out: 9:1 told for 3:1 moves the volume by under 2 %, and a notice says why."""
    job, true_m3 = tank(2.0)
    said = survey(changed(job, bank_run_number=9.0))
    words = next(item.said("us") for item in said.notices if item.code == "bank-slope-unused")
    assert "along a part of the shore alone" in words
    assert said.volume_m3 == pytest.approx(survey(job).volume_m3, rel=0.02)
    assert said.volume_p05_m3 < true_m3 < said.volume_p95_m3


def test_a_slope_is_not_taken_where_a_track_s_lines_say_more() -> None:
    """A boat that went along the shore, 1.5 m off it: the volume stays, and a notice says why."""
    shore = tuple(LocalPoint(x_m=x, y_m=y) for x, y in ((0, 0), (60, 0), (60, 40), (0, 40)))
    track = [
        *((x, 1.5) for x in range(2, 59, 2)), *((58.5, y) for y in range(2, 39, 2)),
        *((x, 38.5) for x in range(58, 1, -2)), *((1.5, y) for y in range(38, 1, -2)),
        *((x, 20.0) for x in range(3, 58, 2)),
    ]  # fmt: skip
    soundings = tuple(
        Sounding(place=LocalPoint(x_m=float(x), y_m=float(y)), depth_m=2.0, row=n)
        for n, (x, y) in enumerate(track, start=2)
    )
    plain = dock(3.0).model_copy(update={"pond": Pond(outline=(shore,), soundings=soundings)})
    said = survey(changed(plain, bank_run_number=3.0))
    assert said.volume_m3 == pytest.approx(survey(plain).volume_m3)
    words = next(item.said("us") for item in said.notices if item.code == "bank-slope-unused")
    assert "is not used: the lines of this track" in words
