"""Places and walls as they are typed, by degrees or by feet and metres, in job.toml and on the form."""

from __future__ import annotations

import pytest

from plumeline.errors import InputError
from plumeline.files.findings import Findings
from plumeline.files.known_places import as_kept, corners_of, far_faults
from plumeline.files.place_text import place_of, place_shown, typed_place, understood, walls_typed
from plumeline.files.toml_values import Missing
from plumeline.files.wall_in import read_wall
from plumeline.job.document import AirSystem, Job, LocalPoint, Point, Pond, Power, Site, Wall

LON, LAT = -79.7, 35.9
METRE_NORTH_DEG = 1.0 / 110_960.0
"""A metre north at 36° N (from memory: a degree of latitude there is 110.96 km, WGS 84)."""


def job_with(*, outline: tuple[Point | LocalPoint, ...] = (), **more: object) -> Job:
    """Return a job at a site, with the shore given."""
    pond = Pond(area_m2=5000.0, max_depth_m=4.0, outline=(outline,) if outline else ())
    site = Site(latitude_deg=LAT, longitude_deg=LON, elevation_m=200.0)
    return Job(id="x", name="X", date="2026-08-11", site=site, pond=pond, **more)


SQUARE = tuple(
    Point(longitude_deg=LON + x, latitude_deg=LAT + y)
    for x, y in ((0, 0), (0.001, 0), (0.001, 0.001), (0, 0.001))
)


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("35.91, -79.72", Point(latitude_deg=35.91, longitude_deg=-79.72)),
        # sixty minutes to the degree
        ("35 54.6 N, 79 43.2 W", Point(latitude_deg=35.91, longitude_deg=-79.72)),
        ("35°54'36\"N, 79°43'12\"W", Point(latitude_deg=35.91, longitude_deg=-79.72)),
        # a foot is 0.3048 m exactly (NIST Handbook 44, appendix C)
        ("120 ft, -40 ft", LocalPoint(x_m=36.576, y_m=-12.192)),
        ("12.5 m, 10 yd", LocalPoint(x_m=12.5, y_m=9.144)),
    ],
)
def test_a_place_is_read_by_degrees_or_by_lengths(text: str, place: Point | LocalPoint) -> None:
    """Latitude first; east first. What is shown for it is read as the same again."""
    found = place_of(text)
    assert found.model_dump() == pytest.approx(place.model_dump())
    again = place_of(typed_place(found))
    assert again.model_dump() == pytest.approx(
        found.model_dump(), abs=6e-3 if "ft" in text or "m" in text else 1e-7
    )


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("120, -40", "latitude: 120"),
        ("35.91", "is no place"),
        ("35.91, 40 ft", "is no place"),
        ("79.72 W, 35.91 N", "is no place"),
        ("by the oak", "is no place"),
        ("90 km, 130 km", "above the limit"),
    ],
)
def test_what_is_no_place_says_what_would_be_right(text: str, words: str) -> None:
    """A bare number beside a length is not taken in metres; sides that changed places are not swapped in silence."""
    with pytest.raises(InputError, match=words) as error:
        place_of(text)
    assert error.value.remedy


def test_a_wrong_sign_is_seen_in_how_a_place_is_understood() -> None:
    """The sides of the Earth, and of the site, in words."""
    assert understood(place_of("-35.91, 79.72")) == "35.910000° S, 79.720000° E"
    assert understood(place_of("-10 m, 4 m")) == "10.0 m west and 4.0 m north of the site's position"


def test_several_walls_are_typed_one_a_line_or_one_after_the_other() -> None:
    """A line that is not made of whole walls is one entry, so that the fault names it."""
    assert walls_typed("a; b; 3 ft\r\nc; d; 2 ft; e; f; 1 ft;\n\nx; y") == [
        "a; b; 3 ft",
        "c; d; 2 ft",
        "e; f; 1 ft",
        "x; y",
    ]


