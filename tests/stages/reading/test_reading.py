"""The reading stage on a box whose integrals are done on paper."""

from datetime import UTC, datetime

import pytest

from plumeline.errors import InputError
from plumeline.job.document import Bottle, Fish, SmellStrength
from plumeline.notices import Severity
from plumeline.science.gases import do_saturation_benson_krause_1984
from plumeline.stages.reading import mixed_now, reading

EDGE = 1e-6
TWO_LAYERS = [(0.0, 28.0, 8.0), (2.0 - EDGE, 28.0, 8.0), (2.0 + EDGE, 18.0, 0.0), (4.0, 18.0, 0.0)]
"""8 mg/L over nothing, the edge at 2 m: half the box each."""


def codes(found):
    """Return the codes of the notices."""
    return [notice.code for notice in found.notices]


def test_mixed_column_is_weighed_by_volume(box, make_job):
    """Half at 28 °C and 8 mg/L, half at 18 and 0: 23 °C and 4 mg/L."""
    found = mixed_now(make_job(TWO_LAYERS), box)
    assert found.temperature_degc == pytest.approx(23.0, abs=1e-5)
    assert found.do_mg_l == pytest.approx(4.0, abs=1e-5)
    assert found.volume_m3 == pytest.approx(4000.0)


def test_mixing_is_no_plain_average_over_depth(make_job):
    """In a cone seven eighths of the water lie above half the depth: 7 mg/L, not 4."""
    from plumeline.stages.survey import Hypsograph

    z = [4.0 * i / 200 for i in range(201)]
    left = [1.0 - value / 4.0 for value in z]
    cone = Hypsograph(tuple(z), tuple(1000.0 * x**2 for x in left), tuple(4000.0 / 3.0 * x**3 for x in left))
    survey = type("S", (), {"hypsograph": cone})()
    assert mixed_now(make_job(TWO_LAYERS), survey).do_mg_l == pytest.approx(7.0, abs=1e-3)


def test_masses_of_oxygen(box, make_job):
    """2,000 m³ of 8 mg/L hold 16 kg; the deficit is 2,000 m³ × (C_s(18) − 0) and what the top is short of."""
    found = reading(make_job(TWO_LAYERS), box)
    warm = do_saturation_benson_krause_1984(28.0, 0.0, 101325.0)
    cold = do_saturation_benson_krause_1984(18.0, 0.0, 101325.0)
    assert found.oxygen_kg == pytest.approx(16.0, rel=1e-5)
    assert found.oxygen_at_saturation_kg == pytest.approx(2.0 * (warm + cold), rel=1e-5)
    # 8 mg/L is above saturation at 28 °C: the surplus is not set against the deficit below
    assert warm < 8.0
    assert found.deficit_kg == pytest.approx(2.0 * cold, rel=1e-5)


def test_hypoxic_share_of_a_straight_line(box, make_job):
    """Oxygen falls from 8 to 0 over 4 m: under 2 mg/L a quarter of the box, under 0.5 a sixteenth."""
    found = reading(make_job([(0.0, 22.0, 8.0), (2.0, 22.0, 4.0), (4.0, 22.0, 0.0)]), box).shares
    assert found.hypoxic_top_m == pytest.approx(3.0)
    assert found.hypoxic_fraction == pytest.approx(0.25)
    assert found.anoxic_fraction == pytest.approx(1.0 / 16.0)
    assert found.below_limit_fraction == pytest.approx(3.0 / 8.0)


def test_the_threshold_is_an_argument(box, make_job):
    """Under 4 mg/L is half the box."""
    job = make_job([(0.0, 22.0, 8.0), (2.0, 22.0, 4.0), (4.0, 22.0, 0.0)])
    assert reading(job, box, hypoxic_below_mg_l=4.0).shares.hypoxic_fraction == pytest.approx(0.5)


def test_debt_comes_off_and_never_below_zero(box, make_job):
    """Mixed oxygen after debt is (oxygen − debt)/volume, floored at zero."""
    found = mixed_now(make_job(TWO_LAYERS), box)
    expected = max(found.do_mg_l - found.debt_kg * 1000.0 / found.volume_m3, 0.0)
    assert found.do_after_debt_mg_l == pytest.approx(expected, rel=1e-9)
    assert found.do_after_debt_low_mg_l <= found.do_after_debt_mg_l <= found.do_after_debt_high_mg_l
    foul = [(z, t, do / 8.0, {"sulphide_mg_l": 30.0} if z > 2.0 else {}) for z, t, do in TWO_LAYERS]
    assert mixed_now(make_job(foul), box).do_after_debt_mg_l == 0.0


