"""Dawn and dusk by the sun."""

from datetime import UTC, date, datetime

import numpy as np
import pytest

from plumeline.job.document import Site
from plumeline.stages.column.sun import dawn_hour, daylight, dusk_hour, hour_before, sun_hours

BOG = Site(latitude_deg=46.041, longitude_deg=-89.686, elevation_m=494.0, time_zone="Etc/GMT+6")
TOWN = Site(latitude_deg=35.23, longitude_deg=-80.84, elevation_m=230.0, time_zone="America/New_York")


def test_the_sun_rises_and_sets_when_a_light_sensor_by_the_lake_says() -> None:
    """Early July by Sparkling Lake: light rises at 04:10 and ends at 19:50 standard time (data README)."""
    light = daylight(BOG, [date(2009, 7, 6)])
    assert light.dawn_hour_h[0] == pytest.approx(4 + 14 / 60, abs=0.1)
    assert light.dusk_hour_h[0] == pytest.approx(19 + 52 / 60, abs=0.1)


def test_dawn_is_told_on_the_wall_clock_on_both_sides_of_a_change_to_summer_time() -> None:
    """The clock jumps an hour in the night to 2026-03-08 in New York's zone (US law, second Sunday)."""
    light = daylight(TOWN, [date(2026, 3, 7), date(2026, 3, 8)])
    assert light.dawn_hour_h[1] - light.dawn_hour_h[0] == pytest.approx(1.0, abs=0.05)
    assert light.dusk_hour_h[1] - light.dusk_hour_h[0] == pytest.approx(1.0, abs=0.05)


def test_day_and_night_are_about_equal_at_the_equinox_in_a_zone_of_half_an_hour() -> None:
    """At the March equinox the sun is up 12.1 h at any latitude (refraction and the sun's disc, any almanac)."""
    place = Site(latitude_deg=18.52, longitude_deg=73.86, elevation_m=560.0, time_zone="Asia/Kolkata")
    light = daylight(place, [date(2026, 3, 20)])
    assert light.dusk_hour_h[0] - light.dawn_hour_h[0] == pytest.approx(12.1, abs=0.1)
    assert dawn_hour(place, [date(2026, 3, 20)])[0] == 6
    assert dusk_hour(place, [date(2026, 3, 20)])[0] == 18


def test_every_day_of_a_run_has_one_dawn_and_one_dusk_also_across_a_change_of_clocks() -> None:
    """Ten days hold ten sunrises, some 24 h apart whatever the clock does."""
    found = sun_hours(TOWN, datetime(2026, 10, 28, 4, tzinfo=UTC), 240)
    assert len(found.dawn_index) == len(found.dusk_index) == 10
    assert set(np.diff(found.dawn_index)) <= {24, 25}
    assert set(np.diff(found.dusk_index)) <= {23, 24}


@pytest.mark.parametrize(("day", "long"), [(date(2026, 6, 21), True), (date(2026, 12, 21), False)])
def test_a_place_without_sunset_or_sunrise_still_has_a_dawn(day: date, long: bool) -> None:
    """North of the polar circle the sun stays up at midsummer and down at midwinter (any almanac)."""
    place = Site(latitude_deg=69.6, longitude_deg=18.9, elevation_m=10.0, time_zone="Europe/Oslo")
    light = daylight(place, [day])
    assert np.isfinite([light.dawn_hour_h[0], light.dusk_hour_h[0]]).all()
    assert bool(light.dusk_hour_h[0] - light.dawn_hour_h[0] > 20.0) is long


def test_the_hour_before_is_the_ponds_own_also_where_its_clock_is_half_an_hour_off() -> None:
    """India's clock is UTC + 5:30 (IANA time zone database): 10:20 there begins an hour at 04:30 UTC."""
    moment = datetime(2026, 5, 1, 4, 50, tzinfo=UTC)
    assert hour_before(moment, "Asia/Kolkata") == datetime(2026, 5, 1, 4, 30, tzinfo=UTC)
    assert hour_before(moment, "America/New_York") == datetime(2026, 5, 1, 4, 0, tzinfo=UTC)
