"""``plumeline bring``: what was understood is shown, nothing is written unasked, nothing is lost."""

from __future__ import annotations

import json

import pytest
from tests.cli.conftest import TEN_ANSWERS
from tests.files.bring.made import LAT, LON, ellipse, gpx, kml, kml_polygon, put, track

from plumeline.files.job_folder import check_job


@pytest.fixture(name="job")
def _job(tmp_path):
    folder = tmp_path / "job"
    folder.mkdir()
    put(folder, "job.toml", TEN_ANSWERS.replace("35.8652, -79.5631", f"{LAT}, {LON}"))
    return folder


@pytest.fixture(name="files")
def _files(tmp_path):
    depths = [f"<time>2026-08-11T14:00:{n:02d}Z</time><depth>{1 + n / 10}</depth>" for n in range(20)]
    walk = put(tmp_path, "walk.gpx", gpx(track(ellipse())))
    sonar = put(tmp_path, "sonar.gpx", gpx(track(ellipse(20, size=0.5), depths)))
    table = put(tmp_path, "line.csv", f"GPS Lat,GPS Long,Water Depth (ft)\n{LAT},{LON},11.5\n{LAT},{LON},x\n")
    return [str(path) for path in (walk, sonar, table)]


def test_several_files_become_shore_and_soundings_of_the_job(job, files, run):
    """The job that is read back has the walked corners and every depth, with the units shown."""
    code, out, _ = run("bring", str(job), *files, "--yes")
    assert code == 0
    assert "'Water Depth (ft)', in ft" in out
    assert "left out" in out
    report = check_job(job)
    assert report.faults == ()
    assert len(report.job.pond.outline[0]) == 60
    assert [item.depth_m for item in report.job.pond.soundings][-1] == pytest.approx(3.5052)
    assert len(report.job.pond.soundings) == 21


@pytest.mark.parametrize("flags", [[], ["--dry-run"]])
def test_nothing_is_written_before_it_is_confirmed(job, files, run, flags):
    """Without --yes where nobody can be asked the program ends with 2; a dry run with 0."""
    code, out, err = run("bring", str(job), *files, *flags)
    assert code == (0 if flags else 2)
    assert "To be taken" in out
    assert ("--yes" in err) != bool(flags)
    assert [path.name for path in job.iterdir()] == ["job.toml"]


def test_a_shore_that_is_there_is_replaced_only_when_asked_and_then_kept(job, files, run, tmp_path):
    """The old file lies beside the new one, to the byte, and a second old one does not take its place."""
    run("bring", str(job), files[0], "--yes")
    before = (job / "outline.geojson").read_bytes()
    other = str(put(tmp_path, "o.kml", kml(kml_polygon(ellipse(30), ""))))
    code, _, err = run("bring", str(job), other, "--yes")
    assert (code, "--replace" in err) == (1, True)
    assert (job / "outline.geojson").read_bytes() == before
    for _ in range(2):
        assert run("bring", str(job), other, "--yes", "--replace")[0] == 0
    assert (job / "outline.old-1.geojson").read_bytes() == before
    assert (job / "outline.old-2.geojson").is_file()


def test_soundings_are_added_once(job, files, run):
    """The same file brought twice gives no row twice; columns and rows of the folder stay."""
    put(job, "soundings.csv", f"lat,lon,depth_ft,remark\n{LAT},{LON},7,by hand\n")
    code, _, err = run("bring", str(job), files[1], "--yes", "--as", "soundings")
    assert (code, "--add" in err) == (1, True)
    for _ in range(2):
        assert run("bring", str(job), files[1], "--yes", "--add", "--as", "soundings")[0] == 0
    lines = (job / "soundings.csv").read_text().splitlines()
    assert lines[0] == "lat,lon,depth_ft,remark,time"
    assert lines[1] == f"{LAT},{LON},7,by hand"
    assert len(lines) == 22
    assert len(check_job(job).job.pond.soundings) == 21


def test_the_answer_as_json(job, files, run):
    """Rows that were left out and files that were written stand in it."""
    code, out, _ = run("bring", str(job), *files, "--yes", "--json")
    found = json.loads(out)
    assert code == 0
    assert found["files"][2]["left_out"] == [{"why": "its depth is not a number", "rows": [3]}]
    assert found["taken"]["soundings"] == 21
    assert found["written"] == ["outline.geojson", "soundings.csv"]


def test_a_shore_in_job_toml_is_not_doubled(job, files, run):
    """What would make the folder faulty is refused whole, and nothing is written."""
    ring = ", ".join(f"{{ longitude_deg = {lon}, latitude_deg = {lat} }}" for lon, lat in ellipse(5))
    text = (job / "job.toml").read_text().replace("[pond]", f"[pond]\noutline = [[{ring}]]")
    put(job, "job.toml", text)
    code, _, err = run("bring", str(job), files[0], "--yes")
    assert code == 1
    assert "is given twice" in err
    assert not (job / "outline.geojson").exists()


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["missing.gpx", "--yes"], 1, "is not a file that is there"),
        (["--columns", "depth", "--yes"], 2, "names no column"),
        (["--crs", "EPSG:1", "--yes"], 2, "no reference system"),
        (["--add", "--replace"], 2, "can't both be meant"),
        (["--pond", "9", "--yes"], 2, "there is no pond '9'"),
    ],
)
def test_wrong_words_are_answered(job, files, run, words, code, said):
    """In clear words, with the exit code of their kind."""
    named = files if "--crs" not in words else files[2:]
    got, _, err = run("bring", str(job), *named, *words)
    assert (got, said in err) == (code, True)
    assert "Traceback" not in err


def test_muck_and_the_staff_gauge_come_into_the_job(job, run, tmp_path):
    """Columns of the table, and --level for soundings that say none; a reading without a unit is refused."""
    rows = "".join(f"{LAT + n / 1e5:.5f},{LON},{10 + n},{n}\n" for n in range(3))
    table = put(tmp_path, "probes.csv", f"Lat,Lon,Depth (ft),Muck (in)\n{rows}")
    code, out, err = run("bring", str(job), str(table), "--level", "2 ft 6 in", "--yes")
    assert code == 0, err
    assert "thickness of soft muck" in out
    found = check_job(job).job.pond.soundings
    assert [item.muck_m for item in found] == [pytest.approx(0.0254 * n, abs=1e-4) for n in range(3)]
    assert [item.level_m for item in found] == [pytest.approx(0.762)] * 3
    code, _, err = run("bring", str(job), str(table), "--level", "high", "--replace", "--yes")
    assert code == 2
    assert "staff gauge" in err
