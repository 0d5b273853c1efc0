"""The crew of the robustness study carries out what it is told, alike in every arm, and the tables count right."""

from __future__ import annotations

import numpy as np
import pytest
from scripts.proof.crew import WHOLE_DAY_MIN, Orders, Step, carry_out
from scripts.proof.customs import NOTHING, at_once, doubling, ladder, oracle_set
from scripts.proof.robustness_tables import claim, interval, paired
from tests.truth.pond import KINDS, make_pond

LIMITS = np.array([3.0, 34.0, 0.2, 0.010, 0.15, 0.6])


@pytest.fixture(scope="module")
def pond():
    """Return a layered pond of half an acre."""
    return make_pond(KINDS[1], "mild", 20_007, LIMITS)


def test_doubling_is_the_custom():
    """15 min doubled daily is continuous on day 8, after 31.75 h (arithmetic of the trade notes §5.1)."""
    minutes = ladder(15, 2.0)
    assert (len(minutes), sum(minutes[:-1]) / 60.0, minutes[-1]) == (8, 31.75, WHOLE_DAY_MIN)
    assert len(ladder(30, 2.0)) == 7


def test_orders_are_carried_out_to_the_minute(pond):
    """Timed runs add up to their minutes while nothing stops them, and the last step stays on."""
    pond = pond.copy()
    pond.state[..., 3] = 0.0  # without sulphide nothing smells
    orders = Orders("", (Step(30), Step(90), Step(WHOLE_DAY_MIN)))
    at = carry_out(pond, 1, -9.0, orders)
    kept = [minutes for _, minutes, _ in at.runs]
    if at.held == 0 and kept[1] == 90:
        assert kept[:3] == [30, 90, WHOLE_DAY_MIN]
    assert all(start % 24 == 14 for start, _, _ in at.runs)
    assert at.first_hour == pond.hour + 14


def test_every_arm_reads_the_same_pond_with_the_same_meter(pond):
    """Nothing done twice is the same twice, and the pond itself is not touched."""
    before = pond.state.copy()
    one, two = carry_out(pond, 5, 3.0, NOTHING), carry_out(pond, 5, 3.0, NOTHING)
    assert [r["oxygen"] for r in one.readings] == [r["oxygen"] for r in two.readings]
    assert np.array_equal(pond.state, before)
    assert one.running_h == 0.0


def test_a_low_reading_stops_a_watched_run_and_somebody_comes_next_day(pond):
    """With a stop reading no water can pass, the run ends after its first hour and the step is not climbed."""
    stop = ((1, 99.0), (2, 99.0))
    at = carry_out(pond, 2, 3.0, Orders("", (Step(240, stop_mg_l=stop), Step(WHOLE_DAY_MIN))))
    if at.layered() or len(at.runs) > 1:
        assert at.runs[0][1] == 60
        assert at.runs[1][1] in (60, 240)
    assert any(reading["when"] == "shut-off" for reading in at.readings)


def test_a_blind_day_is_not_watched(pond):
    """Without a visit the same stop reading stops nothing."""
    stop = ((1, 99.0),)
    orders = Orders("", (Step(240, visit=False, stop_mg_l=stop), Step(WHOLE_DAY_MIN, visit=False)))
    at = carry_out(pond, 2, 3.0, orders)
    assert at.runs[0][1] == 240
    assert at.visits == 0


def test_a_gate_holds_layered_water_with_little_oxygen(pond):
    """With a gate that no water passes, the first step is never made while the pond is layered."""
    at = carry_out(pond, 2, 3.0, Orders("", (Step(60), Step(WHOLE_DAY_MIN)), gate_mg_l=99.0))
    assert at.held > 0
    assert not at.runs or at.runs[0][0] > at.first_hour


def test_a_card_that_says_no_is_not_started(pond):
    """No air runs, and with re-planning the planner is asked on its days with a profile read an hour before."""
    asked = []

    def replan(at, day):
        asked.append((day, at.readings[-1]["kind"], at.pond.hour - at.readings[-1]["hour"]))
        return at_once() if day == 4 else None

    at = carry_out(pond, 2, 3.0, Orders("", (Step(60),), no_start=True), replan, (2, 4, 7))
    assert asked[:2] == [(2, "profile", 1), (4, "profile", 1)]
    assert at.runs[0][:2] == (at.first_hour + 72, WHOLE_DAY_MIN)


def test_a_card_that_says_wait_is_looked_at_again(pond):
    """After the last day of re-planning the planner is asked every third day while its card says not to start."""
    asked = []

    def replan(at, day):
        asked.append(day)
        return at_once() if day == 13 else None

    at = carry_out(pond, 2, 3.0, Orders("", (Step(60),), no_start=True), replan, (2, 4, 7))
    assert asked == [2, 4, 7, 10, 13]
    assert at.visits >= 5


def test_the_oracle_has_the_customs_to_choose_from():
    """Among what the oracle tries are 24 h at once and both doublings."""
    ladders = [tuple(step.minutes for step in orders.steps) for orders in oracle_set()]
    assert ladders[0] == (WHOLE_DAY_MIN,)
    assert ladder(15, 2.0) in ladders
    assert [step.minutes for step in doubling(30, gated=True).steps] == list(ladder(30, 2.0))


def truth(ours, rival):
    """Return a made-up truth with two arms' outcomes (lost, days, visits)."""
    names = ("plan, with visits", "doubling from 15 min, gated", "doubling from 30 min, gated")
    rows = (ours, rival, rival)
    return {
        "arms": {
            name: {"lost": lost, "days": days, "visits": visits, "never": days is None}
            for name, (lost, days, visits) in zip(names, rows, strict=True)
        }
    }


def test_the_goal_is_met_only_with_no_more_losses_and_idle_plans_are_said():
    """Fewer days with as many losses meets it; a plan that never starts saves visits, and that is said."""
    better = [truth((False, 3.0, 2), (False, 8.0, 9)) for _ in range(20)]
    assert "**goal met**" in claim(better)[0]
    idle = [truth((False, None, 1), (False, 8.0, 9)) for _ in range(20)]
    assert "never finished**" in claim(idle)[0]
    riskier = [*better[:-1], truth((True, 3.0, 2), (False, 8.0, 9))]
    assert "**goal not met**" in claim(riskier)[0]
    middle, low, high = paired(riskier, "plan, with visits", "doubling from 15 min, gated", "lost")
    assert middle == pytest.approx(0.05)
    assert low <= middle <= high


def test_intervals_are_those_of_clopper_and_pearson():
    """0 of 20: 0 to 16.8 %; 10 of 20: 27.2 to 72.8 % (standard tables, from memory)."""
    assert interval(0, 20) == (0.0, pytest.approx(0.168, abs=0.001))
    assert interval(10, 20) == (pytest.approx(0.272, abs=0.001), pytest.approx(0.728, abs=0.001))
