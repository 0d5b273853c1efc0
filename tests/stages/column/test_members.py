"""The ensemble agrees with what was read, more than the priors do, and says when nothing does."""

from datetime import UTC, datetime

import numpy as np
import pytest

from plumeline.errors import InputError, ModelError
from plumeline.job.document import Answer, Bottle, Fish
from plumeline.kernels import column_index as ix
from plumeline.stages.column import LEAD_HOURS, march, still
from plumeline.stages.column import members as members_module
from plumeline.stages.column.water import first_state, water_read

DUSK = datetime(2026, 8, 11, 23, tzinfo=UTC)
DAWN = datetime(2026, 8, 11, 10, tzinfo=UTC)
ROWS = ((0.0, 28.0, 8.0), (1.0, 27.5, 7.0), (2.0, 22.0, 1.0), (3.0, 18.0, 0.1), (4.0, 17.0, 0.1))


def top_at_reading(ensemble):
    """Run an ensemble's lead again and return each pond's mean oxygen and warmth of the upper metre."""
    from dataclasses import replace

    columns = replace(ensemble.columns, hour=0)
    run = march(columns, still(LEAD_HOURS), LEAD_HOURS)
    grid = columns.grid
    top = grid.centre_m <= 1.0
    weight = grid.volume_m3[top] / grid.volume_m3[top].sum()
    return (
        weight @ run.after.state[ix.OXYGEN][top],
        weight @ run.after.state[ix.TEMPERATURE][top],
        run.records[ix.NEAR_SURFACE_O2],
    )


