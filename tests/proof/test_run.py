"""The proof's runner on studies made up for the purpose: budget, resuming, missing and failing studies, pages."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from scripts.proof.pages import ROOT as PAGES_ROOT  # noqa: E402
from scripts.proof.pages import scrubbed  # noqa: E402
from scripts.proof.pieces import Pieces  # noqa: E402
from scripts.proof.run import Order, Study, run, stopped_early  # noqa: E402

SLOW = """
import time
from scripts.proof.pieces import Pieces
TITLE = "Slow beans"

def study(work, *, quick):
    pieces = Pieces(work / "pieces.jsonl")
    for key in range(3):
        if str(key) in pieces:
            continue
        pieces.add(str(key), {"square": key * key})
        if key == 1 and not (work / "again").exists():
            (work / "again").touch()
            time.sleep(60.0)
    return gather(work)

def gather(work):
    pieces = Pieces(work / "pieces.jsonl")
    return {"squares": [p["square"] for p in pieces], "finished": f"{len(pieces)} of 3 beans", "seeds": "7"}

def report(results):
    return f"Squares: {results['squares']}"
"""
QUICK = """
def study(work, *, quick):
    (work / "quick-plot.svg").write_text("<svg/>")
    return {"quick": quick, "where": str(work)}

def report(results):
    return f"quick {results['quick']} in {results['where']}"
"""
BROKEN = """
def study(work, *, quick):
    raise ValueError("no beans left")

def report(results):
    return ""
"""


@pytest.fixture
def order(tmp_path, monkeypatch):
    """Return an order to run made-up studies, whose modules both this process and its children find."""
    for name, text in (("slow", SLOW), ("quick", QUICK), ("broken", BROKEN)):
        (tmp_path / f"made_up_{name}.py").write_text(text)
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.setenv("PYTHONPATH", f"{tmp_path}:{ROOT}:{ROOT / 'src'}")
    return lambda **more: Order(tmp_path / "work", tmp_path / "pages", "python -m prove", **more)


def test_a_stopped_study_is_partial_with_its_counts_and_goes_on_where_it_stood(order):
    """Stopped by the time allowed it shows two of three pieces; called again it makes only the third."""
    studies = (Study("slow", "made_up_slow", 1.0),)
    (first,) = run(studies, order(quick=True, budget_min=4.0 / 60.0))
    assert first.state == "partial"
    page = (order().out / "slow.md").read_text()
    assert "2 of 3 beans" in page
    assert "partial" in page
    assert "Squares: [0, 1]" in page
    (second,) = run(studies, order(quick=True, budget_min=1.0))
    assert (second.state, second.sittings) == ("whole", 2)
    assert second.results["squares"] == [0, 1, 4]
    assert second.wall_s > first.wall_s
    lines = (order().work / "slow" / "pieces.jsonl").read_text().splitlines()
    assert len(lines) == 3


def test_a_missing_study_and_a_failing_one_do_not_stop_the_others(order):
    """The index names all three; only the one that ran has figures, plots and the quick form's mark."""
    studies = (
        Study("absent", "made_up_absent", 1.0),
        Study("broken", "made_up_broken", 1.0),
        Study("quick", "made_up_quick", 1.0),
    )
    outcomes = run(studies, order(quick=True, budget_min=1.0))
    assert [outcome.state for outcome in outcomes] == ["missing", "failed", "whole"]
    index = (order().out / "README.md").read_text()
    assert "| Absent | not there yet |" in index
    assert "[Broken](broken.md) | failed" in index
    assert "no beans left" in (order().out / "broken.md").read_text()
    page = (order().out / "quick.md").read_text()
    assert "quick True" in page
    assert "python -m prove --only quick" in page
    assert (order().out / "quick-plot.svg").is_file()


def test_only_runs_what_is_asked_and_keeps_the_others_as_they_stand(order):
    """With one study asked for, another's earlier page stays and is called an earlier one."""
    studies = (Study("slow", "made_up_slow", 1.0), Study("quick", "made_up_quick", 1.0))
    order().out.mkdir()
    (order().out / "slow.md").write_text("an earlier page")
    slow, quick = run(studies, order(budget_min=1.0, only=("quick",)))
    assert (slow.state, quick.state) == ("older", "whole")
    assert (order().out / "slow.md").read_text() == "an earlier page"
    assert "an earlier one" in (order().out / "README.md").read_text()


def test_work_of_other_sources_is_thrown_away(order):
    """Pieces made by another state of the program do not enter a page unless they are kept on purpose."""
    studies = (Study("slow", "made_up_slow", 1.0),)
    folder = order().work / "slow"
    folder.mkdir(parents=True)
    (folder / "again").touch()
    (folder / "state.json").write_text('{"sources": "old", "wall_s": 5.0, "sittings": 1}')
    (folder / "pieces.jsonl").write_text('{"key": "0", "square": 99}\n')
    (kept,) = run(studies, order(budget_min=1.0, keep=True))
    assert kept.results["squares"] == [99, 1, 4]
    assert kept.sources.startswith("old, ")
    (folder / "state.json").write_text('{"sources": "old", "wall_s": 5.0, "sittings": 1}')
    (fresh,) = run(studies, order(budget_min=5.0 / 60.0))
    assert fresh.results["squares"] == [0, 1]


def test_a_line_cut_short_is_dropped_and_written_anew(tmp_path):
    """A crash in the middle of a line costs that piece alone."""
    path = tmp_path / "pieces.jsonl"
    path.write_text('{"key": "a", "n": 1}\n{"key": "b", "n"')
    pieces = Pieces(path)
    assert ("a" in pieces, "b" in pieces) == (True, False)
    pieces.add("b", {"n": 2})
    assert [piece["n"] for piece in Pieces(path)] == [1, 2]
    pieces.drop(next(iter(pieces))["key"])
    assert [piece["n"] for piece in Pieces(path)] == [2]


def test_pages_hold_no_paths_of_this_machine():
    """The root of the checkout is cut from every path."""
    assert scrubbed(f"see {PAGES_ROOT}/docs/column.md") == "see docs/column.md"


@pytest.mark.parametrize(("results", "early"), [({"undone": 275}, True), ({"undone": 0}, False), ({}, False)])
def test_a_study_that_ended_itself_early_is_not_whole(results, early):
    """With 275 truths undone it is no whole study: the next sitting goes on."""
    assert stopped_early(results) is early
