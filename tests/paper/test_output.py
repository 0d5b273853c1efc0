"""The plan's folder: all or nothing, and never over somebody else's files."""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from plumeline.errors import InputError
from plumeline.paper import output, write_plan

DAY = date(2026, 8, 11)


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file of a folder."""
    return {item.name: item.read_bytes() for item in folder.iterdir()}


def test_every_file_is_written_and_nothing_else(small_plan, tmp_path):
    """The folder holds the agreed files, and nothing is left beside it."""
    out = tmp_path / "deep" / "plan"
    write_plan(small_plan, out, "us", DAY)
    assert set(contents(out)) == set(output.FILES)
    assert [item.name for item in out.parent.iterdir()] == ["plan"]


def test_an_older_plan_is_replaced(small_plan, tmp_path):
    """A second writing takes the place of the first, with the same bytes for the same units."""
    out = tmp_path / "plan"
    write_plan(small_plan, out, "us", DAY)
    first = contents(out)
    write_plan(small_plan, out, "si", DAY)
    assert contents(out)["plan.pdf"] != first["plan.pdf"]
    assert contents(out)["plan.json"] == first["plan.json"]
    write_plan(small_plan, out, "us", DAY)
    assert contents(out) == first
    assert [item.name for item in tmp_path.iterdir()] == ["plan"]


def test_same_bytes_in_another_process(small_plan, tmp_path):
    """Neither the hash seed, the zone, nor what was drawn before changes a byte."""
    (tmp_path / "plan.pickle").write_bytes(pickle.dumps(small_plan))
    program = (
        "import pickle, sys; from datetime import date; from pathlib import Path\n"
        "from plumeline.paper import write_plan\n"
        "plan = pickle.loads(Path(sys.argv[1]).read_bytes())\n"
        "write_plan(plan, Path(sys.argv[2]), 'us', date(2026, 8, 11))\n"
    )
    other = {**os.environ, "PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo"}
    words = [sys.executable, "-c", program, str(tmp_path / "plan.pickle"), str(tmp_path / "there")]
    subprocess.run(words, check=True, env=other, timeout=300)
    write_plan(small_plan, tmp_path / "here", "us", DAY)
    assert contents(tmp_path / "there") == contents(tmp_path / "here")


@pytest.mark.parametrize("fails_at", ["render", "rename"])
def test_a_failure_leaves_the_older_plan(small_plan, tmp_path, monkeypatch, fails_at):
    """Whatever fails, the older plan stays whole and no half-written folder is left."""
    out = tmp_path / "plan"
    write_plan(small_plan, out, "us", DAY)
    before = contents(out)

    def fail(*args: object) -> None:
        raise OSError("no room left")

    if fails_at == "render":
        monkeypatch.setattr(output, "render", fail)
    else:
        rename = Path.rename

        def fail_for_new(self: Path, target: Path) -> Path:
            return fail() if ".new-" in self.name else rename(self, target)

        monkeypatch.setattr(Path, "rename", fail_for_new)
    with pytest.raises(OSError, match="no room left"):
        write_plan(small_plan, out, "si", DAY)
    assert contents(out) == before
    assert [item.name for item in tmp_path.iterdir()] == ["plan"]


@pytest.mark.parametrize("stranger", ["job.toml", "notes.txt"])
def test_a_folder_with_other_files_is_refused(small_plan, tmp_path, stranger):
    """A folder that holds anything but a plan is not touched, and the message names what is there."""
    (tmp_path / stranger).write_text("mine")
    with pytest.raises(InputError, match=stranger):
        write_plan(small_plan, tmp_path, "us", DAY)
    assert contents(tmp_path) == {stranger: b"mine"}


def test_a_file_of_that_name_is_refused(small_plan, tmp_path):
    """A file is not turned into a folder."""
    place = tmp_path / "plan"
    place.write_text("mine")
    with pytest.raises(InputError, match="a file of that name"):
        write_plan(small_plan, place, "us", DAY)
    assert place.read_text() == "mine"


def test_a_plan_json_of_another_make_is_refused(small_plan, tmp_path):
    """Only our own plan.json marks a folder as a plan."""
    (tmp_path / "plan.json").write_text("{}")
    with pytest.raises(InputError, match="holds no plan"):
        write_plan(small_plan, tmp_path, "us", DAY)
