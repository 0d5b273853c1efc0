"""Un-ionised ammonia against the tables of Emerson and others 1975, and of Bower & Bidwell 1978 for the sea."""

import pytest

from plumeline.science.chemistry import (
    ammonia_pka_emerson_1975,
    ammonia_unionized_fraction_bell_2008,
    ammonia_unionized_fraction_emerson_1975,
)


@pytest.mark.parametrize(
    ("temperature_degc", "ph", "expected_pct"),
    [
        (25.0, 8.0, 5.366), (20.0, 7.0, 0.394), (20.0, 8.0, 3.807), (25.0, 9.0, 36.19), (30.0, 9.0, 44.53),
        (15.0, 7.5, 0.855), (10.0, 8.5, 5.544),
    ],
)  # fmt: skip
def test_fraction_from_the_printed_equation(temperature_degc, ph, expected_pct):
    """The paper's equation worked out apart, 0 °C = 273.15 K."""
    found = 100.0 * ammonia_unionized_fraction_emerson_1975(temperature_degc, ph)
    assert found == pytest.approx(expected_pct, rel=1.5e-3)


@pytest.mark.parametrize(
    ("temperature_degc", "ph", "expected_pct"),
    [(25.0, 8.0, 5.38), (20.0, 7.0, 0.396), (20.0, 8.0, 3.82), (25.0, 9.0, 36.3), (30.0, 9.0, 44.6)],
)
def test_fraction_is_near_the_table_of_the_paper(temperature_degc, ph, expected_pct):
    """Emerson et al. 1975, table 2 (from memory): 0.6 %, for the table took 0 °C as 273.2 K."""
    found = 100.0 * ammonia_unionized_fraction_emerson_1975(temperature_degc, ph)
    assert found == pytest.approx(expected_pct, rel=0.006)


def test_pka_at_25_degrees():
    """CRC Handbook: pKa of ammonium 9.25 at 25 °C."""
    assert ammonia_pka_emerson_1975(25.0) == pytest.approx(9.25, abs=0.006)


@pytest.mark.parametrize(
    ("temperature_degc", "ph", "expected_pct"),
    [
        (10.0, 7.5, 0.459), (15.0, 7.5, 0.665), (20.0, 7.5, 0.963), (25.0, 7.5, 1.39),
        (10.0, 8.0, 1.44), (15.0, 8.0, 2.07), (20.0, 8.0, 2.98), (25.0, 8.0, 4.28),
        (10.0, 8.5, 4.41), (15.0, 8.5, 6.28), (20.0, 8.5, 8.87), (25.0, 8.5, 12.40),
    ],
)  # fmt: skip
def test_fraction_in_sea_water(temperature_degc, ph, expected_pct):
    """Bower & Bidwell 1978, J. Fish. Res. Board Can. 35: 1012–1016, salinity 34 (ionic strength 0.701): 2 %."""
    found = 100.0 * ammonia_unionized_fraction_bell_2008(temperature_degc, 34.0, ph)
    assert found == pytest.approx(expected_pct, rel=0.02)


def test_fresh_water_is_emersons_to_the_last_digit():
    """Salt of zero changes nothing."""
    fresh = ammonia_unionized_fraction_emerson_1975(25.0, 8.0)
    assert ammonia_unionized_fraction_bell_2008(25.0, 0.0, 8.0) == fresh


@pytest.mark.parametrize(
    ("temperature_degc", "salinity_g_kg"), [(5.0, 35.0), (15.0, 20.0), (25.0, 10.0), (25.0, 35.0)]
)
def test_salt_water_lies_by_the_line_of_bell(temperature_degc, salinity_g_kg):
    """Bell et al. 2008 print pKa = 10.0423 − 0.0315536 t + 0.003071 S; a line in warmth: 0.03, Emerson's is no line."""
    by_line = 10.0423 - 0.0315536 * temperature_degc + 0.003071 * salinity_g_kg
    found = ammonia_unionized_fraction_bell_2008(temperature_degc, salinity_g_kg, by_line)
    assert found == pytest.approx(0.5, abs=0.5 * 0.03 * 2.303 / 2.0)
