"""Files that are empty, binary, in another encoding or no files at all never end in a traceback."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from plumeline.demo import demo_folder
from plumeline.errors import JobFolderError
from plumeline.files.job_folder import check_job, load_job

NAMES = [
    "job.toml",
    "outline.geojson",
    "soundings.csv",
    "profiles.csv",
    "bottle.csv",
    "gauges.csv",
    "weather.csv",
]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(
    ("data", "problem", "remedy"),
    [
        (b"", "is empty", "Fill it"),
        (b" \r\n\n", "is empty", "Fill it"),
        (b"PK\x03\x04\x00\x00\x08\x00", "binary", "CSV UTF-8"),
        ("dépth".encode("latin-1"), "not UTF-8 (0xe9)", "UTF-8"),
        ("depth".encode("utf-16"), "UTF-16", "UTF-8"),
    ],
)
def test_what_is_no_text_is_one_fault_of_that_file(folder, name, data, problem, remedy):
    """Empty, binary and foreign encodings, in every file of the folder."""
    fault = folder.write(name, data).fault()
    assert fault.file == name
    assert problem in fault.problem
    assert remedy in fault.remedy


@pytest.mark.parametrize("name", NAMES)
def test_a_folder_in_the_place_of_a_file_is_a_fault(folder, name):
    """A directory called profiles.csv is said to be no readable file."""
    (folder.path / name).unlink(missing_ok=True)
    (folder.path / name).mkdir()
    assert folder.check().faults[0].file == name


def test_a_missing_folder_and_a_missing_job_file_say_what_to_do(folder, tmp_path):
    """The way out is named in both cases."""
    assert "plumeline new" in check_job(tmp_path / "nowhere").faults[0].remedy
    (folder.path / "job.toml").unlink()
    fault = folder.fault()
    assert (fault.file, fault.problem) == ("job.toml", "is missing.")
    assert "plumeline new" in fault.remedy


@pytest.mark.parametrize(
    ("old", "new", "row", "remedy"),
    [
        ('"14 ft"', "14 ft", "row 11", "in quotes"),
        ('"14 ft"', '"14 ft', "row 11", "quotation mark is missing"),
        ("[pond]", "[pond", "row 9", ""),
        ("[fish]", "[pond]", "row 26", ""),
    ],
)
def test_a_slip_in_the_toml_names_its_row(folder, old, new, row, remedy):
    """A value without quotes, a quote or bracket not closed, a table given twice."""
    fault = folder.change(old, new).fault()
    assert fault.where == row
    assert "TOML" in fault.problem
    assert remedy in fault.remedy


def test_load_job_raises_every_fault(folder):
    """The error holds each fault and says it in words."""
    folder.write("weather.csv", b"").write("bottle.csv", b"\x00")
    with pytest.raises(JobFolderError, match="2 faults") as caught:
        load_job(folder.path)
    assert {fault.file for fault in caught.value.faults} == {"weather.csv", "bottle.csv"}


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    name=st.sampled_from(NAMES),
    data=st.one_of(
        st.binary(max_size=200),
        st.text(max_size=200).map(lambda text: text.encode("utf-8", "replace")),
        st.lists(
            st.sampled_from(
                [
                    "time",
                    "depth_m",
                    "lon",
                    ",",
                    ";",
                    "\n",
                    '"',
                    "2026-08-11T10:30",
                    "1",
                    "-1",
                    "nan",
                    "=",
                    "[",
                    "]",
                    "{",
                    "}",
                    "pond",
                    "site",
                    "1e999",
                    ":",
                    "#",
                    "12 ft",
                    "reading",
                    "surface",
                    ".",
                    "null",
                ]
            ),
            max_size=40,
        ).map(lambda parts: "".join(parts).encode()),
    ),
)
def test_no_bytes_in_any_file_raise(folder, name, data):
    """Whatever a file holds, check reports; it never raises."""
    folder.write("job.toml", (folder.path / "job.toml").read_bytes())
    kept = (folder.path / "job.toml").read_bytes()
    folder.write(name, data)
    try:
        report = folder.check()
        assert (report.job is None) == bool(report.faults)
    finally:
        (folder.path / name).unlink()
        folder.write("job.toml", kept)


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    name=st.sampled_from([name for name in NAMES if name != "gauges.csv"]),
    share=st.floats(0, 1),
    length=st.integers(0, 12),
    new=st.sampled_from(
        [
            "",
            ",",
            ";",
            '"',
            "'",
            "\n",
            "-",
            "9",
            "0",
            ".",
            "nan",
            "1e309",
            " ft",
            "é",
            "\ufeff",
            "\u2028",
            "[",
            "]",
            "{",
            "=",
        ]
    )
    | st.text(max_size=3),
)
def test_no_slip_in_a_good_folder_raises(tmp_path, name, share, length, new):
    """A good folder with one stretch of one file mistyped is reported on, and never raises."""
    for path in demo_folder().iterdir():
        if path.is_file():
            (tmp_path / path.name).write_bytes(path.read_bytes())
    text = (tmp_path / name).read_text(encoding="utf-8")
    start = int(share * len(text))
    (tmp_path / name).write_text(
        text[:start] + new + text[start + length :], encoding="utf-8", errors="replace"
    )
    report = check_job(tmp_path)
    assert (report.job is None) == bool(report.faults)
