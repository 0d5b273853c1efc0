"""``plumeline export``: outside readers find in each file the places that the layout says."""

from __future__ import annotations

import csv
import json

import gpxpy
import pyogrio.raw
import pytest
import shapely

from plumeline.cli import main
from plumeline.demo import demo_folder
from plumeline.files.bring.reading import read_foreign
from plumeline.files.map_out import KINDS


@pytest.fixture(name="made", scope="module")
def _made(tmp_path_factory):
    """The demo pond's map in every kind."""
    place = tmp_path_factory.mktemp("maps")
    for kind in KINDS:
        assert main(["export", str(demo_folder()), "--as", kind, "--out", str(place / f"oak.{kind}")]) == 0
    return place


@pytest.fixture(name="features", scope="module")
def _features(made):
    return json.loads((made / "oak.geojson").read_text())["features"]


def places(features, layer):
    """Return name and place of the features of a layer."""
    some = [one for one in features if one["properties"]["layer"] == layer]
    return {one["properties"]["name"]: one["geometry"]["coordinates"] for one in some}


def test_the_places_of_geojson_are_those_of_the_layout(features, capsys):
    """Diffusers and manifold, as the layout's own JSON has them."""
    assert main(["layout", str(demo_folder()), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    marks = places(features, "mark")
    said = {"manifold": found["places"]["manifold"], **found["places"]["diffusers"]}
    assert set(marks) == set(said)
    for name, place in said.items():
        assert marks[name] == pytest.approx([place["longitude_deg"], place["latitude_deg"]], abs=1e-7), name
    assert len(places(features, "contour")) >= 3


def test_a_handheld_finds_waypoints_with_their_depth(made, features):
    """gpxpy reads the same places; the words name the depth of the bottom in feet and metres."""
    found = gpxpy.parse((made / "oak.gpx").read_text())
    marks = places(features, "mark")
    assert {way.name: [way.longitude, way.latitude] for way in found.waypoints} == marks
    assert all(" ft" in way.description for way in found.waypoints if way.name != "manifold")
    assert len(found.tracks[0].segments) == len(places(features, "pond")["Hollow Oak"])


def test_gdal_finds_contours_with_their_depths_in_the_geopackage(made, features):
    """Layers, geometry and depth equal those of the GeoJSON."""
    path = made / "oak.gpkg"
    layers = [str(name) for name, _ in pyogrio.list_layers(path)]
    assert layers == ["pond", "contour", "line", "mark"]
    meta, _, shapes, fields = pyogrio.raw.read(path, layer="contour")
    assert meta["crs"] == "EPSG:4326"
    depth = dict(zip(meta["fields"], fields, strict=True))["depth_m"]
    some = [one for one in features if one["properties"]["layer"] == "contour"]
    assert list(depth) == [one["properties"]["depth_m"] for one in some]
    ours = [shapely.geometry.shape(one["geometry"]) for one in some]
    assert all(a.equals(b) for a, b in zip(shapely.from_wkb(shapes), ours, strict=True))


def test_gdal_and_our_own_reader_find_the_pond_in_the_kml(made, features):
    """GDAL's KML reader and bring see the polygon and the marks."""
    names = [str(name) for name, _ in pyogrio.list_layers(made / "oak.kml")]
    assert {"pond", "contour", "line", "mark"} <= set(names)
    found = read_foreign(made / "oak.kml")
    (ring,) = [area.rings[0].tolist() for area in found.areas]
    (pond,) = places(features, "pond").values()
    assert ring == pond[0]
    assert found.spots.has_depth.sum() == len(places(features, "mark")) - 1


def test_the_table_has_the_same_places(made, features):
    """A row for each diffuser and the manifold."""
    rows = list(csv.DictReader((made / "oak.csv").read_text().splitlines()))
    assert {row["name"]: [float(row["lon"]), float(row["lat"])] for row in rows} == places(features, "mark")


def test_a_file_that_is_there_stays(made, run):
    """Unless it is asked for."""
    before = (made / "oak.csv").read_bytes()
    (made / "taken.csv").write_bytes(b"mine")
    words = ("export", str(demo_folder()), "--as", "csv", "--out", str(made / "taken.csv"))
    code, _, err = run(*words)
    assert (code, "--replace" in err) == (1, True)
    assert (made / "taken.csv").read_bytes() == b"mine"
    assert run(*words, "--replace")[0] == 0
    assert (made / "taken.csv").read_bytes() == before


def test_a_folder_that_is_not_there_is_said_in_words(tmp_path, capsys):
    """The system's own words named a file of ours that nobody had asked for."""
    out = tmp_path / "nowhere" / "oak.kml"
    assert main(["export", str(demo_folder()), "--as", "kml", "--out", str(out)]) == 1
    said = " ".join(capsys.readouterr().err.split())
    assert "the folder for it is not there" in said
    assert "Make it first" in said
    assert not out.parent.exists()
