"""Schedules are what the trade's arithmetic says, and the steps they switch on are their minutes."""

import numpy as np
import pytest

from plumeline.kernels import column_index as ix
from plumeline.stages.startup.schedule import (
    NOTHING,
    WHOLE_DAY_MIN,
    candidates,
    doubling,
    growing,
    on_grid,
    steady,
    steps_on,
)

DAYS = 14
CLOCK = np.arange(DAYS * 24) % 24


def minutes_by_day(on, start_hour):
    """Return the minutes of air in each whole day from the start hour on."""
    steps = on[start_hour * ix.STEPS_EACH_HOUR :, 0]
    whole = len(steps) // (24 * ix.STEPS_EACH_HOUR)
    return steps[: whole * 24 * ix.STEPS_EACH_HOUR].reshape(whole, -1).sum(axis=1) * 5


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
    """Each of the search's schedules can be set by hand, ends continuous or at the horizon, and is there once."""
    found = candidates(DAYS)
    assert len({(s.start_hour_h, s.minutes) for s in found}) == len(found)
    for schedule in found:
        assert all(on_grid(m) == m for m in schedule.minutes)
        assert all(
            later >= earlier for earlier, later in zip(schedule.minutes, schedule.minutes[1:], strict=False)
        )
        assert len(schedule.minutes) <= DAYS + 1


@pytest.mark.parametrize("diffusers", [1, 3])
@pytest.mark.parametrize("schedule", [doubling(15, DAYS), growing(60, 1.5, 10.0, DAYS), steady(120, 4, 15.0)])
def test_the_steps_on_are_the_minutes_of_each_day(schedule, diffusers):
    """Every run starts at its hour and lasts its minutes, of all diffusers, and after the last it stays on."""
    first_hour = 30
    on = steps_on(schedule, CLOCK, first_hour, diffusers)
    assert (on == on[:, :1]).all()
    start = next(h for h in range(first_hour, len(CLOCK)) if CLOCK[h] == schedule.start_hour_h)
    assert not on[: start * ix.STEPS_EACH_HOUR].any()
    assert on[start * ix.STEPS_EACH_HOUR, 0] == 1
    found = minutes_by_day(on, start)
    wanted = [schedule.minutes[min(d, len(schedule.minutes) - 1)] for d in range(len(found))]
    assert list(found) == wanted


def test_a_clock_that_is_put_back_still_starts_at_its_hour():
    """Where the pond's clock repeats or skips an hour, a run starts at the clock's hour all the same."""
    clock = np.concatenate([np.arange(24), [0, 1, 1], np.arange(2, 24), np.arange(24)])
    on = steps_on(steady(60, 6, 13.0), clock, 0, 1)[:, 0].reshape(-1, ix.STEPS_EACH_HOUR).sum(axis=1)
    assert (clock[np.flatnonzero(on)] == 13).all()
    assert set(on[on > 0]) == {12}


def test_doing_nothing_runs_no_air():
    """The schedule that all are compared with has no step on."""
    assert steps_on(NOTHING, CLOCK, 0, 2).sum() == 0


def test_24_hours_from_day_one_never_stops():
    """From its first hour the air runs without a gap."""
    on = steps_on(growing(WHOLE_DAY_MIN, 2.0, 13.0, DAYS), CLOCK, 0, 1)[:, 0]
    assert not on[: 13 * 12].any()
    assert on[13 * 12 :].all()
