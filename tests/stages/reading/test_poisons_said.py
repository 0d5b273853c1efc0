"""What is said of poisons: whose limits, comparisons that show their side, and sulphide that nobody read."""

import pytest

from plumeline.sources import read_table
from plumeline.stages.limits import refuge_limits
from plumeline.stages.reading import reading
from plumeline.units import apart

FOUL = [(0.0, 28.0, 8.0), (1.9, 28.0, 8.0), (2.1, 18.0, 0.1), (4.0, 18.0, 0.1)]


def notices(found):
    return {notice.code: notice.text for notice in found.notices}


@pytest.mark.parametrize(
    ("value", "other", "least", "text"),
    [
        (0.0796, 0.0751, 2, "0.080"),
        (0.0101, 0.01, 2, "0.0101"),
        (2.96, 3.0, 1, "2.96"),
        (2.9999, 3.0, 1, "2.9999"),
        (4.5, 3.0, 1, "4.5"),
        (3.0, 3.0, 1, "3.0"),
    ],
)
def test_a_comparison_shows_its_side(value, other, least, text):
    """As many decimals as tell the two apart."""
    assert apart(value, other, least) == text
    assert (float(text) < other) == (value < other)
    assert (float(text) > other) == (value > other)


@pytest.mark.parametrize("do_mg_l", [2.96, 2.999, 3.04])
def test_an_overturn_just_under_the_need_is_seen_to_be_under(box, make_job, do_mg_l):
    """2.96 mg/L is no "3.0 mg/L" beside a need of 3."""
    found = reading(make_job([(0.0, 22.0, do_mg_l), (4.0, 21.9, do_mg_l)]), box)
    text = next(text for code, text in notices(found).items() if code.startswith("overturn"))
    shown = float(text.partition("about ")[2].partition(" mg/L")[0])
    assert (shown < 3.0) == (found.mixed_now.do_after_debt_mg_l < 3.0)


def test_sulphide_that_nobody_read_is_said(box, make_job):
    """Foul bottom: estimated, and said so; no water poor in oxygen: taken as none, and said so."""
    foul = notices(reading(make_job(FOUL), box))
    assert "was not read" in foul["sulphide-likely"]
    clean = notices(reading(make_job([(0.0, 24.0, 8.0), (4.0, 22.0, 6.0)]), box))
    assert "taken as none" in clean["sulphide-not-read"]
    tested = [(z, t, do, {"sulphide_mg_l": 0.0}) for z, t, do in FOUL]
    assert not {"sulphide-not-read", "sulphide-likely"} & set(notices(reading(make_job(tested), box)))


def test_a_test_high_up_says_nothing_of_the_bottom(box, make_job):
    """No sulphide at 1.9 m, the bottom without oxygen never tested: the prior stands in below, marked."""
    rows = [(z, t, do, {"sulphide_mg_l": 0.0} if z == 1.9 else {}) for z, t, do in FOUL]
    found = reading(make_job(rows), box)
    assert [layer.sulphide_assumed for layer in found.layers] == [False, False, True, True]
    untested = reading(make_job(FOUL), box)
    assert found.layers[-1].sulphide_mg_l == pytest.approx(untested.layers[-1].sulphide_mg_l)
    assert "sulphide-likely" in notices(found)
    pool = next(pool for pool in found.debt.pools if pool.name == "sulphide")
    assert pool.basis == "sulphide test, a prior under the deepest"
    assert pool.mass.central_kg > 0.0
    assert any("not read near the bottom" in text for text in found.assumptions)


def test_the_limits_of_the_poisons_are_called_the_plans_own(make_job):
    """Smith and others 1976: half of adult bluegill die at 0.0448 mg/L in 96 h; no eggs are laid at 0.0022."""
    for row in read_table("refuge"):
        assert row["h2s_source"].startswith("the plan's own limit (judgement)")
        assert "0.0448" in row["h2s_source"]
        assert row["ammonia_source"].startswith("the plan's own limit (judgement)")
        assert 0.15 < float(row["h2s_mg_l"]) / 0.0448 < 0.25
        assert float(row["h2s_early_mg_l"]) < 0.0022
    limits, _ = refuge_limits(make_job(FOUL).fish)
    assert limits.hydrogen_sulphide_mg_l == 0.010
