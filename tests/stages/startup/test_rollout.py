"""Days of a schedule: gates, stops and branches do what they say, and sharing days changes nothing."""

from dataclasses import replace

import numpy as np
import pytest

from plumeline.kernels import column_index as ix
from plumeline.stages.startup.crew import BEFORE, Crew
from plumeline.stages.startup.promise import Promise
from plumeline.stages.startup.rollout import live_day, lost_in_job
from plumeline.stages.startup.scene import lead_in, smells, some_of
from plumeline.stages.startup.schedule import (
    WHOLE_DAY_MIN,
    Gate,
    Schedule,
    cautious,
    doubling,
    growing,
    steady,
)
from plumeline.stages.startup.tree import Tally, run_all

AT_ONCE = growing(WHOLE_DAY_MIN, 2.0, 10.0, 4)


@pytest.fixture(scope="module")
def few(scene):
    """Return a dozen of the ponds."""
    return some_of(scene, np.arange(12))


@pytest.fixture(scope="module")
def alarmed(few):
    """Return the same ponds with a crew that reads 50 mg/L too much before the start: all later readings are a fall."""
    place = few.errors.place_mg_l.copy()
    place[:, BEFORE] = 50.0
    return replace(few, errors=replace(few.errors, place_mg_l=place))


def day_of(scene, schedule, number=1, standing=None, table=None):
    """Return one day of a schedule from its first run on."""
    if standing is None:
        standing, _ = lead_in(scene, np.arange(scene.members), schedule.start_hour_h)
    return live_day(scene, standing, schedule, number, table)


def test_schedules_that_share_their_first_days_come_to_the_same_alone(few):
    """A branch of the tree gives what the schedule gives by itself: sharing is a saving, no approximation."""
    schedules = [
        steady(60, 2, 10.0),
        Schedule("60, 60, 120", 10.0, (60, 60, 120, WHOLE_DAY_MIN), watched=True),
        AT_ONCE,
    ]
    tally = Tally()
    together = run_all(few, np.arange(12), schedules, promise=None, tally=tally)
    assert tally.shared_days > 0
    for schedule, shared in zip(schedules, together, strict=True):
        (alone,) = run_all(few, np.arange(12), [schedule], promise=None, tally=Tally())
        assert np.array_equal(shared.lost_hour, alone.lost_hour)
        assert np.array_equal(shared.complete_hour, alone.complete_hour)
        assert np.array_equal(shared.visits, alone.visits)


def test_a_member_fares_alike_whoever_is_beside_it(few):
    """Members judged in two halves come to what they come to together, so that halving may add members."""
    schedule = cautious(4)
    whole = run_all(few, np.arange(12), [schedule], promise=None, tally=Tally())[0]
    halves = [
        run_all(few, part, [schedule], promise=None, tally=Tally())[0]
        for part in (np.arange(5), np.arange(5, 12))
    ]
    assert np.array_equal(whole.lost_hour, np.concatenate([half.lost_hour for half in halves]))
    assert np.array_equal(whole.held, np.concatenate([half.held for half in halves]))


def test_a_reading_under_the_stop_reading_that_has_fallen_ends_the_run_at_that_hour(alarmed):
    """With a stop reading that no water reaches, every layered pond is stopped after the first hour."""
    table = {(1, hour): 99.0 for hour in range(1, 7)}
    after, log = day_of(alarmed, replace(AT_ONCE, watched=True), table=table)
    assert set(log.minutes) == {60}
    assert log.stopped.all()
    assert (after.rung == 0).all()
    assert after.called.all()
    flow = log.records[ix.PLUME_FLOW]
    assert (flow[0] > 0.0).all()
    assert (flow[1:] == 0.0).all()


def test_oxygen_that_has_not_fallen_since_before_the_start_stops_no_run(few):
    """A pond whose oxygen is low of itself is started all the same: read 50 mg/L too low before, nothing falls."""
    place = few.errors.place_mg_l.copy()
    place[:, BEFORE] = -50.0
    low = replace(few, errors=replace(few.errors, place_mg_l=place))
    _, log = day_of(low, replace(AT_ONCE, watched=True), table={(1, hour): 99.0 for hour in range(1, 7)})
    assert set(log.minutes) == {WHOLE_DAY_MIN}


def test_no_stop_reading_stops_no_run(alarmed):
    """Without a reading that keeps the promise there is nothing to stop by."""
    _, log = day_of(alarmed, replace(AT_ONCE, watched=True), table={(1, 1): float("nan")})
    assert set(log.minutes) == {WHOLE_DAY_MIN}
    assert not log.stopped.any()


def test_nobody_reads_without_a_visit(alarmed):
    """On a day that the calendar leaves to the card the run goes on below any stop reading."""
    blind = replace(AT_ONCE, watched=True, visits=())
    _, log = day_of(alarmed, blind, table={(1, hour): 99.0 for hour in range(1, 7)})
    assert not log.visited.any()
    assert set(log.minutes) == {WHOLE_DAY_MIN}


def test_the_day_after_a_stop_somebody_comes_and_the_step_is_the_same(alarmed):
    """A stopped run is followed by a visit that the calendar did not have, at the same rung."""
    schedule = replace(steady(120, 3, 10.0), watched=True)
    table = {(1, 1): 99.0}
    after, _ = day_of(alarmed, schedule, table=table)
    _, log = day_of(alarmed, schedule, 2, after, table)
    assert log.visited.all()
    assert set(log.minutes) == {120}


