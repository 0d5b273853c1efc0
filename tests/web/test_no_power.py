"""A pond without power, or with an answer missing: nothing starts, and nobody is left without a way on."""

from __future__ import annotations

import dataclasses

import pytest
from tests.web.test_fields import ANSWERS

from plumeline.files.calendar import NO_START, calendar_events
from plumeline.job.document import Power
from plumeline.stages.site_facts import NO_POWER, power_notices
from plumeline.web import worker

START_NOTHING = "start nothing before there is"


@pytest.fixture
def unpowered(browser):
    """A server with a pond without power, from ten answers."""
    answer = browser.post("/ponds/new", {**ANSWERS, "power": "none", "action": "save", "form_key": "k"})
    assert answer.status_code == 303
    return browser


def test_start_up_and_papers_say_that_there_is_no_power_before_anything_is_made(unpowered):
    """The main button of the start-up page stands under it, and so does that of the quote."""
    startup, papers = (unpowered.get(f"/ponds/upper-pond/{page}").text for page in ("startup", "papers"))
    assert startup.index(START_NOTHING) < startup.index("Make the start-up plan")
    assert papers.index(START_NOTHING) < papers.index("Make quote 1")


def test_no_run_of_a_plan_without_power_is_shown_or_put_into_a_calendar(
    browser, small_job, small_plan, monkeypatch
):
    """What the plan itself forbids is neither today's run nor an alarm on a phone; it stands over the days."""
    kept = browser.store.ponds.add_job(small_job, author="", reason="")
    assert browser.post(f"/ponds/{kept.pond_id}/startup", {"number": "1"}).status_code == 303
    off = power_notices(Power(available=False))
    start = small_plan.startup
    start = dataclasses.replace(
        start, notices=(*(item for item in start.notices if item.code not in NO_START), *off)
    )
    others = tuple(item for item in small_plan.notices if item.code not in NO_START)
    plan = dataclasses.replace(small_plan, startup=start, notices=(*others, *off))
    (event,) = calendar_events(small_job, plan.startup)
    assert event.text == NO_POWER
    monkeypatch.setattr("plumeline.stages.plan.make_plan", lambda job, **_: plan)
    worker.compute(browser.store, browser.store.runs.claim())
    text = browser.get(f"/ponds/{kept.pond_id}/startup").text
    assert text.index(START_NOTHING) < text.index(">Days: by visit")
    assert 'class="today"' not in text


def test_a_page_that_is_none_says_so(unpowered):
    """A mistyped address of a pond: no such page, and nothing of fields or of what was kept."""
    for path in ("/ponds/upper-pond/nonsense", "/ponds/upper-pond/workings/nonsense"):
        answer = unpowered.get(path)
        assert answer.status_code == 404
        assert "There is no such page." in answer.text


def test_a_page_that_lacks_an_answer_leads_to_the_answers(browser):
    """Without the trench's length there is no layout: the page keeps the way to the other pages and to job.toml."""
    answer = browser.post("/ponds/new", {**ANSWERS, "route_length": "", "action": "save", "form_key": "k"})
    assert answer.status_code == 303
    for page in ("layout", "air"):
        shown = browser.get(f"/ponds/upper-pond/{page}")
        assert shown.status_code == 422
        assert "the length of the trench" in shown.text
        assert 'href="/ponds/upper-pond/files/edit?path=job.toml"' in shown.text
        assert 'href="/ponds/upper-pond/survey"' in shown.text


def test_the_air_page_speaks_of_no_outlet_that_is_there(unpowered):
    """Circuit and protection are still to be made; nobody is asked to test an outlet that does not exist."""
    text = unpowered.get("/ponds/upper-pond/air").text
    assert "none yet: there is no power at the site" in text
    assert "to be made with the outlet" in text
    assert "The outlet that is to be made must have ground-fault protection" in text
    assert "Whether the outlet has ground-fault protection" not in text
    assert "give volts and amperes" not in text
