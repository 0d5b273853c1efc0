"""`plumeline startup` with a calendar, an outage and readings of visits."""

import json
from datetime import date, timedelta

import pytest
from icalendar import Calendar

from plumeline.demo import demo_folder

DEMO = str(demo_folder())
READINGS = """\
time,when,meter,depth_ft,temperature_degc,do_mg_l
2026-08-12T13:45,before,M1,2,28.6,8.6
2026-08-12T13:45,before,M1,6,22.4,0.3
2026-08-12T13:45,before,M1,12,16.1,0.1
2026-08-12T14:20,shut-off,M1,2,28.2,8.0
2026-08-12T14:20,shut-off,M1,6,22.6,0.4
2026-08-12T14:20,shut-off,M1,12,16.2,0.1
"""
"""A visit two days after the demo's profile; the values are made up."""


@pytest.mark.usefixtures("small")
def test_an_outage_plans_the_restart_and_the_calendar_holds_its_runs(run, tmp_path):
    """`--outage 3d --ics OUT` answers, says how the outage was simulated, and writes a calendar of the run days."""
    out = tmp_path / "visits.ics"
    code, text, err = run("startup", DEMO, "--json", "--outage", "3d", "--ics", str(out))
    assert (code, err) == (0, "")
    found = json.loads(text)["startup"]
    assert any("3 d in its own weather" in line for line in found["assumptions"])
    starts = [
        entry
        for entry in Calendar.from_ical(out.read_bytes()).walk("VEVENT")
        if "air on" in str(entry["summary"])
    ]
    first = [day for day in found["days"] if day["start_hour_h"] is not None and day["minutes"] > 0]
    assert len(starts) == len(first)
    assert all(entry.walk("VALARM")[0].decoded("trigger") < timedelta(0) for entry in starts)


@pytest.mark.usefixtures("small")
def test_readings_of_a_visit_plan_anew_and_say_what_changed(run, tmp_path):
    """With `--readings` the plan starts after them, counts the run that they tell of, and says what they changed."""
    readings = tmp_path / "readings.csv"
    readings.write_text(READINGS, encoding="utf-8")
    code, text, err = run("startup", DEMO, "--json", "--readings", str(readings))
    assert (code, err) == (0, "")
    document = json.loads(text)
    found = document["startup"]
    # no plan is dated before the readings that it rests on, and its days go on counting from the first run
    assert document["date"] == "2026-08-12"
    assert found["days"][0]["date"] >= "2026-08-12"
    assert found["first_run"] == "2026-08-12"
    later = date.fromisoformat(found["days"][0]["date"]) - date(2026, 8, 12)
    assert found["days"][0]["number"] == later.days + 1
    assert any("Readings of Wed 12 Aug" in line for line in found["changes"])
    assert "runs-assumed" in {notice["code"] for notice in document["notices"]}
    assert [day["firm"] for day in found["days"]][:3] == [True, True, False][: len(found["days"])]


@pytest.mark.parametrize("days", ["0d", "-2d", "90d", "soon"])
def test_an_outage_that_is_no_number_of_days_is_refused(run, days):
    """Nothing to restart, or longer than the weather can say: exit 2 and what would be right."""
    code, out, err = run("startup", DEMO, f"--outage={days}")
    assert code == 2
    assert out == ""
    assert "outage" in err
