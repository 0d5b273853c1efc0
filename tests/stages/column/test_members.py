"""The ensemble agrees with what was read, more than the priors do, and says when nothing does."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from plumeline.errors import InputError
from plumeline.job.document import Answer, Bottle, Fish
from plumeline.kernels import column_index as ix
from plumeline.stages.column import LEAD_HOURS
from plumeline.stages.column import case as case_module
from plumeline.stages.column import members as members_module
from plumeline.stages.column.evidence import Ran
from plumeline.stages.column.priors import draw_scores, draws_of
from plumeline.stages.column.start import start_state
from plumeline.stages.column.water import water_read

DUSK = datetime(2026, 8, 11, 23, tzinfo=UTC)
DAWN = datetime(2026, 8, 11, 10, tzinfo=UTC)
ROWS = ((0.0, 28.0, 8.0), (1.0, 27.5, 7.0), (2.0, 22.0, 1.0), (3.0, 18.0, 0.1), (4.0, 17.0, 0.1))


def case_of(job, grid, limits):
    """Return a job made ready to be held against ponds."""
    return case_module.case_of(job, grid, limits, 24, None, LEAD_HOURS)


def test_ponds_of_the_ensemble_read_nearer_what_was_read(make_job, grid, limits, ensemble):
    """Run through the same days, they come nearer to the reading than ponds of the priors, in squares."""
    case = case_of(make_job(), grid, limits)
    before = ensemble.before
    evidence = case.evidence.without(before.out).with_noise(before.noise)
    _, ran = members_module._last_pass(replace(case, evidence=evidence), before.learned, 64, 9)
    drawn = np.median((evidence.distance(ran.seen) ** 2).sum(axis=0))
    prior = np.median((evidence.distance(before.seen) ** 2).sum(axis=0))
    print(f"squares: {prior:.1f} of the priors, {drawn:.1f} of the ensemble, {evidence.looks.count} numbers")
    assert drawn < 0.8 * prior


def test_members_stand_at_the_reading_as_it_was_read(ensemble):
    """At the hour of the reading the ponds have the profile that was read, within meter and place."""
    columns = ensemble.columns
    assert columns.hour == LEAD_HOURS
    for depth_m, degc, mg_l in ROWS:
        k = columns.grid.layer_at(depth_m)
        gap_m = abs(float(columns.grid.centre_m[k]) - depth_m)
        temperature, oxygen = columns.state[ix.TEMPERATURE, k], columns.state[ix.OXYGEN, k]
        assert np.median(temperature) == pytest.approx(degc, abs=0.6 + 6.0 * gap_m)
        assert np.median(oxygen) == pytest.approx(mg_l, abs=0.8 + 6.0 * gap_m)
        assert temperature.std() < 1.3
        assert oxygen.std() < 1.6


def test_an_ensemble_like_another_is_fresh_and_agrees_with_it(make_job, grid, limits, ensemble):
    """Drawn by the same law with another seed: no pond in common, the same middle within its error."""
    other = members_module.draw_ensemble(make_job(), grid, limits, 48, 77, 48, like=ensemble)
    assert other.tried == 2 * 48
    for row in (ix.SEDIMENT, ix.ALPHA):
        assert not np.isin(other.columns.parameters[row], ensemble.columns.parameters[row]).any()
    rows = [np.log(one.columns.parameters[ix.RESPIRATION]) for one in (ensemble, other)]
    error = np.hypot(
        *(
            row.std() / np.sqrt(one.effective_members)
            for row, one in zip(rows, (ensemble, other), strict=True)
        )
    )
    assert abs(rows[0].mean() - rows[1].mean()) < 4.0 * error


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
        debts[name] = float(np.median(state[ix.DEBT_A] + ix.SULPHIDE_DEMAND * state[ix.SULPHIDE]))
    print(debts)
    assert debts["clean"] < 0.8 * debts["foul"], debts


def test_a_dawn_profile_counts(make_job, draw):
    """A profile of the dawn before, low in oxygen, keeps ponds that breathe more than a high one does."""
    breath = []
    for most in (2.0, 8.0):
        rows = tuple((z, t, min(o, most)) for z, t, o in ROWS)
        members = draw(make_job(profiles=((DAWN, rows), (DUSK, ROWS))), 48, 1, 24)
        breath.append(float(np.median(members.columns.parameters[ix.RESPIRATION]) * 86400.0))
    print(breath)
    assert breath[0] > 1.1 * breath[1], breath


def test_fish_that_lived_count(make_job, grid, limits):
    """A pond that lost its refuge counts for a twentieth where fish were seen to live, in full where they gasped."""
    ran = Ran(
        np.zeros((1, 2)), np.zeros((10, 2)), np.array([True, False]), np.array([0.0, 0.6]), np.array([3.0, 3.0]),
        np.zeros(2), np.zeros((2, 1, 2)),
    )  # fmt: skip
    share = {}
    for answer in Answer:
        fish = Fish(species=("bluegill",), gasping_at_dawn=answer, kill_this_season=answer)
        chance = np.exp(case_of(make_job(fish=fish), grid, limits).evidence.log_weight(ran))
        share[answer] = chance[0] / chance[1]
    assert share[Answer.NO] == pytest.approx(0.05)
    assert share[Answer.YES] == pytest.approx(1.0)
    assert share[Answer.NO] < share[Answer.UNKNOWN] < share[Answer.YES]


def test_a_reading_that_no_pond_agrees_with_is_said(make_job, draw):
    """A pond that is 38 °C at the bottom and 12 °C on top, full of oxygen below: no pond is like that."""
    rows = ((0.0, 12.0, 0.5), (1.0, 20.0, 5.0), (2.0, 30.0, 15.0), (4.0, 38.0, 25.0))
    members = draw(make_job(profiles=((DUSK, rows),)), 24, 1, 24)
    assert members.columns.members == 24
    assert "reading-unlikely" in [notice.code for notice in members.notices]


def test_told_names_what_narrowed_and_what_did_not(make_job, draw):
    """A control bottle tells of respiration; the profile of one dusk tells nothing of gas exchange to speak of."""
    members = draw(make_job(observations=(bottle(3.9, 3.3),)), 48, 1, 24)
    told = {(item.reading, item.quantity): item.narrowed_fraction for item in members.told}
    assert {reading for reading, _ in told} == {"all readings", "p0", "b"}
    assert told["b", "respiration of the water at 20 °C"] > 0.1
    assert abs(told["b", "gas exchange on a calm day"]) < 0.15


def test_the_ponds_before_the_readings_are_counted(ensemble):
    """The baseline of the priors is there, to be printed beside that of the ensemble."""
    before = ensemble.before
    assert 0 < before.failures < before.members
    assert 1.0 <= ensemble.effective_members <= ensemble.columns.members


def test_no_reading_is_an_error_that_says_what_to_give(make_job, draw):
    """Without a profile there is nothing to begin from."""
    with pytest.raises(InputError, match="no reading"):
        draw(make_job(profiles=()), 8, 1, 24)


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
    water = water_read(make_job().profiles[-1], grid)
    state, extinction, _ = start_state(water, draws_of(draw_scores(64, 2)), make_job(), grid)
    for row in (ix.DEBT_A, ix.SULPHIDE):
        assert (state[row, 0] <= state[row, -1]).all()
        assert (state[row, -1] > 0.0).all()
    assert (state[ix.DEBT_C, -1] > state[ix.DEBT_C, 0]).all()
    assert (extinction > 0.0).all()


def test_drawn_debts_are_what_bed_and_days_could_have_made():
    """Prior predictive (science-values §15): (demand + flux) × days × bed area over volume brackets the debt.

    A layer without oxygen of 1.5 m over a bed of its own area, at 15 °C; the share of the bed's demand that
    leaves as reduced substances is the flux and up to all of the rest.
    """
    draws = draws_of(draw_scores(2000, 3))
    debt = draws["debt_a"] + draws["debt_b"] + draws["debt_c"]
    cold = draws["sediment_theta"] ** (15.0 - 20.0)
    least = draws["reduced_flux"] * cold * draws["days_anoxic"] / 1.5
    most = least + draws["sediment_demand"] * cold * draws["days_anoxic"] / 1.5
    between = float(((debt > 0.25 * least) & (debt < 1.5 * most)).mean())
    print(
        f"{between:.0%} between; medians {np.median(least):.1f} < {np.median(debt):.1f} < {np.median(most):.1f} mg/L"
    )
    assert between > 0.8
    assert np.median(least) < 2.0 * np.median(debt)
    assert np.median(debt) < np.median(most)
