"""`plumeline commission` from the shell: the sheet, what was read beside it, and what it refuses."""

import json

import pytest

from plumeline.cli import main
from plumeline.files.job_folder import check_job

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


def built_of(folder):
    """Return the part as built of a folder without a pond."""
    return check_job(folder, pond_needed=False).job.as_built


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


def test_a_row_of_no_port_is_left_out_and_named_but_not_accepted(ask):
    """The sheet takes the rows that it can; a record that somebody signs is of all rows or of none."""
    rows = "2026-08-12T10:00,compressor,5,0.0,,\n2026-08-12T10:01,Z,5,0.0,,\n"
    code, out = ask(rows, "--json")
    assert code == 0
    found = json.loads(out.out)
    assert [row["reading"]["place"] for row in found["commission"]["comparison"]["rows"]] == ["compressor"]
    assert [row["text"] for row in found["notices"] if "gauges.csv, row 3, is left out" in row["text"]]
    code, out = ask(rows, "--accept", "J. Miller", "--reason", "the gauge is old")
    assert code == 1
    assert "gauges.csv, row 3" in out.err


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


def test_the_accepted_record_becomes_as_built(ask, folder):
    """What the contractor wrote stays to the letter; the record reads back; a second record takes the first's place."""
    rows = as_read(sheet(ask))
    code, out = ask(rows, "--accept", "J. Miller")
    assert code == 0
    assert "Accepted as built" in out.out
    text = (folder / "job.toml").read_text(encoding="utf-8")
    assert text.startswith(JOB)
    built = built_of(folder)
    assert built.made_on.isoformat() == "2026-08-12"
    assert [item.name for item in built.diffusers] == ["A", "B"]
    assert built.commissioned.accepted_by == "J. Miller"
    assert len(built.commissioned.gauges) == len(rows.splitlines())
    kept = {(g.place, g.open_ports, g.full_open): g.pressure_pa for g in built.commissioned.gauges}
    for line in rows.splitlines():
        _time, place, psi, _level, ports, _boil = line.split(",")
        words = ports.split()
        key = (place, tuple(word for word in words if word != "full"), "full" in words)
        assert kept[key] == pytest.approx(float(psi) * PSI_PA)
    later = rows.replace("2026-08-12", "2026-08-13")
    code, _ = ask(later, "--accept", "P. Jones", "--json")
    assert code == 0
    record = built_of(folder).commissioned
    assert record.accepted_by == "P. Jones"
    assert (folder / "job.toml").read_text(encoding="utf-8").count("[as_built") == 2
    code, out = ask(rows, "--accept", "J. Miller")
    assert code == 1
    assert "later than these readings" in " ".join(out.err.split())
    assert built_of(folder).commissioned == record


def test_a_gauge_that_disagrees_wants_a_reason(ask, folder):
    """Refused with the gauge named, nothing written; with a reason it is kept, the gauge marked."""
    rows = as_read(sheet(ask), off_psi={("valves set", "B"): 2.0})
    before = (folder / "job.toml").read_bytes()
    code, out = ask(rows, "--accept", "J. Miller")
    told = " ".join(out.err.split())
    assert code == 1
    assert "B (valves set) disagrees with a sound line" in told
    assert "--reason" in told
    assert (folder / "job.toml").read_bytes() == before
    code, _ = ask(rows, "--accept", "J. Miller", "--reason", "its gauge sticks; a new one is ordered")
    assert code == 0
    record = built_of(folder).commissioned
    assert record.reason.startswith("its gauge sticks")
    assert [(g.place, g.open_ports) for g in record.gauges if g.disagreed] == [("B", ())]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            lambda rows: "".join(r + "\n" for r in rows.splitlines() if not r.endswith(",,")),
            "valves set was not read",
        ),
        (lambda rows: rows.replace(",0.0,", ",,"), "staff gauge was not read"),
    ],
)
def test_a_record_that_tells_too_little_is_refused(ask, change, words):
    """The compressor's gauge as set and the level are the least that a record holds."""
    code, out = ask(change(as_read(sheet(ask))), "--accept", "J. Miller")
    assert code == 1
    assert words in " ".join(out.err.split())


def test_a_compressor_that_was_never_named_is_no_record(ask, folder):
    """The sheet then holds for an invented curve."""
    start, _, rest = JOB.partition("[air.compressor]")
    (folder / "job.toml").write_text(
        start + "[[air.trunk]]" + rest.partition("[[air.trunk]]")[2], encoding="utf-8"
    )
    code, out = ask(as_read(sheet(ask)), "--accept", "J. Miller")
    assert code == 1
    assert "names no compressor" in " ".join(out.err.split())


