"""The reading at which to stop: the limit and what still falls, read with a meter, in 95 of 100 ponds."""

import numpy as np
import pytest

from plumeline.kernels import column_index as ix
from plumeline.stages.startup import stop as stop_module
from plumeline.stages.startup.crew import WATCHED_HOURS, Crew, draw_errors
from plumeline.stages.startup.policy import policy_of
from plumeline.stages.startup.schedule import WHOLE_DAY_MIN, cautious, growing, readings_in, steady
from plumeline.stages.startup.stop import KEPT_FRACTION, stop_reading, stop_table
from plumeline.stages.startup.tree import Tally
from plumeline.workings.startup_tables import STOP_ERROR_MG_L

NONE = np.zeros(200, dtype=bool)


def test_the_reading_is_where_ninety_five_in_a_hundred_ponds_stay_over_the_limit():
    """The low is 1 + half the reading, ±1 mg/L evenly: 95 % lie over 0.1 + half of it, which is 3 at 5.8."""
    read = np.repeat(np.linspace(4.0, 14.0, 101), 101)
    low = 1.0 + 0.5 * read + np.tile(np.linspace(-1.0, 1.0, 101), 101)
    none = np.zeros(len(read), dtype=bool)
    assert stop_reading(read, low, none, none, 3.0) == pytest.approx((3.0 - 0.1) / 0.5, abs=0.051)


def test_a_meter_that_errs_raises_the_reading():
    """Water of 8 ± 2 mg/L that falls by 1, read with ±0.5 and 0.7: the normal distribution's own 95 % line.

    Of normal truth and error, the truth given the reading is 8 + λ (reading - 8), λ = 4 / (4 + 0.74), with a
    standard deviation of 2 √(1 - λ) (any text on errors in variables).
    """
    errors = draw_errors(20000, 1, 1)
    member = np.arange(20000)
    none = np.zeros(20000, dtype=bool)
    truth = 8.0 + 2.0 * np.random.default_rng(1).standard_normal(20000)
    exact = stop_reading(truth, truth - 1.0, none, none, 3.0)
    read = truth + errors.at(1, 1, member)
    noisy = stop_reading(read, truth - 1.0, none, none, 3.0)
    assert exact == pytest.approx(4.0)
    share = 4.0 / (4.0 + 0.5**2 + 0.7**2)
    expected = 8.0 + (3.0 - 7.0 + 1.645 * 2.0 * np.sqrt(1.0 - share)) / share
    assert noisy == pytest.approx(expected, abs=0.15)


def test_water_that_falls_far_from_high_readings_does_not_stop_the_low_ones():
    """A bloom reads 8 to 14 at noon and is down to 5 by dawn whatever it read: nothing needs to be stopped."""
    read = np.linspace(8.0, 14.0, 200)
    assert stop_reading(read, np.full(200, 5.0), NONE, NONE, 3.0) == pytest.approx(3.5)


def test_a_reading_that_half_the_ponds_do_not_reach_stops_nothing():
    """Where the low is a mg/L under the limit for most, a number would only stop every run: a dash."""
    read = np.linspace(4.0, 8.0, 200)
    assert np.isnan(stop_reading(read, read - 4.0, NONE, NONE, 3.0))


def test_ponds_that_are_lost_although_they_read_well_raise_the_reading():
    """Ponds reading under 7 all lose their refuge after shut-off: stopping keeps 95 % only from about there up."""
    read = np.linspace(4.0, 10.0, 200)
    lost = read < 7.0
    found = stop_reading(read, read - 0.5, lost, NONE, 3.0)
    kept = ~lost[read >= found]
    assert kept.mean() >= KEPT_FRACTION
    assert 6.5 <= found <= 7.0


def test_where_sulphide_takes_one_pond_in_ten_no_reading_of_oxygen_helps():
    """An oxygen meter does not see sulphide: the plan shows a dash, not a number."""
    read = np.full(200, 8.0)
    other = np.arange(200) < 20
    assert np.isnan(stop_reading(read, read - 0.5, other, other, 3.0))


def test_where_every_pond_is_lost_no_reading_is_given():
    """Stopping keeps nobody: there is no reading that would."""
    read = np.linspace(4.0, 9.0, 200)
    assert np.isnan(stop_reading(read, read - 3.0, ~NONE, NONE, 3.0))


def test_stop_readings_stand_over_the_limit_for_every_hour_that_can_be_watched(scene):
    """From 10:00 a crew that leaves at 19:00 watches six hours; from 16:00 three: each has its reading."""
    member = np.arange(scene.members)
    for clock, hours in ((10.0, WATCHED_HOURS), (16.0, 3)):
        schedule = growing(WHOLE_DAY_MIN, 2.0, clock, 4)
        table = stop_table(scene, member, schedule, Tally())
        assert {hour for day, hour in table if day == 1} == set(range(1, hours + 1))
        given = [value for value in table.values() if value == value]
        assert all(value >= scene.refuge.limits.oxygen_mg_l + 0.5 - 1e-9 for value in given)


