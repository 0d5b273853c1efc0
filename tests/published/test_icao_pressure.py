"""Station pressure against the tables of the ICAO standard atmosphere."""

import pytest

from plumeline.science.gases import pressure_icao_1993


@pytest.mark.parametrize(
    ("elevation_m", "expected_pa"),
    [
        (-400.0, 106223.0), (0.0, 101325.0), (500.0, 95461.0), (1000.0, 89874.6), (2000.0, 79495.0),
        (5000.0, 54020.0),
    ],
)  # fmt: skip
def test_pressure_is_the_table_of_the_standard_atmosphere(elevation_m, expected_pa):
    """ICAO Doc 7488/3 by geopotential height (from memory; 1000 m worked out apart): 0.01 %."""
    assert pressure_icao_1993(elevation_m) == pytest.approx(expected_pa, rel=1e-4)


def test_five_thousand_feet_in_psi():
    """5,000 ft: 12.228 psia (trade tables)."""
    assert pressure_icao_1993(1524.0) / 6894.757 == pytest.approx(12.228, abs=0.001)
