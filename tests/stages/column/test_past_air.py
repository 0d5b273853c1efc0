"""The air that has run: from runs.csv or from the readings, in steps of five minutes, through the right diffusers."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from plumeline.errors import ModelError
from plumeline.job.document import AirRun, OxygenReading, Profile, ProfilePoint, When
from plumeline.kernels import column_index as ix
from plumeline.stages.column import LEAD_HOURS, PastAir, runs_of
from plumeline.stages.column.past_air import air_plan

START = datetime(2026, 8, 11, 14, tzinfo=UTC)  # ten o'clock on the pond's clock
AIR = PastAir(np.array([3.4, 3.0]), np.array([0.03, 0.02]), ("A", "B"))
ROWS = ((0.3, 28.0, 8.0), (2.0, 22.0, 1.0), (3.8, 17.0, 0.1))


def read(hours, when, name):
    """Return a profile some hours after the start."""
    points = tuple(ProfilePoint(depth_m=z, temperature_degc=t, do_mg_l=o) for z, t, o in ROWS)
    return Profile(id=name, time=START + timedelta(hours=hours), points=points, when=when)


def test_a_run_takes_its_minutes_through_its_diffusers():
    """Half an hour from 10:10 through A: steps 2 to 7 of the hour, and none of B."""
    run = AirRun(start=START + timedelta(minutes=10), minutes=30, diffusers=("A",))
    plan = air_plan((run,), AIR, START, 3)
    assert plan.on.shape == (3 * ix.STEPS_EACH_HOUR, 2)
    assert np.flatnonzero(plan.on[:, 0]).tolist() == [2, 3, 4, 5, 6, 7]
    assert not plan.on[:, 1].any()


def test_no_diffusers_named_is_all_of_them_and_a_strange_one_is_an_error():
    """An empty cell of runs.csv means every valve; a name that carries no air is refused with those that do."""
    assert air_plan((AirRun(start=START, minutes=60),), AIR, START, 1).on.all()
    with pytest.raises(ModelError, match="'C'"):
        air_plan((AirRun(start=START, minutes=60, diffusers=("C",)),), AIR, START, 1)
    with pytest.raises(ModelError, match="no diffuser is known"):
        air_plan((AirRun(start=START, minutes=60),), None, START, 1)


def test_before_and_shut_off_of_one_day_are_a_run_and_that_is_said(make_job):
    """Without runs.csv: from the one to the other, 45 minutes; a day with only one of them has no run."""
    readings = (
        read(0.0, When.BEFORE, "b"), read(0.75, When.SHUT_OFF, "s"), read(24.0, When.BEFORE, "c"),
        read(49.0, When.SHUT_OFF, "d"),
    )  # fmt: skip
    runs, notices = runs_of(make_job(profiles=(), observations=readings))
    assert [(run.start, run.minutes) for run in runs] == [(START, 45.0)]
    assert "2026-08-11 10:00 for 45 min" in notices[0].text
    given = AirRun(start=START, minutes=30)
    assert runs_of(make_job(profiles=(), observations=readings, runs=(given,))) == ((given,), ())


def test_members_run_through_the_visits_with_the_air_that_ran(make_job, grid, limits):
    """They stand at the last reading, two days on; an afternoon of air shows in their water against none."""
    from plumeline.stages.column import draw_ensemble

    first = read(0.0, None, "p")
    last = OxygenReading(
        id="q", time=START + timedelta(hours=44), depth_m=(0.6,), do_mg_l=(5.0,), when=When.DAWN
    )
    run = AirRun(start=START + timedelta(hours=1), minutes=600)
    stood = {}
    for name, runs in (("air", (run,)), ("still", ())):
        job = make_job(profiles=(), observations=(first, last), runs=runs)
        members = draw_ensemble(job, grid, limits, 32, 1, 24, AIR)
        assert members.columns.hour == LEAD_HOURS + 44
        state = members.columns.state[ix.TEMPERATURE]
        stood[name] = float(np.median(state[-2] - state[1]))
    print(stood)
    assert stood["air"] > stood["still"] + 1.0


def test_air_after_the_last_reading_has_run_too(make_job, grid, limits):
    """The ensemble stands where the last run ended, not before it."""
    from plumeline.stages.column.case import case_of

    run = AirRun(start=START + timedelta(hours=5), minutes=60)
    case = case_of(
        make_job(profiles=(), observations=(read(0.0, None, "p"),), runs=(run,)), grid, limits, 24, AIR, 48
    )
    assert case.lead.end_hour == 48 + 6
    assert case.lead.profile_hour == 48


def test_a_reading_of_another_month_is_left_out_and_said(make_job, grid, limits):
    """Five weeks before the latest it tells little of today."""
    from plumeline.stages.column.case import case_of

    old = read(-24.0 * 35, None, "old")
    case = case_of(
        make_job(profiles=(), observations=(old, read(0.0, None, "p"))), grid, limits, 24, None, 48
    )
    assert "old" not in case.lead.looks.names
    assert "readings-old" in [notice.code for notice in case.notices]
