"""Tables with any headings: which column is what, units, angles, planes."""

from __future__ import annotations

import numpy as np
import pytest
from tests.files.bring.made import LAT, LON, put

from plumeline.errors import InputError
from plumeline.files.bring.angles import angle_deg
from plumeline.files.bring.columns import guess, parse_columns
from plumeline.files.bring.reading import read_foreign
from plumeline.files.bring.value import Asked, Source


@pytest.mark.parametrize(
    ("heading", "suffix"),
    [
        ("Longitude,Latitude,Depth (ft)", "ft"),
        ("lat,lng,depth_m", "m"),
        ("GPS_Lat;GPS_Long;Water Depth [m]", "m"),
        ("X_Coord\tY_Coord\tSonar Depth feet", "ft"),
        ("POINT_X,POINT_Y,DepthFt", "ft"),
        ("Easting,Northing,SOUNDING (meters)", "m"),
        ("Latitude (deg),Longitude (deg),Date/Time,Depth below surface (m)", "m"),
    ],
)
def test_headings_in_common_use_are_understood(heading, suffix):
    """Place and depth are found, and the unit with them."""
    delimiter = max(",;\t", key=heading.count)
    found = guess(heading.split(delimiter))
    assert {"lon", "lat", "depth"} <= set(found) or {"x", "y", "depth"} <= set(found)
    assert found["depth"].suffix == suffix


def test_a_device_writes_about_itself_above_the_heading(tmp_path):
    """The heading is found below it; rows are those of the file."""
    text = f"logger 3\nserial,00012\n\nLat,Long,Depth (ft)\n{LAT},{LON},10\n{LAT},{LON},-\n"
    found = read_foreign(put(tmp_path, "a.csv", text))
    assert found.spots.depth_m[0] == pytest.approx(3.048)
    assert list(found.spots.row) == [5, 6]
    assert ("latitude", "column 1, 'Lat'") in found.understood
    assert [(aside.why, aside.rows) for aside in found.asides] == [("it has no depth", (6,))]


def test_semicolons_and_decimal_commas(tmp_path):
    """As spreadsheets write them where the comma is the decimal mark."""
    found = read_foreign(put(tmp_path, "a.csv", "Lat;Lon;depth_m\n35,8652;-79,5631;2,5\n"))
    assert (found.spots.lat_deg[0], found.spots.lon_deg[0], found.spots.depth_m[0]) == (
        35.8652,
        -79.5631,
        2.5,
    )


def test_a_depth_without_a_unit_is_asked_for(tmp_path):
    """It is refused with the words that would be right, and taken once they are said."""
    path = put(tmp_path, "a.csv", f"Lat,Lon,Depth\n{LAT},{LON},10\n")
    with pytest.raises(InputError, match=r'--columns "depth=Depth:ft"'):
        read_foreign(path)
    assert read_foreign(path, Asked(parse_columns("depth=Depth:ft"))).spots.depth_m[0] == pytest.approx(3.048)


def test_a_unit_that_is_not_known_is_named_and_not_called_none(tmp_path):
    """Depths in fathoms taken for feet would be a sixth of what they are: they are to be worked out first."""
    path = put(tmp_path, "f.csv", f"lat,lon,depth (fathom)\n{LAT},{LON},0.5\n")
    with pytest.raises(
        InputError, match=r"are in 'fathom', which is no unit .* Work them out in feet or metres"
    ):
        read_foreign(path)


def test_columns_can_be_told_by_number_where_there_is_no_heading(tmp_path):
    """The first row is data then."""
    path = put(tmp_path, "a.csv", f"1,{LAT},{LON},7.5\n2,{LAT},{LON},8.5\n")
    found = read_foreign(path, Asked(parse_columns("lat=2, lon=3, depth=4:m")))
    assert list(found.spots.depth_m) == [7.5, 8.5]


def test_unknown_headings_are_listed(tmp_path):
    """What is there is said, and how to name it."""
    with pytest.raises(InputError, match=r"its headings are: foo, bar.*--columns"):
        read_foreign(put(tmp_path, "a.csv", "foo,bar\n1,2\n"))
    path = put(tmp_path, "b.csv", f"Lat,Lon,Bottom thing\n{LAT},{LON},3\n")
    with pytest.raises(InputError, match=r"no column 'Botom thing'.*Did you mean 'Bottom thing'"):
        read_foreign(path, Asked(parse_columns("depth=Botom thing:m")))


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("35 54 36.7 N", 35.9101944),
        ("35°54'36.7\"N", 35.9101944),
        ("N 35 54.612", 35.9102),
        ("79° 43.224' W", -79.7204),
        ("35-54-36.7N", 35.9101944),
        ("35d54m36.7s S", -35.9101944),
        ("35 54 36.7 S", -35.9101944),
        ("35 54 36.7s", 35.9101944),
        ("35.91 S", -35.91),
        ("79:43:13.4W", -79.7203889),
        ("-79.7204", -79.7204),
        ("35º54′36.7″N", 35.9101944),
    ],
)
def test_angles_as_people_write_them(text, degrees):
    """Degrees, minutes, seconds and directions."""
    assert angle_deg(text) == pytest.approx(degrees, abs=1e-7)


