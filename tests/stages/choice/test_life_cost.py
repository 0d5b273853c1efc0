"""Life-cycle cost: the handbook's example through the whole sum, and what must hold for any prices."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plumeline.stages.choice.life_cost import PARTS, Recurring, Spending, life_cost, recurring_factor_number
from plumeline.stages.choice.terms import Terms

TERMS = Terms(
    currency="USD", years=20, discount_rate_fraction=0.03, running_hours=24.0, running_days=365.0,
    energy_per_kwh=0.08, membrane_interval_h=26280.0, least_air_m3_s=2e-4, most_air_m3_s=1e-3,
    most_voltage_drop_fraction=0.03, price_money={}, compressor_each=None,
)  # fmt: skip
YEAR_H = 8760.0


def test_the_handbooks_example():
    """First cost, one replacement at year 12 and a yearly sum, 20 years at 3 %.

    Source: NIST Handbook 135 (Fuller & Petersen 1996), the air-conditioning example, from memory: 103,000 at
    once, 12,000 at year 12 worth 8,417 today, 7,000 a year worth 104,160 today (its factor rounded to 14.88).
    """
    power_w = 7_000 / (0.08 * YEAR_H) * 1000.0
    spending = Spending(103_000.0, 0.0, power_w, (Recurring("replacement", 12_000.0, 12 * YEAR_H),))
    found = life_cost(spending, TERMS)
    assert found.purchase_money == 103_000.0
    assert found.replacement_money == pytest.approx(8_417, abs=1.0)
    assert found.energy_money == pytest.approx(104_160, rel=3e-4)
    assert found.total_money == pytest.approx(103_000 + 8_417 + 104_160, rel=2e-4)


def test_energy_of_a_year():
    """200 W all year are 1,752 kWh, 280 USD at 0.16; 400 W are 3,504 kWh, 561 USD (worked by hand)."""
    terms = replace(TERMS, years=1, discount_rate_fraction=0.0, energy_per_kwh=0.16)
    for power_w, kwh, usd in ((200.0, 1752.0, 280.0), (400.0, 3504.0, 561.0)):
        found = life_cost(Spending(0.0, 0.0, power_w), terms)
        assert found.yearly_energy_kwh == pytest.approx(kwh)
        assert found.energy_money == pytest.approx(usd, abs=0.7)


def test_nothing_is_bought_on_the_last_day():
    """Every 5 years over 20 at no interest are three times, not four; every 30 years never (counted by hand)."""
    flat = replace(TERMS, discount_rate_fraction=0.0)
    assert recurring_factor_number(5 * YEAR_H, flat) == 3.0
    assert recurring_factor_number(30 * YEAR_H, flat) == 0.0


def test_half_a_day_of_air_doubles_an_interval():
    """An interval is hours of running: at 12 h a day 17,520 h last four years, so 20 years want four (by hand)."""
    flat = replace(TERMS, discount_rate_fraction=0.0, running_hours=12.0)
    assert recurring_factor_number(17_520.0, flat) == 4.0


money = st.floats(0.0, 5e4)
spendings = st.builds(
    Spending,
    money,
    money,
    st.floats(10.0, 3000.0),
    st.lists(
        st.builds(Recurring, st.sampled_from(["service", "replacement"]), money, st.floats(500.0, 1e5)),
        max_size=3,
    ).map(tuple),
)
rates = st.floats(0.0, 0.3)


@settings(max_examples=80)
@given(spendings, rates, st.floats(0.01, 100.0))
def test_scaling_all_prices_scales_the_cost(spending, rate, scale):
    """All prices times a number give every part of the cost times that number."""
    terms = replace(TERMS, discount_rate_fraction=rate)
    dear = replace(
        spending,
        purchase_money=scale * spending.purchase_money,
        installation_money=scale * spending.installation_money,
        recurring=tuple(replace(item, cost_money=scale * item.cost_money) for item in spending.recurring),
    )
    one, other = life_cost(spending, terms), life_cost(dear, replace(terms, energy_per_kwh=0.08 * scale))
    for part in PARTS:
        assert other.part_money(part) == pytest.approx(scale * one.part_money(part), rel=1e-9, abs=1e-9)


@settings(max_examples=80)
@given(spendings, spendings, rates, st.floats(0.01, 0.6), st.floats(0.0, 1.0))
def test_cheaper_energy_never_favours_the_more_efficient(first, second, rate, price, share):
    """What is no dearer though it takes more power stays no dearer when energy gets cheaper."""
    hungry, thrifty = sorted((first, second), key=lambda item: -item.power_w)
    terms = replace(TERMS, discount_rate_fraction=rate, energy_per_kwh=price)
    before = [life_cost(item, terms).total_money for item in (hungry, thrifty)]
    after = [
        life_cost(item, replace(terms, energy_per_kwh=share * price)).total_money
        for item in (hungry, thrifty)
    ]
    if before[0] <= before[1]:
        assert after[0] <= after[1] + 1e-9 * max(before)


@settings(max_examples=60)
@given(spendings, rates, rates)
def test_a_higher_rate_makes_later_money_smaller(spending, one, other):
    """No part of the cost grows with the discount rate, and what is spent at once stays."""
    low, high = sorted((one, other))
    cheap = life_cost(spending, replace(TERMS, discount_rate_fraction=high))
    dear = life_cost(spending, replace(TERMS, discount_rate_fraction=low))
    assert all(cheap.part_money(part) <= dear.part_money(part) * (1 + 1e-9) for part in PARTS)
    assert cheap.purchase_money == dear.purchase_money
