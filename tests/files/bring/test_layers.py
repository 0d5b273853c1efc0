"""GeoJSON, shapefiles and GeoPackages: what pyogrio writes comes back, and what would do harm is refused."""

from __future__ import annotations

import json
import sqlite3
import zipfile

import numpy as np
import pyogrio.raw
import pytest
import shapely
from pyproj import Transformer
from tests.files.bring.made import LAT, LON, SITE, ellipse, put

from plumeline.errors import InputError
from plumeline.files.bring.merge import Wish, merged
from plumeline.files.bring.reading import read_foreign
from plumeline.files.bring.value import Asked, Source

SYSTEMS = ["EPSG:4326", "EPSG:32617", "EPSG:2264", "EPSG:3857", "EPSG:4269"]
"""WGS 84, UTM 17 N, a state plane in US survey feet, web maps, NAD 83."""


def write(path, shapes, names=(), crs="EPSG:4326", layer=None, kind="Polygon", append=False, field="name"):
    """Write shapes given in longitude and latitude through pyogrio, in a reference system."""
    turn = Transformer.from_crs("EPSG:4326", crs, always_xy=True)
    moved = [shapely.transform(shape, lambda xy: np.column_stack(turn.transform(*xy.T))) for shape in shapes]
    values = [np.array(list(names) or [""] * len(shapes), dtype=object)]
    pyogrio.raw.write(
        path, shapely.to_wkb(np.array(moved, dtype=object)), values, [field], geometry_type=kind, crs=crs,
        driver="GPKG" if path.suffix == ".gpkg" else "ESRI Shapefile", layer=layer, append=append,
    )  # fmt: skip
    return path


POND = shapely.Polygon(ellipse(), [ellipse(12, size=0.2)])


@pytest.mark.parametrize("crs", SYSTEMS)
@pytest.mark.parametrize("name", ["pond.gpkg", "pond.shp"])
def test_a_polygon_comes_back_from_any_reference_system(tmp_path, crs, name):
    """Shore and island within a centimetre of where they were (two metres where NAD 83 has no shift to WGS 84)."""
    found = read_foreign(write(tmp_path / name, [POND], ["upper"], crs))
    area = found.areas[0]
    ours = shapely.Polygon(*[area.rings[0], area.rings[1:]])
    assert area.name == "upper"
    assert len(area.rings) == 2
    assert ours.symmetric_difference(POND).area < 1e-3 * POND.area
    assert np.abs(np.array(ours.bounds) - POND.bounds).max() < (
        2e-5 if crs in ("EPSG:2264", "EPSG:4269") else 1e-7
    )


def test_a_shapefile_in_one_archive(tmp_path):
    """Zipped in a folder of its own, as download pages give it; other members are left alone."""
    write(tmp_path / "pond.shp", [POND], ["upper"], "EPSG:2264")
    path = tmp_path / "all.zip"
    with zipfile.ZipFile(path, "w") as archive:
        for part in tmp_path.glob("pond.*"):
            archive.write(part, f"data/{part.name}")
        archive.writestr("data/readme.txt", "hello")
    found = read_foreign(path)
    assert (found.kind, found.file, found.areas[0].name) == ("shapefile", "all.zip", "upper")
    assert "US survey foot" in found.crs


def test_a_shapefile_without_its_siblings_says_which(tmp_path):
    """The .shp alone is a part."""
    write(tmp_path / "pond.shp", [POND])
    (tmp_path / "pond.dbf").unlink()
    with pytest.raises(InputError, match=r"has no \.dbf beside it"):
        read_foreign(tmp_path / "pond.shp")


def test_a_shapefile_in_survey_feet_without_prj_is_asked_for(tmp_path):
    """The likely system is suggested by the site; told, it is taken."""
    write(tmp_path / "pond.shp", [POND], crs="EPSG:2264")
    (tmp_path / "pond.prj").unlink()
    with pytest.raises(InputError, match=r"names no reference system.*EPSG:2264"):
        read_foreign(tmp_path / "pond.shp", Asked(near_deg=(LON, LAT)))
    assert len(read_foreign(tmp_path / "pond.shp", Asked(crs="EPSG:2264")).areas) == 1


def test_several_layers_are_taken_together(tmp_path):
    """A shore in one layer, soundings in another; the depth's unit stands in its field."""
    path = write(tmp_path / "a.gpkg", [POND], ["upper"], layer="shore")
    spots = [shapely.Point(LON, LAT), shapely.Point(LON + 1e-4, LAT)]
    write(path, spots, ["10", "11.5"], layer="depths", kind="Point", append=True, field="depth_ft")
    merge = merged({}, [read_foreign(path)], SITE, Wish())
    assert merge.corner_count == 72
    assert merge.files["soundings.csv"].splitlines()[1:] == [
        b"-79.5631,35.8652,3.048",
        b"-79.563,35.8652,3.5052",
    ]