def bottle(**values):
    """Return a bottle of equal parts from 3.5 m, bottom 0 and surface 8 mg/L."""
    fields = {"bottom_do_mg_l": 0.0, "surface_do_mg_l": 8.0, **values}
    return Bottle(id="b", time=datetime(2026, 8, 1, 7, tzinfo=UTC), depth_m=3.5, **fields)


def test_a_bottle_sets_the_first_days_debt(box, make_job):
    """4 mg/L of fast demand in 2,000 m³ is 8 kg."""
    job = make_job(TWO_LAYERS)
    tested = bottle(after_24h_mg_l=1.5, surface_after_24h_mg_l=7.0)
    job = job.model_copy(update={"observations": (*job.observations, tested)})
    found = reading(job, box)
    assert found.debt.first_day.central_kg == pytest.approx(8.0, rel=1e-4)
    assert found.debt.basis == "24 h bottle"
    assert found.mixed_now.do_after_debt_mg_l == pytest.approx(4.0 - 2.0, abs=1e-3)


def test_a_bottle_that_ran_short_never_lowers_the_debt(box, make_job):
    """Censored: the larger of bottle and prior, said as a lower bound."""
    job = make_job(TWO_LAYERS)
    prior = mixed_now(job, box).debt_kg
    tested = bottle(after_24h_mg_l=0.2, surface_after_24h_mg_l=7.9)
    found = reading(job.model_copy(update={"observations": (*job.observations, tested)}), box)
    assert found.debt.censored
    assert found.debt.first_day.central_kg >= max(prior, 2.0 * (3.8 - 0.05) * 2.0 - 1e-3)
    assert "bottle-ran-short" in codes(found)


def test_old_bottles_are_left_out_and_it_is_said(box, make_job):
    """A bottle of eleven days later is another water."""
    job = make_job(TWO_LAYERS)
    late = bottle(after_24h_mg_l=1.5).model_copy(update={"time": datetime(2026, 8, 12, 7, tzinfo=UTC)})
    found = reading(job.model_copy(update={"observations": (*job.observations, late)}), box)
    assert found.bottles == ()
    assert "bottle-left-out" in codes(found)


@pytest.mark.parametrize("oxygen_mg_l", [0.0, 3.0, 6.0])
def test_smelling_water_always_owes_oxygen(box, make_job, oxygen_mg_l):
    """With a strong smell the debt is over zero even at its low end, whatever the meter says."""
    rows = [(0.0, 25.0, 6.0), (4.0, 24.0, oxygen_mg_l, {"smell": SmellStrength.STRONG})]
    debt = reading(make_job(rows), box).debt
    assert debt.first_day.low_kg > 0.0
    assert {pool.name: pool.basis for pool in debt.pools}["sulphide"] == "prior moved by the smell"


def test_a_stronger_smell_owes_more(box, make_job):
    """None, unknown, strong: the sulphide pool grows."""
    pools = []
    for smell in (SmellStrength.NONE, None, SmellStrength.STRONG):
        rows = [*TWO_LAYERS[:-1], (4.0, 18.0, 0.0, {"smell": smell})]
        debt = reading(make_job(rows), box).debt
        pools.append({pool.name: pool.mass.central_kg for pool in debt.pools}["sulphide"])
    assert 0.0 < pools[0] < pools[1] < pools[2]


def test_water_with_oxygen_and_no_smell_owes_nothing(box, make_job):
    """7 mg/L to the bottom: no debt."""
    assert mixed_now(make_job([(0.0, 24.0, 7.5), (4.0, 23.5, 7.0)]), box).debt_total_kg == 0.0


def test_measured_sulphide_is_counted_by_its_stoichiometry(box, make_job):
    """5 mg/L of S in 2,000 m³: 10 kg of sulphur, HS⁻ + 2 O₂ → SO₄²⁻ takes 2 × 32.00/32.06 of it."""
    rows = [(z, t, do, {"sulphide_mg_l": 5.0 if z > 2.0 else 0.0}) for z, t, do in TWO_LAYERS]
    debt = reading(make_job(rows), box).debt
    sulphide = next(pool for pool in debt.pools if pool.name == "sulphide")
    assert sulphide.basis == "sulphide test"
    assert sulphide.mass.central_kg == pytest.approx(10.0 * 2.0 * 31.9988 / 32.06, rel=1e-3)


