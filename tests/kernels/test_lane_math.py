"""exp, log, powers and tanh of the loops over members, against `math`."""

import math

import numpy as np
import pytest

from plumeline.kernels import lane_math
from plumeline.kernels.jit import vector_kernel

RNG = np.random.default_rng(5)


@vector_kernel
def _all_at_once(x, y, out):
    """Fill every function of a row, in loops that become vectors."""
    for j in range(x.shape[0]):
        out[0, j] = lane_math.exp(x[j])
        out[1, j] = lane_math.log(y[j])
        out[2, j] = lane_math.pow(y[j], 0.01 * x[j])
        out[3, j] = lane_math.tanh(x[j])
        out[4, j] = lane_math.log10(y[j])


@pytest.mark.parametrize("span", [1e-12, 1e-3, 1.0, 30.0, 700.0])
def test_exp_agrees_with_math(span):
    """To 1e-13 of the value, from -700 to 700."""
    for x in [0.0, -0.0, span, -span, *RNG.uniform(-span, span, 300)]:
        assert lane_math.exp(x) == pytest.approx(math.exp(x), rel=1e-13)


def test_exp_of_too_much_or_too_little_stands_at_its_ends():
    """Beyond ±708 it keeps the value at the end: light under deep water is nothing, and finite."""
    assert lane_math.exp(-5000.0) == lane_math.exp(-708.0) > 0.0
    assert lane_math.exp(-5000.0) < 1e-300
    assert math.isfinite(lane_math.exp(5000.0))


@pytest.mark.parametrize("decades", [0.001, 0.1, 1.0, 10.0, 300.0])
def test_log_agrees_with_math(decades):
    """To 1e-13 of the value, near 1 too, where a logarithm is hard."""
    for x in [1.0, 2.0, 0.5, math.sqrt(0.5), math.sqrt(2.0), *10.0 ** RNG.uniform(-decades, decades, 300)]:
        assert lane_math.log(x) == pytest.approx(math.log(x), rel=1e-13, abs=1e-300)
        assert lane_math.log10(x) == pytest.approx(math.log10(x), rel=1e-13, abs=1e-300)


def test_powers_agree_with_math():
    """To 1e-13 of the value in the spans that the relations use them in."""
    for x, power in zip(10.0 ** RNG.uniform(-6, 6, 500), RNG.uniform(-3, 3, 500), strict=True):
        assert lane_math.pow(x, power) == pytest.approx(math.pow(x, power), rel=1e-13)
    for ph in RNG.uniform(-14.0, 14.0, 300):
        assert lane_math.pow(10.0, ph) == pytest.approx(10.0**ph, rel=1e-13)


def test_tanh_agrees_with_math():
    """To 1e-15 of 1."""
    for x in [0.0, *RNG.uniform(-1e-3, 1e-3, 100), *RNG.uniform(-30.0, 30.0, 500)]:
        assert lane_math.tanh(x) == pytest.approx(math.tanh(x), abs=1e-15)


@pytest.mark.parametrize("count", [1, 7, 32, 33])
def test_a_loop_gives_what_one_number_gives(count):
    """In a loop of any length each number agrees with `math` to 1e-13: there is one body for both."""
    x, y = RNG.uniform(-20.0, 20.0, count), 10.0 ** RNG.uniform(-5.0, 5.0, count)
    out = np.empty((5, count))
    _all_at_once(x, y, out)
    expected = np.exp(x), np.log(y), y ** (0.01 * x), np.tanh(x), np.log10(y)
    for found, right in zip(out, expected, strict=True):
        assert found == pytest.approx(right, rel=1e-13, abs=1e-15)
