"""A page that takes seconds the first time says so, is worked out once, and says what went wrong."""

from __future__ import annotations

import threading

import pytest

from plumeline.errors import InputError
from plumeline.web.opening import OpenedPage
from plumeline.web.under_way import UnderWay

LONG_S = 60.0


def test_a_page_of_costs_that_takes_long_says_so_and_is_worked_out_once(browser, small_job, monkeypatch):
    """Asked twice meanwhile, it is one piece of work; then the page itself stands at the same address."""
    pond = browser.store.ponds.add_job(small_job, author="", reason="").pond_id
    go, asked = threading.Event(), []

    def slow(_site, revision, units, number):
        asked.append((revision.number, units, number))
        assert go.wait(LONG_S)
        shown = {"summary": "Compared.", "shown": [], "drawings": [], "notices": [], "assumptions": []}
        return OpenedPage(shown, {})

    monkeypatch.setattr("plumeline.web.costs_pages.opened_costs", slow)
    site = browser.client.app.state.site
    site.page_wait_s = 0.01
    for _ in range(2):
        text = browser.get(f"/ponds/{pond}/costs").text
        assert "is being compared" in text
        assert '<script src="/static/again.js" defer>' in text
        assert '<meta http-equiv="refresh"' in text
    go.set()
    site.page_wait_s = LONG_S
    assert "Compared." in browser.get(f"/ponds/{pond}/costs").text
    assert asked == [(1, "us", None)]


def test_what_goes_wrong_is_told_to_who_asks_and_tried_anew():
    """The error of the work itself, each time it is asked for; nothing is kept of it."""
    found: UnderWay[str, int] = UnderWay()
    tries = []

    def fails():
        tries.append(1)
        raise InputError("no air line.")

    for count in (1, 2):
        with pytest.raises(InputError, match="no air line"):
            found.of("a", fails, LONG_S)
        assert len(tries) == count
    assert found.of("a", lambda: 7, LONG_S) == 7