def test_poisons_by_layer(box, make_job):
    """25 °C: 5.366 % of ammonia at pH 8 (Emerson 1975), 48.9 % of sulphide at pH 7 (Millero 1988)."""
    rows = [
        (0.0, 25.0, 8.0, {"ph": 8.0, "ammonia_mg_l": 2.0, "sulphide_mg_l": 0.0}),
        (4.0, 25.0, 0.0, {"ph": 7.0, "ammonia_mg_l": 2.0, "sulphide_mg_l": 1.0}),
    ]
    top, bottom = reading(make_job(rows), box).layers
    assert top.unionized_ammonia_mg_l == pytest.approx(2.0 * 0.05366, rel=1e-3)
    assert bottom.hydrogen_sulphide_mg_l == pytest.approx(0.489 * 34.08 / 32.06, rel=2e-3)
    assert not any((top.ph_assumed, top.ammonia_assumed, bottom.sulphide_assumed))
    assert not bottom.usable


def test_what_was_not_read_is_marked(box, make_job):
    """pH read at the surface alone holds above the thermocline; below it the prior stands, marked."""
    rows = [(z, t, do, {"ph": 9.0} if z == 0.0 else {}) for z, t, do in TWO_LAYERS]
    layers = reading(make_job(rows), box).layers
    assert (layers[0].ph, layers[0].ph_assumed) == (9.0, False)
    assert layers[-1].ph < 7.5
    assert layers[-1].ph_assumed


def test_two_layers_have_the_closed_form_stability(box, make_job):
    """28 over 18 °C, interface 2 of 4 m: 46.344 J/m² at g = 9.81 (science notes, section 7)."""
    found = reading(make_job(TWO_LAYERS, wind_speed_m_s=3.0), box)
    assert found.stability_j_m2 == pytest.approx(46.344 * 9.80665 / 9.81, rel=1e-3)
    assert found.strata.seasonal_thermocline_depth_m == pytest.approx(2.0, abs=0.01)
    assert found.wind.friction_velocity_m_s == pytest.approx(0.0032925, rel=1e-3)
    length = 2.0 * (1000.0 / 3.141592653589793) ** 0.5
    expected = 9.80665 * 2.3635 / 998.595 * 4.0 / (0.0032925**2 * length)
    assert found.wind.wedderburn_number == pytest.approx(expected, rel=0.01)


def test_no_wind_no_lake_number(box, make_job):
    """Without weather the check is absent; in still air its numbers are."""
    assert reading(make_job(TWO_LAYERS), box).wind is None
    assert reading(make_job(TWO_LAYERS, wind_speed_m_s=0.0), box).wind.lake_number is None


def test_a_mixed_pond_is_called_mixed(box, make_job):
    """Under 1 °C from top to bottom."""
    found = reading(make_job([(0.0, 22.6, 8.0), (2.0, 22.3, 7.8), (4.0, 22.0, 7.5)]), box)
    assert found.strata.mixed
    assert "mixed" in codes(found)
    assert "overturn-bearable" in codes(found)


def test_an_overturn_that_kills_is_a_danger_and_comes_first(box, make_job):
    """4 mg/L mixed, sulphide 5 mg/L: after the debt under 3, the limit of bluegill."""
    rows = [(z, t, do, {"sulphide_mg_l": 5.0 if z > 2.0 else 0.0}) for z, t, do in TWO_LAYERS]
    found = reading(make_job(rows), box)
    assert found.notices[0].severity is Severity.DANGER
    assert "overturn-kills" in codes(found)
    assert "bottom-water-gas" in codes(found)


def test_trout_lose_their_refuge_to_warm_water(box, make_job):
    """Warm on top, no oxygen below: bluegill live on top, trout nowhere."""
    assert reading(make_job(TWO_LAYERS), box).shares.usable_fraction == pytest.approx(0.5, abs=1e-3)
    trout = reading(make_job(TWO_LAYERS, fish=Fish(species=("rainbow-trout",))), box)
    assert trout.shares.usable_fraction == 0.0
    assert "no-refuge" in codes(trout)


