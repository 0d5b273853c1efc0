"""The start-up plan: foul water never helps, a mixed pond needs no care, and risk is counted as it says."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from plumeline.errors import ModelError
from plumeline.job.document import Wishes
from plumeline.kernels import column_index as ix
from plumeline.notices import Severity
from plumeline.stages.column import LEAD_HOURS
from plumeline.stages.startup import stage as stage_module
from plumeline.stages.startup.promise import risk_of, upper95
from plumeline.stages.startup.scene import lead_in
from plumeline.stages.startup.schedule import NOTHING, WHOLE_DAY_MIN, growing
from plumeline.stages.startup.tree import Tally

AT_ONCE = growing(WHOLE_DAY_MIN, 2.0, 10.0, 5)
ISOTHERMAL = tuple((z, 12.0, 10.0) for z in (0.0, 1.0, 2.0, 3.0, 4.0))


@pytest.mark.parametrize("name", ["sulphide", "debt A", "slow debt"])
def test_more_debt_below_never_spares_a_pond(fouled, scene_of, judge, rows, name):
    """With the same ponds, weather and schedule, three and nine times the debt lose no fewer ponds, and no other.

    Ponds are counted by whether they ever lost the refuge: the count up to completion also depends on when a
    pond completes. Ammonia is left out: what oxidises gives carbon dioxide, and a lower pH makes less of the
    ammonia un-ionised, which is chemistry and no fault.
    """
    lost = []
    for factor in (1.0, 3.0, 9.0):
        ponds = fouled(rows[name], factor)
        limits = ponds.columns.limits.copy()
        limits[ix.LIMIT_AMMONIA] = 1e9
        outcome = judge(scene_of(replace(ponds, columns=replace(ponds.columns, limits=limits))), AT_ONCE)
        lost.append(outcome.lost_hour >= 0)
    print(name, [int(some.sum()) for some in lost])
    for less, more in pairwise(lost):
        assert more.sum() >= less.sum()
        assert not (less & ~more).any()


def test_much_debt_does_cost_ponds(fouled, scene_of, judge):
    """The check above is no idle one: sulphide thirty times over loses ponds that the reading's did not."""
    losses = [judge(scene_of(fouled(ix.SULPHIDE, f)), AT_ONCE).failures for f in (1.0, 30.0)]
    assert losses[1] > losses[0]


def test_doing_nothing_is_its_own_baseline(scene, judge):
    """Scored against itself the still pond adds no risk."""
    still = judge(scene, NOTHING)
    risk = risk_of(still, still)
    assert risk.risk == risk.baseline_risk
    assert risk.added_risk == 0.0


def test_a_loss_before_the_first_run_neither_counts_nor_hides_a_later_one(ensemble, scene_of, judge):
    """A pond that had lost its refuge the night before the air first ran is judged like any other from then on."""
    failed = np.full_like(ensemble.columns.failed_step, LEAD_HOURS * ix.STEPS_EACH_HOUR)
    before = replace(ensemble, columns=replace(ensemble.columns, failed_step=failed))
    fresh, again = (judge(scene_of(some), AT_ONCE) for some in (ensemble, before))
    assert np.array_equal(fresh.lost, again.lost)
    assert (fresh.lost_hour[fresh.lost] >= fresh.first_hour).all()


def test_a_run_starts_at_the_clocks_hour_after_the_reading(scene):
    """The reading is at 17:00 on the pond's clock: a run of 10 o'clock starts the next morning."""
    standing, _ = lead_in(scene, np.arange(scene.members), 10.0)
    assert scene.ensemble.local_hour[standing.hour] == 10
    assert 0 < standing.hour - scene.ensemble.columns.hour <= 24


def test_a_mixed_pond_without_debt_is_started_at_once(run, make_job):
    """Cool water of one temperature, full of oxygen: 24 h from day 1 keeps the promise and is chosen."""
    wishes = Wishes(longest_start_up_d=5, day_risk=0.05)
    plan = run(make_job(ISOTHERMAL, month=11, wishes=wishes), members=60, fresh=60)
    assert plan.name.startswith("24 h from day 1, from ")
    assert plan.promise_kept
    assert plan.risk.failures == 0
    assert plan.days_to_complete is not None
    assert plan.days_to_complete < 3.0


@pytest.fixture(scope="module")
def plan(run, make_job):
    """Return the plan of the layered pond."""
    return run(make_job())


