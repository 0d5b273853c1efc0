# ruff: noqa: E501 -- scripts that run in the page stand in one line
"""The page at the water grows older: new versions, stored readings of old ones, storage that was cleared, plain http, thumbs."""

from __future__ import annotations

import json

import pytest
from tests.browser.test_capture_phone import (  # noqa: F401 -- fixtures
    PAGE,
    PHONE,
    items,
    kept,
    note,
    opened,
    own_server,
    phone,
    place,
    waiting,
)
from tests.browser.test_lan import phone as stranger  # noqa: F401 -- fixtures
from tests.browser.test_lan import plain_server, signed_in  # noqa: F401 -- fixtures
from tests.capture_items import item

NEWER = "() => navigator.serviceWorker.register('/capture/worker.js?newer', { scope: '/capture' }).then(() => null)"
WAITS = "() => navigator.serviceWorker.getRegistration('/capture').then((one) => !!one.waiting)"
COUNT = "() => { window.turns = 0; navigator.serviceWorker.addEventListener('controllerchange', () => { window.turns += 1; }); }"
TURNS = "window.turns"
FIRST = """([draft, item]) => new Promise((done, failed) => {
  const asked = indexedDB.open('plumeline capture', 1);
  asked.onupgradeneeded = () => { const db = asked.result; db.createObjectStore('drafts'); db.createObjectStore('outbox', { keyPath: 'id' }); db.createObjectStore('photos', { keyPath: 'sha256' }); db.createObjectStore('state'); };
  asked.onerror = () => failed(asked.error);
  asked.onsuccess = () => {
    const deal = asked.result.transaction(['drafts', 'outbox'], 'readwrite');
    deal.objectStore('drafts').put(draft, 'note'); deal.objectStore('outbox').put(item);
    deal.oncomplete = () => { asked.result.close(); done(null); };
  };
})"""


def test_a_new_version_never_comes_over_an_open_draft(phone):  # noqa: F811
    """A14: it waits, also before a second page without a form in hand; when nothing is half typed it takes over."""
    phone.get_by_role("button", name="Note", exact=True).click()
    phone.get_by_label("Words").fill("half")
    kept(phone)
    phone.evaluate(COUNT)
    phone.evaluate(NEWER)
    phone.get_by_text("A newer version of this page waits").wait_for()
    second = phone.context.new_page()
    second.goto(phone.url)
    second.wait_for_selector("html[data-offline=ready]")
    phone.wait_for_timeout(800)
    assert phone.evaluate(WAITS) is True
    assert phone.evaluate(TURNS) == 0
    second.close()
    phone.get_by_label("Words").fill("")
    for _ in range(40):
        if phone.evaluate(TURNS):
            break
        phone.wait_for_timeout(100)
    assert phone.evaluate(TURNS) == 1
    assert phone.evaluate(WAITS) is False


@pytest.mark.parametrize("steps", [1, 2])
def test_readings_of_the_first_version_are_shown_and_arrive(chromium, place, steps):  # noqa: F811
    """A14: its stores opened by this version, and by one with a further step: the draft stands, the item arrives."""
    context = chromium.new_context(viewport=PHONE, service_workers="block")
    page = context.new_page()
    page.goto(place.url + "/static/icon.svg")
    made = item("note", 70 + steps, body={"text": "a year old"})
    old = {"id": made["id"], "text": json.dumps(made), "sha256": "", "kind": "note", "made_at": made["made_at"], "size_bytes": 9, "photos": [], "answered": False, "words": ""}  # fmt: skip
    digest = "async (text) => [...new Uint8Array(await crypto.subtle.digest('SHA-256', new TextEncoder().encode(text)))].map((x) => x.toString(16).padStart(2, '0')).join('')"
    old["sha256"] = page.evaluate(digest, old["text"])
    draft = {"fields": {"text": ["half"], "pond": [""], "pond_typed": [""]}, "photos": [], "position": None}
    page.evaluate(FIRST, [draft, old])
    if steps == 2:
        context.route("**/keep.js", one_step_more)
    page.goto(place.url + PAGE)
    page.wait_for_selector("html[data-sent=done]")
    assert page.get_by_label("Words").input_value() == "half"
    waiting(page, "Nothing waits")
    assert [one["body"]["text"] for one in items(place)] == ["a year old"]
    names = "() => new Promise((done) => { const asked = indexedDB.open('plumeline capture'); asked.onsuccess = () => { done([asked.result.version, asked.result.objectStoreNames.contains('more')]); asked.result.close(); }; })"
    assert page.evaluate(names) == [steps, steps == 2]
    context.close()


def one_step_more(route):
    """Serve the module as a later version would be: with one more step."""
    text = route.fetch().text()
    assert text.count("\n];\n") == 1
    route.fulfill(
        body=text.replace("\n];\n", "\n  (db) => { db.createObjectStore('more'); },\n];\n"),
        content_type="text/javascript",
    )


def test_storage_cleared_with_all_of_its_witnesses_but_the_server_s(phone):  # noqa: F811
    """A9: the small storage went too; the cookie that the server set is left."""
    phone.evaluate("() => { localStorage.clear(); indexedDB.deleteDatabase('plumeline capture'); }")
    phone.reload()
    phone.get_by_role("alert").filter(has_text="storage was cleared").wait_for()


def test_a_first_visit_is_not_told_that_storage_was_cleared(phone):  # noqa: F811
    """No witness, no word."""
    assert phone.locator("#trouble").is_hidden()


@pytest.mark.parametrize("width", [390, 320])
def test_targets_stand_apart(phone, width):  # noqa: F811
    """C2: 8 px or more between any two targets of each form."""
    phone.set_viewport_size({"width": width, "height": 844})
    for kind in ("Profile", "Gauge", "Sounding", "Note", "Photo"):
        phone.get_by_role("button", name=kind, exact=True).click()
        near = phone.evaluate(
            """() => {
              const all = [...document.querySelectorAll('button, select, input, textarea, a')].filter((one) => one.offsetParent).map((one) => [one.id || one.name || one.textContent, one.getBoundingClientRect()]);
              const found = [];
              for (let a = 0; a < all.length; a += 1) for (let b = a + 1; b < all.length; b += 1) {
                const [p, q] = [all[a][1], all[b][1]];
                const gap = Math.max(q.left - p.right, p.left - q.right, q.top - p.bottom, p.top - q.bottom);
                if (gap < 7.5) found.push([all[a][0], all[b][0], gap]);
              }
              return found;
            }"""
        )
        assert near == []


def test_over_plain_http_it_keeps_and_hands_over(stranger, plain_server):  # noqa: F811
    """Under a name that is no localhost: said what is off, kept through a reload, handed over with the plain hash."""
    page = signed_in(stranger(), plain_server)
    page.goto(plain_server.url + PAGE)
    page.wait_for_selector("html[data-sent=done]")
    assert page.evaluate("isSecureContext") is False
    page.get_by_text("Over plain http this page").wait_for()
    page.get_by_role("button", name="Note", exact=True).click()
    page.get_by_label("Words").fill("half typed")
    kept(page)
    page.reload()
    page.wait_for_selector("html[data-ready=capture]")
    assert page.get_by_label("Words").input_value() == "half typed"
    note(page, "over plain http")
    waiting(page, "Nothing waits")
