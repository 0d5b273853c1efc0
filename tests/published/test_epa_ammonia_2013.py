"""The EPA 2013 criteria for ammonia (EPA-822-R-13-001) against values of public agency codes."""

import pytest

from plumeline.science.chemistry import (
    ammonia_acute_epa_2013,
    ammonia_acute_trout_epa_2013,
    ammonia_chronic_epa_2013,
)

# pH, °C, acute with trout, acute without, chronic; mg total ammonia as N by litre
TABLE = [
    (7.0, 20.0, 16.760, 16.760, 1.887),
    (7.0, 10.0, 24.103, 37.645, 3.596),
    (7.0, 30.0, 7.316, 7.316, 0.990),
    (8.0, 10.0, 5.615, 8.770, 1.481),
    (9.0, 10.0, 0.885, 1.381, 0.296),
    (8.0, 20.0, 3.904, 3.904, 0.777),
    (8.0, 25.0, 2.580, 2.580, 0.563),
    (8.0, 30.0, 1.704, 1.704, 0.408),
    (8.5, 25.0, 0.983, 0.983, 0.252),
    (9.0, 25.0, 0.406, 0.406, 0.112),
]


@pytest.mark.parametrize(("ph", "temperature_degc", "trout_mg_l", "acute_mg_l", "chronic_mg_l"), TABLE)
def test_criteria(ph, temperature_degc, trout_mg_l, acute_mg_l, chronic_mg_l):
    """Agency codes' values (three decimals)."""
    assert ammonia_acute_trout_epa_2013(temperature_degc, ph) == pytest.approx(trout_mg_l, abs=6e-4)
    assert ammonia_acute_epa_2013(temperature_degc, ph) == pytest.approx(acute_mg_l, abs=6e-4)
    assert ammonia_chronic_epa_2013(temperature_degc, ph) == pytest.approx(chronic_mg_l, abs=6e-4)


def test_the_headline_of_the_document():
    """EPA-822-R-13-001, abstract: 17 acute and 1.9 chronic at pH 7 and 20 °C."""
    assert round(ammonia_acute_trout_epa_2013(20.0, 7.0)) == 17
    assert round(ammonia_chronic_epa_2013(20.0, 7.0), 1) == 1.9


def test_below_seven_degrees_the_chronic_criterion_stays():
    """EPA-822-R-13-001: max(T, 7)."""
    assert ammonia_chronic_epa_2013(3.0, 8.0) == ammonia_chronic_epa_2013(7.0, 8.0)
    rise = ammonia_chronic_epa_2013(7.0, 8.0) / ammonia_chronic_epa_2013(20.0, 8.0)
    assert rise == pytest.approx(10.0 ** (0.028 * 13.0), rel=1e-9)
