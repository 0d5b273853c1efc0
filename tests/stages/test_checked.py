"""The valid-range table applied to a relation."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plumeline.errors import RangeError
from plumeline.notices import Severity
from plumeline.science.water import density_kell_1975
from plumeline.stages.checked import checked, valid_range


@given(st.floats(0.0, 40.0))
def test_inside_the_range_it_is_the_relation_itself(temperature_degc):
    """Value unchanged and no caveat."""
    value, caveats = checked(density_kell_1975, temperature_degc=temperature_degc)
    assert (value, caveats) == (density_kell_1975(temperature_degc), ())


@given(st.one_of(st.floats(40.001, 99.0), st.floats(-20.0, -0.001)))
def test_outside_the_range_raises_with_the_limits(temperature_degc):
    """The error names argument and limits."""
    with pytest.raises(RangeError, match="outside 0 to 40") as caught:
        checked(density_kell_1975, temperature_degc=temperature_degc)
    assert caught.value.place == "temperature_degc"


@given(st.floats(40.001, 99.0))
def test_outside_the_range_nothing_is_clamped(temperature_degc):
    """With caveats asked for, the value is the extrapolation, said as such."""
    value, caveats = checked(density_kell_1975, outside="caveat", temperature_degc=temperature_degc)
    assert value == density_kell_1975(temperature_degc)
    assert [caveat.severity for caveat in caveats] == [Severity.CAUTION]


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("outside", ["raise", "caveat"])
def test_what_is_no_number_always_raises(value, outside):
    """NaN and infinity are never extrapolated."""
    with pytest.raises(RangeError, match="not a finite number"):
        checked(density_kell_1975, outside=outside, temperature_degc=value)


def test_a_relation_without_a_range_is_an_error_of_ours():
    """Forgetting the table is found at once."""
    with pytest.raises(LookupError, match="no row"):
        valid_range(math.sqrt)
