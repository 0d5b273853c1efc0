"""A value in a sentence in both systems, until a surface takes the side that it needs."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import plumeline
from plumeline.cli import main
from plumeline.errors import InputError
from plumeline.notices import note
from plumeline.pairs import MARK, pair, said, unmarked
from plumeline.units import both

DEMO = Path(plumeline.__file__).parent / "demo" / "hollow-oak"
US = re.compile(r"\d (ft|in|lb|acre|acre-ft|psig|psi|mph|scfm)\b|°F")
SI = re.compile(r"\d (m|cm|kg|m²|m³|ha|kPa|m/s)\b|°C")
words = st.text(st.characters(blacklist_characters=MARK, blacklist_categories=("Cs",)), max_size=20)


@given(words, words, words, words)
def test_each_side_is_said_whole_and_nothing_else_is_touched(before, us, si, after):
    """Whatever stands around a pair stays; the marks are gone on every surface."""
    text = before + pair(us, si) + after
    assert said(text, "us") == before + us + after
    assert said(text, "si") == before + si + after
    assert MARK not in unmarked(text)


def test_two_pairs_in_one_sentence_and_brackets_of_its_own():
    """By hand: each pair for itself, the sentence's brackets stay."""
    text = f"From {pair('2 ft', '0.6 m')} (about) to {pair('12 ft', '3.7 m')} (the bottom)."
    assert said(text, "us") == "From 2 ft (about) to 12 ft (the bottom)."
    assert said(text, "si") == "From 0.6 m (about) to 3.7 m (the bottom)."
    assert unmarked(text) == "From 2 ft (0.6 m) (about) to 12 ft (3.7 m) (the bottom)."


def test_a_value_alike_in_both_systems_stands_alone():
    """7 mg/L is 7 mg/L."""
    assert both(7.0, "mg_l") == "7.00 mg/L"


def test_an_error_shows_both_sides_without_marks():
    """An error may come before any surface is known."""
    error = InputError(f"the pond is {both(3.81, 'm')} deep.", remedy=f"Give under {both(3.0, 'm')}.")
    assert str(error) == "the pond is 12 ft 6 in (3.81 m) deep. Give under 9 ft 10 in (3.00 m)."


def test_a_notice_speaks_the_system_asked_for():
    """One notice, two readers."""
    notice = note("x", f"It stands at {both(3.81, 'm')}.")
    assert notice.said("us") == "It stands at 12 ft 6 in."
    assert notice.said("si") == "It stands at 3.81 m."


@pytest.fixture(name="demo")
def _demo(tmp_path) -> Path:
    """Return the demo's folder with a wrong depth, so that many notices speak."""
    folder = tmp_path / "pond"
    shutil.copytree(DEMO, folder)
    path = folder / "job.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(re.sub(r'max_depth = ".*"', 'max_depth = "19 ft"', text), encoding="utf-8")
    return folder


@pytest.mark.parametrize("stage", ["survey", "reading", "air", "check"])
def test_no_sentence_mixes_the_systems(capsys, demo, stage):
    """Below the tables, in US units no metre is said and in SI units no foot; in JSON it is SI; no mark anywhere."""
    for units, other in (("us", SI), ("si", US)):
        assert main([stage, str(demo), "--units", units]) in (0, 1)
        out = capsys.readouterr().out
        assert MARK not in out
        told = [part for part in out.split("\n\n") if part.startswith(("Note:", "Caution:", "Danger:"))]
        mixed = [part for part in told if other.search(part)]
        assert not mixed
    assert main([stage, str(demo), "--json"]) in (0, 1)
    text = capsys.readouterr().out
    assert MARK not in text
    notices = json.loads(text)["notices"]
    assert not [notice for notice in notices if US.search(notice["text"])]
