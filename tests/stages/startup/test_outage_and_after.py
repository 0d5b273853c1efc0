"""Restart after an outage, running after completion, and waiting: the pond layers again, and time is counted."""

from dataclasses import replace

import numpy as np
import pytest

from plumeline.kernels import column_index as ix
from plumeline.stages.startup.aftermath import days_off, kept_running, least_running
from plumeline.stages.startup.final import final_run
from plumeline.stages.startup.outage import RUNNING_D, after_outage, mix
from plumeline.stages.startup.promise import Promise
from plumeline.stages.startup.result import KeptRunning
from plumeline.stages.startup.scene import some_of
from plumeline.stages.startup.schedule import WHOLE_DAY_MIN, growing
from plumeline.stages.startup.tree import Tally
from plumeline.stages.startup.waiting import FRONT_DROP_K, front_day, waiting

AT_ONCE = growing(WHOLE_DAY_MIN, 2.0, 10.0, 4)


def test_mixing_conserves_heat_and_salt_and_pays_the_quick_debts(ensemble):
    """Volume-weighted means stay; iron and sulphide debts are gone, at their oxygen's cost."""
    columns = ensemble.columns.take(np.arange(8))
    volume = columns.grid.volume_m3
    before = np.einsum("k,skm->sm", volume, columns.state)
    mix(columns)
    after = np.einsum("k,skm->sm", volume, columns.state)
    for row in (ix.TEMPERATURE, ix.SALT, ix.ALKALINITY, ix.AMMONIA):
        assert after[row] == pytest.approx(before[row], rel=1e-12)
    assert np.ptp(columns.state[ix.TEMPERATURE], axis=0).max() < 1e-12
    assert not columns.state[[ix.DEBT_A, ix.SULPHIDE]].any()
    assert (columns.state[ix.OXYGEN] >= 0.5).all()


def test_the_longer_the_air_is_off_the_more_the_pond_is_layered(ensemble, running):
    """A summer pond without air warms at the top: four days later the water at the diffuser lags behind it."""
    small = replace(ensemble, columns=ensemble.columns.take(np.arange(12)))
    deep = small.columns.grid.layer_at(3.0)

    def difference_k(days):
        state = after_outage(small, running, days)[0].columns.state[ix.TEMPERATURE]
        return float(np.median(state[0] - state[deep]))

    assert difference_k(4) > difference_k(0) + 0.5


def test_an_outage_begins_from_a_pond_that_has_run_and_ends_when_its_days_are_over(ensemble, running):
    """Four days of air and the days off lie between where it begins and where the plan begins."""
    small = replace(ensemble, columns=ensemble.columns.take(np.arange(4)))
    after, hour = after_outage(small, running, 2)
    assert hour == after.columns.hour
    assert hour == max(0, small.columns.hour - 24 * (RUNNING_D + 2)) + 24 * (RUNNING_D + 2)
    assert (after.columns.failed_step == -1).all()


@pytest.fixture(scope="module")
def complete(scene):
    """Return 16 ponds and where they stand once 24 h a day have completed half of them."""
    few = some_of(scene, np.arange(16))
    return few, final_run(few, AT_ONCE, None)


def test_more_hours_a_day_keep_no_fewer_ponds_mixed(complete):
    """All day keeps at least as many ponds mixed as six hours do."""
    few, final = complete
    if final.complete is None:
        pytest.skip("fewer than half of these ponds complete in four days")
    found = kept_running(few, final.complete, 16, Tally())
    by_hours = {item.hours_h: item for item in found}
    assert by_hours[24.0].mixed_fraction >= by_hours[6.0].mixed_fraction
    assert all(0 <= item.lost_members <= item.members for item in found)


def test_the_least_running_is_the_fewest_hours_that_keep_nineteen_in_twenty():
    """Of 8, 12 and 24 h, with 60, 96 and 99 % mixed and no more lost than all day, twelve are enough."""
    lines = tuple(
        KeptRunning(f"{h} h", h, mixed, lost, 100)
        for h, mixed, lost in ((8.0, 0.6, 0), (12.0, 0.96, 1), (24.0, 0.99, 1))
    )
    assert least_running(lines) == lines[1]
    assert least_running(()) is None


def test_days_off_are_counted_up_to_the_first_that_is_unsafe(complete):
    """Losses are listed day by day; with a risk that nothing exceeds no number of days is unsafe."""
    few, final = complete
    if final.complete is None:
        pytest.skip("fewer than half of these ponds complete in four days")
    easy = days_off(few, final.complete, Promise(1.0, 1.0), 16, Tally())
    if easy is None:
        pytest.skip("the weather of these ponds ends before a day off and its restart")
    assert easy.unsafe_d is None
    assert easy.safe_d == easy.lost_by_days[-1][0]


def test_a_front_is_a_day_that_is_cooler_than_the_three_before_it(scene):
    """Air of 25 °C that falls by 6 K on the third day: the start waits for three days; without a fall for none."""
    weather = scene.ensemble.columns.weather.copy()
    weather[ix.AIR_TEMPERATURE] = 25.0
    first = scene.earliest_hour
    weather[ix.AIR_TEMPERATURE, first + 48 :, 0] = 25.0 - FRONT_DROP_K - 2.0
    columns = replace(scene.ensemble.columns, weather=weather)
    changed = replace(scene, ensemble=replace(scene.ensemble, columns=columns))
    assert front_day(changed, np.array([0, 1])).tolist() == [3, -1]


def test_waiting_is_counted_from_its_own_first_run(make_job, refuge, scene_of):
    """Started three days later the same ponds are judged over the same number of days, beside no air over those."""
    from plumeline.stages.column import draw_ensemble, make_grid
    from plumeline.stages.column import members as members_module

    class Bowl:
        def area_at(self, depth_m):
            return 4000.0 * max(1.0 - depth_m / 4.0, 0.0)

        def volume_below(self, depth_m):
            return 8000.0 * max(1.0 - depth_m / 4.0, 0.0) ** 2

    with pytest.MonkeyPatch.context() as patch:
        if hasattr(members_module, "BATCH"):
            patch.setattr(members_module, "BATCH", 128)
        ensemble = draw_ensemble(make_job(), make_grid(Bowl(), 4.0, 0.3), refuge.as_array(), 12, 1, 24 * 13)
    lines = waiting(scene_of(ensemble), AT_ONCE, np.arange(12), {}, Tally())
    named = {line.name: line for line in lines}
    assert "start 3 days later" in named
    for line in lines:
        assert 0 <= line.risk.failures <= line.risk.members
        assert line.risk.added_risk == pytest.approx(line.risk.risk - line.risk.baseline_risk)
