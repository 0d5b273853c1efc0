"""Sonar logs with known faults: which readings are left out, why, and that they can be put back."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from tests.natural_ponds import Log, NaturalPond, by_sonar, natural_pond

from plumeline.job.document import Job, LocalPoint, Pond, Site, Sounding
from plumeline.stages.survey import Survey, survey

SITE = Site(latitude_deg=36.0, longitude_deg=-79.5, elevation_m=200.0)


def surveyed(pond: NaturalPond, log: Log, transducer_m: float | None, keep: tuple[int, ...] = ()) -> Survey:
    """Return the survey of a log, its rows counted from 2."""
    shore = tuple(LocalPoint(x_m=x, y_m=y) for x, y in list(pond.polygon.exterior.coords)[:-1])
    soundings = tuple(
        Sounding(place=LocalPoint(x_m=x, y_m=y), depth_m=z, row=n + 2)
        for n, ((x, y), z) in enumerate(zip(log.xy, log.depth_m, strict=True))
    )
    whole = Pond(outline=(shore,), soundings=soundings, transducer_depth_m=transducer_m, keep_rows=keep)
    return survey(Job(id="sonar", name="sonar", date=date(2026, 8, 1), site=SITE, pond=whole))


@pytest.fixture(scope="module")
def faulty() -> tuple[NaturalPond, Log, Survey]:
    pond = natural_pond(0)
    log = by_sonar(pond, np.random.default_rng(2), lines=12)
    return pond, log, surveyed(pond, log, 0.3)


def test_faults_of_a_sonar_log_are_left_out_and_sound_readings_are_not(
    faulty: tuple[NaturalPond, Log, Survey],
) -> None:
    """Nine in ten of the faulty pings that are over 0.5 m wrong go, and under 1 % of the sound ones."""
    pond, log, got = faulty
    gone = np.isin(np.arange(len(log.depth_m)) + 2, [item.row for item in got.left_out])
    wrong = np.abs(log.depth_m + 0.3 - pond.depth_m(log.xy[:, 0], log.xy[:, 1])) > 0.8
    bad = (log.fault != "") & wrong
    assert bad.sum() > 15
    assert gone[bad].mean() > 0.9
    assert gone[log.fault == ""].mean() < 0.01
    reasons = {item.reason.split(",")[0] for item in got.left_out}
    assert {"zero", "spike"} <= reasons
    assert "sonar-cleaned" in {item.code for item in got.notices}


def test_a_cleaned_log_holds_the_true_water(faulty: tuple[NaturalPond, Log, Survey]) -> None:
    """With its transducer's depth given, within 3 % and its band; without, the pond is said to be too shallow."""
    pond, log, got = faulty
    true_m3 = pond.volume_m3()
    assert got.volume_m3 == pytest.approx(true_m3, rel=0.03)
    assert got.volume_p05_m3 <= true_m3 <= got.volume_p95_m3
    unknown = surveyed(pond, log, None)
    assert "transducer-unknown" in {item.code for item in unknown.notices}
    assert unknown.volume_m3 < 0.93 * true_m3


def test_a_row_left_out_can_be_put_back(faulty: tuple[NaturalPond, Log, Survey]) -> None:
    """Named in pond.keep_rows it counts again; all others stay out."""
    pond, log, got = faulty
    first = got.left_out[0].row
    again = surveyed(pond, log, 0.3, keep=(first,))
    assert {item.row for item in got.left_out} - {item.row for item in again.left_out} == {first}
    assert again.sounding_count == got.sounding_count + 1
