"""outline.geojson: forms that are read, faults, and latitude and longitude that changed places."""

from __future__ import annotations

import json
import math

import pytest

from plumeline.files import geojson
from plumeline.files.job_folder import load_job
from plumeline.job.document import Point

LON, LAT = -79.5631, 35.8652
RING = [
    [LON - 4e-4, LAT - 4e-4],
    [LON + 4e-4, LAT - 4e-4],
    [LON + 4e-4, LAT + 4e-4],
    [LON - 4e-4, LAT + 4e-4],
]
CLOSED = [*RING, RING[0]]
ISLAND = [[LON, LAT], [LON, LAT + 1e-4], [LON + 1e-4, LAT + 1e-4], [LON, LAT]]
SMALL = [[lon + 0.003, lat] for lon, lat in ISLAND]
POLYGON = {"type": "Polygon", "coordinates": [CLOSED]}


@pytest.mark.parametrize(
    "shape",
    [
        POLYGON,
        {"type": "Polygon", "coordinates": [RING]},
        {"type": "Polygon", "coordinates": [[[*pair, 207.0] for pair in CLOSED]]},
        {"type": "Feature", "properties": None, "geometry": POLYGON},
        {
            "type": "FeatureCollection",
            "features": [{"type": "Feature", "geometry": POLYGON, "properties": {}}],
        },
        {"type": "MultiPolygon", "coordinates": [[CLOSED]]},
        {"type": "GeometryCollection", "geometries": [{"type": "Point", "coordinates": [0, 0]}, POLYGON]},
    ],
)
def test_forms_of_geojson_that_are_read(folder, shape):
    """RFC 7946: a polygon alone, in a feature, in a collection; heights dropped, open rings closed."""
    outline = load_job(folder.write("outline.geojson", json.dumps(shape)).path).pond.outline
    assert outline == (tuple(Point(longitude_deg=lon, latitude_deg=lat) for lon, lat in RING),)


def test_islands_are_inner_rings(folder):
    """The second ring is an island."""
    folder.write("outline.geojson", json.dumps({"type": "Polygon", "coordinates": [CLOSED, ISLAND]}))
    assert len(load_job(folder.path).pond.outline) == 2


def test_of_several_polygons_the_largest_is_the_pond_and_it_is_said(folder):
    """Two ponds in one file: the larger, with a caution."""
    folder.write("outline.geojson", json.dumps({"type": "MultiPolygon", "coordinates": [[SMALL], [CLOSED]]}))
    assert "2 polygons" in folder.notice("outline-several")
    assert len(load_job(folder.path).pond.outline[0]) == 4


def test_a_self_crossing_outline_is_a_fault_with_the_place(folder):
    """A bow tie crosses in its middle, which is the site itself."""
    bow = [RING[0], RING[2], RING[1], RING[3], RING[0]]
    fault = folder.write("outline.geojson", json.dumps({"type": "Polygon", "coordinates": [bow]})).fault()
    assert fault.problem == "the outline crosses itself."
    assert f"{LON:.4f}" in fault.where
    assert f"{LAT:.4f}" in fault.where
    assert "one round" in fault.remedy


def test_swapped_latitude_and_longitude_are_put_right_and_said(folder, square):
    """Coordinates that lie at the site once exchanged are exchanged."""
    folder.write("outline.geojson", square(swap=True))
    assert "changed places" in folder.notice("swapped-coordinates")
    assert load_job(folder.path).pond.outline[0][0].latitude_deg == pytest.approx(LAT, abs=1e-3)


def line_of(points) -> str:
    """Return a LineString as text."""
    return json.dumps({"type": "LineString", "coordinates": points})


@pytest.mark.parametrize(
    ("text", "problem", "remedy"),
    [
        ("{", "not valid JSON", "polygon"),
        ("[]", "no polygon", "polygon"),
        (line_of(RING), "no polygon (LineString)", "one polygon"),
        (json.dumps({"type": "Polygon", "coordinates": [RING[:2]]}), "2 different points", "polygon"),
        (json.dumps({"type": "Polygon", "coordinates": [[["a", 1]]]}), "not a pair of numbers", "polygon"),
        (json.dumps({"type": "Polygon", "coordinates": []}), "without points", "polygon"),
        (
            json.dumps({"type": "Polygon", "coordinates": [[[1e400, 1], [0, 0], [1, 1]]]}),
            "not finite",
            "again",
        ),
        (
            json.dumps({"type": "Polygon", "coordinates": [[[6e5, 4e6], [6e5, 4.1e6], [6.1e5, 4e6]]]}),
            "no longitude and latitude",
            "WGS 84",
        ),
        (
            json.dumps({"type": "Polygon", "coordinates": [[[LON, 41], [LON, 41.1], [LON + 0.1, 41]]]}),
            "from the site",
            "position of the site",
        ),
        (
            json.dumps(
                {"type": "Polygon", "coordinates": [[[LON, LAT], [LON, LAT + 1e-4], [LON, LAT + 2e-4]]]}
            ),
            "encloses no area",
            "shore",
        ),
        (
            json.dumps({"type": "Polygon", "coordinates": [CLOSED, SMALL]}),
            "do not fit together",
            "islands inside",
        ),
    ],
)
def test_a_spoilt_outline_is_one_fault(folder, text, problem, remedy):
    """What is wrong with the outline, and what would be right."""
    fault = folder.write("outline.geojson", text).fault()
    assert fault.file == "outline.geojson"
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_an_area_that_is_not_the_outlines_is_said(folder, square):
    """1.6 acres answered, 0.5 acre drawn: a caution, and the outline counts."""
    folder.write("outline.geojson", square(0.00025))
    assert "outline is used" in folder.notice("area-differs")


def test_an_outline_in_metres_may_stand_in_the_toml(folder):
    """pond.outline takes places of the local plane."""
    ring = ", ".join(f"{{ x_m = {x}, y_m = {y} }}" for x, y in [(-40, -40), (40, -40), (40, 40), (-40, 40)])
    folder.change("[pond]", f"[pond]\noutline = [[{ring}]]")
    assert load_job(folder.path).pond.outline[0][1].x_m == 40.0


def test_a_crossing_outline_in_the_toml_is_a_fault(folder):
    """The same check holds for an outline in job.toml."""
    ring = ", ".join(f"{{ x_m = {x}, y_m = {y} }}" for x, y in [(-40, -40), (40, 40), (40, -40), (-40, 40)])
    fault = folder.change("[pond]", f"[pond]\noutline = [[{ring}]]").fault()
    assert (fault.file, fault.problem) == ("job.toml", "the outline crosses itself.")


def test_the_writer_closes_rings_and_gives_the_same_bytes(tmp_path):
    """RFC 7946 section 3.1.6: the first and last position of a ring are the same."""
    ring = [Point(longitude_deg=lon, latitude_deg=lat) for lon, lat in RING]
    feature = geojson.feature(geojson.polygon([ring]), {"area_m2": 1.5}, "shore")
    text = geojson.collection_text([feature, geojson.feature(geojson.spot(ring[0]), {"name": "A"})])
    assert text == geojson.collection_text([feature, geojson.feature(geojson.spot(ring[0]), {"name": "A"})])
    first = json.loads(text)["features"][0]
    assert first["geometry"]["coordinates"][0] == CLOSED
    assert (first["id"], first["properties"]) == ("shore", {"area_m2": 1.5})


def test_the_writer_refuses_numbers_that_json_has_not():
    """NaN is not JSON (RFC 8259 section 6)."""
    with pytest.raises(ValueError, match="JSON"):
        geojson.collection_text([geojson.feature(geojson.line([]), {"depth_m": math.nan})])
