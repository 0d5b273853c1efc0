"""profiles.csv, bottle.csv and gauges.csv: what is read, what is refused, what is noticed."""

from __future__ import annotations

import pytest

from plumeline.files.job_folder import check_job, load_job
from plumeline.files.observations import read_dilution

HEAD = "time,depth_m,temperature_degc,do_mg_l\n"
T = "2026-08-11T10:30"
BOTTLE = (
    "time,depth_m,dilution,bottom_do_mg_l,surface_do_mg_l,after_15min_mg_l,after_24h_mg_l,"
    "surface_after_24h_mg_l\n"
)


def test_rows_of_one_time_are_one_profile(folder):
    """Two times, two profiles, in order of time, and no short reading beside them."""
    rows = f"2026-08-11T16:00,0,31,9\n2026-08-11T16:00,4,18,0.1\n{T},0,30,9\n{T},2,29,8\n{T},4,18,0.1\n"
    job = load_job(folder.write("profiles.csv", HEAD + rows).path)
    assert [len(profile.points) for profile in job.profiles] == [3, 2]
    assert [profile.id for profile in job.profiles] == [
        "profile-2026-08-11T10-30",
        "profile-2026-08-11T16-00",
    ]
    assert "not used" in folder.notice("short-reading-unused")


def test_chemistry_units_and_blanks(folder):
    """Optional columns are read; a blank is not known, never zero; headers carry other units."""
    text = (
        "time,depth_ft,temperature_degf,do_mg_l,ph,alkalinity_mg_l,conductivity_ms_cm,ammonia_ug_l,"
        f"sulfide_mg_l,smell\n{T},0,86,9,9.1,52,0.128,80,,none\n{T},12,63.5,0.1,NA,,,,3.2,Strong\n"
    )
    top, bottom = load_job(folder.write("profiles.csv", text).path).profiles[0].points
    assert bottom.depth_m == pytest.approx(12 * 0.3048, rel=1e-12)
    assert top.temperature_degc == pytest.approx(30.0)
    assert top.conductivity_us_cm == pytest.approx(128.0)
    assert top.ammonia_mg_l == pytest.approx(0.08)
    assert (top.sulphide_mg_l, bottom.sulphide_mg_l) == (None, 3.2)
    assert (bottom.ph, bottom.alkalinity_mg_l, bottom.smell) == (None, None, "strong")


def test_degrees_of_another_thermometer_are_told_as_written(folder):
    """27.4 °C under °F is -2.56 °C: the fault shows what was written and both columns, not the one that is there."""
    text = f"time,depth_ft,temperature_degf,do_mg_l\n{T},1,27.4,8.2\n{T},12,86,0.1\n"
    fault = next(
        one for one in check_job(folder.write("profiles.csv", text).path).faults if one.file == "profiles.csv"
    )
    assert fault.problem.startswith("27.4 °F = -2.55556 °C is below the limit of -0.5 °C")
    assert "temperature_degc for a thermometer in °C" in fault.remedy


def test_unordered_depths_are_put_in_order_and_said(folder):
    """A cast read upwards is used, with a note that names the rows."""
    text = HEAD + f"{T},4,18,0.1\n{T},2,29,8\n{T},0,30,9\n"
    assert "rows 3 and 4" in folder.write("profiles.csv", text).notice("profile-unordered")
    depths = [point.depth_m for point in load_job(folder.path).profiles[0].points]
    assert depths == [0.0, 2.0, 4.0]


def test_a_repeated_row_is_left_out_and_said(folder):
    """The same row twice is one reading."""
    text = HEAD + f"{T},0,30,9\n{T},4,18,0.1\n{T},4,18,0.1\n"
    assert "repeats row 3" in folder.write("profiles.csv", text).notice("profile-repeated")


