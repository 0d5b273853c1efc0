"""What stands on the pages of plan and shore before anything is moved is worked out once for a revision."""

from __future__ import annotations

import pytest

from plumeline.web import planning, shore_pages


def brought_in(browser, oak_zip):
    assert browser.bring_in(oak_zip).status_code == 303
    return f"/ponds/{browser.get('/api/v1/ponds').json()[0]['id']}"


def counted(monkeypatch, module, name):
    """Count the calls of a function of a module."""
    calls, real = [], getattr(module, name)

    def counting(*given, **named):
        calls.append(given)
        return real(*given, **named)

    monkeypatch.setattr(module, name, counting)
    return calls


@pytest.mark.parametrize(
    ("page", "module", "name"), [("shore", shore_pages, "shored"), ("plan", planning, "water_scene")]
)
def test_a_page_asked_for_again_is_not_worked_out_again(browser, oak_zip, monkeypatch, page, module, name):
    """The second answer has the same drawing and the same numbers, and nothing was surveyed or drawn for it."""
    address = f"{brought_in(browser, oak_zip)}/{page}"
    calls = counted(monkeypatch, module, name)
    first, second = browser.get(address), browser.get(address)
    assert first.status_code == 200
    assert first.text == second.text
    assert len(calls) == 1
    browser.in_units("si")
    assert browser.get(address).text != first.text
    assert len(calls) == 2, "the other units have their own"


def test_what_was_drawn_and_refused_is_not_kept_as_the_saved_shore(browser, oak_zip):
    """A sketch that can't be read is shown with its words; the page asked for afterwards is that of the revision."""
    address = f"{brought_in(browser, oak_zip)}/shore"
    before = browser.get(address).text
    fields = {"number": "1", "author": "x", "corner_lines": "1 m, 1 m\n", "sounding_lines": ""}
    refused = browser.post(address, fields)
    assert refused.status_code == 422
    assert browser.get(address).text == before
