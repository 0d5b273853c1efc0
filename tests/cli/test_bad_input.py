"""Bad input through the shell: one message with file and way out, the right exit code, never a traceback."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest

from plumeline.demo import demo_folder

SQUARE = [(-79.5640, 35.8645), (-79.5620, 35.8645), (-79.5620, 35.8660), (-79.5640, 35.8660)]


def geojson(points: list[tuple[float, float]]) -> str:
    """Return an outline as GeoJSON, closed."""
    ring = [*points, points[0]]
    feature = {"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", "coordinates": [ring]}}
    return json.dumps({"type": "FeatureCollection", "features": [feature]})


CROSSED = geojson([SQUARE[0], SQUARE[2], SQUARE[1], SQUARE[3]])

SPOILT = {
    "binary job": ("job.toml", b"\x00\x01\x02\xff\xfe\x80" * 40, ("job.toml",)),
    "not UTF-8": ("job.toml", b'name = "Te\xefch"\n\xff\xff', ("job.toml", "UTF-8")),
    "empty job": ("job.toml", b"", ("job.toml", "empty")),
    "broken TOML": ("job.toml", b"[pond\narea = ", ("job.toml",)),
    "self-crossing outline": ("outline.geojson", CROSSED.encode(), ("outline.geojson", "crosses")),
    "not JSON": ("outline.geojson", b"{ oak", ("outline.geojson",)),
    "misspelt column": (
        "soundings.csv",
        b"lon,lat,dept_m\n-79.563,35.865,2.0\n",
        ("soundings.csv", "dept_m", "depth_m"),
    ),
    "missing column": ("soundings.csv", b"lon,depth_m\n-79.563,2.0\n", ("soundings.csv", "lat")),
    "oxygen of 45 mg/L": (
        "profiles.csv",
        b"time,depth_m,temperature_degc,do_mg_l\n2026-08-11T10:00,0,29,45\n2026-08-11T10:00,3,18,0.1\n",
        ("profiles.csv", "45"),
    ),
    "a unit nobody knows": (
        "profiles.csv",
        b"time,depth_m,temperature_degc,do_mg_l\n2026-08-11T10:00,2 smoots,29,4\n",
        ("profiles.csv", "smoots"),
    ),
}

COMMANDS = ("check", "survey", "reading", "layout", "air", "choose", "startup", "plan")


@pytest.mark.parametrize("name", SPOILT, ids=str)
@pytest.mark.parametrize("command", ["check", "survey", "startup"])
def test_a_spoilt_file_is_one_message_with_file_and_fault(run, ten, command, name):
    """The fault names its file and what is wrong; the exit code is 1."""
    file, data, said = SPOILT[name]
    (ten / file).write_bytes(data)
    code, out, err = run(command, str(ten))
    text = " ".join((out if command == "check" else err).split())
    assert code == 1
    for word in said:
        assert word in text, text
    assert "should not" not in text
    assert "Traceback" not in out + err
    if command != "check":
        assert out == ""


@pytest.mark.parametrize("command", COMMANDS)
def test_a_missing_folder_is_told_with_the_way_out(run, tmp_path, command):
    """Each command says that there is no such folder and how to make one."""
    code, out, err = run(command, str(tmp_path / "nowhere"))
    text = " ".join((out + err).split())
    assert code == 1
    assert "is not a folder" in text
    assert "plumeline new" in text
    assert not (tmp_path / "nowhere").exists()


@pytest.mark.parametrize("command", COMMANDS)
def test_an_empty_folder_asks_for_job_toml(run, tmp_path, command):
    """A folder without job.toml is a fault of job.toml, and nothing is left behind in it."""
    code, out, err = run(command, str(tmp_path))
    assert code == 1
    assert "job.toml" in out + err
    assert "Traceback" not in out + err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("command", COMMANDS)
def test_no_folder_at_all_is_a_usage_error(run, command):
    """Without FOLDER a command ends with 2 and its usage."""
    code, out, err = run(command)
    assert (code, out) == (2, "")
    assert "FOLDER" in err


def test_a_compressor_that_cannot_reach_the_depth_says_so(run, ten):
    """A curve that ends under the water's head reaches nothing: a message with the way out, exit 1."""
    with (ten / "job.toml").open("a", encoding="utf-8") as job:
        job.write(
            '\n[air.compressor]\nname = "blower"\ncurve = [ { pressure = "0 psig", intake_flow = "9 cfm" }, '
            '{ pressure = "2 psig", intake_flow = "0 cfm" } ]\n'
        )
    code, out, err = run("air", str(ten), "--depths", "12 ft")
    assert code == 1
    assert out == ""
    assert "reach" in err
    assert "Traceback" not in err
    assert "should not" not in err


