"""The column alone: where it starts, what it shows, and clocks that change or lie half an hour off."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from plumeline.errors import InputError
from plumeline.job.document import AirRun, Site, WeatherHour
from plumeline.stages.column.run import at_depths, column_run, default_depths
from plumeline.stages.column.run_air import Blow, RunAir, air_plan

READ = datetime(2026, 8, 11, 23, tzinfo=UTC)
DEPTHS = (0.3, 1.0, 2.0, 3.0)


def ran(job, bowl, hours, **changes):
    """Return a run of some hours from the reading, with few members."""
    options = {"air": RunAir(), "members": 16, "seed": 1, **changes}
    first = options.pop("first", READ)
    return column_run(
        job, bowl(4000.0, 4.0, 1.0), 4.0, first, first + timedelta(hours=hours), DEPTHS, **options
    )


def test_the_first_hour_lies_by_the_profile_that_was_read(make_job, bowl):
    """An hour after the reading the middle pond has its temperatures, those of the conftest's profile."""
    found = ran(make_job(), bowl, 2, members=64)
    temperature, oxygen = found.series
    assert found.times[0] == READ + timedelta(hours=1)
    read = np.interp(DEPTHS, (0.0, 1.0, 2.0, 3.0, 4.0), (28.0, 27.5, 22.0, 18.0, 17.0))
    assert temperature.median[0] == pytest.approx(read, abs=0.5)
    assert oxygen.median[0][0] == pytest.approx(7.9, abs=0.7)
    assert temperature.p05[0][0] < temperature.median[0][0] < temperature.p95[0][0]


def test_the_run_starts_from_the_last_profile_before_it_and_knows_nothing_later(make_job, bowl):
    """Of two profiles a day apart the first counts where the run starts between them."""
    warm = tuple((z, t + 3.0, o) for z, t, o in ((0.0, 28.0, 8.0), (4.0, 17.0, 0.1)))
    job = make_job(profiles=((READ, ((0.0, 25.0, 8.0), (4.0, 17.0, 0.1))), (READ + timedelta(days=1), warm)))
    found = ran(job, bowl, 3, first=READ + timedelta(hours=12))
    assert found.reading_time == READ
    assert found.times[0] == READ + timedelta(hours=13)
    only = ran(
        make_job(profiles=((READ, ((0.0, 25.0, 8.0), (4.0, 17.0, 0.1))),)),
        bowl,
        3,
        first=READ + timedelta(hours=12),
    )
    assert found.series[0].median == only.series[0].median


def test_a_start_before_every_profile_is_an_error_that_says_the_first(make_job, bowl):
    """There is no water to start from."""
    with pytest.raises(InputError, match="2026-08-11 23:00"):
        ran(make_job(), bowl, 3, first=READ - timedelta(days=1))


@pytest.mark.parametrize(("depths", "hours", "place"), [((9.0,), 3, "--depths"), ((1.0,), -1, "--to")])
def test_depths_under_the_bottom_and_ends_before_the_start_are_errors(make_job, bowl, depths, hours, place):
    """Each error names the option at fault."""
    with pytest.raises(InputError) as caught:
        column_run(
            make_job(), bowl(4000.0, 4.0, 1.0), 4.0, READ, READ + timedelta(hours=hours), depths,
            air=RunAir(), members=16, seed=1,
        )  # fmt: skip
    assert caught.value.place == place


def test_air_day_and_night_mixes_what_stays_apart_without(make_job, bowl):
    """Two days of air from near the bottom leave less difference between top and bottom than no air at all."""
    aired = RunAir((3.5,), (0.03,), (Blow(READ, READ + timedelta(days=2)),), "all")
    still, mixed = ran(make_job(), bowl, 48), ran(make_job(), bowl, 48, air=aired)
    apart = [run.series[0].median[-1][0] - run.series[0].median[-1][3] for run in (still, mixed)]
    assert apart[1] < 0.5 * apart[0]


def test_other_states_come_with_the_same_water(make_job, bowl):
    """Asking for ammonia too does not move temperature or oxygen."""
    plain, more = ran(make_job(), bowl, 3), ran(make_job(), bowl, 3, also=("ammonia_mg_l",))
    assert [series.name for series in more.series] == ["temperature_degc", "do_mg_l", "ammonia_mg_l"]
    assert np.array(more.series[0].median) == pytest.approx(np.array(plain.series[0].median), abs=1e-9)
    assert np.array(more.series[2].median).min() > 0.0


