"""How much of the ponds' spread an input explains: together, in ranks, and nothing by chance."""

import numpy as np
import pytest

from plumeline.stages.startup.narrowing import _share


def test_two_inputs_that_say_the_same_are_not_counted_twice():
    """One row that explains half of the variance explains half of it also when it stands there twice (by hand)."""
    generator = np.random.default_rng(1)
    told = generator.standard_normal(2000)
    outcome = told + generator.standard_normal(2000)
    # ranks of two normal variables correlate by 6 / π asin(r / 2): Pearson 1907
    expected = (6.0 / np.pi * np.arcsin(np.sqrt(0.5) / 2.0)) ** 2
    assert _share(outcome, [told]) == pytest.approx(expected, abs=0.04)
    assert _share(outcome, [told, told + 1e-9 * outcome]) == pytest.approx(_share(outcome, [told]), abs=0.01)


def test_rows_that_say_different_things_add_up():
    """Two independent halves explain all; each alone about half."""
    generator = np.random.default_rng(2)
    one, other = generator.standard_normal((2, 500))
    assert _share(one + other, [one, other]) > 0.93
    assert 0.35 < _share(one + other, [one]) < 0.6


def test_noise_explains_nothing_on_average():
    """Three rows of noise in 100 ponds would seem to explain 3 % without the adjustment; with it about none."""
    generator = np.random.default_rng(3)
    found = [
        _share(generator.standard_normal(100), list(generator.standard_normal((3, 100)))) for _ in range(60)
    ]
    assert np.mean(found) < 0.025
    assert _share(np.ones(50), [generator.standard_normal(50)]) == 0.0
    assert _share(generator.standard_normal(50), [np.ones(50)]) == 0.0
