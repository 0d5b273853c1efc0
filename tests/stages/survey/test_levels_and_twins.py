"""Levels between days, soundings that are there twice, walls at the shore, and soundings put back from outside."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from tests.natural_ponds import by_line, by_sonar, natural_pond
from tests.published.test_natural_ponds import job_of

from plumeline.job.document import Job, LocalPoint, Sounding
from plumeline.stages.survey import survey

POND = natural_pond(3)


def job(count: int = 30) -> Job:
    return job_of(POND, by_line(POND, count, np.random.default_rng(1)))


def changed(job: Job, **fields: object) -> Job:
    return job.model_copy(update={"pond": job.pond.model_copy(update=fields)})


def codes(found: object) -> set[str]:
    return {item.code for item in found.notices}  # type: ignore[attr-defined]


def two_days(job: Job, rise_m: float, *, levels: bool) -> Job:
    """Return the job with its last soundings taken on a day of higher water."""
    found = []
    for n, item in enumerate(job.pond.soundings):
        late = n >= 18
        more = {"day": date(2026, 8, 3 if late else 1), "depth_m": item.depth_m + (rise_m if late else 0.0)}
        # one reading a day is enough: the others of that day go by it
        if levels and n in (0, 20):
            more["level_m"] = 12.0 + (rise_m if late else 0.0)
        found.append(item.model_copy(update=more))
    return changed(job, soundings=tuple(found))


def test_days_of_other_water_are_brought_to_one_level() -> None:
    """0.4 m higher on the second day, one reading a day: the volume of the same pond read on one day, to the litre."""
    plain = survey(job())
    got = survey(two_days(job(), 0.4, levels=True))
    assert got.volume_m3 == pytest.approx(plain.volume_m3, rel=1e-9)
    assert [(item.count, item.rise_m) for item in got.level_days] == [
        (18, 0.0),
        (len(plain_soundings()) - 18, pytest.approx(0.4)),
    ]
    assert "soundings-leveled" in codes(got)
    assert "soundings-level-unknown" not in codes(got)


def plain_soundings() -> tuple[Sounding, ...]:
    return job().pond.soundings


def test_days_without_a_level_are_said_with_what_that_costs() -> None:
    """No staff gauge on either day: read as they are, and said; with one day only nothing is said."""
    got = survey(two_days(job(), 0.4, levels=False))
    assert got.volume_m3 > survey(job()).volume_m3
    text = next(item.text for item in got.notices if item.code == "soundings-level-unknown")
    assert "76.2 mm" in text.replace("\u2060", "")
    one = changed(
        job(), soundings=tuple(s.model_copy(update={"day": date(2026, 8, 1)}) for s in plain_soundings())
    )
    assert "soundings-level-unknown" not in codes(survey(one))
    assert survey(one).level_days == ()


def test_a_sonar_of_two_days_is_brought_to_one_level() -> None:
    """Half of the lanes with the water 0.5 m higher: with the staff within 4 %, without it over 4 % too much."""
    log = by_sonar(POND, np.random.default_rng(4), lines=8, transducer_m=0.0, day_rise_m=0.5, faults=False)
    plain = job_of(POND, log)
    days = [date(2026, 8, 3 if late else 1) for late in log.day]
    told = [
        item.model_copy(update={"day": day, "level_m": 2.0 + 0.5 * float(late)})
        for item, day, late in zip(plain.pond.soundings, days, log.day, strict=True)
    ]
    true_m3 = POND.volume_m3(400)
    assert survey(changed(plain, soundings=tuple(told))).volume_m3 == pytest.approx(true_m3, rel=0.04)
    assert survey(plain).volume_m3 > 1.04 * true_m3


def test_a_file_put_in_twice_counts_once() -> None:
    """By line and by sonar: volume, band and soundings as of one file; each twin names its row and can be put back."""
    by_hand = job()
    sonar = job_of(POND, by_sonar(POND, np.random.default_rng(2), lines=5, transducer_m=0.0, faults=False))
    for once in (by_hand, sonar):
        first = once.pond.soundings
        again = tuple(item.model_copy(update={"row": 2 + len(first) + n}) for n, item in enumerate(first))
        plain, got = survey(once), survey(changed(once, soundings=first + again))
        assert got.sounding_count == plain.sounding_count
        assert got.volume_m3 == plain.volume_m3
        assert got.volume_se_m3 == plain.volume_se_m3
        assert "soundings-twice" in codes(got)
        gone = {item.row: item for item in got.left_out}
        twin = gone[2 + len(first)]
        assert twin.puttable
        assert twin.reason.endswith("row 2")
    twice = changed(
        by_hand, soundings=(*by_hand.pond.soundings, by_hand.pond.soundings[4].model_copy(update={"row": 99}))
    )
    assert [item.row for item in survey(twice).left_out] == [99]
    assert survey(changed(twice, keep_rows=(99,))).left_out == ()


def test_the_same_spot_on_another_day_is_no_twin() -> None:
    """Sounded again a week later with the same depth: a reading of its own."""
    first = plain_soundings()[4]
    one = first.model_copy(update={"day": date(2026, 8, 1)})
    other = first.model_copy(update={"day": date(2026, 8, 8), "row": 99})
    rest = tuple(item for n, item in enumerate(plain_soundings()) if n != 4)
    assert survey(changed(job(), soundings=(*rest, one, other))).left_out == ()


@pytest.mark.parametrize("number", [3, 4, 11])
def test_what_a_wall_adds_is_told_beforehand(number: int) -> None:
    """A wall of 0.1 m adds what was told before, within a quarter of that, or 0.1 % of the volume."""
    pond = natural_pond(number)
    plain = job_of(pond, by_line(pond, 30, np.random.default_rng(1)))
    before, after = survey(plain), survey(changed(plain, shore_depth_m=0.1))
    assert before.shore is not None
    assert after.shore is not None
    assert (before.shore.wall_m, before.shore.given, after.shore.wall_m, after.shore.given) == (
        0.0,
        False,
        0.1,
        True,
    )
    told_m3 = 0.1 * before.shore.gain_m2
    assert after.volume_m3 - before.volume_m3 == pytest.approx(
        told_m3, rel=0.25, abs=0.001 * before.volume_m3
    )
    assert "zero at the shore" in before.method
    assert "zero at the shore" not in after.method


def test_a_tank_with_upright_walls_is_its_area_times_its_depth() -> None:
    """2 m deep everywhere, walls 2 m: V = A · 2 within 0.5 %; without the wall said, less."""
    shore = tuple(LocalPoint(x_m=x, y_m=y) for x, y in ((0, 0), (60, 0), (60, 40), (0, 40)))
    soundings = tuple(
        Sounding(place=LocalPoint(x_m=x, y_m=y), depth_m=2.0, row=0)
        for x in (5.0, 18.0, 30.0, 42.0, 55.0)
        for y in (5.0, 20.0, 35.0)
    )
    tank = changed(job(), outline=(shore,), soundings=soundings)
    walled = survey(changed(tank, shore_depth_m=2.0))
    assert walled.volume_m3 == pytest.approx(4800.0, rel=0.005)
    assert survey(tank).volume_m3 < 0.97 * walled.volume_m3
    assert walled.volume_p05_m3 < 4800.0 < walled.volume_p95_m3


def test_a_sounding_outside_is_put_back_into_the_nearest_water() -> None:
    """8 m off the shore: left out and can be put back, then it counts and that is said; 200 m off it can't."""
    x_low, y_low, x_high, _ = POND.polygon.bounds
    tip = max(POND.polygon.exterior.coords, key=lambda xy: xy[0])
    near = Sounding(place=LocalPoint(x_m=tip[0] + 8.0, y_m=tip[1]), depth_m=1.0, row=90)
    far = Sounding(place=LocalPoint(x_m=x_high + 200.0, y_m=y_low), depth_m=1.0, row=91)
    out = changed(job(), soundings=(*plain_soundings(), near, far))
    left = {item.row: item for item in survey(out).left_out}
    assert left[90].puttable
    assert not left[91].puttable
    assert "too far" in left[91].reason
    got = survey(changed(out, keep_rows=(90, 91)))
    assert {item.row for item in got.left_out} == {91}
    assert got.sounding_count == len(plain_soundings()) + 1
    assert "sounding-moved" in codes(got)
    assert x_low < x_high