def test_a_negative_flow_is_a_fault_of_its_key(run, ten):
    """A flow below zero names file and key."""
    job = ten / "job.toml"
    text = job.read_text(encoding="utf-8")
    job.write_text(text.replace("[power]", 'air_per_diffuser = "-1 scfm"\n\n[power]'), encoding="utf-8")
    code, out, _ = run("check", str(ten))
    assert code == 1
    assert "job.toml, air.air_per_diffuser" in out


def test_an_empty_job_toml_is_not_said_to_be_optional(run, ten):
    """Every file may be left out but this one."""
    (ten / "job.toml").write_text("", encoding="utf-8")
    _, out, _ = run("check", str(ten))
    assert "is empty" in out
    assert "plumeline new" in out
    assert "may be left" not in out


def test_a_bare_temperature_out_of_range_tells_the_unit_it_was_read_in(run):
    """A person who types 72 means Fahrenheit: the answer says what it was taken for."""
    code, _, err = run("quick", "saturation", "--temperature", "72")
    assert code == 2
    assert "Without a unit it is read in" in err


def test_a_folder_without_faults_names_the_next_command(run, ten):
    """What to do next stands at the end, and the blank files of a new folder in one sentence."""
    for name in ("profiles.csv", "soundings.csv"):
        heading = "time,depth_m,temperature_degc,do_mg_l" if name == "profiles.csv" else "x_m,y_m,depth_m"
        (ten / name).write_text(f"{heading}\n", encoding="utf-8")
    _, out, _ = run("check", str(ten))
    assert "Next: plumeline plan" in " ".join(out.split())
    assert out.count("count as not there") == 1


def test_one_sounding_on_another_continent_hints_at_swapped_places(run, tmp_path):
    """Longitude and latitude of one row changed places: said so, in units that a person reads."""
    folder = tmp_path / "oak"
    shutil.copytree(demo_folder(), folder)
    path = folder / "soundings.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    cells = lines[3].split(",")
    lines[3] = ",".join([cells[1], cells[0], *cells[2:]])
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    _, out, _ = run("check", str(folder))
    words = " ".join(out.split())
    assert "row 4" in words
    assert "whether longitude and latitude have changed places there" in words
    assert re.search(r"by up to [\d ]+ miles", words)


def test_a_file_in_place_of_the_folder_is_told(run, tmp_path):
    """FOLDER that is a file is no crash."""
    path = tmp_path / "job.toml"
    path.write_text("", encoding="utf-8")
    code, _, err = run("survey", str(path))
    assert code == 1
    assert "is not a folder" in err


def test_every_fault_is_told_at_once(run, ten):
    """Two spoilt files and a spoilt key give three faults in one answer."""
    (ten / "outline.geojson").write_text(CROSSED, encoding="utf-8")
    (ten / "soundings.csv").write_text("lon,lat,dept_m\n-79.563,35.865,2.0\n", encoding="utf-8")
    job: Path = ten / "job.toml"
    job.write_text(job.read_text(encoding="utf-8").replace("2 ft", "2 smoots"), encoding="utf-8")
    code, out, _ = run("check", str(ten), "--json")
    assert code == 1
    files = {fault["file"] for fault in json.loads(out)["faults"]}
    assert {"outline.geojson", "soundings.csv", "job.toml"} <= files


def test_odd_soundings_are_warned_of_by_the_survey_itself(run, tmp_path):
    """Feet under a header in metres, one depth ten times its neighbours: cautions beside the survey."""
    for name, change, said in (
        ("feet", ("depth_ft", "depth_m"), "depth_ft"),
        ("ten", (",12.6", ",126"), "decimal point"),
    ):
        folder = tmp_path / name
        shutil.copytree(demo_folder(), folder)
        path = folder / "soundings.csv"
        text = path.read_text(encoding="utf-8")
        assert change[0] in text
        path.write_text(text.replace(*change, 1), encoding="utf-8")
        code, out, err = run("survey", str(folder))
        assert code == 0, err
        cautions = [" ".join(part.split()) for part in out.split("\n\n") if part.startswith("Caution")]
        assert any(said in part for part in cautions)