def test_conditioned_members_stand_where_the_reading_was(make_job, bowl, monkeypatch):
    """With --condition the ensemble is that of the start-up plan, and the answer says so."""
    from plumeline.stages.column import members as members_module

    if hasattr(members_module, "BATCH"):
        monkeypatch.setattr(members_module, "BATCH", 256)
    found = ran(make_job(), bowl, 2, condition=True)
    assert found.conditioned
    assert found.series[0].median[0][0] == pytest.approx(28.0, abs=1.5)
    assert all(notice.code != "not-conditioned" for notice in found.notices)


def test_a_pond_on_a_clock_half_an_hour_off_keeps_its_weather_and_its_whole_hours(make_job, bowl):
    """India's clock is UTC + 5:30 (IANA): hours end at its full hours, and a record stamped so is not lost."""
    zone = ZoneInfo("Asia/Kolkata")
    place = Site(latitude_deg=18.5, longitude_deg=73.9, elevation_m=500.0, time_zone="Asia/Kolkata")
    first = datetime(2026, 8, 12, 5, 20, tzinfo=zone)
    weather = tuple(
        WeatherHour(
            time=datetime(2026, 8, 12, tzinfo=zone) + timedelta(hours=h + 1), air_temperature_degc=25.0,
            relative_humidity_fraction=0.8, wind_speed_m_s=1.0, shortwave_w_m2=0.0,
        )
        for h in range(48)
    )  # fmt: skip
    job = make_job(profiles=((first, ((0.0, 28.0, 8.0), (4.0, 17.0, 0.1))),), site=place, weather=weather)
    found = ran(job, bowl, 6, first=first)
    assert [moment.minute for moment in found.times] == [0] * len(found.times)
    assert found.times[0].isoformat() == "2026-08-12T06:00:00+05:30"
    assert all(notice.code not in ("weather-short", "weather-assumed") for notice in found.notices)


def test_hours_follow_each_other_over_the_end_of_summer_time(make_job, bowl):
    """In New York's zone 2026-11-01 has 25 hours (US law): the hour from one to two comes twice, an offset apart."""
    zone = ZoneInfo("America/New_York")
    first = datetime(2026, 10, 31, 22, tzinfo=zone)
    job = make_job(profiles=((first, ((0.0, 15.0, 8.0), (4.0, 12.0, 2.0))),))
    found = ran(job, bowl, 8, first=first)
    apart = np.diff([moment.timestamp() for moment in found.times])
    assert (apart == 3600.0).all()
    clocks = [f"{moment:%H:%M%z}" for moment in found.times]
    assert clocks[2:5] == ["01:00-0400", "01:00-0500", "02:00-0500"]


def test_air_runs_in_the_steps_that_its_times_cover():
    """Half an hour from ten past the hour is six steps of five minutes, from the third on."""
    start = datetime(2026, 8, 11, 12, tzinfo=UTC)
    begin = start + timedelta(minutes=10)
    plan = air_plan(
        RunAir((3.0, 2.0), (0.02, 0.02), (Blow(begin, begin + timedelta(minutes=30), (1,)),)), start, 2
    )
    assert list(np.flatnonzero(plan.on[:, 1])) == [2, 3, 4, 5, 6, 7]
    assert plan.on[:, 0].sum() == 0


def test_values_between_layers_are_linear_and_held_beyond_them(grid):
    """A profile that is linear in depth is read exactly at any depth within the layers' middles."""
    values = np.broadcast_to(2.0 * grid.centre_m[None, :, None], (1, grid.layers, 3))
    inside, above = at_depths(values, grid, (1.234, 0.0))[0]
    assert inside == pytest.approx(2.468)
    assert above == pytest.approx(2.0 * grid.centre_m[0])


def test_default_depths_are_feet_that_a_person_would_read_at():
    """1 ft, then every 2 ft, none under the bottom."""
    assert np.array(default_depths(2.0)) / 0.3048 == pytest.approx([1.0, 3.0, 5.0])


def test_air_that_has_run_since_the_profile_is_in_the_water_also_with_none_to_come(make_job, bowl):
    """A day of air in the job's runs, after the profile and before the first hour shown, has mixed the pond by then."""
    runs = (AirRun(start=READ + timedelta(hours=1), minutes=1440.0),)
    later = READ + timedelta(hours=30)
    through = RunAir((3.5,), (0.03,), (), "as it ran", ("D1",))
    still = ran(make_job(), bowl, 2, first=later)
    mixed = ran(make_job(runs=runs), bowl, 2, first=later, air=through)
    apart = [run.series[0].median[0][0] - run.series[0].median[0][3] for run in (still, mixed)]
    assert apart[1] < 0.7 * apart[0]
    other = (AirRun(start=READ + timedelta(hours=1), minutes=60.0, diffusers=("D9",)),)
    with pytest.raises(InputError, match="D9"):
        ran(make_job(runs=other), bowl, 2, first=later, air=through)
