"""soundings.csv: forms that are read, faults with their row, and soundings that look wrong."""

from __future__ import annotations

import math
import time
import tracemalloc

import pytest

from plumeline.files.job_folder import load_job
from plumeline.job.document import LocalPoint, Point

HEAD = "lon,lat,depth_m\n"
LON, LAT = -79.5631, 35.8652


def grid(depth=lambda x, y: 4.0 - 0.05 * math.hypot(x, y), *, count: int = 7, heading: str = HEAD) -> str:
    """Return soundings on a square grid of about 60 m about the site; 1e-5 degrees are about a metre."""
    steps = [60 * (index / (count - 1) - 0.5) for index in range(count)]
    rows = [f"{LON + x * 1.1e-5:.7f},{LAT + y * 0.9e-5:.7f},{depth(x, y):.2f}" for x in steps for y in steps]
    return heading + "\n".join(rows) + "\n"


def test_soundings_by_longitude_and_latitude(folder):
    """Rows become soundings with their place and row."""
    soundings = load_job(folder.write("soundings.csv", HEAD + f"{LON},{LAT},3.5\n").path).pond.soundings
    assert soundings[0].place == Point(longitude_deg=LON, latitude_deg=LAT)
    assert (soundings[0].depth_m, soundings[0].row) == (3.5, 2)


def test_soundings_in_the_local_plane(folder):
    """x_m,y_m are metres east and north of the site."""
    folder.write("soundings.csv", "x_m,y_m,depth_m\n12.5,-30,3.5\n")
    assert load_job(folder.path).pond.soundings[0].place == LocalPoint(x_m=12.5, y_m=-30.0)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("lon,lat,depth_ft\n{place},12.5\n", 12.5 * 0.3048),
        ("lon,lat,depth (ft)\n{place},12.5\n", 12.5 * 0.3048),
        ("Longitude,Latitude,Depth_M\n{place},3.5\n", 3.5),
        ("lon,lat,depth\n{place},12 ft 6 in\n", 12.5 * 0.3048),
        ("lon,lat,depth_m\n{place},12 ft 6 in\n", 12.5 * 0.3048),
        ("lon,lat,depth_m\n{place},12' 6\"\n", 12.5 * 0.3048),
        ("# walked\n\nlon,lat,depth_m\n# here\n{place},3.5\n\n", 3.5),
        ("lat,depth_m,lon\n35.8652,3.5,-79.5631\n", 3.5),
        ("\ufefflon,lat,depth_m\n{place},3.5\n", 3.5),
        ("lon,lat,depth_m\r\n{place},3.5\r\n", 3.5),
        ("lon,lat,depth_m\r{place},3.5\r", 3.5),
        ("lon;lat;depth_m\n-79,5631;35,8652;3,5\n", 3.5),
        ("sep=;\nlon;lat;depth_m\n-79,5631;35,8652;3,5\n", 3.5),
        ("lon\tlat\tdepth_m\n-79.5631\t35.8652\t3.5\n", 3.5),
        ('lon,lat,depth_m\n"-79.5631","35.8652","3.5"\n', 3.5),
        ("lon,lat,depth_m,\n{place},3.5,\n", 3.5),
    ],
)
def test_forms_that_are_read(folder, text, metres):
    """Units in header or cell, comments, order of columns, BOM, line ends, semicolons, decimal commas."""
    folder.write("soundings.csv", text.replace("{place}", f"{LON},{LAT}"))
    (sounding,) = load_job(folder.path).pond.soundings
    assert sounding.depth_m == pytest.approx(metres, rel=1e-12)
    assert sounding.place == Point(longitude_deg=LON, latitude_deg=LAT)


@pytest.mark.parametrize(
    ("text", "where", "problem", "remedy"),
    [
        ("lon,lat\n{place}\n", "row 1", "the column depth_m is missing", "depth_m"),
        ("lon,lat,dept_m\n{place},3\n", "row 1", "dept_m is not known", "Did you mean depth_m?"),
        ("lat,depth_m\n35.8,3\n", "row 1", "columns of the place are missing", "lon,lat,depth_m"),
        ("lon,lat,depth_furlong\n{place},3\n", "row 1", "furlong", "depth_m"),
        ("lon,lat,depth_mg_l\n{place},3\n", "row 1", "mg_l", "depth_m"),
        ("lon,lat,depth\n{place},3\n", "row 2, depth", "no unit", "depth_m"),
        ("lon,lat,depth_m,depth_ft\n{place},3,9\n", "row 1", "mean the same", "Keep one"),
        (HEAD + "{place},3 furlongs\n", "row 2, depth_m", "furlongs", "ft"),
        (HEAD + "{place},deep\n", "row 2, depth_m", "deep", "number"),
        (HEAD + "{place},\n", "row 2, depth_m", "no value", "remove the row"),
        (HEAD + "{place},nan\n", "row 2, depth_m", "not a number", "remove the row"),
        (HEAD + "{place},inf\n", "row 2, depth_m", "not a number", "3.5"),
        (HEAD + "{place},1_0\n", "row 2, depth_m", "1_0", ""),
        (HEAD + "{place},-3\n", "row 2, depth_m", "below the limit of 0", "positive down"),
        (HEAD + "{place},250\n", "row 2, depth_m", "above the limit of 200", "unit"),
        (HEAD + ",35.8652,3\n", "row 2", "no whole place", "lon and lat"),
        (HEAD + "-79,5631,35,8652,3,5\n", "row 2", "6 cells, the heading has 3", "semicolons"),
        (HEAD + "-85.5,35.8652,3\n", "", "from the site", "longitude, latitude"),
        (HEAD + "609800,3969700,3\n", "", "no longitude and latitude", "WGS 84"),
        ("# nothing\n", "", "no heading row", "depth_m"),
    ],
)
def test_a_fault_names_its_row_and_what_would_be_right(folder, text, where, problem, remedy):
    """One wrong cell or header is one fault at its row."""
    fault = folder.write("soundings.csv", text.replace("{place}", f"{LON},{LAT}")).fault()
    assert fault.file == "soundings.csv"
    assert fault.where == where
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_a_column_that_is_not_used_is_said(folder):
    """An extra column is no fault."""
    folder.write("soundings.csv", "lon,lat,depth_m,boat\n-79.5631,35.8652,3,jon\n")
    assert "boat" in folder.notice("column-not-used")


