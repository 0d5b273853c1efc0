"""The alternatives on the web: the plot leads to its buttons, a choice is the plan promised, and comes undone."""

from __future__ import annotations

import functools
import json
import re

import pytest

import plumeline
from plumeline.stages.front import front
from plumeline.stages.survey import survey
from plumeline.store import RunKind, RunState
from plumeline.web import worker
from plumeline.web.work import asked_of


@pytest.fixture
def pond(browser, oak_zip, monkeypatch):
    """The demo pond, nothing worked out; two simulated ponds a number: places and lines do not hang on them."""
    monkeypatch.setattr("plumeline.web.front_made.front_stage", functools.partial(front, members=2))
    browser.bring_in(oak_zip)
    return browser.store.ponds.rows()[0].id


@pytest.fixture(scope="module")
def made():
    """What the worker keeps of them, once made."""
    return {}


@pytest.fixture
def chosen(browser, pond, made):
    """The same with its alternatives worked out by the worker."""
    runs = browser.store.runs
    run = runs.ask(pond, 1, plumeline.__version__, RunKind.ALTERNATIVES)
    runs.claim()
    if not made:
        made.update(worker.alternatives_of(browser.store, run, lambda *_: None))
    runs.finish(run.id, made)
    return browser, pond


def post(browser, pond, path, **fields):
    number = browser.store.ponds.revision(pond).number
    return browser.post(f"/ponds/{pond}/{path}", {"number": str(number), "author": "office", **fields})


def layout(browser, pond):
    return browser.get(f"/api/v1/ponds/{pond}/stages/layout").json()["layout"]


def test_each_point_of_the_plot_leads_to_its_button(chosen):
    """As many links in the plot as alternatives; the number that is planned now has no button."""
    browser, pond = chosen
    page = browser.get(f"/ponds/{pond}/front").text
    plot = page.split('<figure class="alternatives">')[1].split("</figure>")[0]
    led = set(re.findall(r'href="#take-(\d+)"', plot))
    assert led == set(re.findall(r'<li id="take-(\d+)">', page)) == {"1", "2", "3"}
    assert re.findall(r'<button name="count" value="(\d+)">', page) == ["1", "2"]
    assert "Line across" in page  # the plot's own tables


def test_a_choice_is_the_plan_that_the_alternative_promised(chosen):
    """After taking two, the layout has two, and turnover, share served and lines are those of the front."""
    browser, pond = chosen
    revision = browser.store.ponds.revision(pond)
    asked = asked_of(revision)
    item = front(asked.job, survey(asked.job, asked.seed), seed=asked.seed, members=2).works[1]
    files = browser.store.ponds.folder(pond).files
    before = layout(browser, pond)
    assert len(before["diffusers"]) == 3
    assert post(browser, pond, "front", count="2").status_code == 303
    got = layout(browser, pond)
    assert len(got["diffusers"]) == 2
    assert got["turnover_per_day"] == pytest.approx(item.found.layout.turnover_per_day, rel=1e-12)
    assert got["served_fraction"] == pytest.approx(item.found.layout.served_fraction, rel=1e-12)
    lines = [one["branch_cut_m"] for one in got["diffusers"]]
    assert lines == pytest.approx([one.branch_cut_m for one in item.found.layout.diffusers])
    now = browser.store.ponds.folder(pond).files
    assert {name for name in files if files[name] != now[name]} == {"job.toml"}
    kept = [line for line in files["job.toml"].decode().splitlines() if "#" in line]
    assert kept == [line for line in now["job.toml"].decode().splitlines() if "#" in line], "comments stay"
    assert "alternative taken: 2 diffusers" in browser.get(f"/ponds/{pond}/history").text
    assert post(browser, pond, "front/undo").status_code == 303
    assert browser.store.ponds.folder(pond).files == files
    assert layout(browser, pond) == before


def test_only_a_choice_is_undone_and_only_what_is_there_is_taken(chosen):
    """Undo on a pond whose last save was another, and a number that is no alternative: refused, nothing saved."""
    browser, pond = chosen
    undone = post(browser, pond, "front/undo")
    assert undone.status_code == 422
    assert "not made by taking an alternative" in undone.text
    none = post(browser, pond, "front", count="9")
    assert none.status_code == 422
    assert "9 diffusers is no alternative" in none.text
    assert browser.store.ponds.revision(pond).number == 1


def test_an_overtaken_page_changes_nothing(chosen):
    """Somebody saved in between: 409."""
    browser, pond = chosen
    assert post(browser, pond, "front", count="1").status_code == 303
    stale = browser.post(f"/ponds/{pond}/front", {"number": "1", "author": "office", "count": "2"})
    assert stale.status_code == 409
    assert len(layout(browser, pond)["diffusers"]) == 1


def run_of(browser, pond):
    return browser.store.runs.of_pond(pond, kind=RunKind.ALTERNATIVES)[0]


