"""The bottle test, worked by hand."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plumeline.job.document import Bottle
from plumeline.stages.reading import bottle_demand


def bottle(**values):
    """Return a bottle of equal parts, bottom 0 and surface 8 mg/L, changed by ``values``."""
    given_values = {"bottom_do_mg_l": 0.0, "surface_do_mg_l": 8.0, **values}
    return Bottle(id="b", time=datetime(2026, 8, 1, tzinfo=UTC), depth_m=3.5, **given_values)


def test_immediate_demand_is_twice_the_drop():
    """Start 4, 3.2 after 15 min: 2 (4 − 3.2) = 1.6 mg/L (design notes, section 3)."""
    found = bottle_demand(bottle(after_15min_mg_l=3.2))
    assert found.immediate.demand_mg_l == pytest.approx(1.6)
    assert not found.immediate.censored
    assert found.fast is None


def test_fast_demand_takes_the_control_off():
    """2 [(4 − 1.5) − ½ (8 − 7)] = 4.0 mg/L (design notes, section 3)."""
    found = bottle_demand(bottle(after_24h_mg_l=1.5, surface_after_24h_mg_l=7.0))
    assert found.fast.demand_mg_l == pytest.approx(4.0)
    assert found.notices == ()


def test_a_surface_bottle_that_gained_oxygen_is_no_control():
    """8 to 9 mg/L: it stood in light. 2 (4 - 1.5) = 5.0 mg/L, its gain not counted as debt."""
    found = bottle_demand(bottle(after_24h_mg_l=1.5, surface_after_24h_mg_l=9.0))
    assert found.fast.demand_mg_l == pytest.approx(5.0)


def test_the_fast_demand_holds_the_immediate_one():
    """2 (4 - 2.0) = 4.0 within 15 min; within 24 h, the control off, 2 [(4 - 1.9) - ½ 0.8] = 3.4: it is 4.0 too."""
    found = bottle_demand(bottle(after_15min_mg_l=2.0, after_24h_mg_l=1.9, surface_after_24h_mg_l=7.2))
    assert found.immediate.demand_mg_l == pytest.approx(4.0)
    assert found.fast.demand_mg_l == pytest.approx(4.0)


def test_one_to_three_counts_four_times():
    """A quarter of bottom water: start 6, 4 [(6 − 4) − ¾ (8 − 7.2)] = 5.6 mg/L (factor 4)."""
    found = bottle_demand(bottle(bottom_share=0.25, after_24h_mg_l=4.0, surface_after_24h_mg_l=7.2))
    assert found.fast.demand_mg_l == pytest.approx(5.6)


def test_a_mixture_that_runs_short_is_a_lower_bound():
    """Under 1 mg/L the demand is censored and a repeat is asked for."""
    found = bottle_demand(bottle(after_24h_mg_l=0.6, surface_after_24h_mg_l=7.5))
    assert found.fast.censored
    assert [notice.code for notice in found.notices] == ["bottle-ran-short"]


def test_without_a_control_the_bloom_counts_and_it_is_said():
    """No surface bottle: twice the whole drop, with a note."""
    found = bottle_demand(bottle(after_24h_mg_l=1.5))
    assert found.fast.demand_mg_l == pytest.approx(5.0)
    assert [notice.code for notice in found.notices] == ["bottle-without-control"]


def test_no_bottom_water_tells_nothing():
    """A share of zero is no division by zero."""
    found = bottle_demand(bottle(bottom_share=0.0, after_15min_mg_l=4.0))
    assert found.immediate is None
    assert found.notices[0].code == "bottle-without-bottom-water"


@given(
    st.floats(0.1, 1.0),
    st.floats(0.0, 2.0),
    st.floats(4.0, 12.0),
    st.floats(0.0, 3.0),
    st.floats(0.0, 3.0),
)
def test_a_made_up_bottle_gives_its_demand_back(share, bottom, surface, demand, bloom):
    """Bottles made from a known demand return it, whatever the shares (linear mixing, Hypothesis)."""
    start = share * bottom + (1.0 - share) * surface
    end = start - share * demand - (1.0 - share) * bloom
    if end < 0.0 or surface < bloom:
        return
    found = bottle_demand(
        bottle(
            bottom_share=share,
            bottom_do_mg_l=bottom,
            surface_do_mg_l=surface,
            after_24h_mg_l=end,
            surface_after_24h_mg_l=surface - bloom,
        )
    )
    assert found.fast.demand_mg_l == pytest.approx(demand, abs=1e-9)
    assert found.fast.censored == (end < 1.0)
