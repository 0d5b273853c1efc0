"""What stands against a pond: the same on the list and on its page, looked at beside the answers."""

from __future__ import annotations

import re
import threading
import time

import pytest

from plumeline.store.errors import StoreError
from plumeline.web import standing
from plumeline.web.standing import look_at_all, looking
from plumeline.web.work import Designs


def notices(page):
    found = re.findall(r'<p class="notice (\w+)">(.*?)</p>', page)
    # on the pond's own page numbers are links, and some notices lead to the answer that they ask for
    found = [(kind, re.sub(r" ?<a\b[^>]*>To this answer</a>", "", words)) for kind, words in found]
    return [(kind, re.sub(r"</?a\b[^>]*>", "", words)) for kind, words in found]


def listed(browser):
    """Return what the list says against the one pond."""
    return notices(browser.get("/").text)


def test_the_list_and_the_page_say_the_same(browser, oak_zip):
    """After the looking, the list holds each danger and caution of the pond's page, the gravest first."""
    browser.bring_in(oak_zip)
    assert "not looked at yet" in browser.get("/").text
    assert look_at_all(browser.store, Designs()) == 1
    found = listed(browser)
    pond = browser.store.ponds.rows()[0].id
    assert found == notices(browser.get(f"/ponds/{pond}").text)
    kinds = [kind for kind, _ in found]
    assert kinds == sorted(kinds, key=["danger", "caution"].index)
    assert kinds[0] == "danger"
    assert any("hydrogen sulphide" in words for _, words in found)
    assert any("dead" in words for _, words in found)  # of the air line
    assert look_at_all(browser.store, Designs()) == 0


def test_a_pond_without_a_design_says_why(browser, oak_zip, monkeypatch):
    """Where sizing fails, the list says so and keeps what the reading says."""
    from plumeline.errors import ModelError

    def refuse(asked):
        raise ModelError("no diffuser gets any air.", remedy="Choose another compressor.", place="air")

    browser.bring_in(oak_zip)
    monkeypatch.setattr("plumeline.web.work.sized_pond", refuse)
    assert look_at_all(browser.store, Designs()) == 1
    words = " ".join(words for _, words in listed(browser))
    assert "no diffuser gets any air" in words
    assert "hydrogen sulphide" in words.lower()


def test_what_is_saved_is_looked_at_beside(browser, oak_zip):
    """While the looking runs, a new pond is looked at without anybody asking."""
    saved = browser.client.app.state.site.saved
    with looking(browser.store, Designs(), saved):
        browser.bring_in(oak_zip)
        for _ in range(600):
            if browser.store.ponds.not_looked_at("0.1.0") is None and listed(browser):
                break
            time.sleep(0.05)
        assert listed(browser)


def test_a_full_disk_ends_nothing(browser, oak_zip, monkeypatch):
    """Where what was found can't be written, the looking waits and tries again; nothing else stops."""
    tries = []

    def full(*_):
        tries.append(1)
        if len(tries) == 1:
            raise StoreError("the disk is full.", remedy="Make room.", place="database")
        return 0

    monkeypatch.setattr(standing, "AGAIN_S", 0.01)
    monkeypatch.setattr(standing, "look_at_all", full)
    with looking(browser.store, Designs(), threading.Event()):
        for _ in range(200):
            if len(tries) > 1:
                break
            time.sleep(0.01)
    assert len(tries) > 1


@pytest.mark.parametrize("change", ["bin", "revision"])
def test_only_the_newest_of_a_pond_that_is_there(browser, oak_zip, change):
    """A pond in the bin is left alone; a new revision is looked at anew."""
    browser.bring_in(oak_zip)
    look_at_all(browser.store, Designs())
    row = browser.store.ponds.rows()[0]
    if change == "bin":
        browser.bring_in(oak_zip, "again.zip")
        other = next(found for found in browser.store.ponds.rows() if found.id != row.id)
        browser.store.bin.put(other.id, "office")
        assert browser.store.ponds.not_looked_at("0.1.0") is None
    else:
        folder = browser.store.ponds.folder(row.id, row.number)
        files = {**folder.files, "job.toml": folder.files["job.toml"] + b"\n# looked at again\n"}
        browser.store.ponds.save_files(
            row.id, files, expected_number=row.number, author="office", reason="words"
        )
        assert browser.store.ponds.not_looked_at("0.1.0") == row.id
