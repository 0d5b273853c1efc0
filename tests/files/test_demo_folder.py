"""Hollow Oak is what the scenario says, and comes out of its script."""

from __future__ import annotations

import importlib.util
import itertools
import math
from pathlib import Path

import pytest
from pyproj import Geod

from plumeline.demo import demo_folder
from plumeline.files.job_folder import check_job

ROOT = Path(__file__).resolve().parents[2]
ACRE_M2 = 4046.8564224
FOOT_M = 0.3048


@pytest.fixture(scope="module")
def report():
    """The check of the demo folder."""
    return check_job(demo_folder())


@pytest.fixture(scope="module")
def script():
    """The script that makes the folder, as a module."""
    spec = importlib.util.spec_from_file_location("make_demo", ROOT / "scripts" / "make_demo.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_it_has_no_fault_and_no_notice(report):
    """The demo is whole: nothing wrong, odd or empty."""
    assert report.faults == ()
    assert report.notices == ()


def test_its_pond_is_of_1_6_acres_on_the_ellipsoid(report):
    """The outline encloses 1.6 acres by the geodesic area of pyproj."""
    ring = report.job.pond.outline[0]
    lon, lat = [place.longitude_deg for place in ring], [place.latitude_deg for place in ring]
    area = abs(Geod(ellps="WGS84").polygon_area_perimeter(lon, lat)[0])
    assert area == pytest.approx(1.6 * ACRE_M2, rel=2e-3)


def test_it_follows_the_scenario(report):
    """14 ft, 680 ft, 430 ft of line, three diffusers, ten days before the reading, a fortnight after."""
    job = report.job
    assert max(item.depth_m for item in job.pond.soundings) == pytest.approx(14 * FOOT_M)
    assert job.site.elevation_m == pytest.approx(680 * FOOT_M)
    assert sum(piece.length_m for piece in job.air.trunk) == pytest.approx(430 * FOOT_M)
    assert len(job.air.diffusers) == 3
    reading = job.profiles[0].time
    assert (reading - job.weather[0].time).days >= 10
    assert (job.weather[-1].time - reading).days >= 14
    assert 40 <= len(job.pond.soundings) <= 50


def test_its_diffusers_stand_at_13_11_and_9_feet(report, script):
    """The true basin of the script is as deep as wanted under each diffuser."""
    basin = script.Basin(script.random.Random(script.SEED))
    depths = []
    for diffuser in report.job.air.diffusers:
        azimuth, _, radius = script.GEOD.inv(
            script.LONGITUDE_DEG,
            script.LATITUDE_DEG,
            diffuser.place.longitude_deg,
            diffuser.place.latitude_deg,
        )
        angle = math.radians(azimuth)
        depths.append(basin.depth_ft(radius * math.sin(angle), radius * math.cos(angle)))
    assert depths == pytest.approx([13.0, 11.0, 9.0], abs=0.02)


def test_its_flows_of_air_are_echoed_in_a_size_that_can_be_read(report):
    """1.3 ft³/min x 0.3048³ m³/ft³ x 60 min/h = 2.209 m³/h; 5 make 8.495 (the foot of NIST SP 811, exact)."""
    said = " | ".join(report.echoes)
    assert "1.3 scfm = 2.21 m³/h (standard)" in said
    assert "5.0 cfm = 8.50 m³/h (intake)" in said
    assert "m³/s" not in said


def test_its_water_is_a_green_pond_in_august(report):
    """Warm and full of oxygen on top, cold and empty below, smelling, with the chemistry of both."""
    points = report.job.profiles[-1].points
    top, bottom = points[0], points[-1]
    assert 29 < top.temperature_degc < 31
    assert 9 <= top.do_mg_l <= 10
    assert 15 <= bottom.temperature_degc <= 19
    assert bottom.do_mg_l == pytest.approx(0.1)
    assert bottom.smell == "strong"
    assert sum(point.sulphide_mg_l is not None for point in points) >= 3
    falls = [
        (above.temperature_degc - below.temperature_degc, above.depth_m / FOOT_M)
        for above, below in itertools.pairwise(points)
    ]
    assert 5 <= max(falls)[1] <= 6


def test_its_weather_is_a_piedmont_august(report):
    """Mean high and low within 3 °C of the region's August normals, about 31 and 20 °C (from memory)."""
    weather = report.job.weather
    by_day = [weather[start : start + 24] for start in range(0, len(weather), 24)]
    highs = [max(hour.air_temperature_degc for hour in day) for day in by_day]
    lows = [min(hour.air_temperature_degc for hour in day) for day in by_day]
    assert sum(highs) / len(highs) == pytest.approx(31.0, abs=3.0)
    assert sum(lows) / len(lows) == pytest.approx(20.0, abs=3.0)
    assert {len(day) for day in by_day} == {24}


def test_its_sun_and_wind_are_possible(report):
    """Never more sun than outside the air (1,361 W/m² times the sine of a high sun), and a light wind."""
    assert 700 < max(hour.shortwave_w_m2 for hour in report.job.weather) < 1361 * 0.96
    assert max(hour.wind_speed_m_s for hour in report.job.weather) <= 7


def test_its_sun_stands_where_pvlib_says(report, script):
    """The sun of the weather file rises, sets and culminates within a degree of pvlib's solar position."""
    import pandas as pd
    import pvlib

    stamps = [hour.time for hour in report.job.weather[:72]]
    middle = pd.DatetimeIndex(stamps).tz_convert("UTC") - pd.Timedelta(minutes=30)
    height = pvlib.solarposition.get_solarposition(middle, script.LATITUDE_DEG, script.LONGITUDE_DEG)[
        "elevation"
    ]
    for moment, expected in zip(middle, height, strict=True):
        sine = script.sun_height_sine(moment.to_pydatetime().replace(tzinfo=None))
        assert math.degrees(math.asin(sine)) == pytest.approx(expected, abs=1.0)


def test_the_script_makes_the_folder_byte_for_byte(script, tmp_path, monkeypatch):
    """The checked-in files are what the script writes."""
    monkeypatch.setattr(script, "FOLDER", tmp_path)
    script.main()
    made = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    there = {path.name: path.read_bytes() for path in demo_folder().iterdir() if path.is_file()}
    assert made == there
