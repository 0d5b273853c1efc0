"""`plumeline faults` from the shell: words, JSON, and what it refuses."""

import json
import re

import pytest

from plumeline.cli import main

JOB = """format = 1
name = "Faults"
date = 2026-08-11

[site]
latitude_longitude_elevation = "36, -80, 0 ft"

[air]
route_length = "300 ft"
branch_pipe = "tubing-1/2"

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


@pytest.fixture
def ask(tmp_path, capsys):
    """Return a call of the command with a file of gauges."""
    folder = tmp_path / "job"
    folder.mkdir()
    (folder / "job.toml").write_text(JOB, encoding="utf-8")

    def asked(rows, *more):
        file = tmp_path / "gauges.csv"
        file.write_text(HEADING + rows, encoding="utf-8")
        code = main(["faults", str(folder), "--gauge", str(file), "--date", "2026-08-12", *more])
        return code, capsys.readouterr()

    return asked


def test_a_port_over_the_compressor_is_said_before_all(ask):
    """9.5 psi at B beside 5.5 at the compressor: no air flows uphill, one gauge is wrong."""
    rows = "2026-08-11T10:00,compressor,5.5,0.0,,\n2026-08-11T10:05,B,9.5,0.0,,\n"
    code, out = ask(rows, "--json")
    assert code == 0
    said = [n["text"] for n in json.loads(out.out)["notices"] if n["code"] == "gauge-uphill"]
    assert len(said) == 1
    assert "nearer to the compressor" in said[0]
    assert "0.00 bits" not in ask(rows)[1].out


def test_a_deep_port_that_reads_high(ask):
    """The deepest port 2 psi over the sound line: a fault of that branch leads, and the words say what it is."""
    code, first = ask("2026-08-11T10:00,compressor,5.5,0.0,,\n", "--json")
    assert code == 0
    sound_pa = json.loads(first.out)["faults"]["found"]["sound_pa"][0]
    rows = f"2026-08-11T10:00,compressor,{sound_pa / 6894.757 + 1.6:.2f},0.0,,A B\n"
    rows += f"2026-08-11T10:05,compressor,{sound_pa / 6894.757 + 2.4:.2f},0.0,B,\n"
    code, out = ask(rows)
    assert code == 0
    assert "What it may be" in out.out
    assert "fouled membrane" in out.out
    assert "The safe order of work" in out.out
    code, found = ask(rows, "--json")
    ranked = json.loads(found.out)["faults"]["found"]["ranked"]
    assert ranked[0]["cause"] != "nothing wrong"
    assert sum(row["probability"] for row in ranked) <= 1.0 + 1e-9


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("2026-08-11T10:00,compressor,-2,0.0,,\n", "below the limit"),
        ("2026-08-11T10:00,Z,5,0.0,,\n", "no port of this line"),
        ("2026-08-11T10:00,compresor,5,0.0,,\n", "Did you mean compressor?"),
        ("2027-08-11T10:00,compressor,5,0.0,,\n", "still to come"),
        ("yesterday,compressor,5,0.0,,\n", "not a time"),
        ("2026-08-11T10:00,A,5,0.0,B,\n", "shut valve"),
    ],
)
def test_bad_rows_are_named(ask, rows, words):
    """What is wrong, in which row, and no traceback."""
    code, out = ask(rows)
    assert code == 1
    told = " ".join(out.err.split())
    assert words in told
    assert "gauges.csv, row 2" in told
    assert "job folder" not in told


def test_a_row_of_no_port_is_left_out_and_named(ask):
    """The other rows are worked out as if it were not there; the row is named, with the ports that there are."""
    good = "2026-08-11T10:00,compressor,5.5,0.0,,\n2026-08-11T10:05,B,4.9,0.0,,\n"
    code, out = ask(good + "2026-08-11T10:06,Z,5,0.0,,\n", "--json")
    found, alone = json.loads(out.out), json.loads(ask(good, "--json")[1].out)
    assert code == 0
    assert found["faults"]["found"] == alone["faults"]["found"]
    (said,) = (row["text"] for row in found["notices"] if row["code"] == "gauge-left-out")
    assert "gauges.csv, row 4, is left out" in said
    assert "compressor, manifold, A, B" in said
    assert not [row for row in alone["notices"] if row["code"] == "gauge-left-out"]
    assert "row 4, is left out" in " ".join("".join(ask(good + "2026-08-11T10:06,Z,5,0.0,,\n")[1]).split())


def test_how_bad_a_fault_is_stands_in_the_units_asked_for(ask):
    """A hole in inches, a head in psi or a depth in feet beside US gauges; millimetres, kPa and metres in SI."""
    rows = "2026-08-11T10:00,compressor,3.9,0.0,,\n"
    _, us = ask(rows)
    _, si = ask(rows, "--units", "si")
    odds = {units: text.out.split("What it may be")[1].split("What to read next")[0] for units, text in
            (("us", us), ("si", si))}  # fmt: skip
    assert re.search(r"a hole of 0\.\d+ in\b", odds["us"])
    assert not re.search(r"\d (mm|kPa|m of)\b", odds["us"])
    assert re.search(r"a hole of \d+\.\d mm\b", odds["si"])
    assert not re.search(r"\d (in|psi|ft of)\b", odds["si"])
