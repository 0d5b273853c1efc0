"""The profile file of ``quick plume``: headers in other units, missing cells and columns."""

import pytest

from plumeline.errors import InputError
from plumeline.files.plume_profile import read_plume_profile


def write(folder, text):
    """Write a profile file and return its path."""
    path = folder / "profile.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_rows_are_read_as_written(tmp_path):
    """Depth, temperature and oxygen come out in SI units, in the order of the file."""
    rows = read_plume_profile(write(tmp_path, "depth_m,temperature_degc,do_mg_l\n0,28.5,8.1\n3,21,0.4\n"))
    assert rows.depth_m == (0.0, 3.0)
    assert rows.temperature_degc == (28.5, 21.0)
    assert rows.do_mg_l == (8.1, 0.4)


def test_a_header_may_carry_another_unit(tmp_path):
    """Feet and Fahrenheit in the headers are understood and echoed."""
    rows = read_plume_profile(write(tmp_path, "depth_ft,temperature_degf\n0,86\n10,71.6\n"))
    assert rows.depth_m == pytest.approx((0.0, 3.048))
    assert rows.temperature_degc == pytest.approx((30.0, 22.0))
    assert rows.do_mg_l is None
    assert len(rows.echoes) == 2


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("depth_m\n0\n", "temperature_degc is missing"),
        ("depth_m,temperature_degc,do_mg_l\n0,28,\n", "row 2, do_mg_l"),
        ("depth_m,temperature_degc\n0,warm\n", "row 2, temperature_degc"),
        ("depth_m,temperature_degc,do_mg_l\n0,28,45\n", "above the limit"),
        ("depth_m,temperature_degc\n", "no rows"),
        ("", "profile.csv"),
    ],
)
def test_faults_are_named(tmp_path, text, words):
    """A missing column, an empty cell, a word for a number, 45 mg/L and an empty file are told."""
    with pytest.raises(InputError, match=words):
        read_plume_profile(write(tmp_path, text))


def test_a_file_that_is_not_there_is_told(tmp_path):
    """A wrong name is an error that says so."""
    with pytest.raises(InputError, match="no such file"):
        read_plume_profile(tmp_path / "none.csv")