def test_swapped_columns_are_put_right_and_said(folder):
    """Longitudes under lat that fall on the site when exchanged are exchanged."""
    folder.write("soundings.csv", f"lat,lon,depth_m\n{LON},{LAT},3\n")
    assert "changed places" in folder.notice("swapped-coordinates")
    assert load_job(folder.path).pond.soundings[0].place == Point(longitude_deg=LON, latitude_deg=LAT)


def test_a_sounding_ten_times_its_neighbours_is_suspected(folder):
    """A slip of the decimal point is found by its neighbours and named by its row."""
    rows = grid().split("\n")
    lon, lat, depth = rows[25].split(",")
    rows[25] = f"{lon},{lat},{10 * float(depth):.2f}"
    text = folder.write("soundings.csv", "\n".join(rows)).notice("sounding-slip")
    assert "row 26" in text
    assert "decimal point" in text


def test_an_honest_cone_is_not_suspected(folder):
    """A regular basin gives no notice at all."""
    report = folder.write("soundings.csv", grid()).check()
    assert report.notices == ()


def test_feet_labelled_metres_are_suspected_by_the_answered_depth(folder):
    """Soundings 3.3 times the answered depth are feet."""
    folder.write("soundings.csv", grid(lambda x, y: 3.28 * (4.2 - 0.05 * math.hypot(x, y))))
    assert "depth_ft" in folder.notice("feet-as-metres")


def test_feet_labelled_metres_are_suspected_by_the_area(folder):
    """Without an answered depth, 13.8 m in a pond 91 m across is suspicious."""
    folder.change('max_depth = "14 ft"', "")
    folder.write("soundings.csv", grid(lambda x, y: 3.28 * (4.2 - 0.05 * math.hypot(x, y))))
    assert "depth_ft" in folder.notice("feet-as-metres")


def test_a_few_soundings_outside_the_outline_are_said_with_their_rows(folder, square):
    """A sounding 60 m off the shore is named; one within the receiver's error is not."""
    extra = f"{LON + 0.0011},{LAT},2.0\n{LON + 0.00043},{LAT},0.3\n"
    folder.write("outline.geojson", square()).write("soundings.csv", grid() + extra)
    text = folder.notice("soundings-outside")
    assert "row 51:" in text
    assert "6" in text.split("up to ")[1]


def test_soundings_of_another_pond_are_a_fault(folder, square):
    """Most soundings outside the outline means that one of the files is wrong."""
    folder.write("outline.geojson", square(0.0001, lon=LON + 0.002)).write("soundings.csv", grid())
    fault = folder.fault()
    assert "49 of 49 soundings lie outside" in fault.problem
    assert "WGS 84" in fault.remedy


def test_many_faults_alike_are_listed_a_dozen_times_and_counted(folder):
    """Thirty bad cells: twelve rows and a line that counts the rest."""
    folder.write("soundings.csv", HEAD + f"{LON},{LAT},deep\n" * 30)
    faults = folder.check().faults
    assert len(faults) == 13
    assert faults[-1].problem.startswith("18 more rows")


def test_two_hundred_thousand_soundings_are_read_within_memory(folder, square):
    """200,000 soundings load in well under a gigabyte (a generous bound, not a timing)."""
    count = 447
    text = grid(count=count)
    folder.write("soundings.csv", text).write("outline.geojson", square(0.0005))
    tracemalloc.start()
    started = time.perf_counter()
    job = load_job(folder.path)
    seconds = time.perf_counter() - started
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert len(job.pond.soundings) == count * count
    assert peak < 800e6, f"{peak / 1e6:.0f} MB, {seconds:.1f} s"


def test_probe_pairs_levels_and_days_are_read(tmp_path):
    """Muck by thickness or by firm bottom, a staff gauge, the day of a time; what can't be right is a fault."""
    from plumeline.files.findings import Findings
    from plumeline.files.soundings import build_soundings, read_soundings

    def read(text):
        path = tmp_path / "soundings.csv"
        path.write_text(text)
        findings = Findings()
        table = read_soundings(path, findings)
        return build_soundings(table, findings), findings

    found, findings = read(
        "x_m,y_m,depth_ft,muck_in,firm_depth_ft,level_ft,time\n"
        "0,0,10,6,,2.5,2026-08-11T10:30\n5,0,9,,11,,2026-08-12\n9,0,8,,7.95,,noon\n"
    )
    assert not findings.faults
    assert [item.muck_m for item in found] == [pytest.approx(0.1524), pytest.approx(0.6096), 0.0]
    assert [item.level_m for item in found] == [pytest.approx(0.762), None, None]
    assert [str(item.day) for item in found] == ["2026-08-11", "2026-08-12", "None"]
    assert "sounding-time" in {item.code for item in findings.notices}
    _, findings = read("x_m,y_m,depth_m,firm_depth_m,muck_m\n0,0,3,2,\n5,0,3,4,0.2\n")
    assert [fault.where for fault in findings.all_faults()] == ["row 2", "row 3"]
    assert "muck" in str(findings.all_faults()[0])
