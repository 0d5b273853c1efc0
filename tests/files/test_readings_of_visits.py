"""readings.csv and runs.csv: what is read, what is refused, what is noticed."""

from __future__ import annotations

from datetime import date

import pytest

from plumeline.files.job_folder import check_job, load_job
from plumeline.job.document import When

HEAD = "time,depth_ft,temperature_degc,do_mg_l,when,meter\n"
PLACED = '\n[[air.diffusers]]\nname = "A"\n\n[[air.diffusers]]\nname = "B"\n'
CAST = "2026-08-12T10:00,2,29,8,before,A\n2026-08-12T10:00,12,18,0.1,before,A\n"


def test_a_reading_carries_its_part_of_the_day_and_its_meter(folder):
    """Rows of one time, meter and part of the day are one profile; feet become metres."""
    job = load_job(folder.write("readings.csv", HEAD + CAST).path)
    reading = job.profiles[-1]
    assert (reading.when, reading.meter) == (When.BEFORE, "A")
    assert [point.depth_m for point in reading.points] == pytest.approx([0.6096, 3.6576])
    assert reading.id == "reading-2026-08-12T10-00-a"


def test_the_short_reading_of_job_toml_stands_beside_the_visits(folder):
    """The two lines that the job began with are still its first profile."""
    job = load_job(folder.write("readings.csv", HEAD + CAST).path)
    assert [profile.when for profile in job.profiles] == [None, When.BEFORE]


def test_three_columns_are_oxygen_alone(folder):
    """time, depth and oxygen: no temperature is made up, and the reading is no profile."""
    text = "time,depth_m,do_mg_l\n2026-08-12T06:00,0.6,4.4\n2026-08-12T06:00,2,1.5\n"
    job = load_job(folder.write("readings.csv", text).path)
    (reading,) = job.oxygen_readings
    assert (reading.depth_m, reading.do_mg_l) == ((0.6, 2.0), (4.4, 1.5))
    assert len(job.profiles) == 1


def test_one_depth_is_kept_said_and_never_the_profile_of_the_layers(folder):
    """A dawn reading at two feet counts, and the profile with layers stays the latest one."""
    folder.write("readings.csv", HEAD + "2026-08-12T06:00,2,27,4.4,dawn,\n")
    assert "nothing of the layers" in folder.notice("reading-one-depth")
    job = load_job(folder.path)
    assert len(job.profiles) == 2
    assert len(job.latest_profile.points) == 2


@pytest.mark.parametrize(
    ("rows", "where", "problem", "remedy"),
    [
        (CAST.replace("before", "shutof"), "row 2, when", "'shutof' is not a part", "Did you mean shut-off?"),
        (
            CAST.replace("before", "noon"),
            "row 2, when",
            "'noon' is not a part",
            "before, shut-off, later, dusk",
        ),
        (CAST.replace("29,8", ",8"), "row 2, temperature_degc", "no value", "Fill it"),
        (CAST.replace("29,8", "29,"), "row 2, do_mg_l", "no value", "remove the row"),
        (CAST.replace(",12,", ",25,"), "reading-2026-08-12T10-00-a", "deeper than the pond", "max_depth"),
        (CAST.replace(",12,", ",2,"), "row 3", "was given in row 2", "second cast its own time"),
        (CAST.replace("2026-", "2027-"), "row 2", "366 d after the job's date", "Check the year"),
        (CAST.replace("T10:00", ""), "row 2, time", "no time of day", "T10:30"),
    ],
)
def test_a_spoilt_reading_is_a_fault_with_row_and_remedy(folder, rows, where, problem, remedy):
    """A misspelt word, a hole, too deep, twice, another year, no hour: said where it stands."""
    fault = folder.write("readings.csv", HEAD + rows).check().faults[0]
    assert (fault.file, fault.where) == ("readings.csv", where)
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_oxygen_twice_at_a_depth_is_a_fault(folder):
    """Oxygen alone: two values at one depth and time contradict each other."""
    text = "time,depth_m,do_mg_l\n2026-08-12T06:00,0.6,4.4\n2026-08-12T06:00,0.6,6\n"
    fault = folder.write("readings.csv", text).fault()
    assert "other values" in fault.problem
    assert "meter" in fault.remedy


