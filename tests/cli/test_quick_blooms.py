"""``plumeline quick blooms``: the odds against blue-greens from the shell."""

from __future__ import annotations

import json

import pytest


def test_the_document_names_units_and_its_odds_are_odds(run, ten):
    """24 hours of three regimes; air all day holds no less than 12 h or none; needed is v H by hand."""
    code, out, err = run("quick", "blooms", str(ten), "--members", "16", "--json")
    assert code == 0, err
    found = json.loads(out)
    # 0.4 m/h over the stirred depth (the table of priors)
    assert found["needed_m2_s"] == pytest.approx(0.4 / 3600.0 * found["depth_m"])
    assert [len(regime["hours"]) for regime in found["regimes"]] == [24, 24, 24]
    always, part, none = (regime["all_day_probability"] for regime in found["regimes"])
    assert 0.0 <= none <= always <= 1.0
    assert part <= always
    hours = found["regimes"][1]["hours"]
    assert sum(hour["running"] for hour in hours) == 12
    assert [hour["clock_hour"] for hour in hours] == list(range(24))
    for hour in hours:
        assert hour["diffusivity_p05_m2_s"] <= hour["diffusivity_m2_s"] <= hour["diffusivity_p95_m2_s"]
        assert 0.0 <= hour["holding_probability"] <= 1.0
    said = " ".join(found["words"])
    assert "often not enough" in said
    assert "Nieuwe Meer" in said
    assert "no cure" in said


def test_the_table_fits_and_speaks_the_units_asked_for(run, ten):
    """80 columns; with SI units no feet stand in the paragraph."""
    code, out, err = run("quick", "blooms", str(ten), "--members", "16", "--units", "si")
    assert code == 0, err
    assert max(len(line) for line in out.splitlines()) <= 80
    assert " ft" not in out
    assert "cm²/s" in out


@pytest.mark.parametrize("words", [("--members", "3"), ("--members", "x"), ("--run-hours", "25 h")])
def test_bad_options_end_with_2(run, ten, words):
    """One clear message, nothing on stdout."""
    code, out, err = run("quick", "blooms", str(ten), *words)
    assert (code, out) == (2, "")
    assert words[0] in err
