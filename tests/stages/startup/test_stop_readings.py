"""The reading at which to stop: the limit and what still falls, read with a meter, in 95 of 100 ponds."""

from dataclasses import replace

import numpy as np
import pytest

from plumeline.kernels import column_index as ix
from plumeline.science.gases import pressure_icao_1993
from plumeline.stages.startup import stop as stop_module
from plumeline.stages.startup.crew import WATCHED_HOURS, Crew, draw_errors
from plumeline.stages.startup.dissolved import early_stop_mg_l, most_dissolved_mg_l
from plumeline.stages.startup.notices import stop_capped
from plumeline.stages.startup.one_way import one_way
from plumeline.stages.startup.policy import policy_of
from plumeline.stages.startup.schedule import WHOLE_DAY_MIN, cautious, growing, readings_in, steady
from plumeline.stages.startup.stop import KEPT_FRACTION, Shut, day_stops, stop_reading, stop_table
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


def a_day(generator, ponds, slope, scatter, hours=6):
    """Return ponds made up by hand, read at each hour of a run: their water, low and meter are the same all day."""
    truth = 9.0 + 1.8 * generator.standard_normal(ponds)
    meter, own = 0.5 * generator.standard_normal(ponds), scatter * generator.standard_normal(ponds)
    none = np.zeros(ponds, dtype=bool)
    return [
        Shut(truth + meter + 0.7 * generator.standard_normal(ponds),
             slope * truth - 1.2 + own + 0.25 * scatter * generator.standard_normal(ponds), none, none, 1.0)
        for _ in range(hours)
    ]  # fmt: skip


def test_from_hour_to_hour_the_readings_go_one_way_and_hardly_jump():
    """Where the water asks for the same reading at every hour, chance alone made steps of 0.2: no more.

    Never lower than what the hours ask, so no less careful: by hand, of ponds whose low is a line of what they hold.
    """
    generator = np.random.default_rng(3)
    steps, alone, raised = [], [], []
    for _ in range(40):
        day = a_day(generator, 200, 0.9, 0.6)
        found = list(day_stops(day, {}, 3.0, 99.0).values())
        hourly = [stop_reading(one.read_mg_l, one.least_mg_l, one.lost, one.other_lost, 3.0) for one in day]
        assert found in (sorted(found), sorted(found, reverse=True))
        steps += list(np.abs(np.diff(found)))
        alone += list(np.abs(np.diff(hourly)))
        raised.append(np.mean(found) - np.mean(hourly))
    assert np.mean(steps) < 0.08
    assert np.mean(alone) > 2.0 * np.mean(steps)
    assert 0.0 <= np.mean(raised) < 0.15


def test_too_few_layered_ponds_leave_the_reading_of_the_day_before():
    """One in twenty of twelve ponds is no pond: the day before stands; where one in ten is layered there is a dash."""
    few = [Shut(one.read_mg_l[:12], one.least_mg_l[:12], one.lost[:12], one.other_lost[:12], 0.3)
           for one in a_day(np.random.default_rng(1), 40, 0.9, 0.6, 3)]  # fmt: skip
    assert day_stops(few, {1: 5.6, 2: 5.4, 3: 5.1}, 3.0, 99.0) == {1: 5.6, 2: 5.4, 3: 5.1}
    mixed = [replace(one, layered_fraction=0.05) for one in few]
    assert all(np.isnan(reading) for reading in day_stops(mixed, {1: 5.6}, 3.0, 99.0).values())


@pytest.mark.parametrize(
    ("asked", "given"),
    [
        ((5.0, 4.6, 4.8, 4.0), (5.0, 4.8, 4.8, 4.0)),
        ((4.0, 4.3, 4.2, 4.9), (4.0, 4.3, 4.3, 4.9)),
        ((5.0, None, 4.0), (5.0, 4.0, 4.0)),
        ((None, 5.0, 4.5, None, None), (None, 5.0, 4.5, None, None)),
        ((None, None), (None, None)),
    ],
)
def test_the_least_row_that_goes_one_way_and_lies_over_every_number(asked, given):
    """By hand: the falling or the rising row, whichever adds less; a lone gap gets a number, the ends stay open."""
    nan = float("nan")
    found = one_way([nan if number is None else number for number in asked])
    assert [None if number != number else number for number in found] == list(given)