def test_the_counts_of_a_plan_agree_with_each_other(plan, scene):
    """Risk is failures over members, its bound and the added risk are of those, in the plan and in the comparisons.

    A brief plan has no comparisons."""
    assert plan.comparisons == ()
    compared = stage_module.comparisons(scene, 4, Tally(), stage_module.quiet)
    for risk, members in ((plan.risk, 32), *((line.risk, scene.members) for line in compared)):
        assert risk.members == members
        assert risk.risk == pytest.approx(risk.failures / risk.members)
        assert risk.risk_upper95_fraction == pytest.approx(upper95(risk.failures, risk.members))
        assert risk.added_risk == pytest.approx(risk.risk - risk.baseline_risk)
    assert compared[0].name == "do nothing"
    assert compared[0].risk.added_risk == 0.0
    assert [line.name for line in compared[1:]] == [
        "24 h from day 1", "doubling from 15 min", "doubling from 30 min", "doubling from 15 min, gated",
        "doubling from 30 min, gated",
    ]  # fmt: skip
    worst = max(day.failures for day in plan.days)
    if not plan.already_failing:
        assert plan.worst_day_upper95_fraction >= upper95(worst, 32) - 1e-12
        assert plan.answered_upper95_fraction == plan.risk.risk_upper95_fraction
    assert plan.promise_kept == (
        plan.answered_upper95_fraction <= plan.accepted_job_risk
        and plan.worst_day_upper95_fraction <= plan.accepted_day_risk
    )


def test_the_days_of_a_plan_are_in_order_and_bands_hold_their_medians(plan):
    """One entry a day, dates one after the other, every band in order, nothing below zero."""
    assert [day.number for day in plan.days] == list(range(1, len(plan.days) + 1))
    assert all((b.date - a.date).days == 1 for a, b in pairwise(plan.days))
    for day in plan.days:
        for band in (day.dawn_do_mg_l, day.least_do_mg_l, day.bottom_do_mg_l, day.refuge_fraction):
            assert 0.0 <= band.p05 <= band.median <= band.p95
        assert day.least_do_mg_l.median <= day.dawn_do_mg_l.median + 1e-9
        assert day.refuge_fraction.p95 <= 1.0


def test_losses_without_air_are_counted_before_and_after_the_readings(plan):
    """Ponds of the priors and ponds that agree with the readings, over the same days without air."""
    assert 0 <= plan.no_air_before.failures <= plan.no_air_before.members == 48
    assert round(32 * plan.risk.baseline_risk) <= plan.no_air_failures <= 32


def test_a_broken_promise_is_said_first(plan):
    """32 ponds can't show 5 % unless none is lost: the plan says so as a danger, and shows no false promise."""
    codes = {notice.code: notice.severity for notice in plan.notices}
    if plan.promise_kept:
        assert plan.risk.failures == 0
        assert "promise-not-kept" not in codes
    else:
        assert {"promise-not-kept", "already-failing"} & set(codes)
        assert Severity.DANGER in codes.values()


def test_the_same_seed_gives_the_same_plan(run, make_job, plan):
    """Seed and date are the only chance: the same plan to the last digit, and another with another seed."""
    again = run(make_job())
    assert again == plan
    other = run(make_job(), seed=2)
    assert other.days[0].least_do_mg_l != plan.days[0].least_do_mg_l


def test_no_air_is_an_error_with_a_way_out(run, make_job):
    """Where no diffuser carries air there is nothing to start, and the words point to the air stage."""
    with pytest.raises(ModelError, match="no diffuser carries air") as error:
        run(make_job(), flow=(0.0, 0.0))
    assert "compressor" in error.value.remedy


def test_a_diffuser_without_air_is_left_out(run, make_job, monkeypatch):
    """A dead branch lifts no water: the search is given the other diffuser alone, with its own air.

    0.6 L/s of dry air at 20 °C and 1 atm is 0.6e-3 / 0.024055 = 0.02494 mol/s (molar volume, CODATA).
    """
    seen = []

    def look(scene, *_, **__):
        seen.append(scene.running)
        raise InterruptedError

    monkeypatch.setattr(stage_module, "search", look)
    with pytest.raises(InterruptedError):
        run(make_job(), flow=(0.0, 6e-4), members=4)
    assert list(seen[0].depth_m) == [3.0]
    assert seen[0].air_mol_s == pytest.approx([0.02494], rel=1e-3)


def test_of_the_bands_at_the_reading_the_middle_is_the_reading(plan):
    """The first profile of the plan is the profile that was read (28 °C and 8 mg/L at the top, 0.1 below)."""
    first = plan.profiles[0]
    assert first.hours_after_reading_h == 0.0
    assert first.temperature_degc[0][0] == pytest.approx(28.0, abs=0.3)
    assert first.do_mg_l[0][-1] == pytest.approx(0.1, abs=0.1)
    assert np.all(np.asarray(first.do_mg_l[1]) <= np.asarray(first.do_mg_l[2]))