def test_a_depth_of_points_without_a_unit_is_asked_for(tmp_path):
    """Not guessed; told, taken."""
    path = write(tmp_path / "a.gpkg", [shapely.Point(LON, LAT)], ["10"], kind="Point", field="Depth")
    assert '--columns "depth=Depth:ft"' in read_foreign(path).cautions[0]
    assert read_foreign(path, Asked({"depth": Source("Depth", "ft")})).spots.depth_m == pytest.approx([3.048])


@pytest.mark.parametrize(
    ("command", "words"),
    [
        ("CREATE VIRTUAL TABLE trap USING fts5(x)", "runs code of its own"),
        ("DROP TABLE pond; CREATE VIEW pond AS SELECT 1 AS fid, NULL AS geom", "is no table"),
        (
            "ALTER TABLE pond ADD COLUMN trap TEXT GENERATED ALWAYS AS (hex(name)) VIRTUAL",
            "computes what it shows",
        ),
        ("UPDATE gpkg_contents SET table_name = 'elsewhere.pond'", "is no table"),
        ("DELETE FROM gpkg_contents", "holds no layer"),
        ("DROP TABLE gpkg_contents", "no GeoPackage that can be read"),
    ],
)
def test_a_geopackage_that_does_more_than_hold_a_map_is_refused(tmp_path, command, words):
    """Virtual tables, views, computed columns, layers in other files."""
    path = write(tmp_path / "pond.gpkg", [POND], layer="pond")
    base = sqlite3.connect(path)
    base.executescript("PRAGMA foreign_keys = OFF;")
    for name in [row[0] for row in base.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")]:
        base.execute(f'DROP TRIGGER "{name}"')
    base.executescript(command)
    base.commit()
    base.close()
    with pytest.raises(InputError, match=words):
        read_foreign(path)


def test_the_file_itself_is_never_opened_for_writing(tmp_path):
    """A copy is read: no byte of the file changes, no journal appears beside it."""
    path = write(tmp_path / "pond.gpkg", [POND])
    before = path.read_bytes()
    read_foreign(path)
    assert path.read_bytes() == before
    assert [one.name for one in tmp_path.iterdir()] == ["pond.gpkg"]


@pytest.mark.parametrize("name", ["pond.gpkg", "pond.shp"])
@pytest.mark.parametrize("cut", [0.3, 0.9])
def test_a_torn_file_is_refused_or_read_as_far_as_it_goes(tmp_path, name, cut):
    """Clear words and no crash."""
    path = write(tmp_path / name, [POND] * 20)
    data = path.read_bytes()
    path.write_bytes(data[: int(cut * len(data))])
    words = ""
    try:
        found = read_foreign(path)
    except InputError as error:
        words = str(error)
    assert path.name in words or len(found.areas) < 20 or found.asides


def test_geojson_with_its_old_reference_system(tmp_path):
    """The member crs of the older form is obeyed; features without a geometry are counted."""
    turn = Transformer.from_crs("EPSG:4326", "EPSG:2264", always_xy=True)
    ring = [list(turn.transform(*place)) for place in ellipse()]
    features = [
        {
            "type": "Feature",
            "properties": {"name": "u"},
            "geometry": {"type": "Polygon", "coordinates": [ring]},
        },
        {"type": "Feature", "properties": None, "geometry": None},
    ]
    raw = {"type": "FeatureCollection", "features": features}
    raw["crs"] = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::2264"}}
    found = read_foreign(put(tmp_path, "a.geojson", json.dumps(raw)))
    assert np.allclose(found.areas[0].rings[0][:2], ellipse()[:2], atol=2e-5)
    assert [(aside.why, aside.rows) for aside in found.asides] == [("it has no geometry", (2,))]


@pytest.mark.parametrize(
    "text",
    [
        '{"type": "Polygon", "coordinates": "x"}',
        '{"type": "Feature", "geometry": {"type": "Polygon", "coordinates": [[[1, "a"]]]}}',
        '{"type": "FeatureCollection", "features": 3}',
        '{"type": "Polygon", "coordinates": ' + "[" * 500 + "]" * 500 + "}",
        '{"type": "Feature", ',
        "{" * 100_000,
    ],
)
def test_geojson_that_is_none_gives_words_or_nothing(tmp_path, text):
    """No traceback of another library."""
    try:
        found = read_foreign(put(tmp_path, "a.geojson", text))
    except InputError:
        return
    assert (found.areas, found.spots.count) == ((), 0)
