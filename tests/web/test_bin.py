"""The bin's pages: one tap away, one tap back, a typed name for good; a form sent twice."""

from __future__ import annotations

import re

import pytest
from tests.web.test_pages import TEN


@pytest.fixture
def pond_id(browser, oak_zip):
    browser.bring_in(oak_zip)
    (row,) = browser.store.ponds.rows()
    return row.id


def test_a_tap_takes_a_pond_away_and_a_tap_brings_it_back(browser, pond_id):
    """No page and no answer of the API has it in between; its name is text on the bin's page."""
    run = browser.store.runs.ask(pond_id, 1, "test")
    assert f'action="/ponds/{pond_id}/bin"' in browser.get(f"/ponds/{pond_id}").text
    answer = browser.post(f"/ponds/{pond_id}/bin")
    assert answer.status_code == 303
    page = browser.get(answer.headers["location"])
    assert "Undo" in page.text
    assert "<script>alert" not in page.text
    assert "&lt;script&gt;alert(1)" in page.text
    here, there = f"/ponds/{pond_id}", f"/api/v1/ponds/{pond_id}"
    paths = [here, f"{here}/survey", f"{here}/history", f"{here}/folder.zip", f"{here}/visits", there]
    paths += [f"{there}/revisions", f"{there}/folder.zip", f"{there}/stages/survey", f"{there}/runs"]
    paths += [f"/api/v1/runs/{run.id}", f"{here}/runs/{run.id}"]
    for path in paths:
        assert browser.get(path).status_code == 404, path
    assert browser.client.delete(f"/api/v1/runs/{run.id}").status_code == 404
    assert browser.get("/api/v1/ponds").json() == []
    assert browser.post(f"/bin/{pond_id}/back").headers["location"] == here
    for path in paths:
        assert browser.get(path).status_code == 200, path


def test_a_wrong_name_erases_nothing_and_stays_on_the_page(browser, pond_id):
    """The right one does."""
    browser.post(f"/ponds/{pond_id}/bin")
    wrong = browser.post(f"/bin/{pond_id}/erase", {"name": "Lower & upper"})
    assert wrong.status_code == 422
    assert 'value="Lower &amp; upper"' in wrong.text
    assert "nothing was erased" in wrong.text
    (row,) = browser.store.bin.all()
    assert browser.post(f"/bin/{pond_id}/erase", {"name": row.name}).status_code == 303
    assert browser.post(f"/bin/{pond_id}/back").status_code == 404
    assert "The bin is empty" in browser.get("/bin").text


def key_on(page):
    return re.search(r'name="form_key" value="(\w{32})"', page.text)[1]


def test_an_import_tapped_twice_makes_one_pond(browser, oak_zip):
    """Both answers lead to it; the page loaded anew has another key, and then it is a second pond."""
    key = key_on(browser.get("/"))
    sent = [
        browser.post("/ponds/import", {"form_key": key}, files={"folder": ("a.zip", oak_zip)})
        for _ in range(2)
    ]
    assert [answer.status_code for answer in sent] == [303, 303]
    assert sent[0].headers["location"] == sent[1].headers["location"]
    assert browser.store.ponds.count() == 1
    assert key_on(browser.get("/")) != key


def test_a_new_pond_kept_twice_is_one(browser):
    """The key stays the same from the look to the keeping."""
    given = {**TEN, "form_key": key_on(browser.get("/ponds/new"))}
    looked = browser.post("/ponds/new", {**given, "action": "look"})
    assert key_on(looked) == given["form_key"]
    kept = [browser.post("/ponds/new", {**given, "action": "save"}) for _ in range(2)]
    assert [answer.status_code for answer in kept] == [303, 303]
    assert browser.store.ponds.count() == 1
