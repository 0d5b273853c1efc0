"""The alternatives on the web: the plot leads to its buttons, a choice is the plan promised, and comes undone."""

from __future__ import annotations

import functools
import re

import pytest

from plumeline.stages.front import front
from plumeline.stages.survey import survey
from plumeline.web.work import asked_of


@pytest.fixture
def chosen(browser, oak_zip, monkeypatch):
    # two ponds a number: places, lines and turnover do not hang on them
    monkeypatch.setattr("plumeline.web.front_opened.front_stage", functools.partial(front, members=2))
    browser.bring_in(oak_zip)
    return browser, browser.store.ponds.rows()[0].id


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
