"""Long computations: one at a time, cancelled, taken over after a crash, asked for twice and made once."""

from __future__ import annotations

import pytest

from plumeline.store import RunKind, RunState
from plumeline.store.errors import NotThereError


@pytest.fixture
def pond(store, oak):
    return store.ponds.add(oak, author="", reason="").pond_id


def test_a_double_click_makes_one_run(store, pond):
    """The one that waits or runs is returned; once it has ended a new one is begun."""
    first = store.runs.ask(pond, 1, "x")
    assert store.runs.ask(pond, 1, "x").id == first.id
    assert store.runs.claim().id == first.id
    assert store.runs.ask(pond, 1, "x").id == first.id
    store.runs.finish(first.id, {"us/plan.pdf": b"%PDF"})
    assert store.runs.ask(pond, 1, "x").id != first.id
    assert store.runs.file(first.id, "us/plan.pdf") == b"%PDF"


def test_whether_there_is_a_run_is_told_until_it_has_ended(store, pond):
    """Waiting, running or to be stopped: a worker is wanted, also for one that broke off."""
    assert not store.runs.any_going()
    run = store.runs.ask(pond, 1, "x")
    assert store.runs.any_going()
    store.runs.claim()
    assert store.runs.any_going()
    store.runs.stop(run.id)
    assert store.runs.any_going()
    store.runs.take_over()
    assert not store.runs.any_going()


def test_runs_are_taken_in_turn_and_each_once(store, pond, oak):
    """First come, first served; nothing is left for a second taker."""
    other = store.ponds.add(oak, author="", reason="").pond_id
    asked = [store.runs.ask(name, 1, "x").id for name in (pond, other)]
    assert [store.runs.claim().id, store.runs.claim().id] == asked
    assert store.runs.claim() is None


def test_alternatives_take_seconds_and_go_before_plans(store, pond):
    """Asked for later they are taken first; a plan and alternatives of one revision are two runs, listed apart."""
    plan = store.runs.ask(pond, 1, "x")
    short = store.runs.ask(pond, 1, "x", RunKind.ALTERNATIVES)
    assert plan.id != short.id
    assert [run.id for run in store.runs.of_pond(pond)] == [plan.id]
    assert [run.id for run in store.runs.of_pond(pond, kind=RunKind.ALTERNATIVES)] == [short.id]
    assert store.runs.claim().id == short.id
    assert store.runs.claim(RunKind.ALTERNATIVES) is None
    assert store.runs.claim().id == plan.id


def test_a_cancelled_run_leaves_no_files(store, pond):
    """One that waits ends at once; one that runs is told at its next word, and even a finished result is dropped."""
    waiting = store.runs.ask(pond, 1, "x")
    assert store.runs.stop(waiting.id).state == RunState.CANCELLED
    running = store.runs.ask(pond, 1, "x")
    store.runs.claim()
    assert store.runs.tell(running.id, "half", 0.5)
    assert store.runs.stop(running.id).state == RunState.STOPPING
    assert not store.runs.tell(running.id, "more", 0.6)
    store.runs.finish(running.id, {"us/plan.pdf": b"late"})
    assert store.runs.get(running.id).state == RunState.CANCELLED
    assert store.runs.files(running.id) == ()


def test_a_run_of_a_worker_that_is_gone_is_done_again_once(store, pond):
    """A second break is not tried for ever."""
    run = store.runs.ask(pond, 1, "x")
    for _ in range(2):
        assert store.runs.claim().id == run.id
        store.runs.take_over()
    assert store.runs.get(run.id).state == RunState.FAILED
    assert store.runs.claim() is None


def test_a_run_of_nothing_is_refused(store, pond):
    """No such revision, no such run, no such file."""
    with pytest.raises(NotThereError):
        store.runs.ask(pond, 9, "x")
    with pytest.raises(NotThereError):
        store.runs.get("nothing")
    with pytest.raises(NotThereError):
        store.runs.file(store.runs.ask(pond, 1, "x").id, "../plan.pdf")


def test_the_plan_made_last_of_each_of_several_ponds_is_given_at_once(store, pond, oak):
    """Each pond's own file of its latest finished run; one without a plan, and a run that failed, are left out."""
    other, without = (store.ponds.add(oak, author="", reason="").pond_id for _ in range(2))
    for pond_id, words in ((pond, b"first"), (pond, b"second"), (other, b"other"), (without, None)):
        run = store.runs.ask(pond_id, 1, "x")
        store.runs.claim()
        if words is None:
            store.runs.fail(run.id, "no water")
        else:
            store.runs.finish(run.id, {"plan.json": words, "us/plan.pdf": b"%PDF " + words})
    assert store.runs.get(run.id).words == "no water"
    found = store.runs.of_many([pond, other, without], "plan.json")
    assert found == {pond: b"second", other: b"other"}
    assert store.runs.of_many([other], "plan.json") == {other: b"other"}


def test_one_that_was_to_stop_when_its_worker_went_is_not_done_again(store, pond):
    """It ends as cancelled; and one that has ended stays as it is, whoever stops it."""
    run = store.runs.ask(pond, 1, "x")
    store.runs.claim()
    store.runs.stop(run.id)
    store.runs.take_over()
    assert store.runs.get(run.id).state == RunState.CANCELLED
    ended_at = store.runs.get(run.id).ended_at
    assert store.runs.stop(run.id).state == RunState.CANCELLED
    assert store.runs.get(run.id).ended_at == ended_at
