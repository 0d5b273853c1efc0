"""The plan before the newest readings: what is left out, and when there is none."""

from datetime import UTC, date, datetime

from plumeline.job.document import AirRun, Profile, ProfilePoint
from plumeline.stages.startup.changes import job_before

TWO = (
    ProfilePoint(depth_m=0.5, temperature_degc=27.0, do_mg_l=7.0),
    ProfilePoint(depth_m=3.0, temperature_degc=18.0, do_mg_l=0.2),
)


def test_the_first_reading_has_no_plan_before_it(make_job):
    """With one day of readings there is nothing to compare with."""
    assert job_before(make_job()) is None


def test_the_readings_of_the_latest_day_are_left_out_and_later_runs_too(make_job):
    """Readings of 14 August and the run after the first reading are not known to the plan of 11 August."""
    job = make_job()
    later = Profile(id="q", time=datetime(2026, 8, 14, 14, tzinfo=UTC), points=TWO)
    runs = (AirRun(start=datetime(2026, 8, 12, 18, tzinfo=UTC), minutes=30.0),)
    job = job.model_copy(update={"observations": (*job.observations, later), "runs": runs})
    found = job_before(job)
    assert found is not None
    before, day = found
    assert day == date(2026, 8, 14)
    assert [profile.id for profile in before.profiles] == ["p"]
    assert before.runs == ()


def test_a_lone_depth_is_no_plan(make_job):
    """A first reading at one depth makes no plan: the second day's profile is the first that does."""
    job = make_job(rows=((0.5, 27.0, 7.0),))
    later = Profile(id="q", time=datetime(2026, 8, 14, 14, tzinfo=UTC), points=TWO)
    job = job.model_copy(update={"observations": (*job.observations, later)})
    assert job_before(job) is None
