"""plumeline new: a folder to fill in, that says what is empty and loads once it is filled."""

from __future__ import annotations

from datetime import date

import pytest

from plumeline.errors import InputError
from plumeline.files.job_folder import check_job, load_job
from plumeline.files.new_answers import written_value
from plumeline.files.new_folder import write_new
from plumeline.files.ten_answers import EXAMPLES

DAY = date(2026, 8, 11)
FILES = (
    "job.toml", "outline.geojson", "soundings.csv", "profiles.csv", "bottle.csv", "weather.csv", "readings.csv",
    "runs.csv", "route.csv", "equipment.csv",
)  # fmt: skip
ANSWERS = {
    "site.latitude_longitude_elevation": '"35.8652, -79.5631, 680 ft"',
    "pond.area": '"1.6 acre"',
    "pond.max_depth": '"14 ft"',
    "pond.secchi_depth": '"2 ft"',
    "reading.surface": '"84 degF, 7.5 mg/L"',
    "reading.bottom": '"64 degF, 0.1 mg/L"',
    "reading.smell": '"strong"',
    "air.route_length": '"430 ft"',
    "air.rise": '"12 ft"',
    "power.volts_amps": '"120 V, 20 A"',
    "fish.species": '["bluegill"]',
}


def fill(folder, answers):
    """Fill answers into a new job.toml, as a person would: behind the equals sign."""
    path = folder / "job.toml"
    lines = path.read_text(encoding="utf-8").split("\n")
    for answer, value in answers.items():
        key = answer.split(".")[1]
        (index,) = [number for number, line in enumerate(lines) if line.startswith(f"{key} = ")]
        lines[index] = f"{key} = {value}"
    path.write_text("\n".join(lines), encoding="utf-8")


def test_it_writes_every_file_commented(tmp_path):
    """Every file, each with words on how to fill it."""
    assert write_new(tmp_path / "pond") == FILES
    for name in FILES:
        text = (tmp_path / "pond" / name).read_text(encoding="utf-8")
        assert '"how"' in text if name.endswith(".geojson") else text.startswith("# ")


def test_the_untouched_folder_says_which_answers_are_empty(tmp_path):
    """Every one of the ten answers is named, and nothing else is wrong."""
    write_new(tmp_path / "pond", today=DAY)
    report = check_job(tmp_path / "pond")
    empty = {fault.where for fault in report.faults}
    assert all(fault.problem == "is still empty." for fault in report.faults)
    said = [notice.text for notice in report.notices if notice.code == "answer-empty"]
    empty |= {path for path in EXAMPLES if any(f"{path} is still empty" in text for text in said)}
    assert empty == set(EXAMPLES)


def test_it_loads_once_the_ten_answers_are_filled(tmp_path):
    """The ten answers filled in, the folder is a job, named after itself and dated."""
    write_new(tmp_path / "Long Meadow", today=DAY)
    fill(tmp_path / "Long Meadow", ANSWERS)
    report = check_job(tmp_path / "Long Meadow")
    assert report.faults == ()
    assert not [notice for notice in report.notices if notice.code == "answer-empty"]
    assert (report.job.name, report.job.id, report.job.date) == ("Long Meadow", "long-meadow", DAY)
    assert len(report.job.profiles) == 1


def test_every_commented_line_of_the_template_loads_too(tmp_path):
    """With all optional lines uncommented the folder still has no fault: the examples are right."""
    write_new(tmp_path / "pond", today=DAY)
    fill(tmp_path / "pond", ANSWERS)
    path = tmp_path / "pond" / "job.toml"
    head, _, rest = path.read_text(encoding="utf-8").partition("\nformat = 1")
    lines = [line[2:] if line.startswith("# ") else line for line in rest.split("\n")]
    lines = [line for line in lines if not line.startswith("----")]
    path.write_text(head + "\nformat = 1" + "\n".join(lines), encoding="utf-8")
    job = load_job(tmp_path / "pond")
    assert len(job.air.compressor.curve) == 2
    assert job.wishes.keep_out[0][1].x_m == 10.0
    assert job.air.diffusers[0].name == "A"


@pytest.mark.parametrize("name", [name for name in FILES if name.endswith(".csv")])
def test_the_example_rows_of_the_tables_load(tmp_path, name):
    """The commented example row of each CSV file fits its heading."""
    write_new(tmp_path / "pond", today=DAY)
    fill(tmp_path / "pond", ANSWERS | {"site.latitude_longitude_elevation": '"35.91, -79.72, 680 ft"'})
    path = tmp_path / "pond" / name
    lines = path.read_text(encoding="utf-8").strip().split("\n")
    example = lines[-2].removeprefix("# ")
    second = (
        example.replace("T10:30,0.3,", "T10:30,4.0,")
        .replace("T10:00,", "T11:00,")
        .replace("T11:15,", "T12:15,")
        .replace("60,690,", "120,688,")
        .replace("hp,10,4.0,370,", "hp,25,2.1,430,")
    )
    path.write_text("\n".join([lines[-1], example, second]) + "\n", encoding="utf-8")
    assert check_job(tmp_path / "pond").faults == ()


def test_it_overwrites_nothing(tmp_path):
    """One file there already: nothing is written, and the way out is said."""
    (tmp_path / "profiles.csv").write_text("mine")
    with pytest.raises(InputError, match=r"profiles\.csv is there already") as caught:
        write_new(tmp_path)
    assert "another folder" in caught.value.remedy
    assert [path.name for path in tmp_path.iterdir()] == ["profiles.csv"]


def test_a_file_in_the_folders_place_is_said(tmp_path):
    """A file can't be a job folder."""
    (tmp_path / "pond").write_text("")
    with pytest.raises(InputError, match="is a file"):
        write_new(tmp_path / "pond")


def test_species_are_told_apart_as_people_list_them():
    """Commas, "and", an ampersand."""
    words = written_value("species", "bluegill, largemouth bass and bream & carp")
    assert words == '["bluegill", "largemouth bass", "bream", "carp"]'