@pytest.mark.parametrize(
    "part",
    [
        "\n[as_built]\nmade_on = 2026-08-10\n\n[wishes]\njob_risk = 0.05\n",
        "\n# ours\n[[as_built.diffusers]]\nname = 'A'\ndepth = '8 ft'\nbranch_length = '100 ft'\n\n[as_built.x]\n",
        "\n[as_built]\nmade_on = 2026-08-10\ncommissioned = { accepted_on = 2026-08-10, accepted_by = 'x', gauges = [ "
        "{ time = 2026-08-10T10:00:00Z, place = 'compressor', pressure_pa = 1.0, expected_pa = 1.0, p05_pa = 1.0, "
        "p95_pa = 1.0 } ] }\n",
    ],
)  # fmt: skip
def test_a_part_as_built_that_is_there_is_kept_or_the_record_refused(ask, folder, part):
    """It goes in behind what is there and reads back, or nothing is written and it is said."""
    rows = as_read(sheet(ask))
    (folder / "job.toml").write_text(JOB + part, encoding="utf-8")
    before = (folder / "job.toml").read_bytes()
    code, out = ask(rows, "--accept", "J. Miller")
    if code == 0:
        assert (folder / "job.toml").read_text(encoding="utf-8").startswith(JOB + part)
        assert built_of(folder).commissioned.accepted_by == "J. Miller"
    else:
        assert "as_built" in out.err
        assert (folder / "job.toml").read_bytes() == before


def test_windows_line_ends_stay(ask, folder):
    """A job.toml of a Windows editor keeps its line ends, the record has them too."""
    rows = as_read(sheet(ask))
    (folder / "job.toml").write_bytes(JOB.replace("\n", "\r\n").encode())
    code, _ = ask(rows, "--accept", "J. Miller")
    text = (folder / "job.toml").read_bytes()
    assert code == 0
    assert text.count(b"\n") == text.count(b"\r\n")


def test_a_reading_before_the_line_was_built_is_refused(ask, folder):
    """The day that the part as built names."""
    (folder / "job.toml").write_text(JOB + "\n[as_built]\nmade_on = 2026-08-13\n", encoding="utf-8")
    code, out = ask("2026-08-12T10:00,compressor,5,0.0,,\n")
    assert code == 1
    told = " ".join(out.err.split())
    assert "2026-08-12 is before the line was built on 2026-08-13" in told
    assert "gauges.csv, row 2" in told


def test_air_shows_the_record_and_warns_of_another_line(ask, folder, capsys):
    """The accepted gauges stand beside the line; it says so when the pipe in job.toml is another one."""
    rows = as_read(sheet(ask))
    ask(rows, "--accept", "J. Miller")
    assert main(["air", str(folder), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    kept = found["air"]["accepted"]
    assert kept["accepted_by"] == "J. Miller"
    assert len(kept["rows"]) == len(rows.splitlines())
    assert not kept["moved"]
    assert all(row["now_pa"] == pytest.approx(row["then_pa"], abs=1.0) for row in kept["rows"])
    job = folder / "job.toml"
    job.write_text(
        job.read_text(encoding="utf-8").replace('length = "300 ft"', 'length = "900 ft"'), encoding="utf-8"
    )
    assert main(["air", str(folder), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["air"]["accepted"]["moved"]
    assert "air-not-as-accepted" in {notice["code"] for notice in found["notices"]}


def test_faults_starts_from_the_record(ask, folder, tmp_path, capsys):
    """The accepted gauge stands beside what was read, put to the visit's water; the words say from what it starts.

    Source: by hand, 0.1 m of fresh water is 979 Pa (998.2 x 9.80665 x 0.1), less what the flow takes off.
    """
    rows = as_read(sheet(ask))
    ask(rows, "--accept", "J. Miller")
    file = tmp_path / "later.csv"
    file.write_text(
        HEADING + "2027-06-12T10:00,compressor,6.9,0.1,,\n2027-06-12T10:05,B,5.9,0.1,,\n", encoding="utf-8"
    )
    words = ["faults", str(folder), "--gauge", str(file), "--date", "2027-06-13"]
    assert main([*words, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)["faults"]
    first = {
        row.split(",")[1]: float(row.split(",")[2]) * PSI_PA
        for row in rows.splitlines()
        if row.endswith(",,")
    }
    for place, then_pa in zip(("compressor", "B"), found["accepted_pa"], strict=True):
        assert 0.7 * 979.0 < then_pa - first[place] < 979.0
    assert main(words) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "accepted," in told
    assert f"starts from {len(rows.splitlines())} gauges accepted on 2026-08-13 by J. Miller" in told


def test_cooler_air_is_heavier_and_shows_more(ask, folder, capsys):
    """Source: common physics; air at 60 °F is 6.7 % denser than at 95 °F (554.67 over 519.67 °R), so more mass flows.

    The record keeps the air of its day: the line is not called another one for it.
    """
    hot, cool = sheet(ask), sheet(ask, "--intake", "60 degF")
    rises = [b["expected_pa"] - a["expected_pa"] for a, b in zip(hot, cool, strict=True)]
    assert all(0.0 < rise < 0.06 * a["expected_pa"] for a, rise in zip(hot, rises, strict=True))
    code, _ = ask(as_read(cool), "--intake", "60 degF", "--accept", "J. Miller")
    assert code == 0
    assert built_of(folder).commissioned.intake_temperature_degc == pytest.approx(15.56, abs=0.01)
    assert main(["air", str(folder), "--json"]) == 0
    assert not json.loads(capsys.readouterr().out)["air"]["accepted"]["moved"]


def test_two_levels_in_one_visit_are_said(ask):
    """A row with another sign: each is held against its own level, and it is said."""
    code, out = ask("2026-08-12T10:00,compressor,5,0.1,,\n2026-08-12T10:05,B,5,-0.1,,\n")
    assert code == 0
    assert "a pond does not move so far in a day" in " ".join(out.out.split())
