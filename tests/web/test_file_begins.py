"""A file of the pond that is not there yet begins with its columns, as `plumeline new` writes them."""

from __future__ import annotations

import html
import re

import pytest

from plumeline.files.new_folder import TEMPLATES, template


def text_of(page):
    """Return what stands in the field of the text."""
    return html.unescape(re.search(r"<textarea[^>]*>\n(.*?)</textarea>", page.text, re.S)[1])


@pytest.fixture
def pond(browser, oak_zip):
    """The demo pond's id."""
    assert browser.bring_in(oak_zip).status_code == 303
    return next(iter(browser.store.ponds.rows())).id


def test_each_file_that_can_be_added_begins_with_what_goes_into_it(browser, pond):
    """Those of the demo show what is in them; a name that is none of ours begins empty."""
    there = browser.store.ponds.folder(pond).files
    begun = 0
    for name in TEMPLATES:
        shown = text_of(browser.get(f"/ponds/{pond}/files/edit?path={name}"))
        if name in there:
            assert shown == there[name].decode()
        else:
            assert shown == template(name)
            begun += 1
    assert begun >= 3
    assert text_of(browser.get(f"/ponds/{pond}/files/edit?path=notes.txt")) == ""


def test_saved_as_it_begins_it_changes_nothing_of_the_pond(browser, pond):
    """Comments and a heading are no rows: the same reading stands, and nothing is refused."""
    before = browser.store.ponds.revision(pond).job
    path = f"/ponds/{pond}/files/edit"
    page = browser.get(f"{path}?path=readings.csv")
    fields = {"path": "readings.csv", "number": "1", "author": "Ada", "text": text_of(page)}
    assert browser.post(path, fields).status_code == 303
    after = browser.store.ponds.revision(pond)
    assert after.number == 2
    assert after.job == before


def test_a_list_as_an_example_is_shown_without_its_brackets(browser):
    """The form takes fish with commas between, as its hint says; brackets are the file's."""
    text = html.unescape(browser.post("/ponds/new", {"action": "look", "name": "Any"}).text)
    assert "Give it, as bluegill, largemouth bass." in text
    assert "as [" not in text