@pytest.mark.parametrize(
    ("temperature_degc", "salinity_g_kg", "elevation_m"),
    [(20.0, 0.1, 2000.0), (28.0, 0.1, 2000.0), (22.0, 5.0, 0.0)],
)
def test_the_cautious_rule_stops_under_what_warm_high_or_brackish_water_dissolves(
    scene, temperature_degc, salinity_g_kg, elevation_m
):
    """Trout's limit and 2 mg/L are 7: over what water dissolves at 2,000 m in summer, by Weiss 1970 to 1.5 %.

    Weiss, Deep-Sea Res. 17:721, at one atmosphere, dry pressure of the standard atmosphere (ICAO) in proportion.
    """
    columns = scene.ensemble.columns
    state = columns.state.copy()
    state[ix.TEMPERATURE], state[ix.SALT] = temperature_degc, salinity_g_kg
    pressure_pa = pressure_icao_1993(elevation_m)
    most = most_dissolved_mg_l(replace(columns, state=state), pressure_pa)
    kelvin = (273.15 + temperature_degc) / 100.0
    salty = salinity_g_kg * (-0.033096 + 0.014259 * kelvin - 0.0017 * kelvin**2)
    ml_l = np.exp(-173.4292 + 249.6339 / kelvin + 143.3483 * np.log(kelvin) - 21.8492 * kelvin + salty)
    vapour_pa = 611.2 * np.exp(17.62 * temperature_degc / (243.12 + temperature_degc))
    weiss = 1.429 * ml_l * (pressure_pa - vapour_pa) / (101325.0 - vapour_pa)
    assert most == pytest.approx(weiss, rel=0.015)
    early = early_stop_mg_l(5.0, 2.0, most)
    assert early == pytest.approx(min(7.0, most), abs=0.1)
    assert early <= max(most, 5.0)
    told = stop_capped(2.0, 5.0, most)
    assert bool(told) == (most < 7.0)
    assert all(f"stops under {early:.1f}" in one.text for one in told)


def test_water_that_dissolves_less_than_the_limit_leaves_the_limit():
    """A stop under the fish's limit would be no stop: the limit stands."""
    assert early_stop_mg_l(5.0, 2.0, 4.6) == 5.0


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


def test_a_stop_reading_of_two_hundred_ponds_is_good_to_as_much_as_is_said():
    """Ponds whose low is 0.7 to 0.9 of what they hold, made up anew 100 times: the spread of the reading."""
    generator = np.random.default_rng(1)
    for slope, scatter in ((0.9, 0.6), (0.7, 0.8)):
        found = [day_stops(a_day(generator, 200, slope, scatter, 3), {}, 3.0, 99.0)[2] for _ in range(100)]
        assert 0.5 * STOP_ERROR_MG_L < np.nanstd(found) <= STOP_ERROR_MG_L


def test_the_cautious_rule_stops_two_mg_over_the_limit():
    """Doubling from 15 min, gated at 4 mg/L and read every day; a run is stopped at the limit and 2 mg/L."""
    policy = policy_of(cautious(14), {}, limit_mg_l=3.0, most_mg_l=8.0, watched_hours=6)
    assert [day.minutes for day in policy.days][:4] == [15, 30, 60, 120]
    assert all(day.visit for day in policy.days)
    assert policy.gate_do_mg_l == 4.0
    assert {reading for day in policy.days for _, reading in day.stop_do_mg_l} == {5.0}
    capped = policy_of(cautious(14), {}, limit_mg_l=3.0, most_mg_l=4.77, watched_hours=6)
    assert {reading for day in capped.days for _, reading in day.stop_do_mg_l} == {4.7}


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
    policy = policy_of(steady(120, 2, 14.0), table, limit_mg_l=3.0, most_mg_l=8.0, watched_hours=5)
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
