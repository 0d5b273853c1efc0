"""A traced shore set right by one taped distance."""

from __future__ import annotations

import json

import pytest
from pyproj import Geod
from tests.files.bring.made import SITE, ellipse, kml, kml_polygon, put

from plumeline.errors import InputError
from plumeline.files.bring.merge import Wish, merged
from plumeline.files.bring.reading import read_foreign
from plumeline.files.bring.taped import parse_taped
from plumeline.files.geojson import FILE as OUTLINE

GEOD = Geod(ellps="WGS84")
WEST, EAST = ellipse(40)[20], ellipse(40)[0]


def words(length, first=WEST, last=EAST):
    """Return a taped distance between two places."""
    return f"{first[1]:.7f}, {first[0]:.7f} to {last[1]:.7f}, {last[0]:.7f} = {length}"


def scaled_ring(tmp_path, text):
    """Return the ring of an ellipse that is scaled, and all that is said."""
    path = put(tmp_path, "a.kml", kml(kml_polygon(ellipse(40), "")))
    merge = merged({}, [read_foreign(path)], SITE, Wish(taped=parse_taped(text)))
    ring = json.loads(merge.files[OUTLINE])["features"][0]["geometry"]["coordinates"][0]
    return ring, " ".join(said for _, said in merge.words)


@pytest.mark.parametrize("length", ["400 ft", "100 m"])
def test_the_taped_distance_is_right_afterwards(tmp_path, length):
    """Between the two corners by pyproj's geodesic within a millimetre, and the area by the square."""
    ring, said = scaled_ring(tmp_path, words(length))
    wanted_m = {"400 ft": 121.92, "100 m": 100.0}[length]
    west, east = min(ring), max(ring)
    assert GEOD.inv(*west, *east)[2] == pytest.approx(wanted_m, abs=2e-3)
    before_m = GEOD.inv(*WEST, *EAST)[2]
    area_m2, _ = GEOD.polygon_area_perimeter(*zip(*ring, strict=True))
    old_m2, _ = GEOD.polygon_area_perimeter(*zip(*ellipse(40), strict=True))
    assert area_m2 / old_m2 == pytest.approx((wanted_m / before_m) ** 2, rel=1e-4)
    assert "was scaled by" in said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("412 ft", "no taped distance"),
        (words("412"), "has no unit"),
        (words("412 gal"), "gal"),
        (words("2 ft"), "too short"),
        (words("1000 m"), "the drawing has"),
        (words("300 ft", first=EAST), "same corner"),
        (words("300 ft", first=(WEST[0] - 0.01, WEST[1])), "no corner of the shore lies at"),
    ],
)
def test_a_distance_that_can_not_be_meant_is_refused(tmp_path, text, said):
    """With what is wrong and what would be right."""
    with pytest.raises(InputError, match=said):
        scaled_ring(tmp_path, text)
