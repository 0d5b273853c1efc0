"""Station pressure against the tables of the ICAO standard atmosphere."""

import pytest

from plumeline.science.air import density_clapeyron_1834
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


@pytest.mark.parametrize(
    ("height_ft", "expected_psia", "expected_ratio_number"),
    [
        (0, 14.696, 1.0), (1000, 14.173, 0.9644), (2000, 13.665, 0.9298), (3000, 13.171, 0.8963),
        (4000, 12.693, 0.8637), (5000, 12.228, 0.8321), (6000, 11.778, 0.8014), (7000, 11.341, 0.7717),
        (8000, 10.917, 0.7429), (10000, 10.108, 0.6878),
    ],
)  # fmt: skip
def test_the_us_standard_atmosphere_by_feet(height_ft, expected_psia, expected_ratio_number):
    """US Standard Atmosphere 1976 as `fluids` 1.3.1 has it (ATMOSPHERE_1976, by geometric height): 0.02 % at most.

    The relation is by geopotential height, which at 10,000 ft is 1.5 m less: 0.018 % of the pressure.
    """
    pressure_pa = pressure_icao_1993(0.3048 * height_ft)
    assert pressure_pa / 6894.757293 == pytest.approx(expected_psia, rel=2e-4, abs=5e-4)
    assert pressure_pa / 101325.0 == pytest.approx(expected_ratio_number, rel=2e-4, abs=5e-5)


@pytest.mark.parametrize(
    ("height_ft", "expected_ratio_number"),
    [
        (0, 1.0), (1000, 0.9711), (2000, 0.9428), (3000, 0.9151), (4000, 0.8881), (5000, 0.8617), (6000, 0.8359),
        (7000, 0.8107), (8000, 0.7861), (10000, 0.7386),
    ],
)  # fmt: skip
def test_the_density_of_the_us_standard_atmosphere_by_feet(height_ft, expected_ratio_number):
    """US Standard Atmosphere 1976 (`fluids` 1.3.1), its lapse of 6.5 K/km given: pressure and the gas law, 0.02 %."""
    height_m = 0.3048 * height_ft
    density = density_clapeyron_1834(pressure_icao_1993(height_m), 288.15 - 0.0065 * height_m)
    assert density / density_clapeyron_1834(101325.0, 288.15) == pytest.approx(
        expected_ratio_number, rel=2e-4, abs=5e-5
    )
