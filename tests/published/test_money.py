"""Present-value factors against the tables and a worked example of NIST Handbook 135."""

import pytest

from plumeline.science.money import single_present_value_fuller_1996, uniform_present_value_fuller_1996

# Discount factors for a real rate of 3 %, as printed in the tables of Handbook 135's supplements and in any
# table of compound interest (from memory).
FACTORS = [
    (1, 0.971, 0.97),
    (5, 0.863, 4.58),
    (10, 0.744, 8.53),
    (15, 0.642, 11.94),
    (20, 0.554, 14.88),
    (25, 0.478, 17.41),
]


@pytest.mark.parametrize(("years", "single", "uniform"), FACTORS)
def test_factors_at_three_per_cent(years, single, uniform):
    """SPV to three figures and UPV to two decimals, as printed."""
    assert single_present_value_fuller_1996(0.03, years) == pytest.approx(single, abs=5e-4)
    assert uniform_present_value_fuller_1996(0.03, years) == pytest.approx(uniform, abs=5e-3)


def test_factor_at_seven_per_cent():
    """10 years at 7 %: 7.024, twenty: 10.594 (any table of compound interest, from memory)."""
    assert uniform_present_value_fuller_1996(0.07, 10) == pytest.approx(7.024, abs=5e-4)
    assert uniform_present_value_fuller_1996(0.07, 20) == pytest.approx(10.594, abs=5e-4)


def test_worked_example_of_the_handbook():
    """The air-conditioning example of the handbook's chapter on life-cycle cost (from memory).

    First cost 103,000; fan at year 12, 12,000; worth at year 20, 3,500; electricity 20,000 a year with the
    handbook's own factor 15.13; upkeep 7,000 a year; 20 years at 3 %: 516,240 in all.
    """
    replaced, residual = (
        12_000 * single_present_value_fuller_1996(0.03, 12),
        3_500 * single_present_value_fuller_1996(0.03, 20),
    )
    upkeep = 7_000 * uniform_present_value_fuller_1996(0.03, 20)
    assert replaced == pytest.approx(8_417, abs=1.0)
    assert residual == pytest.approx(1_937, abs=1.5)
    assert upkeep == pytest.approx(104_160, rel=3e-4)  # the handbook rounds its factor to 14.88
    assert 103_000 + replaced - residual + 20_000 * 15.13 + upkeep == pytest.approx(516_240, rel=1e-4)


def test_without_a_rate_a_year_is_a_year():
    """A rate of nought adds the years up, and a small rate goes there smoothly."""
    assert uniform_present_value_fuller_1996(0.0, 12.0) == 12.0
    assert uniform_present_value_fuller_1996(1e-9, 12.0) == pytest.approx(12.0, rel=1e-6)
