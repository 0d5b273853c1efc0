"""A row put into a file of any columns, units and marks reads back as the value that was meant; the rest stays."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plumeline.errors import InputError
from plumeline.files.csv_rows import lines_equal, lines_with, opened, row_lines, with_lines
from plumeline.files.findings import Findings
from plumeline.files.readings import READING_COLUMNS
from plumeline.files.tables import read_table

HEADS = {
    "time": ["time", "Time", "date_time"],
    "depth_m": ["depth_m", "depth_ft", "depth (in)", "depth"],
    "temperature_degc": ["temperature_degc", "temperature_degf", "temp (°F)", "temperature_k"],
    "do_mg_l": ["do_mg_l", "oxygen_mg_l", "do_ug_l"],
    "when": ["when"],
    "remark": ["remark of somebody"],
}
WANTED = ("time", "depth_m", "temperature_degc", "do_mg_l", "id")
CELLS = {
    "time": "2026-08-11T07:00", "depth_m": "1.5 m", "temperature_degc": "20 degC", "do_mg_l": "5 mg/L", "when": "dusk",
    "remark": "x",
}  # fmt: skip
MORE = ("temperature_degc", "when", "remark")


@st.composite
def files(draw):
    """Return a file with one row, its columns in any order."""
    names = draw(
        st.permutations(["time", "depth_m", "do_mg_l", *sorted(draw(st.sets(st.sampled_from(MORE))))])
    )
    mark = draw(st.sampled_from([",", ";", "\t"]))
    end = draw(st.sampled_from(["\n", "\r\n"]))
    heading = mark.join(draw(st.sampled_from(HEADS[name])) for name in names)
    lines = [draw(st.sampled_from(["# ours", "", "sep=" + mark])), heading]
    lines.append(mark.join(CELLS[name] for name in names))
    lines += draw(st.sampled_from([[], ["# end"], ["", ""]]))
    before = draw(st.sampled_from(["", "\ufeff"]))
    return (before + end.join(lines) + draw(st.sampled_from(["", end]))).encode()


def read(data):
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "readings.csv"
        path.write_bytes(data)
        findings = Findings()
        table = read_table(path, READING_COLUMNS, findings)
    assert not findings.all_faults()
    return table


@given(
    data=files(),
    depth_m=st.floats(0, 60),
    temperature=st.none() | st.floats(-0.5, 45),
    oxygen=st.floats(0, 40),
)  # fmt: skip
def test_a_row_reads_back_as_it_was_meant_and_the_others_as_before(data, depth_m, temperature, oxygen):
    """To 11 figures through any unit; the lines of before are there to the byte, but for the heading's new columns."""
    before = read(data)
    table = opened("readings.csv", data, READING_COLUMNS, WANTED)
    row = {"time": "2026-08-12T08:00:00-04:00", "depth_m": depth_m, "do_mg_l": oxygen, "id": "field-1"}
    if temperature is not None:
        row["temperature_degc"] = temperature
    new = with_lines(table, row_lines(table, [row])).data
    after = read(new)
    assert after.numbers["depth_m"][-1] == pytest.approx(depth_m, rel=1e-11, abs=1e-11)
    assert after.numbers["do_mg_l"][-1] == pytest.approx(oxygen, rel=1e-11, abs=1e-11)
    warm = after.numbers["temperature_degc"][-1]
    assert warm is None if temperature is None else warm == pytest.approx(temperature, rel=1e-11, abs=1e-9)
    assert after.texts["id"] == ["", "field-1"]
    for column in ("depth_m", "do_mg_l"):
        assert after.numbers[column][:-1] == before.numbers[column]
    old = data.decode().rstrip("\r\n").splitlines()
    assert [line for line in new.decode().splitlines() if line in old] == [
        line for line in old if line in new.decode().splitlines()
    ]
    assert len(new.decode().splitlines()) == len(old) + 1
    assert (b"\r\n" in new) == (b"\r\n" in data)
    again = opened("readings.csv", new, READING_COLUMNS, WANTED)
    found = lines_with(again, "id", "field-1")
    assert len(found) == 1
    assert lines_equal(again, [again.lines[found[0]]]) == found
    assert with_lines(again, (), old_rows=found).data == table.data


@given(what=st.text(max_size=60))
def test_any_words_stay_in_their_cell(what):
    """Whatever a phone's words hold, they are one cell of one row, blanks and unseen marks evened."""
    from plumeline.files.observations import GAUGE_COLUMNS

    table = opened(
        "gauges.csv", b"place,time,pressure_pa\n", GAUGE_COLUMNS, ("time", "place", "pressure_pa", "id")
    )
    row = {"time": "2026-08-12T08:00:00Z", "place": f"at {what}", "pressure_pa": 1.0, "id": "field-2"}
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "gauges.csv"
        path.write_bytes(with_lines(table, row_lines(table, [row])).data)
        findings = Findings()
        found = read_table(path, GAUGE_COLUMNS, findings)
    assert not findings.all_faults()
    seen = "".join(mark if mark.isprintable() else " " for mark in f"at {what}")
    assert (found.texts["place"], found.texts["id"]) == ([" ".join(seen.split())], ["field-2"])


@pytest.mark.parametrize("data", [b"# only a comment\n", b"depth_m,depth_ft\n1,2\n"])
def test_a_file_whose_heading_cant_be_read_is_left_alone(data):
    """InputError in words; nothing is guessed."""
    with pytest.raises(InputError, match="heading"):
        opened("readings.csv", data, READING_COLUMNS, WANTED)
