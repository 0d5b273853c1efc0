"""The pools of the oxygen debt add up to the whole, whatever bottles and tests were read."""

from datetime import UTC, datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from plumeline.job.document import Bottle
from plumeline.stages.reading import reading

WATERS = st.sampled_from(["tested", "untested", "clean"])
LEFT = st.one_of(st.none(), st.floats(0.0, 4.0))


def job_of(make_job, water, early_mg_l, late_mg_l):
    """Return a box of two layers with a bottle from 3.5 m, bottom 0 and surface 8 mg/L."""
    below = {"sulphide_mg_l": 1.5} if water == "tested" else {}
    oxygen = 6.0 if water == "clean" else 0.0
    rows = [(0.0, 28.0, 8.0), (1.999, 28.0, 8.0), (2.001, 18.0, oxygen, below), (4.0, 18.0, oxygen, below)]
    job = make_job(rows)
    if early_mg_l is None and late_mg_l is None:
        return job
    bottle = Bottle(
        id="b",
        time=datetime(2026, 8, 1, 7, tzinfo=UTC),
        depth_m=3.5,
        bottom_do_mg_l=0.0,
        surface_do_mg_l=8.0,
        after_15min_mg_l=early_mg_l,
        after_24h_mg_l=late_mg_l,
        surface_after_24h_mg_l=None if late_mg_l is None else 7.5,
    )
    return job.model_copy(update={"observations": (*job.observations, bottle)})


@given(water=WATERS, early_mg_l=LEFT, late_mg_l=LEFT)
@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_the_pools_add_up_to_the_whole(box, make_job, water, early_mg_l, late_mg_l):
    """Middle and both ends: iron + sulphide + slow = in all, never less than what a day takes; no pool below zero."""
    debt = reading(job_of(make_job, water, early_mg_l, late_mg_l), box).debt
    for end in ("central_kg", "low_kg", "high_kg"):
        parts = [getattr(pool.mass, end) for pool in debt.pools]
        assert min(parts) >= 0.0
        assert sum(parts) == pytest.approx(getattr(debt.total, end), rel=1e-12, abs=1e-12)
    for mass in (*(pool.mass for pool in debt.pools), debt.total, debt.first_day):
        assert mass.low_kg <= mass.central_kg + 1e-12
        assert mass.central_kg <= mass.high_kg + 1e-12
    assert debt.total.central_kg >= debt.first_day.central_kg - 1e-9


def test_what_was_measured_stays_and_the_rest_yields_to_the_bottle(box, make_job):
    """Iron stays, sulphide and the slow pool share what the bottle leaves.

    Iron by the 15 min bottle: 2 × (4 − 3.5) = 1 mg/L in 2,000 m³ = 2 kg. A day: 2 × (4 − 1.5 − 0.25) = 4.5 mg/L,
    9 kg; so sulphide and the slow pool's day take 7 kg, as their priors stand."""
    alone = reading(job_of(make_job, "untested", None, None), box).debt
    debt = reading(job_of(make_job, "untested", 3.5, 1.5), box).debt
    iron, sulphide, slow = (pool.mass.central_kg for pool in debt.pools)
    assert debt.first_day.central_kg == pytest.approx(9.0, rel=1e-3)
    assert iron == pytest.approx(2.0, rel=1e-3)
    before = [pool.mass.central_kg for pool in alone.pools]
    paid = alone.slow_first_day.central_kg
    assert sulphide == pytest.approx(7.0 * before[1] / (before[1] + paid), rel=2e-3)
    assert slow - (before[2] - paid) == pytest.approx(7.0 - sulphide, rel=2e-3)
    assert [pool.basis for pool in debt.pools] == [
        "15 min bottle",
        "prior, fitted to the 24 h bottle",
        "prior, fitted to the 24 h bottle",
    ]


def test_tested_sulphide_is_held_upwards_only_in_water_that_owes_oxygen(box, make_job):
    """One test at the bottom: held up to where oxygen begins, by hand; oxygen and sulphide do not last side by side.

    Millero and others 1987 (Environ. Sci. Technol. 21: 439): at sea water's pH half of it is gone within a day. The
    whole box held at the test would owe 3.5 times as much. HS⁻ + 2 O₂ → SO₄²⁻ + H⁺, atomic weights of IUPAC.
    """
    rows = [
        (0.0, 26.0, 8.0, {"smell": "none"}),
        (2.0, 24.0, 8.0, {"smell": "none"}),
        (3.0, 16.0, 0.0, {"smell": "none"}),
        (3.6, 15.0, 0.0, {"smell": "none", "sulphide_mg_l": 3.0}),
    ]
    found = reading(make_job(rows), box)
    # oxygen falls from 8 to 0 between 2 and 3 m: 2 mg/L at 2.75 m, 0.5 mg/L at 2.9375 m, half way owing between
    owing_m3 = 1000.0 * (0.5 * (2.9375 - 2.75) + 4.0 - 2.9375)
    sulphide = next(pool for pool in found.debt.pools if pool.name == "sulphide")
    assert sulphide.mass.central_kg == pytest.approx(2.0 * 31.9988 / 32.06 * 3e-3 * owing_m3, rel=1e-4)
    assert sulphide.mass.low_kg == pytest.approx(0.25 * sulphide.mass.central_kg, rel=1e-9)
