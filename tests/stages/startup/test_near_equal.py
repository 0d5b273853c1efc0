"""Among schedules of near-equal risk the quicker one is taken; a failing pond's plan answers for what it adds."""

from dataclasses import replace

import numpy as np
import pytest

from plumeline.stages.startup import search as search_module
from plumeline.stages.startup.near_equal import near_least, no_worse, promptest
from plumeline.stages.startup.promise import Outcome, Promise, added_upper95, upper95
from plumeline.stages.startup.schedule import WHOLE_DAY_MIN, growing
from plumeline.stages.startup.search import search
from plumeline.stages.startup.tree import Tally

MEMBERS = 100


def outcome(first_min, lost, *, days=4.0, visits=2, done=1.0):
    """Return an outcome in which the listed ponds are lost on day 1 and a share of the others completes."""
    lost_hour = np.full(MEMBERS, -1)
    lost_hour[list(lost)] = 5
    complete = np.where(np.arange(MEMBERS) < done * MEMBERS, int(24 * days), -1)
    complete[list(lost)] = -1
    nothing = np.zeros(MEMBERS, dtype=np.int64)
    return Outcome(
        growing(first_min, 2.0, 14.0, 14), 0, lost_hour, nothing, complete, nothing + visits, nothing,
        np.zeros(MEMBERS),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("ours", "theirs", "wanted"),
    [
        (range(10), range(10), True),  # the same ponds
        (range(11), range(10), True),  # one more: 1 <= sqrt(1)
        (range(12), range(10), False),  # two more and none spared: 2 > sqrt(2)
        (range(3, 13), range(10), True),  # three other ponds, as many
        (range(3, 16), range(10), True),  # six against three: 3 <= sqrt(9)
        (range(3, 17), range(10), False),  # seven against three: 4 > sqrt(10)
        (range(5), range(10), True),  # fewer
    ],
)
def test_no_worse_is_one_standard_error_of_the_paired_counts(ours, theirs, wanted):
    """By hand: the difference of b and c discordant pairs has the standard error sqrt(b + c) (McNemar 1947)."""
    assert no_worse(outcome(60, ours), outcome(120, theirs)) is wanted


def test_the_quicker_of_near_equal_schedules_is_taken_and_the_dangerous_one_is_not():
    """A slow ladder loses 20, a quick one 21 of the same ponds, 24 h at once 40: the quick one."""
    slow = outcome(15, range(20), days=12.0)
    quick = outcome(240, range(21), days=3.0)
    at_once = outcome(WHOLE_DAY_MIN, range(40), days=2.0)
    assert promptest([slow, quick, at_once]) is quick
    assert near_least([at_once, slow, quick]) == [quick, slow]


def test_a_slight_difference_counts_as_alike_though_it_is_no_chance():
    """Half of 5 % accepted is 2.5 of 100: two ponds more on top of the same twenty are alike, three are not."""
    slow = outcome(15, range(20), days=9.0, visits=9)
    two, three = outcome(240, range(22), days=3.0, visits=1), outcome(480, range(23), days=2.0, visits=1)
    assert near_least([slow, two, three], 0.025) == [two, slow]
    assert promptest([slow, three], 0.025) is slow
    assert promptest([slow, two, three]) is slow


def test_fewer_visits_go_before_days():
    """Of two that lose the same ponds the one of two visits in six days, not of four in three."""
    few, many = outcome(60, range(20), days=6.0, visits=1), outcome(120, range(20), days=3.0, visits=3)
    assert promptest([many, few]) is few


def test_a_schedule_that_completes_is_taken_before_one_of_the_same_losses_that_does_not():
    """The one that does not complete has fewer visits, fewer days and one loss less."""
    never = outcome(15, range(20), days=1.0, visits=1, done=0.3)
    done = outcome(60, range(21), days=9.0, visits=3)
    assert promptest([never, done]) is done


def test_a_failing_ponds_plan_answers_for_what_it_adds():
    """40 of 100 lost by themselves, 42 with the schedule: two are answered for; all 42 where the pond is sound."""
    bare = outcome(60, range(42))
    still = np.where(np.arange(MEMBERS) < 40, 30, -1)
    judged = replace(bare, still_lost_hour=still)
    assert bare.answered_failures == 42
    assert judged.answered_failures == 2
    # the same ponds are lost on day 2 without air and on day 1 with it: day 1 answers for all of them
    assert judged.worst_day_failures == 42
    same_day = replace(bare, still_lost_hour=np.where(still >= 0, 6, -1))
    assert same_day.worst_day_failures == 2
    promise = Promise(0.10, 0.10)
    assert not promise.kept(bare)
    assert promise.kept(same_day)


def test_a_loss_without_air_that_comes_after_the_job_is_not_taken_off():
    """Complete at hour 96, the job ends three days later: what the still pond loses after that is no excuse."""
    bare = outcome(60, (), days=4.0)
    for hour, counted in ((4 * 24 + 71, True), (4 * 24 + 72, False)):
        judged = replace(bare, still_lost_hour=np.full(MEMBERS, hour))
        assert bool(judged.still_lost.all()) is counted


@pytest.mark.parametrize(("harm", "spare"), [(0.06, 0.02), (0.10, 0.10), (0.30, 0.25)])
def test_the_bound_of_an_added_risk_covers_it(harm, spare):
    """The true difference is under the bound in 93 to 98 of 100 drawn samples of 500 pairs (nominal 95)."""
    draw = np.random.default_rng(5)
    counts = draw.multinomial(500, [harm, spare, 1.0 - harm - spare], size=2000)
    covered = np.mean([added_upper95(int(b), int(c), 500) >= harm - spare for b, c, _ in counts])
    assert 0.93 <= covered <= 0.98


def test_without_losses_of_its_own_the_pond_is_judged_as_before():
    """No still pond given: the bound is Clopper and Pearson's of all losses."""
    assert outcome(60, range(7)).answered_upper95_fraction == upper95(7, MEMBERS)


def test_the_search_of_a_foul_pond_takes_no_slower_schedule_than_one_of_the_same_losses(
    fouled, scene_of, rows, monkeypatch
):
    """Sulphide thirty times over, no promise kept: of those no worse than the safest the one of least effort."""
    seen = []
    taken = search_module.promptest

    def look(outcomes, allowed_fraction):
        seen.append(list(outcomes))
        assert allowed_fraction == 0.025
        return taken(outcomes, allowed_fraction)

    monkeypatch.setattr(search_module, "promptest", look)
    scene = scene_of(fouled(rows["sulphide"], 30.0))
    some = tuple(growing(first, 2.0, 10.0, 4) for first in (30, 120, 480, WHOLE_DAY_MIN))
    found = search(scene, some, Promise(0.05, 0.02), lambda *_: None, seed=1, tally=Tally(), refine=False)
    assert not found.kept
    assert len(seen[-1]) >= 2
    least = min(o.failures for o in seen[-1])
    assert found.best.failures <= least + np.sqrt(2 * scene.members)
    assert found.best is near_least(seen[-1])[0]
