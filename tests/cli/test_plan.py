"""``plumeline plan``: all stages, the files, and the line that says how to look at them."""

from __future__ import annotations

import json
import shutil

import pytest

from plumeline.cli.tables import WIDTH, cells
from plumeline.demo import demo_folder
from plumeline.safety import SAFETY_CARD

pytestmark = pytest.mark.usefixtures("small")

MUST = {"plan.pdf", "plan.json", "plan.geojson"}


@pytest.fixture(name="demo")
def _demo(tmp_path):
    """Return a copy of the demo job, so that nothing is written into the package."""
    folder = tmp_path / "oak"
    shutil.copytree(demo_folder(), folder)
    return folder


def files_of(folder):
    """Return the bytes of the files below a folder by their places in it."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_plan_writes_the_files_says_how_to_look_and_gives_the_same_bytes_each_time(run, demo, tmp_path):
    """The files stand in --out, else in plan/ in the job folder, the same bytes; the last line names the PDF."""
    out_folder = tmp_path / "out"
    code, out, err = run("plan", str(demo), "--out", str(out_folder))
    assert code == 0, err
    written = files_of(out_folder)
    assert set(written) >= MUST
    assert any(name.endswith(".svg") for name in written)
    lines = out.splitlines()
    assert str(out_folder / "plan.pdf") in lines[-1]
    assert max(cells(line) for line in lines[:-1]) <= WIDTH
    text = " ".join(out.split())
    assert "of 24 simulated ponds like this one" in text
    assert all(f"{title} {said}" in text for title, said in SAFETY_CARD)
    assert "writing the files" in err
    told, after = err.split("The plan stands: ")[1].split("\n", 1)
    risk = json.loads((out_folder / "plan.json").read_text(encoding="utf-8"))["startup"]["risk"]
    assert f"of 24 simulated ponds {risk['failures']} lose their refuge" in told
    assert "scoring what it is compared with" in after, "told before what is asked beside it"
    assert {path.name for path in demo.iterdir()} == {path.name for path in demo_folder().iterdir()}

    code, out, err = run("plan", str(demo), "--json")
    assert (code, err) == (0, "")
    found = json.loads(out)
    assert found["out"] == str(demo / "plan")
    assert set(found["files"]) >= MUST
    assert files_of(demo / "plan") == written
    assert run("check", str(demo))[0] == 0


def test_plan_that_fails_leaves_no_folder(run, demo, tmp_path):
    """A job that can't be planned writes nothing at all."""
    (demo / "soundings.csv").write_text("lon,lat,dept_m\n1,2,3\n", encoding="utf-8")
    code, out, err = run("plan", str(demo), "--out", str(tmp_path / "out"))
    assert (code, out) == (1, "")
    assert "dept_m" in err
    assert not (tmp_path / "out").exists()


def test_plan_onto_a_file_is_refused(run, demo, tmp_path):
    """--out that is a file is told before the minutes of work, and the file is left alone."""
    (tmp_path / "out").write_text("mine", encoding="utf-8")
    code, out, err = run("plan", str(demo), "--out", str(tmp_path / "out"))
    assert (code, out) == (1, "")
    assert "a file of that name" in err
    assert "searching" not in err
    assert (tmp_path / "out").read_text(encoding="utf-8") == "mine"


def test_plan_onto_a_folder_of_other_things_is_refused_before_the_work(run, demo, tmp_path):
    """--out with somebody's files in it is told at once, and nothing in it is touched."""
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "letter.txt").write_text("mine", encoding="utf-8")
    code, out, err = run("plan", str(demo), "--out", str(tmp_path / "out"))
    assert (code, out) == (1, "")
    assert "letter.txt" in err
    assert "searching" not in err
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["letter.txt"]


def test_ten_answers_give_a_plan_that_says_what_would_narrow_it_most(run, ten, tmp_path):
    """job.toml alone gives the files, in words that say which missing input to get first."""
    code, out, err = run("plan", str(ten), "--out", str(tmp_path / "out"))
    assert code == 0, err
    assert "would narrow it most" in out
    assert {path.name for path in (tmp_path / "out").iterdir()} >= MUST
