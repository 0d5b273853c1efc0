"""``plumeline air`` with a route and a pipe in the ground: tables, JSON, drawing, bad input."""

import json

import pytest

JOB = """\
format = 1
name = "Old orchard"
date = 2026-08-11
[site]
latitude_longitude_elevation = "35.86, -79.56, 680 ft"
time_zone = "America/New_York"
[air]
intake_temperature = "95 degF"
soil_temperature = "65 degF"
[air.compressor]
name = "own"
curve = [ { pressure = "0 psig", intake_flow = "5 cfm" }, { pressure = "15 psig", intake_flow = "3.4 cfm" } ]
relief_pressure = "14 psig"
[air.old_pipe]
length = "300 ft"
[air.old_pipe.hold_test]
start_pressure = "9 psig"
end_pressure = "8.7 psig"
minutes = 30
temperature = "65 degF"
[air.old_pipe.open_end_test]
air = "3.5 scfm"
inlet_pressure = "0.33 psig"
temperature = "70 degF"
[[air.diffusers]]
name = "A"
depth = "9 ft"
branch_length = "120 ft"
[trench]
frost_depth = "20 in"
water_elevation = "680 ft"
dig_date = 2026-08-20
"""
ROUTE = """\
station_ft,elevation_ft,cover_in,soil,crossing
0,693,18,clay,
120,684.5,18,clay,power line to the shed
180,687,18,sandy loam,
300,681.5,18,sandy loam,
"""


@pytest.fixture
def orchard(tmp_path):
    """Return a folder with a route and an old pipe."""
    (tmp_path / "job.toml").write_text(JOB, encoding="utf-8")
    (tmp_path / "route.csv").write_text(ROUTE, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("units", ["us", "si"])
def test_the_tables_fit_and_say_what_was_asked(run, orchard, units):
    """80 columns; verdict, kinds, bands, low points, trench without a date."""
    code, out, _ = run("air", str(orchard), "--units", units)
    assert code == 0
    assert max(len(line) for line in out.splitlines()) <= 80
    for words in (
        "Pipe in the ground",
        "verdict",
        "What it may be",
        "Low points",
        "Trench",
        "none: see the cautions",
    ):
        assert words in out
    assert "2026-08-20" not in out
    assert ("gal" in out) == (units == "us")


def test_json_holds_route_and_old_pipe_in_si(run, orchard):
    """The numbers of both under names with units, the posterior summing to 1."""
    code, out, _ = run("air", str(orchard), "--json")
    assert code == 0
    found = json.loads(out)["air"]
    assert found["route"]["low_points"][0]["station_m"] == pytest.approx(120 * 0.3048)
    assert found["route"]["trench"]["dated_line"] is None
    assert sum(item["probability"] for item in found["old_pipe"]["classes"]) == pytest.approx(1.0)
    assert (
        found["old_pipe"]["bands"]["compressor"]["p05_pa"]
        < found["old_pipe"]["bands"]["compressor"]["p95_pa"]
    )
    assert found["old_pipe"]["verdict"] in {"usable", "usable-below"}


def test_the_profile_is_drawn_where_it_is_asked_for(run, orchard, tmp_path):
    """An SVG, and a clear word where it can't be one."""
    picture = tmp_path / "profile.svg"
    assert run("air", str(orchard), "--route-drawing", str(picture))[0] == 0
    assert picture.read_text(encoding="utf-8").startswith("<svg")
    code, _, err = run("air", str(orchard), "--route-drawing", str(tmp_path / "profile.png"))
    assert (code, ".svg" in err) == (2, True)
    (orchard / "route.csv").unlink()
    code, _, err = run("air", str(orchard), "--route-drawing", str(picture))
    assert (code, "no route to draw" in err) == (2, True)


def test_a_dam_is_refused_loudly(run, orchard):
    """A danger, REFUSED in the table, no soil to move."""
    text = ROUTE.replace("power line to the shed", "earthen dam")
    (orchard / "route.csv").write_text(text, encoding="utf-8")
    code, out, _ = run("air", str(orchard))
    assert code == 0
    assert "REFUSED" in out
    assert "Danger: The route runs in an earthen dam" in out
    assert "soil to move" not in out


def test_a_hold_test_in_which_pressure_rises_names_key_and_way_out(run, orchard):
    """One fault, no traceback, exit 1."""
    text = JOB.replace('"8.7 psig"', '"9.8 psig"')
    (orchard / "job.toml").write_text(text, encoding="utf-8")
    code, _, err = run("air", str(orchard))
    assert code == 1
    assert "air.old_pipe.hold_test: the pressure rises" in err
    assert "Traceback" not in err


def test_the_two_ends_are_shown_in_either_units(run, orchard):
    """Parts, labels and figures: feet and psi, or metres and kPa; JSON in SI with its units in the keys."""
    code, us, _ = run("air", str(orchard))
    assert code == 0
    code, si, _ = run("air", str(orchard), "--units", "si")
    assert code == 0
    for text in (us, si):
        assert "Parts: valve box" in text
        assert "gauge port with its" in text
        assert "gauge that stays trapped" in text
    assert max(len(line) for line in us.splitlines()) <= 80
    shore = {}
    for name, text in (("us", us), ("si", si)):
        shore[name] = text[text.index("Labels at the valves") :].split("\n\n")[1]
    assert "psig" in shore["us"]
    assert "kPa" not in shore["us"]
    assert "kPa" in shore["si"]
    assert "psi" not in shore["si"]
    code, out, _ = run("air", str(orchard), "--json")
    assert code == 0
    ends = json.loads(out)["air"]["ends"]
    assert {"trapped_pressure_pa", "decay_s", "off_s"} <= set(ends["restart"])
    assert all(set(row) == {"place", "count", "part", "size", "why"} for row in ends["parts"])
