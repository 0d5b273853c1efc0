"""Shores out of files: several ponds, islands, twists, too many and too few corners, the wrong hemisphere."""

from __future__ import annotations

import json

import numpy as np
import pytest
from tests.files.bring.made import LAT, LON, SITE, ellipse, gpx, kml, kml_polygon, put, track

from plumeline.errors import InputError
from plumeline.files.bring.merge import Wish, merged
from plumeline.files.bring.ponds import MOST_CORNERS
from plumeline.files.bring.reading import read_foreign
from plumeline.files.geojson import FILE as OUTLINE

EXACT_M2 = np.pi * 0.0006 * 0.0004 * 111_195.0**2 * np.cos(np.radians(LAT))


def taken(path, wish=None, site=SITE):
    """Return what becomes of one file in an empty folder, and the rings of the shore."""
    merge = merged({}, [read_foreign(path)], site, wish or Wish())
    rings = json.loads(merge.files[OUTLINE])["features"][0]["geometry"]["coordinates"]
    return merge, rings


def words_of(merge):
    """Return everything that is said."""
    return " ".join(words for _, words in merge.words) + " ".join(merge.cautions)


def test_a_walk_whose_ends_meet_is_a_shore(tmp_path):
    """It is closed, and its area is that of the ellipse within the chord error of 60 corners."""
    merge, rings = taken(put(tmp_path, "walk.gpx", gpx(track(ellipse()))))
    assert merge.corner_count == 60
    assert "were joined" in words_of(merge)
    assert rings[0][0] == rings[0][-1]


def test_a_walk_along_one_side_is_no_shore(tmp_path):
    """Its ends do not meet, and that is said."""
    path = put(tmp_path, "walk.gpx", gpx(track(ellipse()[:30])))
    with pytest.raises(InputError, match="1 lines whose ends do not meet"):
        merged({}, [read_foreign(path)], SITE, Wish())


def test_of_two_ponds_it_is_asked_which(tmp_path):
    """They are listed with area and place; name and number choose."""
    other = ellipse(40, lon=LON + 0.01, size=0.5)
    path = put(tmp_path, "two.kml", kml(kml_polygon(other, "lower") + kml_polygon(ellipse(), "upper")))
    with pytest.raises(
        InputError, match=r"--pond: there are 2 ponds: 1: 'upper', .* acre, at 35\.8.*2: 'lower'"
    ):
        taken(path)
    assert taken(path, Wish(pond="lower"))[0].corner_count == 40
    assert taken(path, Wish(pond="1"))[0].corner_count == 60
    with pytest.raises(InputError, match="no pond 'middle'"):
        taken(path, Wish(pond="middle"))


def test_a_polygon_inside_another_is_its_island(tmp_path):
    """Drawn as polygons of their own, islands become rings, wound the other way."""
    island = ellipse(12, size=0.2)
    merge, rings = taken(
        put(tmp_path, "a.kml", kml(kml_polygon(island, "isle") + kml_polygon(ellipse(), "pond")))
    )
    assert [len(ring) for ring in rings] == [61, 13]
    assert "taken as islands: 'isle'" in words_of(merge)


@pytest.mark.parametrize("turned", [False, True])
def test_either_winding_is_written_as_geojson_wants_it(tmp_path, turned):
    """The shore runs against the clock (RFC 7946), whichever way it was walked."""
    places = ellipse()[::-1] if turned else ellipse()
    _, rings = taken(put(tmp_path, "a.kml", kml(kml_polygon(places, ""))))
    x, y = np.array(rings[0]).T
    assert np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]) > 0


def test_three_corners_are_taken_and_said(tmp_path):
    """A triangle is a shape, though hardly a pond's."""
    merge, _ = taken(put(tmp_path, "a.kml", kml(kml_polygon(ellipse(3), ""))))
    assert "only 3 corners" in words_of(merge)


def test_two_corners_are_none(tmp_path):
    """They enclose nothing."""
    with pytest.raises(InputError, match="has 2 different points; 3 are needed"):
        taken(put(tmp_path, "a.kml", kml(kml_polygon(ellipse(2), ""))))


def test_three_hundred_thousand_corners_are_thinned(tmp_path):
    """The count falls below the limit, the area stays within a tenth of a percent, both are said."""
    merge, rings = taken(put(tmp_path, "a.kml", kml(kml_polygon(ellipse(300_000), ""))))
    x, y = (np.array(rings[0]) - [LON, LAT]).T * 111_195.0
    area_m2 = abs(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1])) / 2 * np.cos(np.radians(LAT))
    assert merge.corner_count <= MOST_CORNERS
    assert area_m2 == pytest.approx(EXACT_M2, rel=1e-3)
    assert "300\u202f000 corners were thinned to" in words_of(merge)


def test_a_slip_at_the_end_of_the_walk_is_cut_off(tmp_path):
    """A loop of the receiver is under two percent of the area, and goes; it is said where."""
    places = ellipse()
    slip = [(LON + 0.00062, LAT + 0.00001), (LON + 0.00062, LAT - 0.00001), (LON + 0.00058, LAT + 0.00002)]
    merge, _ = taken(put(tmp_path, "a.kml", kml(kml_polygon([*places, *slip], ""))))
    assert "touched or crossed itself near 35.86" in words_of(merge)


def test_an_eight_is_refused_with_its_crossing(tmp_path):
    """Nobody can tell which part is the pond: both areas and the place are named."""
    eight = [
        (LON - 0.0005, LAT),
        (LON + 0.0005, LAT + 0.0004),
        (LON + 0.0005, LAT),
        (LON - 0.0005, LAT + 0.0004),
    ]
    with pytest.raises(
        InputError, match=r"touches or crosses itself near 35\.8\d+, -79\.56\d+, and falls into parts"
    ):
        taken(put(tmp_path, "a.kml", kml(kml_polygon(eight, ""))))


@pytest.mark.parametrize(
    ("turn", "words"),
    [
        (lambda lon, lat: (lat, lon), "have changed places"),
        (lambda lon, lat: (-lon, lat), "east for west"),
        (lambda lon, lat: (lon, -lat), "north for south"),
    ],
)
def test_the_wrong_hemisphere_is_put_right_at_the_site(tmp_path, turn, words):
    """Exchanged numbers and a lost sign lie at the site once turned; that is said."""
    path = put(
        tmp_path, "a.csv", "lon,lat,depth_m\n" + "".join("{},{},2\n".format(*turn(*p)) for p in ellipse())
    )
    merge = merged({}, [read_foreign(path)], SITE, Wish())
    assert words in words_of(merge)
    assert f"{ellipse()[0][0]:.7g}".encode() in merge.files["soundings.csv"]


def test_what_lies_elsewhere_is_refused_with_its_distance(tmp_path):
    """A hundred kilometres off in every way is another pond, or another system of reference."""
    with pytest.raises(InputError, match=r"lie \d\d miles \(1\d\d km\) from the site's position"):
        taken(put(tmp_path, "a.kml", kml(kml_polygon(ellipse(lat=LAT + 1.0), ""))))


def test_without_a_position_of_the_job_that_is_said(tmp_path):
    """Nothing can be held against a site that is not known."""
    merge, _ = taken(put(tmp_path, "a.kml", kml(kml_polygon(ellipse(), ""))), site=None)
    assert "no position yet" in words_of(merge)