def test_readings_in_the_future_are_a_caution(folder):
    """Nobody can have read what is after today."""
    folder.write("readings.csv", HEAD + CAST)
    assert "later than today" in folder.notice("reading-future")
    report = check_job(folder.path, today=date(2026, 8, 13))
    assert "reading-future" not in [notice.code for notice in report.notices]


def test_readings_out_of_order_are_put_in_order_and_said(folder):
    """An earlier row below a later one is noted with its row."""
    early = "2026-08-11T20:00,2,30,9,dusk,A\n2026-08-11T20:00,12,18,0.1,dusk,A\n"
    folder.write("readings.csv", HEAD + CAST + early)
    assert "rows 4 and 5" in folder.notice("readings-unordered")
    assert [profile.when for profile in load_job(folder.path).profiles] == [None, When.DUSK, When.BEFORE]


def test_a_dawn_at_three_in_the_afternoon_is_a_caution(folder):
    """The word and the clock contradict each other."""
    folder.write("readings.csv", HEAD + CAST.replace("T10", "T15").replace("before", "dawn"))
    assert "outside 03:00 to 10:00" in folder.notice("when-differs")


def test_an_hour_that_came_twice_is_told_by_the_rows_before(folder):
    """New York, 1 November 2026: 01:40 then 01:10 is the second pass, an hour and a half later by UTC-5."""
    folder.change("date = 2026-08-11", "date = 2026-11-01")
    rows = "2026-11-01T01:40,2,12,8,,A\n2026-11-01T01:10,2,12,8,,A\n"
    job = load_job(folder.write("readings.csv", HEAD + rows).path)
    first, second = (profile.time for profile in job.profiles[:2])
    assert (second - first).total_seconds() == 30 * 60
    assert "came twice" in folder.notice("hour-twice")


def test_runs_are_read_with_their_diffusers(folder):
    """Names joined by a plus sign; nothing or all is all of them."""
    folder.write("job.toml", (folder.path / "job.toml").read_text() + PLACED)
    text = "start,minutes,diffusers\n2026-08-12T10:00,30,A+B\n2026-08-13T10:00,60,all\n2026-08-14T10:00,90,\n"
    job = load_job(folder.write("runs.csv", text).path)
    assert [(run.minutes, run.diffusers) for run in job.runs] == [(30, ("A", "B")), (60, ()), (90, ())]


@pytest.mark.parametrize(
    ("rows", "where", "problem", "remedy"),
    [
        ("2026-08-12T10:00,30,C\n", "row 2, diffusers", "no diffuser 'C'", "A+B"),
        ("2026-08-12T10:00,0,A\n", "row 2, minutes", "not more than 0", "value"),
        ("2026-08-12T10:00,half,A\n", "row 2, minutes", "not a number", "30"),
        ("2026-08-12T10:00,90,A\n2026-08-12T11:00,30,\n", "row 3", "before the run of row 2", "minutes"),
        ("2027-08-12T10:00,90,A\n", "row 2", "366 d after", "year"),
    ],
)
def test_a_spoilt_run_is_a_fault_with_row_and_remedy(folder, rows, where, problem, remedy):
    """A diffuser that is not there, no minutes, two runs at once, another year."""
    folder.write("job.toml", (folder.path / "job.toml").read_text() + PLACED)
    fault = folder.write("runs.csv", "start,minutes,diffusers\n" + rows).fault()
    assert (fault.file, fault.where) == ("runs.csv", where)
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_readings_and_runs_may_come_from_elsewhere(folder, tmp_path_factory):
    """A file named by an option stands in for the folder's own; one that is not there is a fault."""
    other = tmp_path_factory.mktemp("visit")
    (other / "today.csv").write_text(HEAD + CAST)
    (other / "air.csv").write_text("start,minutes\n2026-08-11T15:00,30\n")
    job = load_job(folder.path, readings=other / "today.csv", runs=other / "air.csv")
    assert (len(job.profiles), len(job.runs)) == (2, 1)
    faults = check_job(folder.path, readings=other / "none.csv").faults
    assert ["is not a file." in fault.problem for fault in faults] == [True]
