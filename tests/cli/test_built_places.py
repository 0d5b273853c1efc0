"""What the crew let down elsewhere than planned comes back in: layout, air line and maps stand on it."""

from __future__ import annotations

import json
import shutil

import pytest

from plumeline.demo import demo_folder

BUILT = """
[as_built]
made_on = 2026-08-20

[[as_built.diffusers]]
name = "A"
place = { longitude_deg = -79.5629800, latitude_deg = 35.8652000 }

[[as_built.diffusers]]
name = "B"
place = { longitude_deg = -79.5630500, latitude_deg = 35.8653000 }
"""
PLACES = {"A": (-79.56298, 35.8652), "B": (-79.56305, 35.8653)}


@pytest.fixture(name="built")
def _built(tmp_path):
    """Return the demo pond, of whose three diffusers the crew let down two, some metres off."""
    folder = tmp_path / "oak"
    shutil.copytree(demo_folder(), folder)
    with (folder / "job.toml").open("a", encoding="utf-8") as file:
        file.write(BUILT)
    return folder


def document(run, *words):
    """Return what a command prints with --json."""
    code, out, err = run(*words, "--json")
    assert code == 0, err
    return json.loads(out)


def test_layout_lines_and_air_stand_on_what_was_built(run, built):
    """Two diffusers where they lie, their depths from the survey, their lines cut anew, an outlet each in the air."""
    found = document(run, "layout", str(built))
    there = {
        name: (at["longitude_deg"], at["latitude_deg"]) for name, at in found["places"]["diffusers"].items()
    }
    assert there.keys() == PLACES.keys()
    for name, place in PLACES.items():
        assert there[name] == pytest.approx(place, abs=1e-6)
    planned = document(run, "layout", str(demo_folder()))
    ours = {item["name"]: item for item in found["layout"]["diffusers"]}
    theirs = {item["name"]: item for item in planned["layout"]["diffusers"]}
    assert ours["A"]["depth_m"] != theirs["A"]["depth_m"]
    assert ours["A"]["branch_run_m"] != theirs["A"]["branch_run_m"]
    assert {item["name"] for item in found["layout"]["stakes"]} == {"A", "B"}
    air = document(run, "air", str(built))["air"]
    assert {item["name"] for item in air["branches"]} == {"A", "B"}


def test_the_map_for_a_handheld_has_the_built_places(run, built, tmp_path):
    """GeoJSON of the export: A and B where they were let down, and no C."""
    out = tmp_path / "oak.geojson"
    assert run("export", str(built), "--as", "geojson", "--out", str(out))[0] == 0
    marks = {
        one["properties"]["name"]: one["geometry"]["coordinates"]
        for one in json.loads(out.read_text())["features"]
        if one["properties"]["layer"] == "mark" and one["properties"]["name"] != "manifold"
    }
    assert marks.keys() == PLACES.keys()
    for name, place in PLACES.items():
        assert marks[name] == pytest.approx(list(place), abs=1e-6)