@pytest.mark.parametrize("text", ["35 60 0 N", "N 35 S", "abc", "-35 N", "35.5 30 N", "190", ""])
def test_what_is_no_angle_is_none(text):
    """Minutes of 60, two directions, a sign with a direction."""
    assert angle_deg(text) is None


def test_depths_below_zero_are_turned_and_that_is_said(tmp_path):
    """A column that is negative throughout counts upward."""
    found = read_foreign(put(tmp_path, "a.csv", f"Lat,Lon,depth_m\n{LAT},{LON},-2\n{LAT},{LON},-3\n"))
    assert list(found.spots.depth_m) == [2.0, 3.0]
    assert "below zero" in found.cautions[0]


def test_state_plane_in_survey_feet_by_its_number(tmp_path):
    """Coordinates that pyproj makes in US survey feet come back to the place within a millimetre."""
    from pyproj import Transformer

    x, y = Transformer.from_crs("EPSG:4326", "EPSG:2264", always_xy=True).transform(LON, LAT)
    path = put(tmp_path, "a.csv", f"Easting,Northing,Depth ft\n{x:.4f},{y:.4f},10\n")
    found = read_foreign(path, Asked(crs="EPSG:2264"))
    assert np.allclose([found.spots.lon_deg[0], found.spots.lat_deg[0]], [LON, LAT], atol=1e-8)
    assert "US survey foot" in found.crs


def test_a_plane_without_a_name_is_asked_for_and_the_likely_one_suggested(tmp_path):
    """Of all systems of the site's region those are named in which the numbers lie at the site."""
    from pyproj import Transformer

    x, y = Transformer.from_crs("EPSG:4326", "EPSG:2264", always_xy=True).transform(LON, LAT)
    path = put(tmp_path, "a.csv", f"X,Y,Depth ft\n{x:.2f},{y:.2f},10\n")
    with pytest.raises(InputError, match=r"names no reference system.*EPSG:2264"):
        read_foreign(path, Asked(near_deg=(LON, LAT)))


@pytest.mark.parametrize("text", ["EPSG:999999", "feet", "EPSG:5703"])
def test_a_reference_system_that_is_none_is_refused(tmp_path, text):
    """An unknown number, a word, and a system of heights alone."""
    path = put(tmp_path, "a.csv", f"X,Y,Depth ft\n{LON},{LAT},10\n")
    with pytest.raises(InputError, match=r"reference system|not a system of places"):
        read_foreign(path, Asked(crs=text))


@pytest.mark.parametrize("text", ["depth", "water=Depth:m", "depth=Depth:gallon", "depth="])
def test_a_map_of_columns_that_says_nothing_is_refused(text):
    """With the form that would be right."""
    with pytest.raises(InputError, match=r"--columns"):
        parse_columns(text)
    assert parse_columns("depth=Sonar Depth:ft, lon=E") == {
        "depth": Source("Sonar Depth", "ft"),
        "lon": Source("E"),
    }


@pytest.mark.parametrize("data", [b"", b"   \n", b"\x00\x01\x02", b"<html></html>"])
def test_what_is_no_file_of_ours_is_refused(tmp_path, data):
    """Empty, binary, a page of the web."""
    with pytest.raises(InputError, match=r"is empty|of no kind"):
        read_foreign(put(tmp_path, "a.csv", data))


def test_muck_firm_bottom_and_staff_gauge_are_columns_too(tmp_path):
    """Thickness as it stands, or the firm bottom less the muck's top; a unit goes on from the depths."""
    text = (
        "Lat,Lon,Depth (ft),Firm bottom,Staff gauge (ft)\n"
        f"{LAT},{LON},10,12,2.5\n{LAT},{LON},8,-,2.5\n{LAT},{LON},9,7,\n"
    )
    found = read_foreign(put(tmp_path, "a.csv", text))
    assert found.spots.more["muck_m"] == {0: pytest.approx(0.6096)}
    assert found.spots.more["level_m"] == {0: pytest.approx(0.762), 1: pytest.approx(0.762)}
    assert [aside.rows for aside in found.asides] == [(4,)]
    assert "above the muck's top" in found.asides[0].why
    plain = read_foreign(put(tmp_path, "b.csv", f"Lat,Lon,depth_m,Muck (in)\n{LAT},{LON},2,10\n"))
    assert plain.spots.more == {"muck_m": {0: pytest.approx(0.254)}}


def test_degrees_under_the_headings_of_a_plane_are_known_by_the_site(tmp_path):
    """X and Y of a receiver: taken where they lie at the site, and said; elsewhere the system is asked for."""
    text = f"Pt;GPS_Y (WGS84);GPS_X (WGS84);Depth [feet]\n1;{LAT};{LON};9,5\n2;{LAT};{LON + 1e-4};10\n"
    path = put(tmp_path, "odd.csv", text)
    found = read_foreign(path, Asked(near_deg=(LON, LAT)))
    assert list(found.spots.lon_deg) == pytest.approx([LON, LON + 1e-4])
    assert list(found.spots.lat_deg) == pytest.approx([LAT, LAT])
    assert found.spots.depth_m[0] == pytest.approx(9.5 * 0.3048)
    assert "hold degrees: so the places lie at the site" in found.cautions[0]
    for near in (None, (LON + 10, LAT)):
        with pytest.raises(
            InputError, match=r"'GPS_X \(WGS84\)' and .* are east and north of a plane.*--crs"
        ):
            read_foreign(path, Asked(near_deg=near))
