"""``plumeline known``: answers shown with what follows, and written into their own lines of job.toml."""

from __future__ import annotations

import json
import shutil

import pytest

from plumeline.cli import main
from plumeline.demo import demo_folder


@pytest.fixture
def oak(tmp_path):
    """A copy of the demo folder."""
    return shutil.copytree(demo_folder(), tmp_path / "oak")


def test_what_nobody_knows_is_listed_and_is_no_no(oak, capsys):
    """Each fact with what would follow (common practice, no published source)."""
    assert main(["known", str(oak)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "swimmers not known. (yes: People swim here: nobody in the water during the start-up" in said
    assert "Not known, and not known is not no: utility_located, private_lines" in said


def test_answers_are_written_in_their_own_lines(oak, capsys):
    """Two answers, one of them new; every other line stays, and the answer is said back."""
    before = (oak / "job.toml").read_text()
    assert main(["known", str(oak), "swimmers=no", "max_depth=15 ft", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["answers"]["swimmers"] == "no"
    assert "swimmers" not in found["not_known"]
    assert any(one.startswith("pond.max_depth: 15 ft = 4.57 m") for one in found["understood"])
    zone = 'time_zone = "America/New_York"\n'
    wanted = before.replace('max_depth = "14 ft"', 'max_depth = "15 ft"')
    wanted = wanted.replace(zone, f'{zone}\n[site.facts]\nswimmers = "no"\n')
    assert (oak / "job.toml").read_text() == wanted


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        ("swimers=yes", "Did you mean swimmers?"),
        ("swimmers=maybe", "Use one of: yes, no, unknown."),
        ("max_depth=15", "15 has no unit"),
        ("herbicide_date=2026-13-01", "is not a date"),
    ],
)
def test_an_answer_at_fault_is_told_and_nothing_is_written(oak, capsys, answer, words):
    """The exit code is not 0, the words say what would be right."""
    before = (oak / "job.toml").read_bytes()
    assert main(["known", str(oak), "animals=yes", answer]) != 0
    assert words in capsys.readouterr().err
    assert (oak / "job.toml").read_bytes() == before


def test_a_wall_and_the_compressor_s_place_are_typed_as_on_the_page(oak, capsys):
    """A wall from corner to corner, kept as places; said back on one line; every other line stays."""
    before = (oak / "job.toml").read_text()
    answers = [
        "walls=corner 1; corner 5; 3 ft",
        "compressor_place=35.86590, -79.5628598",
        "heavy_stock=unknown",
    ]
    assert main(["known", str(oak), *answers]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "35.8652, -79.5624022; 35.8654528, -79.5622468; 3 ft" in said
    assert "heavy_stock not known" in said
    after = (oak / "job.toml").read_text()
    added = (
        'walls = ["35.8652, -79.5624022; 35.8654528, -79.5622468; 3 ft"]\n',
        'place = "35.86590, -79.5628598"\n',
    )
    for line in added:
        assert line in after
        after = after.replace(line, "")
    assert after == before.replace("heavy_stock = false", 'heavy_stock = "unknown"')


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        ("walls=corner 1; corner 73; 3 ft", "corner 73: the shore has 72 corners"),
        ("walls=corner 1; 35.87, -79.56; 3 ft", "the end of wall 1 lies"),
        ("walls=corner 1; corner 5", "has 2 parts, not 3"),
        ("compressor_place=35.8652, 79.5631", "no air line is as long"),
        ("trench_width=6", "6 has no unit"),
    ],
)
def test_a_place_at_fault_is_told_and_nothing_is_written(oak, capsys, answer, words):
    """A corner that is not there, a wall off the shore, a lost sign."""
    before = (oak / "job.toml").read_bytes()
    assert main(["known", str(oak), answer]) != 0
    assert words in " ".join(capsys.readouterr().err.split())
    assert (oak / "job.toml").read_bytes() == before