def test_a_guessed_sulphide_closes_no_water_that_holds_oxygen(box, make_job):
    """Two readings, 8 to 0 mg/L over 4 m: room down to 3 mg/L, 5/8 of a box; measured, it closes."""
    guessed = make_job([(0.0, 28.0, 8.0), (4.0, 20.0, 0.0, {"smell": "strong"})])
    assert reading(guessed, box).shares.usable_fraction == pytest.approx(5.0 / 8.0, abs=1e-3)
    measured = make_job(
        [
            (0.0, 28.0, 8.0, {"sulphide_mg_l": 0.0, "ph": 7.0}),
            (4.0, 20.0, 0.0, {"sulphide_mg_l": 8.0, "ph": 7.0}),
        ]
    )
    assert reading(measured, box).shares.usable_fraction < 0.05


def test_the_latest_profile_counts(box, make_job):
    """Two profiles: the later one is read."""
    early, late = make_job(TWO_LAYERS), make_job([(0.0, 20.0, 9.0), (4.0, 20.0, 9.0)], day=2)
    job = early.model_copy(update={"observations": (*late.observations, *early.observations)})
    assert mixed_now(job, box).do_mg_l == pytest.approx(9.0)


def test_an_old_profile_is_said_to_be_old(box, make_job):
    """Five days before the job's date."""
    job = make_job(TWO_LAYERS).model_copy(update={"date": datetime(2026, 8, 6, tzinfo=UTC).date()})
    assert "profile-old" in codes(reading(job, box))


@pytest.mark.parametrize(
    ("rows", "code"),
    [
        ([(0.0, 25.0, 8.0)], "profile-few-points"),
        ([(0.0, 25.0, 8.0), (1.0, 24.5, 8.0), (2.0, 24.0, 7.0)], "profile-stops-short"),
        ([(0.0, 25.0, 8.0), (3.0, 24.5, 8.0), (6.0, 24.0, 7.0)], "profile-deeper-than-pond"),
        ([(0.0, 20.0, 8.0), (2.0, 25.0, 8.0), (4.0, 20.0, 7.0)], "profile-upside-down"),
    ],
)
def test_odd_profiles_are_read_and_said_to_be_odd(box, make_job, rows, code):
    """One point, too short, too deep, heavy water on light."""
    assert code in codes(reading(make_job(rows), box))


def test_no_profile_is_an_error_with_a_way_out(box, make_job):
    """It names the file to fill in."""
    job = make_job(TWO_LAYERS).model_copy(update={"observations": ()})
    with pytest.raises(InputError, match=r"profiles\.csv"):
        mixed_now(job, box)


def test_two_readings_at_one_depth_are_an_error(box, make_job):
    """It names the depth."""
    with pytest.raises(InputError, match="two readings at 6 ft 7 in"):
        reading(make_job([(0.0, 25.0, 8.0), (2.0, 24.0, 7.0), (2.0, 23.0, 6.0)]), box)


def test_the_same_input_gives_the_same_reading(box, make_job):
    """A pure function."""
    assert reading(make_job(TWO_LAYERS), box) == reading(make_job(TWO_LAYERS), box)


@pytest.mark.parametrize(("oxygen_mg_l", "severity"), [(0.0, Severity.CAUTION), (5.0, Severity.DANGER)])
def test_sulphide_where_fish_can_be_is_a_danger(box, make_job, oxygen_mg_l, severity):
    """0.2 mg/L of sulphide at pH 7: poison where there is oxygen, else a caution for the mixing."""
    rows = [
        (0.0, 25.0, 8.0, {"ph": 7.0, "sulphide_mg_l": 0.0}),
        (4.0, 25.0, oxygen_mg_l, {"ph": 7.0, "sulphide_mg_l": 0.2}),
    ]
    found = {notice.code: notice.severity for notice in reading(make_job(rows), box).notices}
    assert found["sulphide-over"] is severity


def test_the_published_criterion_is_a_note_beside_the_limit(box, make_job):
    """2 mg/L at pH 8.5 and 25 °C is over the chronic 0.252 of EPA 2013; beyond pH 9 that is said."""
    for ph, words in ((8.5, "0.25 (30 days)"), (9.3, "carried on beyond pH 6.5 to 9")):
        rows = [
            (0.0, 25.0, 8.0, {"ph": ph, "ammonia_mg_l": 2.0}),
            (4.0, 25.0, 8.0, {"ph": ph, "ammonia_mg_l": 2.0}),
        ]
        notices = {notice.code: notice for notice in reading(make_job(rows), box).notices}
        assert words in notices["ammonia-criterion"].text
        assert notices["ammonia-criterion"].severity is Severity.NOTE