def test_alternatives_are_asked_for_watched_and_cancelled(browser, pond):
    """The page asks for nothing by itself; a second click finds the same run, a reload shows it, Cancel ends it."""
    assert "Work out the alternatives" in browser.get(f"/ponds/{pond}/front").text
    assert browser.store.runs.of_pond(pond, kind=RunKind.ALTERNATIVES) == ()
    for _ in range(2):
        asked = post(browser, pond, "front/ask")
        assert (asked.status_code, asked.headers["location"]) == (303, f"/ponds/{pond}/front")
    (run,) = browser.store.runs.of_pond(pond, kind=RunKind.ALTERNATIVES)
    text = browser.get(f"/ponds/{pond}/front").text
    assert f'data-events="/ponds/{pond}/runs/{run.id}/events"' in text
    assert "progress.js" in text
    assert "Work out the alternatives" not in text
    assert browser.get(f"/ponds/{pond}/runs/{run.id}").url.path == f"/ponds/{pond}/front"
    assert browser.store.runs.of_pond(pond) == (), "no start-up plan is under way"
    assert post(browser, pond, f"runs/{run.id}/stop").status_code == 303
    assert run_of(browser, pond).state == RunState.CANCELLED
    text = browser.get(f"/ponds/{pond}/front").text
    assert "The work was cancelled" in text
    assert "Work out the alternatives" in text


def test_a_cancelled_run_ends_at_its_next_number(browser, pond, monkeypatch):
    """Each number is told before it is tried: stopped while the first is tried, the second is not."""
    told = []

    class Told(worker.Teller):
        def __call__(self, doing, share_fraction):
            super().__call__(doing, share_fraction)
            told.append(doing)
            if doing == "trying 1 diffuser":
                browser.store.runs.stop(run_of(browser, pond).id)

    monkeypatch.setattr(worker, "Teller", Told)
    post(browser, pond, "front/ask")
    worker.compute(browser.store, browser.store.runs.claim())
    assert run_of(browser, pond).state == RunState.CANCELLED
    assert told[-1] == "trying 1 diffuser"


def test_alternatives_do_not_wait_for_a_plan_of_minutes(browser, pond, monkeypatch):
    """Asked for while a plan is under way, they are worked out before the plan goes on, and the plan is kept."""
    states = []

    def plan(store, run, tell):
        post(browser, pond, "front/ask")
        tell("searching", 0.5)
        states.append(run_of(browser, pond).state)
        return {"us/plan.pdf": b"%PDF"}

    monkeypatch.setattr(worker, "plan_of", plan)
    asked = browser.store.runs.ask(pond, 1, "x")
    worker.compute(browser.store, browser.store.runs.claim())
    assert states == [RunState.DONE]
    assert browser.store.runs.get(asked.id).state == RunState.DONE
    assert browser.store.runs.files(asked.id) == ("us/plan.pdf",)


def test_the_api_gives_a_run_to_ask_after_and_then_the_document(browser, pond, oak_zip):
    """202 at once, 404 of its workings before it is done; the document is what the stage gives."""
    base = f"/api/v1/ponds/{pond}"
    missing = browser.get(f"{base}/workings/front")
    assert missing.status_code == 404
    assert "not worked out" in missing.text
    asked = browser.client.post(f"{base}/runs", json={"revision_number": 1, "kind": "alternatives"})
    assert (asked.status_code, asked.json()["kind"]) == (202, "alternatives")
    worker.compute(browser.store, browser.store.runs.claim())
    run = browser.get(f"/api/v1/runs/{asked.json()['id']}").json()
    assert (run["state"], run["words"]) == ("done", "")
    assert "si/alternatives.json" in run["files"]
    assert browser.get(f"{base}/runs").json() == []
    assert [row["id"] for row in browser.get(f"{base}/runs?kind=alternatives").json()] == [run["id"]]
    document = browser.get(f"/api/v1/runs/{run['id']}/files/si/alternatives.json").json()
    asked = asked_of(browser.store.ponds.revision(pond))
    found = front(asked.job, survey(asked.job, asked.seed), seed=asked.seed, members=2)
    rows = document["front"]["alternatives"]
    assert [row["turnover_per_day"] for row in rows if row["found"]] == pytest.approx(
        [item.turnover_per_day for item in found.works]
    )
    assert document["front"]["least_count"] == found.least_count
    assert json.dumps(document["notices"])


def test_a_pond_that_can_not_be_worked_through_says_why(browser, pond, monkeypatch):
    """The reason stands on the page, with the way to try again."""
    from plumeline.errors import ModelError

    def broken(*_, **__):
        raise ModelError("no operating point.", remedy="Take a larger compressor.")

    monkeypatch.setattr("plumeline.web.front_made.front_stage", broken)
    post(browser, pond, "front/ask")
    worker.compute(browser.store, browser.store.runs.claim())
    text = browser.get(f"/ponds/{pond}/front").text
    assert "no operating point. Take a larger compressor." in text
    assert "Work out the alternatives" in text
