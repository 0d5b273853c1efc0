"""weather.csv: an hour a row, gaps, clocks."""

from __future__ import annotations

import itertools
from datetime import datetime, timedelta

import pytest

from plumeline.files.job_folder import load_job

HEAD = "time,air_temperature_degc,relative_humidity_pct,wind_speed_m_s,shortwave_w_m2\n"


def hours(count: int, *, start: str = "2026-08-11T01:00", skip: range = range(0)) -> str:
    """Return rows of weather, the temperature counting the hours, some skipped."""
    first = datetime.fromisoformat(start)
    return "".join(
        f"{(first + timedelta(hours=step)).isoformat()},{step / 10},65,1.5,{10 * step}\n"
        for step in range(count)
        if step not in skip
    )


def test_rows_become_hours_with_fractions_for_per_cent(folder):
    """65 per cent is 0.65; the stamp is the end of the hour and keeps its clock."""
    weather = load_job(folder.write("weather.csv", HEAD + hours(48)).path).weather
    assert len(weather) == 48
    assert weather[0].relative_humidity_fraction == pytest.approx(0.65)
    assert weather[0].time.isoformat() == "2026-08-11T01:00:00-04:00"
    assert weather[0].cloud_fraction is None


def test_other_units_and_optional_columns(folder):
    """Wind in miles an hour (0.44704 m/s each), pressure in hPa, rain in inches, cloud in per cent."""
    text = (
        "time,air_temperature_degf,relative_humidity_fraction,wind_speed_mph,shortwave_w_m2,cloud_pct,"
        "pressure_hpa,rain_in\n2026-08-11T10:00,86,0.5,10,500,30,989,0.1\n2026-08-11T11:00,86,0.5,10,500,30,989,\n"
    )
    hour = load_job(folder.write("weather.csv", text).path).weather[0]
    assert hour.wind_speed_m_s == pytest.approx(4.4704)
    assert hour.pressure_pa == pytest.approx(98900.0)
    assert (hour.rain_mm, hour.cloud_fraction) == (pytest.approx(2.54), pytest.approx(0.3))


def test_a_short_gap_is_filled_by_a_straight_line_and_said(folder):
    """Three missing hours are filled; the temperatures here lie on a line, so the line is known."""
    folder.write("weather.csv", HEAD + hours(48, skip=range(20, 23)))
    assert "neighbours: 3." in folder.notice("weather-filled")
    weather = load_job(folder.path).weather
    assert len(weather) == 48
    assert [hour.air_temperature_degc for hour in weather] == pytest.approx([step / 10 for step in range(48)])


def test_a_long_gap_cuts_the_weather_and_keeps_the_day_of_the_job(folder):
    """Four missing hours cut; the stretch with the job's morning stays."""
    folder.write("weather.csv", HEAD + hours(48, skip=range(20, 24)))
    assert "2026-08-11 01:00 to 2026-08-11 20:00" in folder.notice("weather-cut")
    assert len(load_job(folder.path).weather) == 20


def test_a_row_with_a_blank_counts_as_a_missing_hour(folder):
    """A logger's blank cell is a missing hour, filled and said."""
    rows = hours(48).split("\n")
    rows[9] = rows[9].replace(",65,", ",,")
    folder.write("weather.csv", HEAD + "\n".join(rows))
    assert "row 11" in folder.notice("weather-blank")
    assert "neighbours: 1." in folder.notice("weather-filled")


def test_weather_of_another_time_is_a_caution(folder):
    """Last year's weather is kept and said not to cover the day."""
    folder.write("weather.csv", HEAD + hours(48, start="2025-08-11T01:00"))
    assert "does not cover 2026-08-11" in folder.notice("weather-elsewhen")


def test_rows_out_of_order_are_put_in_order_and_said(folder):
    """Order in the file does not matter."""
    rows = hours(12).strip().split("\n")
    folder.write("weather.csv", HEAD + "\n".join(reversed(rows)) + "\n")
    assert "order of time" in folder.notice("weather-unordered")
    assert load_job(folder.path).weather[0].air_temperature_degc == 0.0


def test_the_night_when_clocks_go_back_has_its_25_hours(folder):
    """Local stamps through 1 November 2026, 01:00 twice, are hours without a gap."""
    folder.change("date = 2026-08-11", "date = 2026-11-01")
    stamps = ["00:00", "01:00", "01:00", "02:00", "03:00", "04:00"]
    rows = "".join(f"2026-11-01T{stamp},10,65,1.5,0\n" for stamp in stamps)
    folder.write("weather.csv", HEAD + rows)
    weather = load_job(folder.path).weather
    steps = {after.time - before.time for before, after in itertools.pairwise(weather)}
    assert len(weather) == 6
    assert steps == {timedelta(hours=1)}


@pytest.mark.parametrize(
    ("rows", "where", "problem", "remedy"),
    [
        ("2026-08-11T10:00,30,65,1,500\n2026-08-11T10:15,30,65,1,500\n", "row 3", "15 minutes after", "hour"),
        (
            "2026-08-11T10:00,30,65,1,500\n2026-08-11T10:00,31,65,1,500\n",
            "row 3",
            "already in row 2",
            "one row an hour",
        ),
        (
            "2026-08-11T10:00,30,650,1,500\n2026-08-11T11:00,30,65,1,500\n",
            "row 2, relative_humidity_pct",
            "above the limit of 1",
            "0 to 1",
        ),
        (
            "2026-08-11T10:00,30,65,-1,500\n2026-08-11T11:00,30,65,1,500\n",
            "row 2, wind_speed_m_s",
            "limit of 0",
            "unit",
        ),
        (
            "2026-08-11T10:00,86,65,1,500\n2026-08-11T11:00,30,65,1,500\n",
            "row 2, air_temperature_degc",
            "limit of 60",
            "unit",
        ),
        (
            "2026-08-11T10:00,30,65,1,5000\n2026-08-11T11:00,30,65,1,500\n",
            "row 2, shortwave_w_m2",
            "limit of 1500",
            "unit",
        ),
        ("noon,30,65,1,500\n2026-08-11T11:00,30,65,1,500\n", "row 2, time", "not a time", "ISO 8601"),
    ],
)
def test_a_spoilt_hour_is_one_fault(folder, rows, where, problem, remedy):
    """Quarter hours, a repeated hour, per cent over a hundred, negative wind, Fahrenheit."""
    fault = folder.write("weather.csv", HEAD + rows).fault()
    assert (fault.file, fault.where) == ("weather.csv", where)
    assert problem in fault.problem
    assert remedy in fault.remedy
