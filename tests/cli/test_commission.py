"""`plumeline commission` from the shell: the sheet, what was read beside it, and what it refuses."""

import json

import pytest

from plumeline.cli import main

JOB = """format = 1
name = "Sheet"
date = 2026-08-11

[site]
latitude_longitude_elevation = "36, -80, 0 ft"
time_zone = "America/New_York"

[air]
route_length = "300 ft"
branch_pipe = "tubing-1/2"

[air.compressor]
curve = [
  { pressure = "0 psig", intake_flow = "5.0 cfm" },
  { pressure = "10 psig", intake_flow = "4.1 cfm" },
  { pressure = "20 psig", intake_flow = "2.5 cfm" },
]

[[air.trunk]]
pipe = "pe-3/4"
length = "300 ft"

[[air.diffusers]]
name = "A"
depth = "8 ft"
branch_length = "100 ft"

[[air.diffusers]]
name = "B"
depth = "10 ft"
branch_length = "150 ft"
"""
HEADING = "time,place,pressure_psig,water_level_m,open_ports,boil\n"
PSI_PA = 6894.757293168


@pytest.fixture
def folder(tmp_path):
    """Return a job folder."""
    made = tmp_path / "job"
    made.mkdir()
    (made / "job.toml").write_text(JOB, encoding="utf-8")
    return made


@pytest.fixture
def ask(folder, tmp_path, capsys):
    """Return a call of the command, with a file of gauges where rows are given."""

    def asked(rows, *more):
        words = ["commission", str(folder), "--date", "2026-08-13", *more]
        if rows is not None:
            file = tmp_path / "gauges.csv"
            file.write_text(HEADING + rows, encoding="utf-8")
            words += ["--gauge", str(file)]
        code = main(words)
        return code, capsys.readouterr()

    return asked


def sheet(ask, *more):
    """Return the rows of the sheet as JSON."""
    code, out = ask(None, "--json", *more)
    assert code == 0
    return json.loads(out.out)["commission"]["expected"]


def as_read(rows, *, off_psi=None):
    """Return a file's rows in which every gauge of the sheet shows what it must, some of them off."""
    lines = []
    for row in rows:
        psi = row["expected_pa"] / PSI_PA + (off_psi or {}).get((row["state"], row["place"]), 0.0)
        lines.append(f"2026-08-12T10:00,{row['place']},{psi:.2f},0.0,{row['open_ports']},\n")
    return "".join(lines)


def test_a_sheet_and_a_line_as_it_must_be(ask):
    """Every standing of the valves is there, and a line that reads as it must agrees in every gauge."""
    rows = sheet(ask)
    states = {row["state"] for row in rows}
    assert states == {
        "all full open", "A alone, full open", "B alone, full open", "valves set", "A shut", "B shut",
    }  # fmt: skip
    assert all(row["p05_pa"] < row["expected_pa"] < row["p95_pa"] for row in rows)
    code, out = ask(as_read(rows), "--json")
    found = json.loads(out.out)["commission"]
    assert code == 0
    assert {row["verdict"] for row in found["comparison"]["rows"]} == {"agrees"}
    assert found["missing"] == []
    assert found["suspects"] is None


def test_what_disagrees_is_said_with_how_much(ask):
    """A port 2 psi over what it must show, in psi and in widths, with what it may be and the next reading."""
    rows = as_read(sheet(ask), off_psi={("valves set", "B"): 2.0})
    code, out = ask(rows)
    words = " ".join(out.out.split())
    assert code == 0
    assert "1 of" in words
    assert "gauges disagree with a sound line: B (valves set)" in words
    assert "Farthest off: B with valves set, 2.00 psi over what it must show" in words
    assert "What it may be" in words
    assert "What to read next" in words
    assert max(len(line) for line in out.out.splitlines()) <= 80


def test_two_inches_more_water_raise_every_gauge(ask):
    """Source: by hand, 2 in of fresh water are 497 Pa (0.0508 m x 998.2 x 9.80665); the flow takes a little off."""
    low, high = sheet(ask), sheet(ask, "--level", "2 in")
    rises = [b["expected_pa"] - a["expected_pa"] for a, b in zip(low, high, strict=True)]
    assert all(0.0 < rise < 500.0 for rise in rises)
    deep = [rise for a, rise in zip(low, rises, strict=True) if a["place"] == "B"]
    assert max(deep) > 400.0


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("2026-08-12T10:00,compressor,-2,0.0,,\n", "below the limit"),
        ("2026-08-12T10:00,Z,5,0.0,,\n", "no port of this line"),
        ("2026-08-12T10:00,compresor,5,0.0,,\n", "Did you mean compressor?"),
        ("2026-08-12T10:00,compressor,5,0.0,full Z,\n", "no port of this line"),
        ("2026-08-12T10:00,compressor,5,0.0,none,\n", "no port of this line"),
        ("2026-08-12T10:00,B,5,0.0,full A,\n", "shut valve"),
        ("2027-08-12T10:00,compressor,5,0.0,,\n", "still to come"),
        ("yesterday,compressor,5,0.0,,\n", "not a time"),
    ],
)
def test_bad_rows_are_named(ask, rows, words):
    """What is wrong, in which row, and no traceback."""
    code, out = ask(rows)
    told = " ".join(out.err.split())
    assert code == 1
    assert words in told
    assert "gauges.csv, row 2" in told


@pytest.mark.parametrize(
    ("rows", "options", "words"),
    [
        ("", (), "no gauge was read"),
        (None, ("--level", "-9 ft"), "stands dry"),
        (None, ("--accept", "J. Miller"), "without --gauge"),
        ("2026-08-12T10:00,compressor,5,0.0,,\n", ("--reason", "the gauge is old"), "without --accept"),
    ],
)
def test_what_can_not_be_asked_is_refused(ask, rows, options, words):
    """Clear words, no traceback."""
    code, out = ask(rows, *options)
    assert code in (1, 2)
    assert words in " ".join((out.err + out.out).split())