@pytest.mark.parametrize(("repeat", "minutes"), [(False, {0}), (True, {15})])
def test_a_gate_that_no_dawn_passes_holds_the_step_or_repeats_the_last_dose(few, repeat, minutes):
    """Held, our gate lets no air run; the custom's gives the last dose again (its first where there was none)."""
    schedule = replace(doubling(15, 4), visit_every_d=1, gate=Gate(99.0, repeat=repeat), start_hour_h=10.0)
    standing, _ = lead_in(few, np.arange(12), 10.0)
    after, first = live_day(few, replace(standing, dawn_do_mg_l=np.full(12, np.inf)), schedule, 1)
    assert set(first.minutes) == {15}
    _, log = live_day(few, replace(after, dawn_do_mg_l=np.zeros(12)), schedule, 2)
    assert set(log.minutes) == minutes
    assert log.stopped.all()


def test_visits_last_as_long_as_the_ladder_of_a_pond_that_was_held(few):
    """Two steps, the first held on two days: somebody comes on both and on the two that follow, and no more."""
    schedule = Schedule("two", 10.0, (60, WHOLE_DAY_MIN), visit_every_d=1, gate=Gate(99.0))
    standing, _ = lead_in(few, np.arange(12), 10.0)
    visited, minutes = [], []
    for number in range(1, 6):
        good = number in (3, 4)
        seen = replace(standing, dawn_do_mg_l=np.full(12, np.inf if good else 0.0), layered=np.ones(12, bool))
        standing, log = live_day(few, seen, schedule, number)
        visited.append(bool(log.visited.all()))
        minutes.append({int(m) for m in log.minutes})
    assert visited == [True] * 4 + [False]
    assert minutes[:3] == [{0}, {0}, {60}]


def test_somebody_comes_on_the_day_after_a_gate_held_a_step(few):
    """A gate on the two visits of the card: held on day 1, the step is due on day 2 by a visit, not blindly."""
    schedule = Schedule("card", 10.0, (60, 60, WHOLE_DAY_MIN), visits=(1,), gate=Gate(99.0))
    standing, _ = lead_in(few, np.arange(12), 10.0)
    after, first = live_day(few, replace(standing, dawn_do_mg_l=np.zeros(12)), schedule, 1)
    assert set(first.minutes) == {0}
    foul = replace(after, dawn_do_mg_l=np.zeros(12), layered=np.ones(12, bool))
    _, second = live_day(few, foul, schedule, 2)
    assert second.visited.all()
    assert set(second.minutes) == {0}


def test_a_crew_that_comes_on_no_weekday_of_the_run_starts_nothing_that_day(ensemble, scene_of):
    """The first run day is a Wednesday (12 August 2026): a crew of Tuesdays alone leaves the air off."""
    scene = some_of(scene_of(ensemble, crew=Crew(weekdays=frozenset({1}))), np.arange(6))
    after, log = day_of(scene, AT_ONCE)
    assert set(log.minutes) == {0}
    assert (after.rung == 0).all()
    everyone = some_of(scene_of(ensemble, crew=Crew(weekdays=frozenset({2}))), np.arange(6))
    _, log = day_of(everyone, AT_ONCE)
    assert set(log.minutes) == {WHOLE_DAY_MIN}


def test_a_branch_out_of_reach_is_broken_off(fouled, scene_of, rows):
    """Sulphide thirty times over: with the promise given the march is shorter and says that it was cut."""
    scene = some_of(scene_of(fouled(rows["sulphide"], 30.0)), np.arange(24))
    whole, cut = Tally(), Tally()
    (full,) = run_all(scene, np.arange(24), [AT_ONCE], promise=None, tally=whole)
    (short,) = run_all(scene, np.arange(24), [AT_ONCE], promise=Promise(0.05, 0.02), tally=cut)
    assert full.failures > 12
    assert short.cut
    assert not full.cut
    assert cut.member_days <= whole.member_days


def test_foul_water_at_the_top_smells_and_clean_water_does_not(ensemble, scene_of):
    """5 mg/L of sulphide in neutral surface water is smelt by every crew; none there by none (nose: 5 ppb of air)."""
    for sulphide, wanted in ((5.0, True), (0.0, False)):
        state = ensemble.columns.state.copy()
        state[ix.SULPHIDE] = sulphide
        # a sixth more carbon than alkalinity: near pH 7, where half of it is the gas
        state[ix.CARBON] = 7.0 / 6.0 * state[ix.ALKALINITY]
        scene = scene_of(replace(ensemble, columns=replace(ensemble.columns, state=state)))
        standing, _ = lead_in(scene, np.arange(8), 10.0)
        columns = replace(standing.columns, state=np.ascontiguousarray(state[:, :, :8]))
        assert (smells(replace(standing, columns=columns), np.arange(8)) == wanted).all()


def test_losses_count_to_three_days_after_completion(few):
    """Decision 2: a loss 71 hours after completion is the job's, one 72 hours after it is not."""
    standing, _ = lead_in(few, np.arange(12), 10.0)
    done = np.full(12, 100)
    lost = np.concatenate([np.full(6, 171), np.full(6, 172)])
    counted = lost_in_job(replace(standing, complete_hour=done, lost_hour=lost))
    assert counted.tolist() == [True] * 6 + [False] * 6
