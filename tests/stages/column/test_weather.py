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
    base = weather_base(make_job(weather=record(START, 48, zone=zone)), START, 48, 27.0, 4000.0)
    assert base.hours[ix.AIR_TEMPERATURE] == pytest.approx(0.1 * np.arange(48))
    assert base.recorded


def test_the_local_clock_runs_beside_the_hours(make_job):
    """Hour 0 from 04:00 UTC is midnight by the pond's clock in summer (UTC − 4)."""
    base = weather_base(make_job(weather=record(START, 48)), START, 48, 27.0, 4000.0)
    assert list(base.local_hour) == list(range(24)) * 2


def test_whole_local_days_are_drawn_from(make_job):
    """A record of three days from local noon holds two whole local days, each beginning at its midnight."""
    noon = START + timedelta(hours=12)
    base = weather_base(make_job(weather=record(noon, 72)), START, 96, 27.0, 4000.0)
    assert len(base.days) == 2
    assert base.days[0][ix.AIR_TEMPERATURE] == pytest.approx(0.1 * np.arange(12, 36))
    assert base.days[1][ix.AIR_TEMPERATURE] == pytest.approx(0.1 * np.arange(36, 60))


def test_hours_without_record_are_said_and_drawn(make_job):
    """Missing hours make a caution that counts them, and each pond fills them with an hour of a recorded day."""
    missing = (30, 31, 32)
    base = weather_base(make_job(weather=record(START, 72, missing=missing)), START, 96, 27.0, 4000.0)
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
            days.append(
                hour.model_copy(update={"wind_speed_m_s": 1.0 + d, "pressure_pa": 95_000.0 + 100.0 * d})
            )
    base = weather_base(make_job(weather=tuple(days)), START, 24 * 8, 27.0, 4000.0)
    weather = member_weather(base, 400, 3, 72)
    wind, pressure = weather[ix.WIND_SPEED], weather[ix.PRESSURE]
    told = np.repeat(np.arange(8.0), 24)[:, None]
    assert wind[:72] == pytest.approx(np.broadcast_to(1.0 + told[:72], wind[:72].shape))
    away = (pressure != 95_000.0 + 100.0 * told).mean(axis=1)  # a day's pressure tells which day it is
    assert away[72 + 12] < 0.12  # today's forecast: 5 % leave it, and a few draw another day
    assert 0.2 < away[24 * 7 + 12] < 0.6  # the fifth day
    spread = weather[ix.AIR_TEMPERATURE] - base.hours[ix.AIR_TEMPERATURE][:, None]
    assert spread[:72].std() == pytest.approx(0.4, rel=0.15)
    last = 24 * 7 + 12
    on_record = pressure[last] == 95_700.0
    assert spread[last][on_record].std() > 1.2  # the error of the forecast has grown
    assert np.log(wind[last][on_record]).std() > 0.2


def test_errors_of_the_air_persist_from_day_to_day(make_job):
    """Air temperature keeps 0.73 of its departure to the next day at a small lake (its record, 2007-2009)."""
    base = weather_base(make_job(), START, 24 * 20, 27.0, 4000.0)
    noon = member_weather(base, 600, 5, 0)[ix.AIR_TEMPERATURE, 12::24]
    clear = noon - noon.mean(axis=1, keepdims=True)
    day_to_day = np.corrcoef(clear[:-1].ravel(), clear[1:].ravel())[0, 1]
    assert 0.6 < day_to_day < 0.95


def test_hot_dark_and_still_weeks_are_among_the_members(make_job):
    """One mild week is all that is known, yet a pond in a hundred has one 2 K warmer with four fifths of the wind.

    What kills comes from outside the record (science §5).
    """
    mild = [hour.model_copy(update={"air_temperature_degc": 22.0}) for hour in record(START, 168)]
    base = weather_base(make_job(weather=tuple(mild)), START + timedelta(days=7), 24 * 9, 27.0, 4000.0)
    sunny = base.days[:, ix.AIR_TEMPERATURE].mean()
    weather = member_weather(base, 1000, 6, 0)[:, : 24 * 7]
    warmer = weather[ix.AIR_TEMPERATURE].mean(axis=0) - sunny
    wind = weather[ix.WIND_SPEED].mean(axis=0)
    assert ((warmer > 2.0) & (wind < 0.8)).mean() > 0.01
    assert warmer.mean() == pytest.approx(0.0, abs=0.3)
    assert wind.mean() == pytest.approx(1.0, abs=0.05)


def test_warmer_air_is_damper_and_its_sky_warmer(make_job):
    """At the same relative humidity vapour follows Bolton 1980 and the clear sky Brutsaert 1975.

    In air 5 K over 20 °C the vapour is 1.355 times as much (computed by hand).
    """
    from plumeline.kernels.weather_shift import shift_weather

    sky = 1.24 * (0.6 * 23.37 / 293.15) ** (1 / 7) * 5.670374e-8 * 293.15**4
    hour = np.array([20.0, 0.6 * 2337.0, 1.0, 500.0, sky, 1e5]).reshape(6, 1, 1)
    shift_weather(hour, np.array([900.0]), *(np.full((1, 1), v) for v in (5.0, 0.5, 1.0)))
    assert hour[ix.VAPOUR, 0, 0] / (0.6 * 2337.0) == pytest.approx(1.355, abs=0.003)
    assert hour[ix.SKY, 0, 0] / sky == pytest.approx(
        (298.15 / 293.15) ** (27 / 7) * 1.355 ** (1 / 7), rel=2e-3
    )
    assert hour[ix.WIND_SPEED, 0, 0] == 0.5
    dull = np.array([20.0, 0.6 * 2337.0, 1.0, 500.0, sky, 1e5]).reshape(6, 1, 1)
    shift_weather(dull, np.array([900.0]), *(np.full((1, 1), v) for v in (0.0, 1.0, 0.5)))
    assert dull[ix.SHORTWAVE, 0, 0] == 250.0
    # half the light is cloud of a half: Crawford & Duchon 1999
    clear = 1.24 * (0.6 * 23.37 / 293.15) ** (1 / 7)
    assert dull[ix.SKY, 0, 0] / sky == pytest.approx((0.5 + 0.5 * clear) / clear, rel=1e-6)