@pytest.fixture(scope="module")
def unconditioned(make_job, grid, limits):
    """Return 48 ponds kept whatever they do."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(members_module, "BATCH", 64)
        patch.setattr(members_module, "_chance", lambda _job, columns, *_: np.ones(columns.members))
        return members_module.draw_ensemble(make_job(), grid, limits, 48, 1, 24)


def test_the_ensemble_narrows_toward_the_reading(ensemble, unconditioned):
    """Ponds that were kept come nearer to the oxygen and the warmth that were read than ponds that were not asked."""
    water = ensemble.water
    grid = ensemble.columns.grid
    top = grid.centre_m <= 1.0
    weight = grid.volume_m3[top] / grid.volume_m3[top].sum()
    off = {}
    for name, members in (("kept", ensemble), ("any", unconditioned)):
        oxygen, warmth, _ = top_at_reading(members)
        off[name] = (
            np.abs(oxygen - weight @ water.do_mg_l[top]).mean(),
            np.abs(warmth - weight @ water.temperature_degc[top]).mean(),
        )
    print(off)
    assert off["kept"][0] < 0.8 * off["any"][0]
    assert off["kept"][1] <= off["any"][1] * 1.05


def test_members_stand_at_the_reading_as_it_was_read(ensemble):
    """At the hour of the reading the middle pond has the profile that was read, each with its own meter error."""
    state, water = ensemble.columns.state, ensemble.water
    assert ensemble.columns.hour == LEAD_HOURS
    middle = np.median(state[ix.TEMPERATURE], axis=1)
    assert middle == pytest.approx(water.temperature_degc, abs=0.25)
    assert np.median(state[ix.OXYGEN], axis=1) == pytest.approx(water.do_mg_l, abs=0.4)


def test_a_seed_gives_its_ensemble_and_a_fresh_one_another(make_job, draw, ensemble):
    """The same seed, the same ponds to the bit; another seed shares none of them."""
    same = draw(make_job(), 48, 1, 48)
    other = draw(make_job(), 48, 2, 48)
    assert np.array_equal(same.columns.state, ensemble.columns.state)
    assert np.array_equal(same.columns.weather, ensemble.columns.weather)
    alpha = ensemble.columns.parameters[ix.ALPHA]
    assert not np.isin(other.columns.parameters[ix.ALPHA], alpha).any()


def bottle(after_15min_mg_l, after_24h_mg_l):
    """Return a 1:1 bottle at 3 m, filled at 4 mg/L in the mean, with a quiet control."""
    return Bottle(
        id="b", time=DUSK, depth_m=3.0, bottom_do_mg_l=0.0, surface_do_mg_l=8.0,
        after_15min_mg_l=after_15min_mg_l, after_24h_mg_l=after_24h_mg_l, surface_after_24h_mg_l=7.0,
    )  # fmt: skip


def test_a_bottle_counts(make_job, draw):
    """A clean bottle keeps ponds with less fast debt below than a foul one does."""
    debts = {}
    for name, test in (("clean", bottle(3.9, 3.3)), ("foul", bottle(3.0, 1.2))):
        members = draw(make_job(observations=(test,)), 32, 1, 24)
        deep = members.columns.grid.layer_at(3.0)
        state = members.columns.state[:, deep]
        fast = state[ix.DEBT_A] + ix.SULPHIDE_DEMAND * state[ix.SULPHIDE]
        debts[name] = float(np.median(fast))
    assert debts["clean"] < 0.7 * debts["foul"], debts


def test_a_dawn_profile_counts(make_job, draw):
    """A profile of the dawn before, low in oxygen, keeps ponds that breathe more than a high one does."""
    dawn_hour = LEAD_HOURS - 13
    low, high = (
        draw(
            make_job(
                profiles=(
                    (DAWN, tuple((z, t, min(o, most)) for z, t, o in ROWS)),
                    (DUSK, ROWS),
                )
            ),
            32, 1, 24,
        )
        for most in (2.5, 8.0)
    )  # fmt: skip
    dawn = [float(np.median(top_at_reading(members)[2][dawn_hour])) for members in (low, high)]
    assert dawn[0] < dawn[1] - 0.3, dawn


def test_fish_that_lived_count(make_job, draw, limits):
    """Where fish were seen to live well, fewer ponds that lost their refuge in the three days before are kept."""
    lost = {}
    for answer in (Answer.NO, Answer.YES):
        fish = Fish(species=("bluegill",), gasping_at_dawn=answer, kill_this_season=answer)
        members = draw(make_job(fish=fish), 48, 3, 24)
        from dataclasses import replace

        run = march(replace(members.columns, hour=0), still(LEAD_HOURS), LEAD_HOURS)
        lost[answer] = int((run.after.failed_step >= 0).sum())
    assert lost[Answer.NO] < lost[Answer.YES], lost


def test_a_reading_that_no_pond_agrees_with_is_said(make_job, draw, grid, limits, monkeypatch):
    """Living fish in water without oxygen at dusk is met by hardly a pond: the nearest fill up, with a caution."""
    monkeypatch.setattr(members_module, "BATCH", 64)
    rows = tuple((z, 27.0, 0.05) for z in (0.0, 1.0, 2.0, 3.0, 4.0))
    fish = Fish(species=("bluegill",), gasping_at_dawn=Answer.NO, kill_this_season=Answer.NO)
    members = members_module.draw_ensemble(
        make_job(profiles=((DUSK, rows),), fish=fish), grid, limits, 24, 1, 24, most_tries=128
    )
    assert members.columns.members == 24
    assert "reading-unlikely" in [notice.code for notice in members.notices]


def test_no_reading_is_an_error_that_says_what_to_give(make_job, draw):
    """Without a profile there is nothing to begin from."""
    with pytest.raises(InputError, match="no reading"):
        draw(make_job(profiles=()), 8, 1, 24)


def test_a_bottle_that_contradicts_every_pond_is_an_error(make_job, grid, limits, monkeypatch):
    """A demand that no draw of the priors can make stops the drawing and points to the bottle."""
    monkeypatch.setattr(
        members_module, "_bottle_misfit", lambda _b, _g, drawn: drawn.extinction_1_m * 0.0 + 1e9
    )
    monkeypatch.setattr(members_module, "BATCH", 64)
    with pytest.raises(ModelError, match="bottle"):
        members_module.draw_ensemble(
            make_job(observations=(bottle(3.0, 1.0),)), grid, limits, 8, 1, 24, most_tries=128
        )


def test_what_was_not_read_is_said_and_drawn(make_job, grid, ensemble):
    """pH, ammonia and sulphide come from the priors where they were not read, and the result says so."""
    water = water_read(make_job().profiles[-1], grid)
    assert np.isnan(water.ph_number).all()
    assert any(text.startswith("pH drawn") for text in ensemble.assumptions)
    ammonia = ensemble.columns.state[ix.AMMONIA]
    assert ammonia[-1].std() > 0.1
    assert (np.median(ammonia[-1]) > np.median(ammonia[0])).all()


def test_the_bottom_water_holds_the_debts(make_job, grid):
    """Debts stand where there is no oxygen and not where there is: more below than above in every pond."""
    from plumeline.stages.column.priors import draw_priors

    water = water_read(make_job().profiles[-1], grid)
    state, extinction = first_state(water, draw_priors(64, 2), make_job(), 5)
    for row in (ix.DEBT_A, ix.SULPHIDE):
        assert (state[row, 0] == 0.0).all()
        assert (state[row, -1] > 0.0).all()
    assert (state[ix.DEBT_C, -1] > state[ix.DEBT_C, 0]).all()
    assert (extinction > 0.0).all()
