"""Hydrogen sulphide in fresh water against values from Millero and others 1988."""

import pytest

from plumeline.science.chemistry import (
    sulphide_pk1_millero_1988,
    sulphide_undissociated_fraction_millero_1988,
)


@pytest.mark.parametrize(
    ("temperature_degc", "ph", "expected_pct"),
    [
        (25.0, 6.5, 75.1), (25.0, 7.0, 48.9), (25.0, 7.5, 23.2), (25.0, 8.0, 8.7),
        (15.0, 6.5, 81.3), (15.0, 7.0, 57.9), (15.0, 7.5, 30.3), (15.0, 8.0, 12.1),
    ],
)  # fmt: skip
def test_undissociated_share(temperature_degc, ph, expected_pct):
    """The paper's fresh-water pK₁ worked out apart: last printed digit."""
    found = 100.0 * sulphide_undissociated_fraction_millero_1988(temperature_degc, ph)
    assert found == pytest.approx(expected_pct, abs=0.06)


def test_pk1_at_25_degrees():
    """6.98 at 25 °C; handbooks give 6.97 to 7.04."""
    assert sulphide_pk1_millero_1988(25.0) == pytest.approx(6.980, abs=0.001)
