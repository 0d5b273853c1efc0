"""The study of the faults: its truth, its best observer on a case worked by hand, its arithmetic."""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
import pytest
from scripts.proof import faults_report as page
from scripts.proof.faults import COUNTS
from scripts.proof.faults_best import Best, Catalogue, every_kind
from scripts.proof.faults_visits import (
    LISTED,
    OFF,
    SOUND,
    entropy_bits,
    made,
    place_of,
    readings_of,
    told_line,
    visits,
)
from tests.truth import airline_faults as truth

from plumeline.sources import read_table
from plumeline.stages.air import tree

PSI = truth.PSI


@pytest.fixture(scope="module")
def line():
    """Return the line of two diffusers."""
    return truth.lines()["two, short"]


@pytest.mark.parametrize("file", ["airline.py", "airline_faults.py"])
def test_the_truth_shares_nothing_with_the_program(file):
    """No import of the program in the foreign solver."""
    source = (Path(__file__).parent.parent / "truth" / file).read_text(encoding="utf-8")
    names = [
        name
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Import | ast.ImportFrom)
        for name in [getattr(node, "module", "") or "", *(item.name for item in node.names)]
    ]
    assert not [name for name in names if name.startswith("plumeline")]


@pytest.mark.parametrize("level_read", [True, False])
def test_a_set_share_of_the_faults_is_off_the_list(line, level_read):
    """15 % of the faults, whether or not the staff gauge is read and may have been moved."""
    found = truth.kinds(line, level_read=level_read)
    odds = truth.odds_of(found)
    off = sum(p for kind, p in zip(found, odds, strict=True) if kind.cause == truth.OFF_LIST)
    assert off == pytest.approx(0.15 * (1.0 - 0.22))
    assert COUNTS[OFF] / (COUNTS[OFF] + COUNTS[LISTED]) == pytest.approx(0.15)
    assert COUNTS[SOUND] / sum(COUNTS.values()) == pytest.approx(0.22, abs=0.005)


def test_the_odds_are_those_of_the_table_and_fifteen_of_a_hundred_are_off_the_list(line):
    """Between the causes the truth's odds go as the program's; off the list are 15 % of the faults."""
    found = truth.kinds(line, level_read=False)
    odds = truth.odds_of(found)
    assert odds.sum() == pytest.approx(1.0)
    by_cause = {cause: sum(p for k, p in zip(found, odds, strict=True) if k.cause == cause) for cause in
                {k.cause for k in found}}  # fmt: skip
    assert by_cause[truth.OFF_LIST] / (1.0 - by_cause[truth.SOUND]) == pytest.approx(0.15)
    for row in read_table("faults"):
        assert by_cause[row["cause"]] == pytest.approx(float(row["prior_number"]), abs=0.002)


@pytest.mark.parametrize("name", list(truth.lines()))
def test_both_solvers_agree_on_a_sound_line(name):
    """Told the line as a job tells it, the program's gauges lie within 2 % of the foreign solver's."""
    world = truth.lines()[name]
    gauges, _ = world.shown(None)
    found = tree.solve(told_line(world)).gauge_pa
    assert found["compressor"] == pytest.approx(gauges[0], rel=0.02)
    assert found["manifold"] == pytest.approx(gauges[1], rel=0.02)
    for k in range(len(world.branches)):
        assert found[f"port {place_of(2 + k)}"] == pytest.approx(gauges[2 + k], rel=0.02)


def test_the_best_observer_on_two_causes_by_hand(line):
    """Sound or worn, one gauge of 0.25 psi, one psi apart, nothing unsure: Bayes' rule by hand."""
    visit = visits(2)[3]  # level not read
    one = visit.__class__("one", ((None, 0),), False, False)
    kinds = every_kind(line)
    sound = next(k for k, kind in enumerate(kinds) if kind.cause == truth.SOUND)
    worn = next(k for k, kind in enumerate(kinds) if kind.cause == "worn compressor")
    gauges = np.zeros((2, 3, 4))
    gauges[:, 0, 0] = 5.0 * PSI, 4.0 * PSI
    things = truth.unknowns(line)
    found = Catalogue(
        np.array([truth.SOUND, "worn compressor"]), np.array([sound, worn]), np.ones(2), gauges,
        np.zeros((2, 3, 4, things)), np.ones((2, 2)), np.zeros(2),
    )  # fmt: skip
    best = Best(line, found, one)
    seen = made(line, one, np.random.default_rng(1), SOUND)
    seen = seen.__class__(seen.kind, seen.world, np.array([4.6 * PSI]), None, None)
    all_odds = truth.odds_of(truth.kinds(line, level_read=False))
    prior = {
        kind.cause: p for kind, p in zip(truth.kinds(line, level_read=False), all_odds, strict=True)
        if kind.cause in (truth.SOUND, "worn compressor")
    }  # fmt: skip
    ratio = (
        prior["worn compressor"] / prior[truth.SOUND] * np.exp(-0.5 * ((0.6 / 0.25) ** 2 - (0.4 / 0.25) ** 2))
    )
    # 0.6 psi over the worn line's gauge, 0.4 under the sound one's
    assert best.odds(seen)["worn compressor"] == pytest.approx(ratio / (1.0 + ratio), rel=1e-6)


def test_a_visit_is_told_as_it_was_read(line):
    """Places, valves and boils stand in the order of the visit; each branch alone is said to stand alone."""
    visit = visits(2)[4]
    seen = made(line, visit, np.random.default_rng(2), SOUND)
    told = readings_of(seen, visit, 2)
    assert [(item.place, item.open_ports) for item in told] == [
        ("compressor", None),
        ("compressor", ("A",)),
        ("compressor", ("B",)),
    ]
    assert [item.pressure_pa for item in told] == pytest.approx(seen.gauges_pa)


def test_a_bin_of_the_calibration():
    """None of ten: the upper end of 95 % is 1 − 0.025^(1/10) = 0.3085 (Clopper & Pearson 1934)."""
    (row,) = page.reliability(np.full(10, 0.6), np.zeros(10))
    assert (row["count"], row["happened"], row["lower"]) == (10, 0.0, 0.0)
    assert row["upper"] == pytest.approx(1.0 - 0.025**0.1)


def test_a_draw_between_two_readings_counts_half():
    """Less doubt wins by entropy, more wins by the log score."""

    def row(chosen: float, other: float) -> dict:
        part = [{"entropy": value, "log": value} for value in (chosen, other)]
        return {"next": {"chosen": part[0], "random": part[1]}}

    rows = [row(1.0, 2.0), row(2.0, 1.0), row(1.0, 1.0), {"next": None}]
    assert page.won(rows, "entropy").tolist() == [1.0, 0.0, 0.5]
    assert page.won(rows, "log").tolist() == [0.0, 1.0, 0.5]


def test_scores_of_three_visits():
    """Two of three right; the mean of the logarithms; entropy of even odds between four is two bits."""
    rows = [
        {"cause": "leak", "program": {"first": first, "truth": p}}
        for first, p in (("leak", 0.5), ("leak", 0.25), ("low pond", 1.0))
    ]
    assert page.hits(rows, "program").tolist() == [1.0, 1.0, 0.0]
    assert page.log_scores(rows, "program").mean() == pytest.approx(np.log(0.125) / 3.0)
    assert entropy_bits(np.full(4, 0.25)) == pytest.approx(2.0)
    assert page.mean_band(np.full(5, 0.3)) == pytest.approx((0.3, 0.3, 0.3))