@pytest.mark.parametrize(
    ("rows", "where", "problem", "remedy"),
    [
        (
            f"{T},0,30,9\n{T},4,18,0.1\n{T},4,19,0.1\n",
            "row 4",
            "was given in row 3",
            "second cast its own time",
        ),
        (f"{T},0,30,9\n", "row 2", "one depth only", "two depths at least"),
        (f"{T},0,30,9\n{T},8,18,0.1\n", "profile-2026-08-11T10-30", "deeper than the pond", "pond.max_depth"),
        (f"{T},0,30,9\n{T},13,18,0.1\n", "profile-2026-08-11T10-30", "deeper than the pond", "depth_ft"),
        (f"{T},0,30,45\n{T},4,18,0.1\n{T},2,18,1\n", "row 2, do_mg_l", "above the limit of 40", "per cent"),
        (
            f"{T},0,86,9\n{T},4,18,0.1\n{T},2,18,1\n",
            "row 2, temperature_degc",
            "limit of 45",
            "temperature_degf",
        ),
        (f"{T},0,30,9\n{T},-2,18,1\n{T},4,18,1\n", "row 3, depth_m", "below the limit of 0", "sign"),
        (f"{T},0,30,9\n{T},3,18,\n{T},4,18,1\n", "row 3, do_mg_l", "no value", "remove the row"),
        (f"{T},0,30,9\n8/11/2026 10:30,3,18,1\n{T},4,18,1\n", "row 3, time", "not a time", "ISO 8601"),
        (f"{T},0,30,9\n2026-08-11,3,18,1\n{T},4,18,1\n", "row 3, time", "no time of day", "T10:30"),
        (f"{T},0,30,9\n,3,18,1\n{T},4,18,1\n", "row 3, time", "no value", "2026-08-11T10:30"),
        (
            "2026-03-08T02:30,0,9,9\n2026-03-08T03:30,0,9,9\n2026-03-08T03:30,4,8,9\n",
            "row 2, time",
            "did not happen",
            "offset",
        ),
    ],
)
def test_a_spoilt_profile_is_one_fault_with_row_and_remedy(folder, rows, where, problem, remedy):
    """Repeated, single, too deep, out of range, missing, or at no time: said where it stands."""
    fault = folder.write("profiles.csv", HEAD + rows).fault()
    assert (fault.file, fault.where) == ("profiles.csv", where)
    assert problem in fault.problem
    assert remedy in fault.remedy


@pytest.mark.parametrize(
    ("heading", "problem", "remedy"),
    [
        ("time,depth_m,temperature_degc", "the column do_mg_l is missing", "do_mg_l"),
        (
            "time,depth_m,temprature_degc,do_mg_l",
            "temprature_degc is not known",
            "Did you mean temperature_degc?",
        ),
        (
            "time,depth_m,temperature_degc,do_mg_l,alkalnity_mg_l",
            "alkalnity_mg_l",
            "Did you mean alkalinity_mg_l?",
        ),
        ("time,depth_m,temperature_degr,do_mg_l", "degr", "temperature_degc"),
        ("time,depth_m,temperature_degc,do_pct", "do_pct", "do_mg_l"),
    ],
)
def test_a_heading_that_lacks_or_misspells_a_column(folder, heading, problem, remedy):
    """The missing or misspelt column is named, with the near name."""
    fault = folder.write("profiles.csv", heading + f"\n{T},0,30,9,50\n").fault()
    assert fault.where == "row 1"
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_a_profile_a_little_deeper_than_the_pond_is_a_note(folder):
    """4.4 m in a pond of 4.27 m: the survey may have missed the deepest place."""
    folder.write("profiles.csv", HEAD + f"{T},0,30,9\n{T},4.4,18,0.1\n")
    assert "missed by the survey" in folder.notice("reading-deeper")


def test_a_reading_after_the_jobs_date_is_a_note(folder):
    """A year mistyped is noticed, and not refused."""
    folder.write("profiles.csv", HEAD + "2027-08-11T10:30,0,30,9\n2027-08-11T10:30,4,18,0.1\n")
    assert "after the date of the job" in folder.notice("reading-later")


def test_oxygen_that_few_blooms_reach_is_a_caution(folder):
    """30 mg/L is within the limit and suspicious."""
    folder.write("profiles.csv", HEAD + f"{T},0,30,30\n{T},4,18,0.1\n")
    assert "per cent" in folder.notice("oxygen-high")


def test_a_profile_upside_down_is_a_caution(folder):
    """Warm water under cold: depths counted from the bottom."""
    folder.write("profiles.csv", HEAD + f"{T},0,18,0.1\n{T},4,30,9\n")
    assert "from the surface" in folder.notice("profile-upside-down")


def test_times_without_offset_are_local_and_with_offset_are_not(folder):
    """10:30 in New York's summer is 14:30 UTC (UTC-4)."""
    rows = f"{T},0,30,9\n{T},4,18,0.1\n2026-08-11T14:30Z,1,30,9\n"
    (profile,) = load_job(folder.write("profiles.csv", HEAD + rows).path).profiles
    assert len(profile.points) == 3
    assert profile.time.utcoffset().total_seconds() == -4 * 3600


