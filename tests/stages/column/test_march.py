"""A run does not depend on how it is cut: by threads, by blocks, by stops; and it never ends in nonsense."""

import itertools
import sys

import numpy as np
import pytest

from plumeline.errors import ModelError
from plumeline.kernels import column_index as ix
from plumeline.stages.column import LEAD_HOURS, AirPlan, march, still

END = LEAD_HOURS + 14


@pytest.fixture(scope="module")
def air(ensemble):
    """Return two diffusers that run for two hours, rest, and run on."""
    hours = ensemble.columns.weather.shape[1]
    on = np.zeros((hours * ix.STEPS_EACH_HOUR, 2), dtype=np.uint8)
    on[(LEAD_HOURS + 2) * 12 : (LEAD_HOURS + 4) * 12] = 1
    on[(LEAD_HOURS + 7) * 12 + 5 :] = 1
    return AirPlan(np.array([3.5, 2.6]), np.array([0.02, 0.02]), on)


def same(one, other):
    """Tell whether two runs left the same, to the bit."""
    return all(
        np.array_equal(a, b)
        for a, b in (
            (one.after.state, other.after.state),
            (one.after.bed_degc, other.after.bed_degc),
            (one.after.failed_step, other.after.failed_step),
            (one.after.under_steps, other.after.under_steps),
            (one.after.cause, other.after.cause),
            (one.after.stirred, other.after.stirred),
        )
    )


@pytest.mark.parametrize("blocks", [1, 3, 5, 16])
def test_a_run_does_not_depend_on_its_blocks(ensemble, air, monkeypatch, blocks):
    """Cut into any number of blocks, on any number of threads, every member comes out the same to the bit."""
    whole = march(ensemble.columns, air, END)
    edges = np.linspace(0, ensemble.columns.members, blocks + 1).astype(int)
    cut = [slice(int(a), int(b)) for a, b in itertools.pairwise(edges)]
    # the package gives its function the module's name
    monkeypatch.setattr(sys.modules["plumeline.stages.column.march"], "_blocks", lambda _members: cut)
    other = march(ensemble.columns, air, END)
    assert same(whole, other)
    assert np.array_equal(whole.records, other.records)
    assert np.array_equal(whole.books, other.books)


def test_a_member_does_not_depend_on_its_neighbours(ensemble, air):
    """A member run by itself ends as it ended among the others, to the bit."""
    whole = march(ensemble.columns, air, END)
    alone = march(ensemble.columns.take(np.array([17])), air, END)
    assert np.array_equal(whole.after.state[:, :, 17], alone.after.state[:, :, 0])


@pytest.mark.parametrize("stop", [1, 2, 4, 6])
def test_a_run_stopped_in_still_water_and_carried_on_is_the_run_straight_through(ensemble, air, stop):
    """Forking is free while no air runs: to hour h and on to the end equals straight to the end, to the bit."""
    straight = march(ensemble.columns, air, END)
    first = march(ensemble.columns, air, LEAD_HOURS + stop)
    second = march(first.after, air, END)
    assert same(straight, second)
    assert first.books + second.books == pytest.approx(straight.books, rel=1e-9, abs=1e-6)
    joined = first.records + second.records
    assert np.array_equal(straight.records[:, LEAD_HOURS:END], joined[:, LEAD_HOURS:END])


@pytest.mark.parametrize("stop", [3, 9, 11])
def test_a_run_stopped_under_air_solves_its_plumes_anew_and_ends_close_by(ensemble, air, stop):
    """A stop while plumes stand solves them again, so the run differs by what a fresh plume does: hundredths."""
    straight = march(ensemble.columns, air, END).after.state
    first = march(ensemble.columns, air, LEAD_HOURS + stop)
    second = march(first.after, air, END).after.state
    off_degc = np.abs(second - straight)[ix.TEMPERATURE].max()
    off_mg_l = np.abs(second - straight)[ix.OXYGEN].max()
    print(f"stop at {stop}: {off_degc:.4f} K, {off_mg_l:.4f} mg/L")
    assert off_degc < 0.02
    assert off_mg_l < 0.05


@pytest.mark.parametrize("blocks", [1, 2])
def test_a_run_leaves_the_ensemble_it_was_given_as_it_was(ensemble, air, monkeypatch, blocks):
    """Candidates share one ensemble: none may change it, on one thread as on more."""
    columns = ensemble.columns
    names = ("state", "bed_degc", "under_steps", "failed_step", "cause", "stirred")
    before = {name: getattr(columns, name).copy() for name in names}
    edges = np.linspace(0, columns.members, blocks + 1).astype(int)
    cut = [slice(int(a), int(b)) for a, b in itertools.pairwise(edges)]
    monkeypatch.setattr(sys.modules["plumeline.stages.column.march"], "_blocks", lambda _members: cut)
    march(columns, air, END)
    for name in names:
        assert np.array_equal(before[name], getattr(columns, name)), name


@pytest.mark.parametrize(
    ("row", "value"),
    [
        (ix.TEMPERATURE, np.nan),
        (ix.OXYGEN, np.inf),
        (ix.TEMPERATURE, 90.0),
        (ix.OXYGEN, -5.0),
        (ix.SALT, np.nan),
    ],
)
def test_an_unphysical_state_stops_the_run_and_says_where(ensemble, row, value):
    """A column that turned non-finite or can't be water raises an error that names the hour and the member."""
    columns = ensemble.columns.take(np.arange(3))
    columns.state[row, :, 1] = value
    with pytest.raises(ModelError, match=f"hour {LEAD_HOURS + 1}") as error:
        march(columns, still(columns.weather.shape[1]), LEAD_HOURS + 1)
    assert "member 1" in str(error.value)


def test_running_air_mixes_the_column_and_still_water_stays_apart(ensemble):
    """Over a night two diffusers take most of the difference between top and bottom; without air it stays."""
    columns = ensemble.columns
    hours = columns.weather.shape[1]
    on = np.ones((hours * ix.STEPS_EACH_HOUR, 2), dtype=np.uint8)
    running = AirPlan(np.array([3.5, 3.0]), np.array([0.03, 0.03]), on)
    end = LEAD_HOURS + 24
    mixed = march(columns, running, end).after.state[ix.TEMPERATURE]
    apart = march(columns, still(hours), end).after.state[ix.TEMPERATURE]
    deep = columns.grid.layer_at(3.4)
    assert np.median(mixed[0] - mixed[deep]) < 0.5 * np.median(apart[0] - apart[deep])