def test_an_hour_between_two_records_of_a_half_hour_zone_is_their_mean(make_job):
    """A record on UTC hours seen on the clock of India (UTC + 5:30): each hour is half of one and half of the next."""
    from plumeline.job.document import Site

    place = Site(latitude_deg=18.5, longitude_deg=73.9, elevation_m=500.0, time_zone="Asia/Kolkata")
    start = datetime(2026, 8, 8, 18, 30, tzinfo=UTC)  # midnight there
    base = weather_base(make_job(site=place, weather=record(START, 96)), start, 48, 27.0, 4000.0)
    assert base.local_hour[0] == 0
    assert base.hours[ix.AIR_TEMPERATURE, :3] == pytest.approx(0.1 * np.array([14.5, 15.5, 16.5]))
    assert base.recorded


def test_days_of_twenty_three_and_twenty_five_hours_are_one_day_each(make_job):
    """Over the end of summer time 2026-11-01 in New York's zone (US law): the record stays hour by hour."""
    start = datetime(2026, 10, 31, 4, tzinfo=UTC)
    base = weather_base(make_job(weather=record(start, 96)), start, 96, 12.0, 4000.0)
    assert base.hours[ix.AIR_TEMPERATURE] == pytest.approx(0.1 * np.arange(96))
    assert list(np.bincount(base.local_day_index - base.local_day_index[0])) == [24, 25, 24, 23]
    assert np.isfinite(member_weather(base, 8, 1, 24)).all()


def test_the_same_seed_gives_the_same_weather(make_job):
    """Seeds are arguments: the same one, the same weather to the bit; another, another."""
    base = weather_base(make_job(), START, 96, 27.0, 4000.0)
    one, same, other = (member_weather(base, 8, seed, 72) for seed in (1, 1, 2))
    assert np.array_equal(one, same)
    assert not np.array_equal(one, other)


@pytest.mark.parametrize("surface_degc", [22.0, 27.0, 31.0])
def test_climate_days_keep_the_surface_as_warm_as_it_was_read(make_job, grid, limits, surface_degc):
    """Ten days of climate weather leave a mixed pond's middle member near where it began."""
    from plumeline.stages.column import march, still
    from plumeline.stages.column.march import Columns
    from plumeline.stages.column.members import parameters_of
    from plumeline.stages.column.priors import draw_priors

    job = make_job()
    members, hours = 48, 240
    base = weather_base(job, START, hours, surface_degc, 4000.0)
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


def test_climate_days_fall_from_clear_to_dark(make_job):
    """The drawn days differ in sun: a clear one has 0.95 of a clear sky's light, the darkest 0.3, in the open."""
    from plumeline.job.document import Pond

    in_the_open = Pond(area_m2=4000.0, max_depth_m=4.0, obstacle_height_m=0.0)
    base = weather_base(make_job(pond=in_the_open), START, 24, 27.0, 4000.0)
    light = base.days[:, ix.SHORTWAVE].sum(axis=1)
    assert (np.diff(light) < 0.0).all()
    assert light[-1] / light[0] == pytest.approx(0.30 / 0.95, rel=1e-6)
    # at 36° N in August a clear day brings 26-29 MJ/m² (FAO 56, table of R_so ≈ 0.75 R_a, from memory)
    assert 24.0 < light[0] / 0.95 * 3600.0 / 1e6 < 31.0


def test_trees_take_sun_and_give_longwave(make_job):
    """Behind 12 m of trees round 4,000 m² some two thirds of a dull day's light come through, as much as the open sky.

    The view factor is that of Howell 1982; under full cloud all light is diffuse (Erbs et al. 1982: 0.99 of it).
    """
    from plumeline.job.document import Pond
    from plumeline.science.heat import open_sky_fraction_howell_1982

    dull = [
        hour.model_copy(update={"shortwave_w_m2": 60.0 if 10 <= h % 24 < 16 else 0.0})
        for h, hour in enumerate(record(START, 48))
    ]
    parts = {}
    for height in (0.0, 12.0):
        pond = Pond(area_m2=4000.0, max_depth_m=4.0, obstacle_height_m=height)
        parts[height] = weather_base(make_job(pond=pond, weather=tuple(dull)), START, 48, 27.0, 4000.0).hours
    through = parts[12.0][ix.SHORTWAVE].sum() / parts[0.0][ix.SHORTWAVE].sum()
    assert through == pytest.approx(open_sky_fraction_howell_1982(4000.0, 12.0), abs=0.02)
    assert (parts[12.0][ix.SKY] > parts[0.0][ix.SKY]).all()
    black = 5.670374e-8 * (parts[0.0][ix.AIR_TEMPERATURE] + 273.15) ** 4
    assert (parts[12.0][ix.SKY] < black).all()
    assert parts[0.0][ix.SHORTWAVE].max() == 60.0
