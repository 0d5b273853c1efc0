"""Weather: the record on its own hours, days drawn where there is none, and climate days that keep the water warm."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from plumeline.job.document import WeatherHour
from plumeline.kernels import column_index as ix
from plumeline.stages.column.weather import member_weather, weather_base

START = datetime(2026, 8, 8, 4, tzinfo=UTC)  # midnight of daylight time in the job's zone, UTC − 4
ZONE = ZoneInfo("America/New_York")


def record(first, hours, *, zone=UTC, missing=()):
    """Return weather whose air temperature is the number of its hour from `first`, stamped at the hour's end."""
    return tuple(
        WeatherHour(
            time=(first + timedelta(hours=h + 1)).astimezone(zone),
            air_temperature_degc=0.1 * h,
            relative_humidity_fraction=0.6,
            wind_speed_m_s=1.0,
            shortwave_w_m2=0.0,
            cloud_fraction=0.3,
        )
        for h in range(hours)
        if h not in missing
    )


@pytest.mark.parametrize("zone", [UTC, ZONE])
def test_a_stamp_is_the_end_of_its_hour_in_whatever_zone_it_was_written(make_job, zone):
    """The hour stamped 01:00 is the one from 00:00: it fills hour 0, not hour 1."""
    base = weather_base(make_job(weather=record(START, 48, zone=zone)), START, 48, 27.0)
    assert base.hours[ix.AIR_TEMPERATURE] == pytest.approx(0.1 * np.arange(48))
    assert base.recorded


def test_the_local_clock_runs_beside_the_hours(make_job):
    """Hour 0 from 04:00 UTC is midnight by the pond's clock in summer (UTC − 4)."""
    base = weather_base(make_job(weather=record(START, 48)), START, 48, 27.0)
    assert list(base.local_hour) == list(range(24)) * 2


def test_whole_local_days_are_drawn_from(make_job):
    """A record of three days from local noon holds two whole local days, each beginning at its midnight."""
    noon = START + timedelta(hours=12)
    base = weather_base(make_job(weather=record(noon, 72)), START, 96, 27.0)
    assert len(base.days) == 2
    assert base.days[0][ix.AIR_TEMPERATURE] == pytest.approx(0.1 * np.arange(12, 36))
    assert base.days[1][ix.AIR_TEMPERATURE] == pytest.approx(0.1 * np.arange(36, 60))


def test_hours_without_record_are_said_and_drawn(make_job):
    """Missing hours make a caution that counts them, and each pond fills them with an hour of a recorded day."""
    missing = (30, 31, 32)
    base = weather_base(make_job(weather=record(START, 72, missing=missing)), START, 96, 27.0)
    assert [notice.code for notice in base.notices] == ["weather-short"]
    assert "27 of 96" in base.notices[0].text
    assert np.isnan(base.hours[0, 30:33]).all()
    weather = member_weather(base, 40, 1, 72)
    assert np.isfinite(weather).all()


def test_members_keep_to_the_record_in_the_past_and_leave_it_ahead(make_job):
    """In the known hours every pond has the recorded wind; some days ahead many have another day's."""
    days = []
    for d in range(8):
        for hour in record(START + timedelta(days=d), 24):
            days.append(hour.model_copy(update={"wind_speed_m_s": float(d)}))
    base = weather_base(make_job(weather=tuple(days)), START, 24 * 8, 27.0)
    weather = member_weather(base, 400, 3, 72)
    wind = weather[ix.WIND_SPEED]
    told = np.repeat(np.arange(8.0), 24)[:, None]
    assert (wind[:72] == told[:72]).all()
    away = (wind != told).mean(axis=1)
    assert away[72 + 12] < 0.12  # today's forecast: 5 % leave it, and a few draw another day
    assert 0.2 < away[24 * 7 + 12] < 0.6  # the fifth day
    spread = weather[ix.AIR_TEMPERATURE] - base.hours[ix.AIR_TEMPERATURE][:, None]
    assert spread[:72].std() == pytest.approx(0.4, rel=0.15)
    on_record = spread[24 * 7 + 12][wind[24 * 7 + 12] == 7.0]
    assert on_record.std() > 0.8  # the error of the forecast has grown


def test_the_same_seed_gives_the_same_weather(make_job):
    """Seeds are arguments: the same one, the same weather to the bit; another, another."""
    base = weather_base(make_job(), START, 96, 27.0)
    one, same, other = (member_weather(base, 8, seed, 72) for seed in (1, 1, 2))
    assert np.array_equal(one, same)
    assert not np.array_equal(one, other)


@pytest.mark.parametrize("surface_degc", [22.0, 27.0, 31.0])
def test_climate_days_keep_the_surface_as_warm_as_it_was_read(make_job, grid, limits, surface_degc):
    """Ten days of climate weather leave a mixed pond's middle member near where it began."""
    from plumeline.stages.column import march, still
    from plumeline.stages.column.march import Columns
    from plumeline.stages.column.members import LEAD_HOURS, parameters_of
    from plumeline.stages.column.priors import draw_priors

    job = make_job()
    members, hours = 48, 240
    base = weather_base(job, START, hours, surface_degc)
    assert not base.recorded
    assert base.notices[0].code == "weather-assumed"
    state = np.zeros((ix.STATES, grid.layers, members))
    state[ix.TEMPERATURE] = surface_degc
    state[ix.SALT], state[ix.OXYGEN], state[ix.ALKALINITY], state[ix.CARBON] = 0.1, 8.0, 1.5, 1.55
    parameters = parameters_of(draw_priors(members, 4), np.full(members, 1.5), job, 4000.0, False)
    none = np.zeros(members, dtype=np.int64)
    columns = Columns(
        grid, state, state[ix.TEMPERATURE].copy(), parameters, member_weather(base, members, 4, hours), limits,
        none, none - 1, none.copy(), np.zeros(1, dtype=np.int64),
    )  # fmt: skip
    after = march(columns, still(hours), hours).after.state[ix.TEMPERATURE]
    whole = grid.volume_m3 @ after / grid.volume_m3.sum()
    print(f"{surface_degc}: surface {np.median(after[0]):.2f}, whole {np.median(whole):.2f}")
    assert np.median(after[0]) == pytest.approx(surface_degc, abs=1.5)
    assert LEAD_HOURS == 72


def test_climate_days_fall_from_clear_to_dark(make_job):
    """The drawn days differ in sun: a clear one has 0.95 of a clear sky's light, the darkest 0.3."""
    base = weather_base(make_job(), START, 24, 27.0)
    light = base.days[:, ix.SHORTWAVE].sum(axis=1)
    assert (np.diff(light) < 0.0).all()
    assert light[-1] / light[0] == pytest.approx(0.30 / 0.95, rel=1e-6)
    # at 36° N in August a clear day brings 26-29 MJ/m² (FAO 56, table of R_so ≈ 0.75 R_a, from memory)
    assert 24.0 < light[0] / 0.95 * 3600.0 / 1e6 < 31.0
