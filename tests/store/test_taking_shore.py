"""A shore that was walked goes into the outline only where somebody picks it; the old one stays in the history."""

from __future__ import annotations

import json
import math

import pytest
from tests.capture_items import item
from tests.store.test_taking import hand, take

from plumeline.files.field_items import read_item
from plumeline.files.field_shore import shore_words
from plumeline.store import Folder

LAT, LON = 35.8652, -79.5631


def ring(east_deg, north_deg, count=40, lat=LAT, lon=LON):
    """Return the places of a walk round an oval, as the phone sends them."""
    turns = [2 * math.pi * n / count for n in range(count)]
    return {
        "latitude_deg": [round(lat + north_deg * math.sin(turn), 7) for turn in turns],
        "longitude_deg": [round(lon + east_deg * math.cos(turn), 7) for turn in turns],
        "accuracy_m": [4.0] * count,
        "after_s": [float(n) for n in range(count)],
    }


def walk(pond, number=0, what="shore", **more):
    return item("shore", number, pond_id=pond, body={"places": ring(**more), "what": what})


@pytest.fixture(name="pond")
def _pond(store, oak):
    files = {name: data for name, data in oak.files.items() if name != "weather.csv"}
    return store.ponds.add(Folder("oak", files), author="office", reason="").pond_id


@pytest.fixture(name="bare")
def _bare(store, oak):
    """The demo pond without outline and soundings: area and depth alone."""
    files = {
        name: data
        for name, data in oak.files.items()
        if name not in ("outline.geojson", "soundings.csv", "weather.csv")
    }
    return store.ponds.add(Folder("bare", files), author="", reason="").pond_id


def test_without_a_shore_the_walk_becomes_it(store, bare):
    """Every corner to seven digits, as revision 2; the sizes said are those of the oval."""
    done = take(store, bare, hand(store, walk(bare, east_deg=0.0006, north_deg=0.0004)))
    assert done.saved is not None, done.left
    assert done.saved.number == 2
    outline = done.saved.job.pond.outline[0]
    assert len(outline) == 40
    assert outline[0].longitude_deg == pytest.approx(LON + 0.0006, abs=1e-8)
    assert "1 shore" in done.saved.reason


def test_words_of_a_walk_are_its_lengths_by_pyproj():
    """Way, gap and area against the ellipsoid's own: within half a percent."""
    from pyproj import Geod

    body = ring(0.0006, 0.0004)
    made = read_item(json.dumps(item("shore", body={"places": body})).encode()).parsed
    geod = Geod(ellps="WGS84")
    area_m2, _ = geod.polygon_area_perimeter(body["longitude_deg"], body["latitude_deg"])
    way_m = geod.line_length(body["longitude_deg"], body["latitude_deg"])
    points, way, area, *_ = (words.replace("\u2060", "") for words in shore_words(made))
    assert points.startswith("40 points, good to 13 ft 1 in (4")
    said_m, said_m2 = (float(text.split("(")[1].split()[0].replace(",", "")) for text in (way, area))
    assert said_m == pytest.approx(way_m, rel=0.005)
    assert said_m2 == pytest.approx(abs(area_m2), rel=0.005)


def test_a_shore_that_is_there_goes_only_when_the_walk_is_picked_and_stays_in_the_history(store, pond):
    """Left with both areas; picked, it is the next revision, and the first holds the old one to the byte."""
    before = store.ponds.folder(pond, 1).files["outline.geojson"]
    number = hand(store, walk(pond, east_deg=0.0006, north_deg=0.0004))
    done = take(store, pond, number)
    assert done.saved is None
    assert "the job has a shore already" in done.left[0].words
    assert "Pick this one" in done.left[0].words
    assert store.ponds.folder(pond, 1).files["outline.geojson"] == before
    done = take(store, pond, number, picked=True)
    assert done.saved is not None
    assert len(done.saved.job.pond.outline[0]) == 40
    assert len(done.saved.job.pond.soundings) == len(store.ponds.revision(pond, 1).job.pond.soundings)
    assert store.ponds.folder(pond, 1).files["outline.geojson"] == before


def test_an_island_comes_inside_the_shore_and_stays_when_that_is_walked_anew(store, bare):
    """Two rings; one that lies on land, and one without a shore, are refused in words."""
    island = hand(store, walk(bare, 1, "island", east_deg=0.0001, north_deg=0.0001))
    assert "no shore around it yet" in take(store, bare, island).left[0].words
    assert take(store, bare, hand(store, walk(bare, 2, east_deg=0.0006, north_deg=0.0004))).saved
    done = take(store, bare, island)
    assert done.saved is not None, done.left
    assert [len(one) for one in done.saved.job.pond.outline] == [40, 40]
    far = hand(store, walk(bare, 3, "island", east_deg=0.0001, north_deg=0.0001, lon=LON + 0.001))
    assert "does not lie in the water" in take(store, bare, far).left[0].words
    anew = take(store, bare, hand(store, walk(bare, 4, east_deg=0.0007, north_deg=0.0004)), picked=True)
    assert len(anew.saved.job.pond.outline) == 2


@pytest.mark.parametrize(
    ("places", "words"),
    [
        (ring(0.0006, 0.0004, lat=37.0), "from the site's position"),
        (
            {**ring(0.0006, 0.0004, 4), "latitude_deg": [LAT, LAT + 0.0004, LAT, LAT + 0.0004]}
            | {"longitude_deg": [LON, LON + 0.0004, LON + 0.0004, LON]},
            "touches or crosses itself",
        ),
        ({**ring(0.0006, 0.0004, 4), "latitude_deg": [LAT] * 4}, "encloses no area"),
    ],
    ids=["elsewhere", "an eight", "a line"],
)
def test_what_is_no_shore_of_this_pond_is_left_in_words(store, bare, places, words):
    """Nothing is saved; the item stays."""
    number = hand(store, item("shore", 9, pond_id=bare, body={"places": places}))
    done = take(store, bare, number)
    assert done.saved is None
    assert words in done.left[0].words
    assert store.taking.list.one(number).state == "conflict"


def test_a_shore_in_job_toml_is_not_doubled(store, pond):
    """The words say that it is given twice; the job stays as it was."""
    files = dict(store.ponds.folder(pond, 1).files)
    corners = ", ".join(
        f"{{ longitude_deg = {lon}, latitude_deg = {lat} }}"
        for lon, lat in zip(
            *(ring(0.0006, 0.0004, 8)[name] for name in ("longitude_deg", "latitude_deg")), strict=True
        )
    )
    files["job.toml"] = files["job.toml"].replace(b"[pond]", f"[pond]\noutline = [[{corners}]]".encode(), 1)
    del files["outline.geojson"]
    store.ponds.save_files(pond, files, expected_number=1, author="", reason="")
    done = take(store, pond, hand(store, walk(pond, 5, east_deg=0.0006, north_deg=0.0004)))
    assert done.saved is None
    assert "twice" in done.left[0].words
