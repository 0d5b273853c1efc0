"""A slip of the pen in a table of places: the one row that is no place on the earth is named, no other is blamed."""

from __future__ import annotations

import numpy as np
import pytest

from plumeline.errors import InputError
from plumeline.files.bring.hemisphere import put_right
from plumeline.files.bring.value import Brought, Line, spots_of
from plumeline.job.document import Site

SITE = Site(latitude_deg=35.91, longitude_deg=-79.72, elevation_m=200.0)
NAN = float("nan")
GOOD = [(-79.72, 35.91, 3.0, NAN, NAN, 2), (-79.7201, 35.9101, 2.5, NAN, NAN, 3)]


def brought(*slips):
    """Return a table of two good rows and some slips, from row 4 on."""
    rows = [(lon, lat, 2.0, NAN, NAN, row) for row, (lon, lat) in enumerate(slips, start=4)]
    return Brought("depths.csv", "table", spots=spots_of([*GOOD, *rows], {}))


@pytest.mark.parametrize(
    ("lon", "lat", "words"),
    [
        (-79.7199, 95.91, "row 4: there is no place at latitude 95.91, longitude -79.7199"),
        (-797.2, 35.91, "row 4: there is no place at latitude 35.91, longitude -797.2"),
    ],
)
def test_the_row_of_a_slip_is_named_with_what_would_be_right(lon, lat, words):
    """Latitudes reach to 90 degrees, longitudes to 180, by their definition."""
    with pytest.raises(InputError) as refused:
        put_right([brought((lon, lat))], SITE)
    assert words in str(refused.value)
    assert "from -90 to 90" in str(refused.value)
    assert "depths.csv" in str(refused.value)


def test_where_most_rows_are_no_places_the_file_is_another():
    """Numbers of a plane: no row of them is singled out."""
    with pytest.raises(InputError, match=r"lie nowhere near the site's position") as refused:
        put_right([brought(*[(2_000_000.0 + n, 700_000.0) for n in range(5)])], SITE)
    assert "row" not in str(refused.value)


def test_a_corner_of_a_line_has_no_row_and_is_named_by_its_numbers():
    """A track: its places have no rows of their own."""
    line = Line(np.array([(-79.72, 35.91), (-79.7201, 35.9101), (-79.7199, 359.1)]), row=1)
    with pytest.raises(InputError, match=r"there is no place at latitude 359\.1") as refused:
        put_right([Brought("track.gpx", "track", lines=(line,))], SITE)
    assert "row 1" not in str(refused.value)
