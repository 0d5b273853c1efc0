"""``plumeline column``: the hourly profiles as a table, a file and JSON."""

from __future__ import annotations

import csv
import io
import json
from datetime import datetime

import pytest

from plumeline.cli.column_work import planned_blows
from plumeline.cli.tables import WIDTH, cells
from plumeline.demo import demo_folder

DEMO = str(demo_folder())
FEW = ("--members", "16")


def rows_of(text):
    """Return the rows of a CSV text."""
    return list(csv.DictReader(io.StringIO(text)))


def test_the_file_holds_a_row_for_each_hour_and_depth_under_names_with_units(run, tmp_path):
    """Twelve hours at two depths are 24 rows; feet are read (1 ft = 0.3048 m exactly), metres written."""
    out = tmp_path / "out.csv"
    code, said, _ = run(
        "column", DEMO, "--from", "2026-08-11T12:00", "--to", "2026-08-12T00:00", "--depths", "1 ft, 10 ft",
        "--csv", str(out), *FEW,
    )  # fmt: skip
    assert code == 0
    assert "24 rows" in said
    rows = rows_of(out.read_text(encoding="utf-8"))
    assert len(rows) == 24
    assert list(rows[0]) == [
        "time", "depth_m", "temperature_degc", "temperature_p05_degc", "temperature_p95_degc", "do_mg_l",
        "do_p05_mg_l", "do_p95_mg_l",
    ]  # fmt: skip
    assert {row["depth_m"] for row in rows} == {"0.305", "3.048"}
    assert rows[0]["time"] == "2026-08-11T13:00-04:00"
    for row in rows:
        assert float(row["do_p05_mg_l"]) <= float(row["do_mg_l"]) <= float(row["do_p95_mg_l"])


def test_ten_answers_are_enough_and_the_lines_fit_the_terminal(run, ten):
    """A basin without outline or soundings runs as a circle, on climate days, and that is said."""
    code, out, _ = run("column", str(ten), *FEW)
    assert code == 0
    assert max(cells(line) for line in out.splitlines()) <= WIDTH
    assert "No weather was given" in " ".join(out.split())


def test_json_and_csv_tell_the_same(run):
    """The same run twice, as JSON and as CSV on stdout: equal medians, in SI."""
    words = ("column", DEMO, "--to", "2026-08-11", "--depths", "2 ft", "--also", "ammonia", *FEW)
    code, out, _ = run(*words, "--json")
    assert code == 0
    column = json.loads(out)["column"]
    code, text, err = run(*words, "--csv", "-")
    assert (code, err) == (0, "")
    rows = rows_of(text)
    for name in ("temperature_degc", "do_p95_mg_l", "ammonia_mg_l"):
        assert [float(row[name]) for row in rows] == pytest.approx(
            [hour[0] for hour in column[name]], rel=1e-3
        )
    assert column["times"][-1] == "2026-08-12T00:00-04:00"


def test_air_always_mixes_the_demo_pond(run):
    """Two days of all diffusers leave a smaller difference between top and bottom than no air."""
    apart = {}
    for air in ("off", "always"):
        code, out, _ = run(
            "column", DEMO, "--to", "2026-08-13", "--air", air, "--depths", "2 ft, 10 ft", "--json", *FEW
        )
        assert code == 0
        top, bottom = json.loads(out)["column"]["temperature_degc"][-1]
        apart[air] = top - bottom
    assert apart["always"] < 0.5 * apart["off"]


def test_the_plan_of_an_earlier_command_is_followed_and_named(run, tmp_path):
    """A plan.json in the folder's plan/ gives the run days; without it the plan is computed, which takes long."""
    import shutil

    folder = tmp_path / "job"
    shutil.copytree(DEMO, folder)
    (folder / "plan").mkdir()
    days = [{"date": "2026-08-12", "start_hour_h": 10.0, "minutes": 60}]
    (folder / "plan" / "plan.json").write_text(json.dumps({"startup": {"name": "one hour", "days": days}}))
    code, out, _ = run("column", str(folder), "--to", "2026-08-12", "--air", "plan", "--json", *FEW)
    assert code == 0
    assert "one hour" in json.loads(out)["column"]["air"]
    (folder / "plan" / "plan.json").write_text("{}")
    code, _, err = run("column", str(folder), "--to", "2026-08-12", "--air", "plan", *FEW)
    assert code == 1
    assert "plan.json" in err


def test_a_timed_run_lasts_its_minutes_over_a_change_of_clocks(make_demo_job):
    """A run of four hours from midnight ends at three by the clock where an hour comes twice (US law, 2026-11-01)."""
    from datetime import date
    from zoneinfo import ZoneInfo

    last = datetime(2026, 11, 9, tzinfo=ZoneInfo("America/New_York"))
    days = [(date(2026, 11, 1), 0.0, 240, ("D2",)), (date(2026, 11, 2), 9.5, 1440, ())]
    (blow, on) = planned_blows(days, make_demo_job, last, ("D1", "D2"))
    assert (blow.diffuser_index, on.diffuser_index) == ((1,), ())
    assert blow.end.isoformat() == "2026-11-01T03:00:00-05:00"
    assert (on.start.isoformat(), on.end) == ("2026-11-02T09:30:00-05:00", last)


@pytest.fixture(name="make_demo_job")
def _make_demo_job():
    from plumeline.files.job_folder import load_job

    return load_job(demo_folder())


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("--from", "yesterday"), 2, "2026-08-11T06:30"),
        (("--from", "2026-07-01"), 2, "first profile"),
        (("--from", "2026-08-12", "--to", "2026-08-11"), 2, "--to"),
        (("--depths", "40 ft"), 2, "deeper than the pond"),
        (("--also", "mud"), 2, "ammonia"),
        (("--members", "3"), 2, "16"),
    ],
)
def test_what_can_not_be_answered_is_said_with_the_way_out(run, words, code, said):
    """A wrong time, depth, state or count ends with its own message."""
    got, _, err = run("column", DEMO, *words)
    assert got == code
    assert said in err
