"""Draws from the table of priors: its numbers, its links, its seeds."""

import csv
import itertools
from importlib.resources import files

import numpy as np
import pytest
from scipy.stats import spearmanr

from plumeline.stages.column.priors import LINKED, draw_priors, table_of_priors

DRAWS = 4096


def rows():
    """Return the rows of the table as they stand in the file."""
    text = (files("plumeline") / "sources" / "priors.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


@pytest.fixture(scope="module")
def draws():
    """Return many draws of one seed."""
    return draw_priors(DRAWS, 5)


@pytest.mark.parametrize("row", rows(), ids=lambda row: row["name"])
def test_draws_keep_the_three_numbers_of_their_row(draws, row):
    """A lognormal has its 5 %, 50 % and 95 % where the table says; a triangle its ends, its mode and its mean."""
    values = draws[row["name"]]
    low, mode, high = (float(row[key]) for key in ("low", "mode", "high"))
    if row["distribution"] == "lognormal":
        found = np.quantile(values, [0.05, 0.5, 0.95])
        assert found == pytest.approx([low, mode, high], rel=0.06)
    else:
        assert values.min() >= low
        assert values.max() <= high
        # of a triangle: mean (a + b + c)/3, and (c − a)/(b − a) of it under the mode (elementary)
        assert values.mean() == pytest.approx((low + mode + high) / 3.0, abs=0.02 * (high - low))
        assert (values < mode).mean() == pytest.approx((mode - low) / (high - low), abs=0.02)


@pytest.mark.parametrize(
    ("name", "other", "weight"), [(n, o, w) for n, links in LINKED.items() for o, w in links]
)
def test_linked_draws_go_together_as_the_table_of_links_says(draws, name, other, weight):
    """The sign and the size of each link: Spearman's ρ is 6/π asin(r/2) for normal scores."""
    found = spearmanr(draws[name], draws[other]).statistic
    assert found == pytest.approx(6.0 / np.pi * np.arcsin(0.5 * weight), abs=0.04)


def test_unlinked_draws_do_not_go_together(draws):
    """Quantities without a link, taken in pairs, are uncorrelated within chance."""
    names = [n for n in table_of_priors() if n not in LINKED][:12]
    for a, b in itertools.pairwise(names):
        assert abs(spearmanr(draws[a], draws[b]).statistic) < 0.06


def test_a_seed_gives_its_draws_and_a_fresh_one_gives_others():
    """The same seed, the same draws to the bit; another seed, none of them."""
    one, same, other = draw_priors(64, 9), draw_priors(64, 9), draw_priors(64, 10)
    for name in one:
        assert np.array_equal(one[name], same[name])
        assert not np.isin(one[name], other[name]).any()


def test_the_first_draws_of_a_hypercube_are_spread_evenly():
    """Each of 64 draws of an unlinked quantity falls in its own 64th of the probability."""
    values = np.sort(draw_priors(64, 3)["plume_froude"])
    prior = table_of_priors()["plume_froude"]
    edges = prior.quantile(np.linspace(0.0, 1.0, 65)[1:-1])
    assert (np.searchsorted(edges, values) == np.arange(64)).all()
