"""Answers that are legal and hardly right are asked about, limits told in the unit typed."""

from __future__ import annotations

import pytest

from plumeline.errors import UnitError
from plumeline.files.job_folder import load_job
from plumeline.stages.site_facts import site_notices
from plumeline.units import parse, typed_suffix

POSITION = '"35.8652, -79.5631, 680 ft"'


@pytest.mark.parametrize(
    ("old", "new", "code", "words"),
    [
        (POSITION, '"35.8652, -79.5631, -900 ft"', "elevation-low", "minus sign"),
        ('rise = "12 ft"', 'rise = "-900 ft"', "rise-far", "under the water"),
        ('rise = "12 ft"', 'rise = "1200 ft"', "rise-far", "not over the sea"),
        ('"120 V, 20 A"', '"none"', "site-no-power", "start nothing before there is"),
        (POSITION, '"35.8652, 79.5631, 680 ft"', "clock-differs", "minus sign"),
    ],
)
def test_what_is_hardly_right_is_asked_about(folder, old, new, code, words):
    """One caution each, and the job is there all the same; the folder as it was has none of them."""
    assert code not in {notice.code for notice in folder.check().notices}
    folder.change(old, new)
    (found,) = [notice for notice in folder.check().notices if notice.code == code]
    assert words in found.text
    assert folder.check().job is not None


def test_no_power_is_said_of_the_job_itself_so_that_every_page_and_paper_has_it(folder):
    """A caution of the site goes with the job to the start-up plan and stands against the pond."""
    folder.change('"120 V, 20 A"', '"none"')
    (found,) = site_notices(load_job(folder.path))
    assert (found.code, found.severity.value) == ("site-no-power", "caution")
    for words in ("generator", "batteries", "nearest power", "without oxygen"):
        assert words in found.text


@pytest.mark.parametrize(
    ("old", "new", "problem", "remedy"),
    [
        ('rise = "12 ft"', 'rise = "9000 ft"', "9000 ft is above the limit of 1640 ft", "-1640 to 1640 ft"),
        ('"84 degF, 7.5 mg/L"', '"184 degF, 7.5 mg/L"', "184 °F is above the limit of 113 °F", "113 °F"),
        ('"14 ft"', '"300 m"', "300 m is above the limit of 200 m", "0 to 200 m"),
    ],
)
def test_a_limit_is_told_in_the_unit_that_was_typed(folder, old, new, problem, remedy):
    """1640 ft = 500 m and 113 °F = 45 °C, by the definitions of foot and Fahrenheit."""
    folder.change(old, new)
    (fault,) = folder.check().faults
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_a_wrong_zone_and_a_lost_minus_sign_are_told_in_the_first_pass(folder):
    """Whatever else is at fault: the elevation, or the zone itself."""
    folder.change(POSITION, '"35.8652, 79.5631, 680 furlongs"')
    report = folder.check()
    assert [notice.code for notice in report.notices].count("clock-differs") == 1
    folder.change('"America/New_York"', '"Eastern"')
    assert {fault.where for fault in folder.check().faults} == {
        "site.latitude_longitude_elevation",
        "site.time_zone",
    }


@pytest.mark.parametrize(
    ("position", "said"),
    [
        ("35.8652, -79.5631, 680 ft", "35.8652° N, 79.5631° W"),
        ("35.5 S, 149.25 E, 600 m", "35.5° S, 149.25° E"),
    ],
)
def test_the_position_is_said_back_with_its_sides(folder, position, said):
    """A wrong sign is seen where the side of the Earth is written out; the clock is said with its hours."""
    folder.change(POSITION, f'"{position}"')
    echoes = folder.check().echoes
    assert f"site.latitude_longitude_elevation: {said}" in echoes
    assert "site.time_zone: America/New_York = UTC-04:00 on 2026-08-11" in echoes


@pytest.mark.parametrize(
    ("typed", "near"), [("1.6 akres", "acres"), ("1.6 arces", "acres"), ("2 hectars", "hectares")]
)
def test_one_unit_is_guessed_where_one_is_meant(typed, near):
    """A misspelt acre is no hectare."""
    with pytest.raises(UnitError) as refused:
        parse(typed, "m2")
    assert f"Did you mean {near}?" in refused.value.remedy


@pytest.mark.parametrize(
    ("text", "suffix", "found"),
    [("9000 ft", "m", "ft"), ("12 ft 6 in", "m", ""), ("14", "m", ""), ("72 F", "degc", "degf")],
)
def test_the_unit_of_a_value_is_known_again(text, suffix, found):
    """Of one value with one unit; a bare number and a value of several units have none."""
    assert typed_suffix(text, suffix) == found


FLAT = "lon,lat,depth_m\n-79.5631,35.8652,0\n-79.56305,35.8652,0\n-79.5631,35.86525,0\n"


def test_a_keep_out_zone_of_two_corners_is_said(folder):
    """It kept nothing out, and nobody was told: a zone has three corners (a polygon of RFC 7946 has as many)."""
    with (folder.path / "job.toml").open("a") as file:
        file.write("\n[wishes]\nkeep_out = [[{ x_m = 0, y_m = 0 }, { x_m = 9, y_m = 0 }]]\n")
    (found,) = [notice for notice in folder.check().notices if notice.code == "keep-out-no-zone"]
    assert "wishes.keep_out: zone 1 has 2 different corners" in found.said("us")


@pytest.mark.parametrize(
    ("more", "code", "words"),
    [
        ('shore_depth = "30 ft"', "edge-deeper", "pond.shore_depth: 30 ft"),
        ('walls = ["35.8652, -79.5631; 35.8653, -79.5632; 40 ft"]', "edge-deeper", "pond.walls: 40 ft"),
        ("keep_rows = [2, 9999]", "keep-rows-missing", "row 9999"),
    ],
)
def test_an_edge_deeper_than_the_pond_and_a_row_that_is_none_are_asked_about(folder, more, code, words):
    """The deepest of these soundings is 14 ft, in row 2."""
    (folder.path / "soundings.csv").write_text("lon,lat,depth_ft\n-79.5631,35.8652,14\n-79.563,35.8653,9\n")
    folder.change("[pond]", f"[pond]\n{more}")
    (found,) = [notice for notice in folder.check().notices if notice.code == code]
    assert words in found.said("us")


def test_soundings_of_nothing_but_zero_beside_a_profile_are_no_breakdown(folder):
    """They were divided by; the shell's words are in tests/cli/test_bad_ponds.py."""
    (folder.path / "soundings.csv").write_text(FLAT)
    (found,) = [notice for notice in folder.check().notices if notice.code == "soundings-zero"]
    assert "all 3 depths are zero" in found.said("us")


@pytest.mark.parametrize(
    ("east", "north", "what"), [(1, -1, "latitude"), (-1, 1, "longitude"), (-1, -1, "both")]
)
def test_a_shore_on_the_wrong_side_of_the_earth_says_which_sign(folder, east, north, what):
    """The shore's own numbers with a sign turned."""
    corners = [(-79.5637, 35.8648), (-79.5625, 35.8648), (-79.5631, 35.8657)]
    ring = ", ".join(f"[{east * lon}, {north * lat}]" for lon, lat in [*corners, corners[0]])
    (folder.path / "outline.geojson").write_text(f'{{"type": "Polygon", "coordinates": [[{ring}]]}}')
    (fault,) = folder.check().faults
    assert f"With the sign of {what} turned" in fault.remedy
