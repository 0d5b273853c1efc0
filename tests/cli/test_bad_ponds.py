"""Ponds as nobody should bring them, through the shell: what is wrong and what would be right, and nothing lost."""

from __future__ import annotations

import json

import pytest
from tests.bad_ponds import BRINGING, IN_FOLDER
from tests.cli.conftest import TEN_ANSWERS
from tests.files.bring.made import LAT, LON, SITE, put

from plumeline.files.findings import Findings
from plumeline.files.geojson import _area, read_outline
from plumeline.files.job_folder import check_job

OLD = '{"type": "Polygon", "coordinates": [[[-79.5637, 35.8648], [-79.5625, 35.8648], [-79.5631, 35.8657]]]}'


@pytest.fixture(name="job")
def _job(tmp_path):
    folder = tmp_path / "job"
    folder.mkdir()
    put(folder, "job.toml", TEN_ANSWERS.replace("35.8652, -79.5631", f"{LAT}, {LON}"))
    put(folder, "outline.geojson", OLD)
    return folder


@pytest.mark.parametrize("name", BRINGING, ids=str)
def test_a_file_is_taken_or_refused_in_words_and_the_old_shore_is_kept(run, job, tmp_path, name):
    """Exit 0 with the old shore beside the new one, or 1 or 2 with everything as it was; the way out is named."""
    bad = BRINGING[name]
    file = put(tmp_path, bad.name, bad.data())
    code, out, err = run("bring", str(job), str(file), "--yes", "--replace")
    said = " ".join((out + err).split())
    for words in bad.said:
        assert words in said
    assert "Traceback" not in said
    names = {path.name: path.read_text() for path in job.iterdir()}
    if not bad.taken:
        assert code in (1, 2)
        assert set(names) == {"job.toml", "outline.geojson"}
        assert names["outline.geojson"] == OLD
        return
    assert code == 0
    assert names["outline.old-1.geojson"] == OLD
    ring = read_outline(job / "outline.geojson", Findings())[0]
    assert _area(ring) > 0, "against the clock (RFC 7946, 3.1.6)"
    assert bad.corner_count in (0, len(ring))
    assert check_job(job).faults == ()


def test_survey_feet_are_taken_once_their_system_is_named(run, job, tmp_path):
    """The shore lies at the site, by the system that was suggested."""
    bad = BRINGING["survey feet"]
    file = put(tmp_path, bad.name, bad.data())
    assert run("bring", str(job), str(file), "--yes", "--replace", "--crs", "EPSG:2264")[0] == 0
    ring = read_outline(job / "outline.geojson", Findings())[0]
    assert max(abs(lon - SITE.longitude_deg) for lon, _ in ring) == pytest.approx(0.0006, rel=0.02)


@pytest.mark.parametrize("name", IN_FOLDER, ids=str)
def test_a_pond_that_its_job_does_not_fit_is_said(run, ten, name):
    """A notice with the way out where the rest can be worked out, else a refusal; the files stay."""
    asked = IN_FOLDER[name]
    text = TEN_ANSWERS.replace("35.8652, -79.5631", f"{LAT}, {LON}") + asked.more
    files = {"job.toml": text.encode(), **asked.files}
    for file, data in files.items():
        put(ten, file, data)
    code, out, err = run(asked.stage, str(ten), "--json")
    assert code == (1 if asked.refused else 0), err
    assert "Traceback" not in err
    said = err if asked.refused else " ".join(item["text"] for item in json.loads(out)["notices"])
    for words in asked.said:
        assert words in " ".join(said.split())
    assert {path.name: path.read_bytes() for path in ten.iterdir()} == files


def test_nothing_but_zero_sounded_is_said_in_words(run, ten):
    """It was a division by zero beside a profile; the way out is named, and the file stays."""
    text = TEN_ANSWERS.replace("35.8652, -79.5631", f"{LAT}, {LON}").replace('max_depth = "14 ft"\n', "")
    put(ten, "job.toml", text)
    rows = "".join(f"{LON + n * 1e-5:.6f},{LAT:.6f},0\n" for n in range(4))
    put(ten, "soundings.csv", "lon,lat,depth_m\n" + rows)
    code, _, err = run("survey", str(ten))
    said = " ".join(err.split())
    assert code == 1
    assert "all soundings in the water read zero" in said
    assert "Give pond.max_depth" in said
    assert (ten / "soundings.csv").read_text().endswith(rows)
