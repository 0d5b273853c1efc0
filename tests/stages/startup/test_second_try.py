"""A plan that just misses its promise on the fresh ponds is tried once more with its riskiest day in two steps."""

from types import SimpleNamespace

import numpy as np
import pytest

from plumeline.stages.startup import scored as module
from plumeline.stages.startup.final import Final
from plumeline.stages.startup.notices import second_try
from plumeline.stages.startup.promise import Outcome, Promise, risk_of
from plumeline.stages.startup.schedule import growing
from plumeline.stages.startup.scored import Scored, scored
from plumeline.stages.startup.tree import Tally

MEMBERS = 1000
PROMISE = Promise(0.05, 0.02)
FIRST = growing(120, 2.0, 10.0, 14)


def outcome(schedule, lost_on_second_day):
    """Return an outcome with so many members lost on the second day, all others complete on the fourth."""
    lost = np.full(MEMBERS, -1)
    lost[:lost_on_second_day] = 30
    zero = np.zeros(MEMBERS, dtype=np.int64)
    complete = np.where(lost < 0, 96, -1)
    return Outcome(schedule, 0, lost, zero, complete, zero + 2, zero, zero + 30.0, cut=False)


@pytest.fixture
def score_losing(monkeypatch):
    """Return a function that makes the first choice and the softened one lose so many members."""

    def losing(first, gentler):
        def fake(_scene, _fresh, schedule, *_rest):
            found = outcome(schedule, first if schedule == FIRST else gentler)
            nothing = outcome(schedule, 0)
            return Scored(
                schedule, {}, Final(found, (), (), np.zeros(0), None), nothing, risk_of(found, nothing), False
            )

        monkeypatch.setattr(module, "_score", fake)
        scene = SimpleNamespace(horizon_d=14)
        return lambda second: scored(
            scene, scene, FIRST, np.arange(8), PROMISE, under_way=False, second_try=second, tally=Tally(),
            told=lambda _share: None,
        )  # fmt: skip

    return losing


def test_a_narrow_miss_takes_the_riskiest_day_in_two_steps_and_says_so(score_losing):
    """15 of 1,000 on a day are within 2 % but their upper bound is 2.3 % (Clopper-Pearson); 5 of 1,000 keep it."""
    found = score_losing(15, 5)(True)
    assert found.schedule != FIRST
    assert found.schedule.minutes[1] < FIRST.minutes[1]
    assert found.missed is not None
    (said,) = second_try(found.missed)
    assert "lost 15 of 1000" in said.text
    assert "at least 90 %" in said.text


@pytest.mark.parametrize(
    ("first", "gentler", "second"), [(5, 0, True), (40, 0, True), (15, 15, True), (15, 5, False)]
)
def test_the_first_choice_stands_where_it_keeps_far_misses_or_gains_nothing(
    score_losing, first, gentler, second
):
    """Kept; over the accepted share itself; not helped; and where the schedule was asked for by name."""
    found = score_losing(first, gentler)(second)
    assert found.schedule == FIRST
    assert found.missed is None
    assert second_try(found.missed) == ()
