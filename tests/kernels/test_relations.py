"""Every compiled relation against the plain function it was made from."""

import math
import sys

import numpy as np
import pytest

from plumeline.kernels import lane_relations, relations

RELATIONS = sorted(
    name for name, value in vars(relations).items() if hasattr(value, "py_func") and not name.startswith("_")
)
LANE_RELATIONS = sorted(
    name
    for name, value in vars(lane_relations).items()
    if hasattr(value, "py_func") and not name.startswith("_")
)


POSSIBLE = {
    # carbonate alone can't carry more than two equivalents by mole of carbon
    "ph_from_alkalinity_and_carbon": lambda alkalinity, carbon, _: carbon > 0.55 * alkalinity,
}


def plain(name, module=relations):
    """Return the science function behind a compiled relation."""
    twin = getattr(module, name).py_func
    return getattr(sys.modules[twin.__module__], name)


def draws(function, count=60):
    """Return arguments drawn over the relation's valid range, its corners included."""
    ranges = vars(sys.modules[function.__module__])["RANGE"][function.__name__]
    names = function.__code__.co_varnames[: function.__code__.co_argcount]
    rng = np.random.default_rng(20_26)
    rows = [[ranges[name][0] for name in names], [ranges[name][1] for name in names]]
    for _ in range(count):
        row = []
        for name in names:
            low, high = ranges[name]
            if low > 0.0 and high / low > 1e3:
                row.append(float(np.exp(rng.uniform(np.log(low), np.log(high)))))
            else:
                row.append(float(rng.uniform(low, high)))
        rows.append(row)
    possible = POSSIBLE.get(function.__name__, lambda *_: True)
    return [row for row in rows if possible(*row)]


def test_there_are_relations():
    """The list is not empty: the other test can't pass by finding nothing."""
    assert len(RELATIONS) > 20


@pytest.mark.parametrize("name", RELATIONS)
def test_compiled_equals_plain(name):
    """Compiled and interpreted agree to 1e-14 of the value over the whole valid range."""
    function, twin = plain(name), getattr(relations, name)
    for row in draws(function):
        expected, found = function(*row), twin(*row)
        if isinstance(expected, tuple):
            assert np.allclose(found, expected, rtol=1e-14, atol=1e-300, equal_nan=True), row
        elif math.isfinite(expected):
            assert found == pytest.approx(expected, rel=1e-14, abs=1e-300), row
        else:
            assert str(found) == str(expected), row


@pytest.mark.parametrize("name", LANE_RELATIONS)
def test_compiled_for_lanes_equals_plain(name):
    """With the exp and log of the loops, every relation of the column agrees with the plain one to 1e-12.

    Nothing is lost but what the largest number on the way loses: where a relation is a difference (the humidity
    of air and water, a pK), 1e-13 of that.
    """
    function, twin = plain(name, lane_relations), getattr(lane_relations, name)
    assert function.__code__ is twin.py_func.__code__  # one body, not two
    for row in draws(function):
        expected = function(*row)
        assert twin(*row) == pytest.approx(expected, rel=1e-12, abs=1e-14), row


def test_there_are_lane_relations():
    """That list is not empty either."""
    assert len(LANE_RELATIONS) > 15