def test_a_wall_is_read_from_one_text_and_echoed() -> None:
    """Two places and a depth with its unit; each part that is wrong is told."""
    findings = Findings()
    wall = read_wall("35.91, -79.72; 35.912, -79.72; 3 ft", "pond.walls[1]", findings)
    assert isinstance(wall, Wall)
    assert wall.depth_m == pytest.approx(0.9144)
    assert findings.echoes == [
        "pond.walls[1]: 3 ft = 0.914 m",
        "pond.walls[1]: from 35.910000° N, 79.720000° W to 35.912000° N, 79.720000° W",
    ]
    for text, words in (
        ("35.91, -79.72; 3 ft", "has 2 parts, not 3"),
        ("35.91, -79.72; the dock; 3 ft", "'the dock' is no place"),
        ("35.91, -79.72; 35.912, -79.72; 3", "3 has no unit"),
        ("35.91, -79.72; 35.912, -79.72; -3 ft", "0"),
    ):
        findings = Findings()
        assert read_wall(text, "pond.walls[1]", findings) is Missing.FAULTY
        (fault,) = findings.all_faults()
        assert words in fault.problem
        assert fault.where == "pond.walls[1]"


def test_a_table_of_job_toml_is_shown_as_it_may_be_typed() -> None:
    """Degrees as they are, metres in the units of the page."""
    assert place_shown({"lon": -79.72, "lat": 35.91}, "us") == "35.91, -79.72"
    assert place_shown({"x_m": -30.48, "y_m": 3.048}, "us") == "-100.0 ft, 10.0 ft"
    assert place_shown({"x_m": -30.48, "y_m": 3.048}, "si") == "-30.48 m, 3.05 m"


def test_a_corner_is_kept_as_the_place_where_it_lies() -> None:
    """Corner 2 to corner 3; one that the shore has not is told with how many there are."""
    job = job_with(outline=(*SQUARE, SQUARE[0]))
    assert len(corners_of(job)) == 4
    kept = as_kept({"walls": "corner 2; Corner 3; 3 ft", "rise": "corner"}, job)
    assert kept == {"walls": "35.9, -79.699; 35.901, -79.699; 3 ft", "rise": "corner"}
    for asked, words in ((job, "corner 5: the shore has 4 corners"), (job_with(), "no shore is drawn")):
        with pytest.raises(InputError, match=words) as error:
            as_kept({"walls": "corner 5; corner 1; 3 ft"}, asked)
        assert error.value.place == "pond.walls"


def test_feet_and_metres_count_from_the_middle_that_the_drawings_count_from() -> None:
    """With a shore in degrees that is its middle, and the place is kept in degrees; else the site's position."""
    job = job_with(outline=SQUARE)
    lat, lon = (
        float(part)
        for part in as_kept({"compressor_place": "0 m, 100 m"}, job)["compressor_place"].split(",")
    )
    assert lon == pytest.approx(LON + 0.0005, abs=1e-7)
    assert lat == pytest.approx(LAT + 0.0005 + 100.0 * METRE_NORTH_DEG, abs=2e-7)
    assert as_kept({"compressor_place": "0 m, 100 m"}, job_with())["compressor_place"] == "0 m, 100 m"


def test_places_far_from_the_pond_are_told_at_their_field() -> None:
    """A wall that begins 500 m off, and a compressor across an ocean by a lost sign."""
    far = LocalPoint(x_m=500.0, y_m=0.0)
    shore = tuple(LocalPoint(x_m=x, y_m=y) for x, y in ((0, 0), (60, 0), (60, 40), (0, 40)))
    pond = Pond(outline=(shore,), walls=(Wall(start=shore[0], end=far, depth_m=1.0),))
    job = job_with().model_copy(
        update={"pond": pond, "power": Power(place=Point(longitude_deg=79.7, latitude_deg=LAT))}
    )
    found = far_faults(job, {"walls": "typed", "compressor_place": "typed", "rise": "3 ft"})
    assert [fault.where for fault in found] == ["pond.walls", "power.place"]
    assert "the end of wall 1 lies" in found[0].problem
    assert far_faults(job, {"rise": "3 ft"}) == ()
    assert far_faults(job, {"walls": ""}) == ()


def test_an_empty_air_line_has_no_place_to_be_held_against() -> None:
    """Nothing is known of it: no fault."""
    assert far_faults(job_with(air=AirSystem()), {"compressor_place": "1 m, 1 m"}) == ()
