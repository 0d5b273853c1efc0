"""Bounds on a share of failures, against another program and the published rule."""

import pytest
from scipy.stats import binom, binomtest

from plumeline.stages.startup.promise import enough_members, lower95, most_allowed, upper95


@pytest.mark.parametrize("members", [24, 64, 200, 1000, 2000])
@pytest.mark.parametrize("failures", [0, 1, 4, 10, 23])
def test_the_bounds_are_clopper_and_pearsons(failures, members):
    """The one-sided 95 % ends are those of the exact two-sided 90 % interval (scipy's binomtest)."""
    exact = binomtest(failures, members).proportion_ci(0.90, method="exact")
    assert upper95(failures, members) == pytest.approx(exact.high, rel=1e-9)
    assert lower95(failures, members) == pytest.approx(exact.low, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize(("failures", "members"), [(0, 50), (4, 200), (13, 500)])
def test_at_its_upper_bound_as_few_failures_have_a_chance_of_one_in_twenty(failures, members):
    """The definition of Clopper & Pearson 1934: P(X ≤ failures | bound) = 5 %."""
    assert binom.cdf(failures, members, upper95(failures, members)) == pytest.approx(0.05, rel=1e-9)


def test_four_of_two_hundred_keep_a_promise_of_five_percent_and_five_do_not():
    """Issue's rule, from the exact bound: 4 of 200 show at most 5 %; of 500 members 4 show at most 2 %, 10 do not."""
    assert upper95(4, 200) <= 0.05 < upper95(5, 200)
    assert most_allowed(200, 0.05) == 4
    assert upper95(4, 500) <= 0.02 < upper95(10, 500)


def test_all_lost_is_bounded_by_one_and_none_lost_by_zero():
    """The ends of the range: every pond lost, no pond lost (rule of three: about 3/n)."""
    assert upper95(30, 30) == 1.0
    assert lower95(0, 30) == 0.0
    assert upper95(0, 1000) == pytest.approx(3.0 / 1000.0, rel=0.01)


def test_under_300_effective_members_no_risk_is_stated():
    """Design §6: under 300 effective members the risk is not stated; a smaller ensemble scales the rule."""
    assert enough_members(300.0, 2000)
    assert not enough_members(299.0, 2000)
    assert enough_members(30.0, 100)
    assert not enough_members(29.0, 100)