def test_no_stop_reading_is_over_what_the_water_dissolves(scene, monkeypatch):
    """Where the ponds would ask for 12 mg/L in water that holds about 8, the table says what the water holds.

    Oxygen in equilibrium at the middle pond's temperature, by another formula: Weiss 1970 at one atmosphere, to 5 %
    (the site lies 200 m up, which is 2.4 % less).
    """
    monkeypatch.setattr(stop_module, "stop_reading", lambda *_: 12.0)
    table = stop_table(scene, np.arange(scene.members), growing(WHOLE_DAY_MIN, 2.0, 10.0, 4), Tally())
    columns = scene.ensemble.columns
    kelvin = 273.15 + float(np.median(columns.state[ix.TEMPERATURE, columns.grid.layer_at(0.6)]))
    weiss_ml_l = np.exp(
        -173.4292 + 249.6339 * 100 / kelvin + 143.3483 * np.log(kelvin / 100) - 21.8492 * kelvin / 100
    )
    given = [value for (day, _), value in table.items() if day == 1 and value == value]
    assert given
    assert given == pytest.approx([1.429 * weiss_ml_l] * len(given), rel=0.05)


def test_a_stop_reading_of_a_hundred_ponds_is_good_to_as_much_as_is_said():
    """Ponds whose low is 0.7 to 0.9 of what they hold, made up anew 300 times: the spread of the reading."""
    generator = np.random.default_rng(1)
    none = np.zeros(100, dtype=bool)
    for slope, scatter in ((0.9, 0.6), (0.7, 0.8)):
        found = []
        for _ in range(300):
            truth = 9.0 + 1.8 * generator.standard_normal(100)
            low = slope * truth - 1.2 + scatter * generator.standard_normal(100)
            read = truth + 0.86 * generator.standard_normal(100)
            found.append(stop_reading(read, low, none, none, 3.0))
        assert 0.5 * STOP_ERROR_MG_L < np.nanstd(found) <= STOP_ERROR_MG_L


def test_the_cautious_rule_stops_two_mg_over_the_limit():
    """Doubling from 15 min, gated at 4 mg/L and read every day; a run is stopped at the limit and 2 mg/L."""
    policy = policy_of(cautious(14), {}, limit_mg_l=3.0, watched_hours=6)
    assert [day.minutes for day in policy.days][:4] == [15, 30, 60, 120]
    assert all(day.visit for day in policy.days)
    assert policy.gate_do_mg_l == 4.0
    assert {reading for day in policy.days for _, reading in day.stop_do_mg_l} == {5.0}


@pytest.mark.parametrize(("last", "first"), [(0, 15), (30, 60), (240, 480), (1440, 1440)])
def test_the_cautious_rule_goes_on_from_the_last_run(last, first):
    """A start-up that is under way does not begin anew at 15 min: its last run is doubled, up to the whole day."""
    schedule = cautious(14, last_min=last)
    assert schedule.minutes[0] == first
    assert schedule.name.startswith(f"cautious rule: doubling from {first} min")


def test_a_policy_tells_everything_that_another_model_needs_to_carry_it_out():
    """Start, minutes, diffusers, visits and stop readings of each step; the whole day twice runs on.

    Two hours have one reading before their end, a whole day as many as it is watched."""
    table = {(1, 1): 5.5, (1, 2): 5.0, (2, 1): float("nan"), (3, 5): 4.5, (3, 6): 4.4}
    policy = policy_of(steady(120, 2, 14.0), table, limit_mg_l=3.0, watched_hours=5)
    assert [(day.start_hour_h, day.minutes) for day in policy.days] == [
        (14.0, 120),
        (14.0, 120),
        (14.0, 1440),
    ]
    assert policy.days[0].stop_do_mg_l == ((1, 5.5),)
    assert policy.days[1].stop_do_mg_l == ()
    assert policy.days[2].stop_do_mg_l == ((5, 4.5),)
    assert [day.visit for day in policy.days] == [True, False, False]


@pytest.mark.parametrize(
    ("minutes", "count"), [(0, 0), (30, 0), (60, 0), (61, 1), (120, 1), (300, 4), (1440, 6)]
)
def test_a_run_has_a_stop_reading_for_each_hour_before_its_end(minutes, count):
    """Read hourly, a run of an hour or less is over before its first reading; by hand."""
    assert readings_in(minutes, 6) == count


def test_a_run_is_watched_no_longer_than_somebody_is_there():
    """Six hours at most, and not past the last hour at which somebody can come."""
    crew = Crew(7.0, 19.0)
    assert [crew.watched_hours(hour) for hour in (9.0, 14.0, 18.0, 19.0)] == [6, 5, 1, 0]
