"""Schedules are what the trade's arithmetic says, and the steps they switch on are their minutes."""

from itertools import pairwise

import numpy as np
import pytest

from plumeline.kernels import column_index as ix
from plumeline.stages.startup.crew import Crew
from plumeline.stages.startup.families import (
    candidates,
    clocks_h,
    continued,
    more_visits,
    neighbours,
    softened,
    valve_orders,
)
from plumeline.stages.startup.schedule import (
    NOTHING,
    WHOLE_DAY_MIN,
    doubling,
    growing,
    on_grid,
    steady,
    steps_on,
)

DAYS = 14


# common practice, no published source: the trade's doubling, added up by hand
@pytest.mark.parametrize(("first_min", "day", "hours_h"), [(15, 8, 31.75), (30, 7, 31.5)])
def test_doubling_is_continuous_on_the_day_that_the_trade_says(first_min, day, hours_h):
    """From 15 min it runs on from day 8 after 31.75 h, from 30 min from day 7 after 31.5 h."""
    schedule = doubling(first_min, DAYS)
    assert len(schedule.minutes) == day
    assert schedule.minutes[-1] == WHOLE_DAY_MIN
    assert sum(schedule.minutes[:-1]) / 60.0 == pytest.approx(hours_h)
    assert schedule.run_days == day - 1
    assert all(
        later == 2 * earlier for earlier, later in zip(schedule.minutes, schedule.minutes[1:-1], strict=False)
    )


@pytest.mark.parametrize(
    ("wanted", "given"),
    [(0.0, 5), (5.0, 5), (12.0, 10), (13.0, 15), (59.0, 60), (67.0, 60), (70.0, 75), (230.0, 225), (239.0, 240),
     (275.0, 300), (500.0, 480), (1380.0, 1380), (1400.0, 1440), (9999.0, 1440)],
)  # fmt: skip
def test_minutes_lie_on_a_grid_that_a_person_can_set(wanted, given):
    """5 min to an hour, 15 to four hours, then whole hours (design §6); the nearest of them."""
    assert on_grid(wanted) == given


def test_every_candidate_is_on_the_grid_and_no_two_are_alike():
    """Each of the search's 60 schedules or more can be set by hand, and is there once."""
    found = candidates(DAYS, Crew(), (3.4, 3.0, 2.2))
    assert len(found) >= 60
    assert len({(s.start_hour_h, s.minutes, s.orders) for s in found}) == len(found)
    for schedule in found:
        assert all(on_grid(m) == m for m in schedule.minutes)
        assert all(later >= earlier for earlier, later in pairwise(schedule.minutes))
        assert len(schedule.minutes) <= DAYS + 1
        assert not schedule.orders or len(schedule.orders) == len(schedule.minutes)


def test_every_start_lies_in_the_hours_at_which_somebody_can_come():
    """A crew of 10:30 to 16:00 starts no run before 11:00 or after 15:00: an hour is left to look."""
    crew = Crew(10.5, 16.0)
    assert all(11.0 <= clock <= 15.0 for clock in clocks_h(crew))
    assert {s.start_hour_h for s in candidates(DAYS, crew, (3.0,))} == set(clocks_h(crew))


def test_valves_open_deepest_or_shallowest_first_and_all_at_the_end():
    """Of diffusers 2, 4 and 3 m deep the second is the deepest: alone, or followed by the third."""
    orders = valve_orders((2.0, 4.0, 3.0), 4)
    assert orders["the deepest alone first"] == ((1,), (1,), (1,), (0, 1, 2))
    assert orders["the shallowest alone first"][0] == (0,)
    assert orders["one more valve each day, deepest first"] == ((1,), (1, 2), (0, 1, 2), (0, 1, 2))
    assert valve_orders((3.0,), 4) == {}


@pytest.mark.parametrize("schedule", [steady(120, 3, 14.0), growing(15, 2.0, 9.0, DAYS)])
def test_neighbours_are_on_the_grid_and_differ_from_the_schedule(schedule):
    """Schedules near a good one can be set by hand as well; none is the schedule itself."""
    found = neighbours(schedule, DAYS)
    assert found
    assert schedule.minutes not in {item.minutes for item in found}
    assert all(on_grid(m) == m for item in found for m in item.minutes)


def test_the_step_of_the_riskiest_day_is_taken_in_two():
    """Between 60 min and the whole day goes √(60 · 1440) = 294, on the grid 300; before a first 60, half of it."""
    schedule = steady(60, 2, 14.0)
    late = softened(schedule, 3, DAYS)
    assert late is not None
    assert late.minutes == (60, 60, 300, WHOLE_DAY_MIN)
    early = softened(schedule, 1, DAYS)
    assert early is not None
    assert early.minutes == (30, 60, 60, WHOLE_DAY_MIN)
    assert softened(schedule, 3, 5) is None


def test_more_visits_leave_the_runs_as_they_are():
    """A visit on the riskiest day, every other day, or every day, with a gate at dawn and without."""
    schedule = steady(120, 3, 14.0)
    found = more_visits(schedule, 2)
    assert {item.minutes for item in found} == {schedule.minutes}
    assert all(item.visited(2) or item.visited(3) for item in found)
    assert {item.gate is None for item in found} == {True, False}
    assert not schedule.visited(2)


def test_a_start_up_that_has_begun_may_go_on_with_half_the_last_run_or_more():
    """After 60 min: 30, 60, 120 or 180 min next, at the same hour."""
    found = continued(60, 14.0, DAYS)
    assert {s.minutes[0] for s in found} == {30, 60, 120, 180}
    assert {s.start_hour_h for s in found} == {14.0}


@pytest.mark.parametrize("minutes", [5, 15, 60, 95, 600, WHOLE_DAY_MIN])
@pytest.mark.parametrize("hours", [23, 24, 25])
def test_the_steps_on_are_the_minutes_from_the_start(minutes, hours):
    """A run lasts its minutes and then stops; the whole day is 23 or 25 hours where the clock is changed."""
    on = steps_on(minutes, (), hours, 3)
    assert (on == on[:, :1]).all()
    wanted = hours * 60 if minutes == WHOLE_DAY_MIN else minutes
    assert on[:, 0].sum() * 5 == wanted
    assert on[: wanted // 5, 0].all()
    assert len(on) == hours * ix.STEPS_EACH_HOUR


def test_only_open_diffusers_run():
    """With the second valve open alone, the others have no air."""
    on = steps_on(60, (1,), 24, 3)
    assert list(on.sum(axis=0)) == [0, 12, 0]


def test_doing_nothing_runs_no_air_and_needs_no_visit():
    """The schedule that all are compared with has no step on and nobody comes."""
    assert steps_on(NOTHING.step(0), (), 24, 2).sum() == 0
    assert NOTHING.is_nothing
    assert not any(NOTHING.visited(n) for n in range(1, 15))


def test_the_gated_custom_has_a_visit_on_every_run_day_and_the_bare_one_only_on_the_first():
    """To read at dawn somebody must be there: eight visits to the day on which doubling from 15 min is on."""
    gated, bare = doubling(15, DAYS, gated=True), doubling(15, DAYS)
    assert sum(gated.visited(n) for n in range(1, DAYS + 1)) == 8
    assert sum(bare.visited(n) for n in range(1, DAYS + 1)) == 1
    assert gated.minutes == bare.minutes
    assert np.array_equal(gated.minutes[:3], (15, 30, 60))
