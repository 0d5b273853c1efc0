# ruff: noqa: E501 -- scripts that run in the page stand in one line
"""What the page at the water promises of room, age, place, sun and sign-out, measured on the rendered page."""

from __future__ import annotations

import io
import json
import re
import urllib.request
from pathlib import Path

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from tests.browser.test_capture_phone import (  # noqa: F401 -- fixtures
    PAGE,
    PHONE,
    contrast,
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
from tests.browser.test_lan import public_file, secure_server, signed_in  # noqa: F401 -- fixtures

STORAGE = """() => {
  window.asked = 0; window.room = { usage: 1e6, quota: 1e8 };
  navigator.storage.persisted = async () => false;
  navigator.storage.persist = async () => { window.asked += 1; return window.stays; };
  navigator.storage.estimate = async () => window.room;
}"""
QUICK_MINUTE = """() => {
  const later = window.setTimeout; window.limits = []; window.cleared = 0;
  window.setTimeout = (work, ms, ...rest) => { window.limits.push(ms); return later(work, ms === 60000 ? 400 : ms, ...rest); };
  navigator.geolocation.watchPosition = (found) => { later(() => found({ coords: { latitude: 35.9, longitude: -79.7, accuracy: 40 }, timestamp: Date.now() }), 50); return 7; };
  navigator.geolocation.clearWatch = (watch) => { window.cleared += watch === 7; };
}"""
LOCKS = """() => {
  window.locks = 0;
  Object.defineProperty(navigator, 'wakeLock', { value: { request: async () => {
    window.locks += 1; const one = { released: false, release: async () => { one.released = true; window.locks -= 1; } }; return one; } } });
}"""
WAKES = """() => {
  window.wakes = 0;
  for (const name of ['setTimeout', 'setInterval', 'requestAnimationFrame']) {
    const real = window[name]; window[name] = (work, ...rest) => real((...all) => { window.wakes += 1; return work(...all); }, ...rest);
  }
}"""
OLDER = """async (hours) => {
  const keep = await import('/static/capture/keep.js');
  const [one] = await keep.all('outbox');
  await keep.put('outbox', { ...one, made_at: new Date(Date.now() - hours * 3600000).toISOString() });
}"""
TEXTS = """() => {
  const behind = (one) => { for (let up = one; up; up = up.parentElement) { const found = getComputedStyle(up).backgroundColor; if (found !== 'rgba(0, 0, 0, 0)') return found; } return 'rgb(255, 255, 255)'; };
  const box = (one) => { const at = one.getBoundingClientRect(); return [at.left, at.top + scrollY, at.right, at.bottom + scrollY]; };
  return [...document.querySelectorAll('main *')].filter((one) => one.offsetParent && [...one.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim()))
    .map((one) => ({ words: one.textContent.trim().slice(0, 30), ink: getComputedStyle(one).color, ground: behind(one), box: box(one) }));
}"""
EDGES = """() => [...document.querySelectorAll('main button, main input, main select, main textarea, .state, .caution')]
  .filter((one) => one.offsetParent && one.type !== 'checkbox')
  .map((one) => { const look = getComputedStyle(one); return [one.id || one.name || one.className || one.textContent, parseFloat(look.borderTopWidth), look.borderTopColor]; })"""
LOSES_ONE = """() => {
  const real = window.fetch; window.answers = []; window.cut = 0;
  window.fetch = async (address, ...more) => {
    const reply = await real(address, ...more);
    if (String(address).includes('/items/') && window.answers.push(reply.status) === 1) throw new TypeError('lost on its way');
    if (String(address).includes('/receipts') && (window.cut += 1) === 1) throw new TypeError('lost on its way');
    return reply;
  };
}"""
PAPER = "rgb(244, 241, 232)"
HAZE = 0.6
"""The part of white that lies over the picture (the specification's 60 %)."""
HAZED = 2.0
"""What is left of 7:1 under it is 2.2 (worked out from the definition); common practice has no published floor."""


def mocked(chromium, server, *scripts):
    """The page on a phone whose browser answers by these scripts."""
    urllib.request.urlopen(
        server.url + PAGE, timeout=120
    ).close()  # a machine under load has its first answer ready
    context = chromium.new_context(viewport=PHONE)
    for script in scripts:
        context.add_init_script(f"({script})()")
    return context, opened(context, server)


@pytest.mark.parametrize(("stays", "words"), [(True, "keeps readings until"), (False, "may clear readings")])
def test_room_is_asked_for_at_the_first_reading_and_said_before_it_is_full(chromium, place, stays, words):  # noqa: F811
    """A7: persistence is asked for when a reading is kept and not before; over 80 % of what the browser allows, it is said."""
    context, page = mocked(chromium, place, STORAGE, f"() => {{ window.stays = {str(stays).lower()}; }}")
    assert page.evaluate("asked") == 0
    assert page.inner_text("#stay") == ""
    note(page)
    waiting(page, "Nothing waits")
    assert page.evaluate("asked") == 1
    assert words in page.inner_text("#stay")
    for usage, amber in ((7.9e7, False), (8.1e7, True)):
        page.evaluate("(usage) => { window.room.usage = usage; }", usage)
        note(page)
        page.locator("#room").filter(has_text=f"{usage / 1e6:.1f} MB of 100 MB").wait_for()
        assert ("Nearly full" in page.inner_text("#room")) == amber
        assert (page.get_attribute("#room", "class") == "amber") == amber
    context.close()


def test_each_that_waits_stands_with_its_age_and_size(phone):  # noqa: F811
    """A6: a line each, the age of that one and the bytes of its text, beside the key that writes them to a file."""
    phone.context.set_offline(True)
    note(phone, "one")
    phone.evaluate(OLDER, 3)
    note(phone, "two " * 300)
    phone.locator("#list li").nth(1).wait_for()
    lines = phone.locator("#list li").all_inner_texts()
    assert len(lines) == 2
    kept = phone.evaluate("import('/static/capture/keep.js').then((keep) => keep.all('outbox'))")
    sizes = {f"{len(one['text'].encode()) / 1000:.1f} kB" for one in kept}
    assert len(sizes) == 2
    for line, age in zip(lines, ("3 h", r"\d min"), strict=True):
        found = re.search(rf"^note.*, {age} old, (\d+\.\d kB)", line)
        assert found, line
        sizes.discard(found[1])
    assert not sizes
    assert phone.get_by_role("button", name="Write all to a file").is_visible()


def test_a_place_is_sought_for_a_minute_and_no_longer(chromium, place):  # noqa: F811
    """A13: a fix that never gets good ends after 60 s with the best so far and its accuracy in words."""
    context, page = mocked(chromium, place, QUICK_MINUTE)
    page.get_by_role("button", name="Sounding", exact=True).click()
    page.locator('form[data-kind="sounding"] .find').click()
    page.get_by_text("good to 40 m").wait_for()
    page.wait_for_function("() => window.cleared === 1")
    assert 60_000 in page.evaluate("limits")
    context.close()


def test_the_screen_is_held_awake_in_a_sounding_run_alone(chromium, place):  # noqa: F811
    """A13: the lock is taken with the form of soundings and given back with every other."""
    context, page = mocked(chromium, place, LOCKS)
    for kind, locks in (("Profile", 0), ("Sounding", 1), ("Gauge", 0), ("Sounding", 1), ("Note", 0)):
        page.get_by_role("button", name=kind, exact=True).click()
        page.wait_for_function("(wanted) => window.locks === wanted", arg=locks)
    context.close()


def test_an_idle_page_sleeps(chromium, place):  # noqa: F811
    """A13: at most one wake-up a second of our own timers while nothing is done."""
    context, page = mocked(chromium, place, WAKES)
    page.wait_for_timeout(800)
    before = page.evaluate("wakes")
    page.wait_for_timeout(3000)
    assert page.evaluate("wakes") - before <= 3
    page.get_by_role("button", name="Note", exact=True).click()
    page.locator("#note-text").fill("the counter counts")
    page.wait_for_function("(before) => window.wakes > before", arg=before)
    context.close()


@pytest.mark.parametrize("kind", ["Profile", "Gauge"])
def test_text_is_left_under_haze_and_lines_are_thick(phone, kind):  # noqa: F811
    """C3: with 60 % white over the picture each text is still set off; edges are 2 px and 3:1 or more."""
    phone.get_by_role("button", name=kind, exact=True).click()
    rows = phone.evaluate(TEXTS)
    assert len(rows) > 20
    shot = np.asarray(Image.open(io.BytesIO(phone.screenshot(full_page=True))).convert("RGB"), dtype=float)
    hazed = shot * (1.0 - HAZE) + 255.0 * HAZE
    for row in rows:
        left, top, right, bottom = (max(round(edge), 0) for edge in row["box"])
        seen = hazed[top:bottom, left:right].reshape(-1, 3)
        dark, light = (seen[pick(seen.sum(axis=1))] for pick in (np.argmin, np.argmax))
        left_of_it = contrast(*(f"rgb({r}, {g}, {b})" for r, g, b in (dark, light)))
        assert left_of_it >= HAZED, (row["words"], dark, light)
    for name, wide_px, line in phone.evaluate(EDGES):
        assert wide_px >= 2, name
        assert contrast(line, PAPER) >= 3, (name, line)


def test_who_signs_out_is_told_what_waits_on_the_phone(phone, place):  # noqa: F811
    """ASVS 5.0, 14.3.1, our deviation: unsent readings stay, and the page says how many before; the form tells the server."""
    phone.route("**/api/v1/capture/**", lambda route: route.abort())
    note(phone)
    waiting(phone, "1 reading not yet handed over")
    other = phone.context.new_page()
    other.goto(place.url + "/signout")
    other.get_by_text("1 reading on this phone is not handed over yet.").wait_for()
    assert other.input_value("#unsent_count") == "1"
    assert (
        other.get_by_role("link", name="First finish them and hand them over").get_attribute("href") == PAGE
    )
    phone.unroute("**/api/v1/capture/**")
    phone.get_by_role("button", name="Hand over now").click()
    waiting(phone, "Nothing waits")
    other.reload()
    other.wait_for_function("() => document.querySelector('#unsent_count').value === '0'")
    assert other.locator("#unsent").is_hidden()


def test_readings_are_discarded_at_sign_out_by_the_typed_word_alone(phone, place):  # noqa: F811
    """ASVS 5.0, 14.3.1: each with its age and size, a file of all; another word discards nothing, what came meanwhile stays."""
    phone.route("**/api/v1/capture/**", lambda route: route.abort())
    note(phone, "first")
    note(phone, "second")
    waiting(phone, "2 readings not yet handed over")
    other = phone.context.new_page()
    other.goto(place.url + "/signout")
    other.wait_for_selector("html[data-ready=signout]")
    lines = other.locator("#unsent-list li").all_inner_texts()
    assert [bool(re.search(r"^note.*, \d+ min old, \d+\.\d kB$", line)) for line in lines] == [True, True], (
        lines
    )
    assert not Axe().run(other).response["violations"]
    with other.expect_download() as written:
        other.get_by_role("button", name="Write them to a file").click()
    written_items = json.loads(Path(written.value.path()).read_text())["items"]
    assert ["first" in written_items[0], "second" in written_items[1], len(written_items)] == [True, True, 2]
    for wrong in ("", "yes", "discar"):
        other.get_by_label("type the word discard").fill(wrong)
        other.get_by_role("button", name="Discard what is listed").click()
        other.get_by_text("Nothing is discarded").wait_for()
        assert other.locator("#unsent-list li").count() == 2
    note(phone, "third, meanwhile")
    waiting(phone, "3 readings not yet handed over")
    other.get_by_label("type the word discard").fill(" Discard ")
    other.get_by_role("button", name="Discard what is listed").click()
    other.get_by_text("Discarded: 2 readings.").wait_for()
    assert other.input_value("#unsent_count") == "1"
    kept = phone.evaluate("import('/static/capture/keep.js').then((keep) => keep.all('outbox'))")
    assert ["third, meanwhile" in one["text"] for one in kept] == [True]


def test_what_is_begun_and_no_reading_yet_is_listed_at_sign_out_and_discarded_with_it(phone, place):  # noqa: F811
    """Three values of a profile: said with their number, kept over the sign-out, gone by the typed word alone."""
    phone.locator("#profile-pond").select_option(label="Hollow Oak")
    for name, value in (("Depth in ft", "3"), ("Temperature in °F", "71"), ("Oxygen in mg/L", "0.4")):
        phone.get_by_label(f"{name}, depth no. 1").fill(value)
    kept(phone)
    other = phone.context.new_page()
    other.goto(place.url + "/signout")
    other.wait_for_selector("html[data-ready=signout]")
    assert other.locator("#unsent-list li").all_inner_texts() == [
        "profile begun: 3 values; no reading yet, so not in the file"
    ]
    assert other.input_value("#unsent_count") == "1"
    assert not Axe().run(other).response["violations"]
    other.get_by_label("type the word discard").fill("discard")
    other.get_by_role("button", name="Discard what is listed").click()
    other.get_by_text("Discarded: 0 readings and 1 begun.").wait_for()
    assert other.evaluate("import('/static/capture/keep.js').then((keep) => keep.all('drafts'))") == []
    assert other.input_value("#unsent_count") == "0"


def test_under_another_name_over_https_it_opens_without_a_signal_and_hands_over_once(stranger, secure_server):  # noqa: F811
    """Under a host name that is no localhost, the authority trusted: cut off, reloaded, kept, handed over; a lost reply sent again."""
    page = signed_in(stranger(public_file(secure_server)), secure_server)
    page.goto(secure_server.url + PAGE)
    for state in ("ready=capture", "offline=ready", "sent=done"):
        page.wait_for_selector(f"html[data-{state}]")
    assert page.evaluate("[isSecureContext, location.protocol, location.hostname]") == [
        True, "https:", "pond-office.test",
    ]  # fmt: skip
    page.context.set_offline(True)
    page.reload()
    page.wait_for_selector("html[data-ready=capture]")
    note(page, "under another name")
    waiting(page, "1 reading not yet handed over")
    page.evaluate(LOSES_ONE)
    page.context.set_offline(False)
    for _ in range(40):
        page.get_by_role("button", name="Hand over now").click()
        page.wait_for_timeout(250)
        if page.evaluate("() => window.answers.length > 1") and "Nothing waits" in page.inner_text("#count"):
            break
    assert page.evaluate("() => window.answers") == [201, 200], "taken, not heard, known again"
    waiting(page, "Nothing waits")
    found = page.evaluate("() => fetch('/captures').then((answer) => answer.text())")
    assert found.count("under another name") == 1
