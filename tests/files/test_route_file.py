"""route.csv: what is read, what is refused, what is noticed."""

import pytest

from plumeline.files.job_folder import check_job, load_job

HEAD = "station_ft,elevation_ft,cover_in,soil,crossing\n"
GOOD = HEAD + "0,693,18,clay,\n60,690,18,clay,drive\n430,681,,,\n"


def test_stations_are_read_in_their_units(folder):
    """Feet and inches of the heading become metres; an empty cover is not known, never zero."""
    route = load_job(folder.write("route.csv", GOOD).path).route
    assert [round(point.station_m / 0.3048) for point in route] == [0, 60, 430]
    assert route[0].cover_m == pytest.approx(0.4572)
    assert route[2].cover_m is None
    assert (route[1].soil, route[1].crossing) == ("clay", "drive")


@pytest.mark.parametrize(
    ("rows", "where"),
    [
        ("0,693,18,,\n60,690,18,,\n40,689,18,,\n", "row 4, station"),
        ("0,693,18,,\n", ""),
        ("0,,18,,\n60,690,18,,\n", "row 2, elevation_ft"),
        ("0,693,-2,,\n60,690,18,,\n", "row 2, cover_in"),
    ],
)
def test_a_route_that_can_not_be_is_a_fault(folder, rows, where):
    """Backwards, a single station, no height, cover over the ground: each is named by row and column."""
    fault = folder.write("route.csv", HEAD + rows).fault()
    assert (fault.file, fault.where) == ("route.csv", where)


def test_a_route_of_another_length_than_the_trunk_is_noticed(folder):
    """430 ft of trunk beside a route of 200 ft: both are used, for different things, and that is said."""
    report = check_job(folder.write("route.csv", HEAD + "0,693,18,,\n200,681,18,,\n").path)
    assert report.faults == ()
    assert "route-csv-differs" in {notice.code for notice in report.notices}
