"""Un-ionised ammonia against the tables of Emerson and others 1975."""

import pytest

from plumeline.science.chemistry import ammonia_pka_emerson_1975, ammonia_unionized_fraction_emerson_1975


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
