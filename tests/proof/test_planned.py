"""What the planner is told of a truth: what the crew read and the station and the forecast said, and no more."""

from __future__ import annotations

import numpy as np
import pytest
from scripts.proof.crew import WHOLE_DAY_MIN, Orders, Step, carry_out
from scripts.proof.planned import accepted, at_hour, job_of, refuge_limits, survey_of, twelve
from scripts.proof.robustness import kind_and_weather, truth_of
from tests.truth import names as n

from plumeline.job.document import Wishes
from plumeline.stages.startup.promise import upper95


@pytest.fixture(scope="module")
def truth():
    """Return the eighth truth: half an acre, mild weather."""
    return truth_of(7, 20_000)[0]


@pytest.fixture(scope="module")
def survey(truth):
    """Return its survey."""
    return survey_of(truth, 20_007, 3.0)


def test_any_first_truths_are_spread_over_ponds_and_weathers():
    """Of the first 18 each is another pair of pond and weather."""
    assert len({(kind.name, weather) for kind, weather in map(kind_and_weather, range(18))}) == 18


def test_the_limits_are_the_fish_of_the_plan():
    """Bluegill: 3 mg/L, 34 °C, 0.2 mg/L as N, 0.010 mg/L H₂S (sources/refuge.csv); twice the volume in a small pond."""
    assert refuge_limits(1000.0, (1.5,)) == pytest.approx([3.0, 34.0, 0.2, 0.010, 0.30, 0.6])
    assert refuge_limits(8000.0, (3.0,))[n.L_VOLUME] == 0.15


def test_the_first_job_holds_the_survey(truth, survey):
    """A dawn reading, a profile with pH and kits at both ends, a bottle; near the truth, and not the truth."""
    job = job_of(survey, None, Wishes())
    assert [reading.when for reading in job.oxygen_readings] == ["dawn"]
    (profile,) = job.profiles
    first, last = profile.points[0], profile.points[-1]
    assert None not in (first.ph, last.ph, first.ammonia_mg_l, last.ammonia_mg_l, last.sulphide_mg_l)
    assert profile.points[1].ph is None
    pond = truth.copy()
    for _ in range(13):
        pond.run()
    errors = [point.temperature_degc - pond.at(0, point.depth_m)[n.T] for point in profile.points]
    assert 0.0 < np.abs(errors).max() < 1.5
    assert len(job.bottles) == 1
    assert job.runs == ()
    area = truth.shape.area[:, 0].sum()
    assert job.pond.area_m2 == pytest.approx(area, rel=0.15)
    assert job.pond.area_m2 != area


def test_the_future_is_a_forecast(truth, survey):
    """Weather reaches seven days past the reading; the past is near the truth's, the days ahead less so."""
    job = job_of(survey, None, Wishes())
    now = job.profiles[0].time
    known = {hour.time: hour.air_temperature_degc for hour in job.weather}
    assert max(known) == at_hour(truth.hour + 13 + 24 * 7)
    off = {time: abs(air - truth.weather[n.W_AIR, int((time - at_hour(1)).total_seconds() // 3600)])
           for time, air in known.items()}  # fmt: skip
    past = np.mean([value for time, value in off.items() if time <= now])
    ahead = np.mean([value for time, value in off.items() if (time - now).days >= 4])
    assert 0.05 < past < 1.5
    assert ahead > past


def test_a_later_job_holds_what_was_read_and_run_until_then(truth, survey):
    """At the re-planning of day 2: the first run, its readings, and an evening's profile an hour before."""
    seen = []

    def replan(field, day):
        seen.append(job_of(survey, field, Wishes()))

    carry_out(truth, 20_007, 3.0, Orders("", (Step(120), Step(WHOLE_DAY_MIN))), replan, (2, 3))
    second, third = seen[:2]
    assert len(second.profiles) == 2
    assert second.runs[0].start == at_hour(truth.hour + 14)
    assert second.runs[0].minutes in (60, 120)
    assert all(reading.time <= second.profiles[-1].time for reading in second.oxygen_readings)
    # a run that goes on is known up to the reading only
    assert third.runs[-1].minutes <= 23 * 60
    assert {reading.meter for reading in second.oxygen_readings} == {"M1"}


def test_candidates_are_at_most_twelve_and_unlike():
    """To begin and to go on."""
    for last_min in (0, 15, 240, WHOLE_DAY_MIN):
        found = twelve(last_min)
        assert 8 <= len(found) <= 12
        assert len({(s.minutes, s.visit_every_d, s.wait_d, s.gate is None) for s in found}) == len(found)


def test_accepted_risks_are_the_bounds_of_their_counts():
    """Of 100 ponds five lost in the job and two on a day are just accepted, six and three are not."""
    wishes = accepted(100)
    assert upper95(5, 100) <= wishes.job_risk < upper95(6, 100)
    assert upper95(2, 100) <= wishes.day_risk < upper95(3, 100)