def test_an_hour_that_came_twice_is_said(folder):
    """The clocks went back on 1 November 2026 in New York: 01:30 came twice."""
    folder.change("date = 2026-08-11", "date = 2026-11-02")
    folder.write("profiles.csv", HEAD + "2026-11-01T01:30,0,12,9\n2026-11-01T01:30,4,12,8\n")
    assert "came twice" in folder.notice("hour-twice")


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("1:1", 0.5),
        ("1:3", 0.25),
        (" 1 : 3 ", 0.25),
        ("0.25", 0.25),
        ("2:1", 2 / 3),
        ("1:0", 1.0),
        ("1:-1", None),
        ("-1:3", None),
        ("0:0", None),
        ("half", None),
        ("5", None),
        ("nan", None),
    ],
)
def test_dilution_is_bottom_to_surface_water(text, share):
    """1:1 is half bottom water, 1:3 a quarter."""
    assert read_dilution(text) == share


def test_bottles_become_observations(folder):
    """Each row is one bottle test with its depth in its id."""
    folder.write("bottle.csv", BOTTLE + f"{T},4,1:3,0.1,9.6,7.0,5.0,8.2\n")
    (bottle,) = load_job(folder.path).bottles
    assert (bottle.bottom_share, bottle.after_24h_mg_l) == (0.25, 5.0)
    assert bottle.id == "bottle-2026-08-11T10-30-4m"


@pytest.mark.parametrize(
    ("row", "where", "problem", "remedy"),
    [
        (f"{T},4,one,0.1,9.6,4,1,8", "row 2, dilution", "not a dilution", "1:3"),
        (f"{T},4,,0.1,9.6,4,1,8", "row 2, dilution", "no value", "1:1"),
        (f"{T},4,1:1,0.1,96,4,1,8", "row 2, surface_do_mg_l", "limit of 40", "per cent"),
        (f"{T},9,1:1,0.1,9.6,4,1,8", "bottle-2026-08-11T10-30-9m", "deeper than the pond", "max_depth"),
    ],
)
def test_a_spoilt_bottle_is_one_fault(folder, row, where, problem, remedy):
    """A dilution nobody understands, oxygen in per cent, a depth below the bottom."""
    fault = folder.write("bottle.csv", BOTTLE + row + "\n").fault()
    assert (fault.file, fault.where) == ("bottle.csv", where)
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_oxygen_that_rises_in_the_dark_is_a_caution(folder):
    """A dark bottle loses oxygen."""
    folder.write("bottle.csv", BOTTLE + f"{T},4,1:1,0.1,9.6,4.5,6.0,8\n")
    assert "dark bottle" in folder.notice("bottle-rising")


def test_the_same_bottle_twice_is_a_fault(folder):
    """Observations have ids of their own."""
    fault = folder.write("bottle.csv", BOTTLE + f"{T},4,1:1,0.1,9.6,4,1,8\n" * 2).fault()
    assert fault.where == "row 3"
    assert "already in bottle.csv, row 2" in fault.problem
    assert "own id" in fault.remedy


def test_gauges_are_over_the_airs_pressure(folder):
    """8 psig is 8 x 6894.757 Pa of gauge pressure; an absolute one is refused."""
    folder.write("gauges.csv", f"time,place,pressure_psi\n{T},compressor,8\n")
    gauge = load_job(folder.path).observations[-1]
    assert gauge.pressure_pa == pytest.approx(8 * 6894.757, rel=1e-6)
    fault = folder.write("gauges.csv", f"time,place,pressure_pa\n{T},compressor,22 psia\n").fault()
    assert "gauge" in fault.problem


def test_gauges_of_one_hour_with_other_valves_are_two(folder):
    """The file of the commissioning may lie in the folder: its columns are known, its days come after the job's."""
    rows = "2026-08-13T10:00,compressor,6.3,0.0,,\n2026-08-13T10:00,compressor,7.4,0.0,B C,A\n"
    folder.write("gauges.csv", f"time,place,pressure_psig,water_level_m,open_ports,boil\n{rows}")
    gauges = [item for item in load_job(folder.path).observations if item.kind == "gauge"]
    assert sorted(item.id for item in gauges) == [
        "gauge-2026-08-13T10-00-compressor", "gauge-2026-08-13T10-00-compressor-b-c",
    ]  # fmt: skip
    told = [notice.text for notice in folder.check().notices]
    assert not any("gauges.csv" in text or "gauge of" in text.lower() for text in told)
