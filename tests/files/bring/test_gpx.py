"""GPX read: tracks, waypoints and depths of any maker; judged by gpxpy where it can."""

from __future__ import annotations

import gpxpy
import numpy as np
import pytest
from tests.files.bring.made import ellipse, gpx, put, track

from plumeline.errors import InputError
from plumeline.files.bring.reading import read_foreign
from plumeline.files.bring.value import Asked, Source

NAMED = 'xmlns:a="urn:one" xmlns:b="urn:two"'


def test_places_times_and_names_equal_what_gpxpy_reads(tmp_path):
    """An outside reader gives the same places of the track and the same waypoint."""
    places = ellipse(40)
    stamps = [f"<ele>200.1</ele><time>2026-08-11T14:00:{index:02d}Z</time>" for index in range(40)]
    way = '<wpt lat="35.8651" lon="-79.5630"><name>stump</name></wpt>'
    path = put(tmp_path, "walk.gpx", gpx(way + track(places, stamps)))
    found = read_foreign(path)
    other = gpxpy.parse(path.read_text())
    theirs = [(p.longitude, p.latitude) for p in other.tracks[0].segments[0].points]
    assert np.array_equal(found.lines[0].places, np.array(theirs))
    assert found.lines[0].name == other.tracks[0].name
    assert (found.spots.lon_deg[0], found.spots.lat_deg[0]) == (-79.5630, 35.8651)
    assert found.spots.name[0] == other.waypoints[0].name


@pytest.mark.parametrize("tag", ["a:depth", "b:WaterDepth", "depth"])
def test_a_depth_in_an_extension_of_any_namespace_is_read(tmp_path, tag):
    """Local names decide, wherever the maker's own elements stand; row and time come with it."""
    inside = f"<time>2026-08-11T14:00:00Z</time><extensions><a:More><{tag}>2.75</{tag}></a:More></extensions>"
    path = put(tmp_path, "sonar.gpx", gpx(track(ellipse(3), [inside] * 3), spaces=NAMED))
    found = read_foreign(path)
    assert list(found.spots.depth_m) == [2.75] * 3
    assert list(found.spots.row) == [4, 5, 6]
    assert found.spots.time_s[0] == 1786456800.0
    assert f"<{tag.rpartition(':')[2]}>" in dict(found.understood)["depth"]


def test_a_maker_who_writes_feet_is_told(tmp_path):
    """Ten feet are 3.048 m when the unit is told."""
    path = put(tmp_path, "s.gpx", gpx(track(ellipse(3), ["<extensions><depth>10</depth></extensions>"] * 3)))
    found = read_foreign(path, Asked({"depth": Source("depth", "ft")}))
    assert found.spots.depth_m == pytest.approx([3.048] * 3)


def test_heights_below_zero_are_offered_as_depths_and_not_taken(tmp_path):
    """A file without depths is said to have none; what could be meant is offered."""
    path = put(tmp_path, "s.gpx", gpx(track(ellipse(3), ["<ele>-3.2</ele>"] * 3)))
    found = read_foreign(path)
    assert found.spots.count == 0
    assert "depth=ele:m" in found.cautions[0]


def test_bad_places_and_depths_are_left_out_with_their_rows(tmp_path):
    """Each reason names its rows; the others are taken."""
    body = track(
        [(-79.5, 35.8), (-200.0, 35.8), (-79.6, 35.8)], ["<depth>2</depth>", "", "<depth>deep</depth>"]
    )
    found = read_foreign(put(tmp_path, "s.gpx", gpx(body)))
    assert {(aside.why, aside.rows) for aside in found.asides} == {
        ("its place is no longitude and latitude", (5,)),
        ("its depth is not a number", (6,)),
    }
    assert list(found.spots.depth_m) == [2.0]


def test_a_torn_file_names_its_row(tmp_path):
    """What a device wrote when its battery died is no file, and where it ends is said."""
    whole = gpx(track(ellipse(20)))
    path = put(tmp_path, "torn.gpx", whole[: len(whole) // 2])
    with pytest.raises(InputError, match=r"torn\.gpx, row \d+: is broken off"):
        read_foreign(path)
