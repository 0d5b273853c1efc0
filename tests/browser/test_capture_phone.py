# ruff: noqa: E501 -- scripts that run in the page stand in one line
"""The page at the water in a real browser: without a signal, killed in the middle, replies lost; nothing lost, nothing twice."""

from __future__ import annotations

import gzip
import json
import os
import random
import signal
import time
import urllib.request
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from scripts import write_units_table
from tests.browser.conftest import FLAGS, Server, chromium_path
from tests.capture_items import jpeg

from plumeline.demo import demo_folder
from plumeline.errors import PlumelineError
from plumeline.store import open_store, read_folder
from plumeline.units import parse
from plumeline.units.reading import SUFFIXES
from plumeline.web.capture_phone import KEPT, PAGE, field_sheet

MOST_BYTES = 60_000
PHONE = {"width": 390, "height": 844}
WRITE = "the dam is wet at the left end"


class Place:
    """A server with the demo pond, and how many items it held before this test."""

    def __init__(self, server, before=0):
        self.server = server
        self.url = server.url
        self.before = before


def served(folder):
    """Start a server with the demo pond in a folder."""
    store = open_store(folder / "plumeline.sqlite3")
    store.ponds.add(read_folder(demo_folder()), author="office", reason="demo")
    store.close()
    return Server(folder).start()


@pytest.fixture(scope="module")
def own_server(tmp_path_factory):
    """One server for the tests of this module that let it live."""
    found = served(tmp_path_factory.mktemp("phone"))
    yield found
    found.stop()


@pytest.fixture
def place(own_server):
    """The server, with what it held before the test told apart."""
    return Place(own_server, len(items(Place(own_server))))


@pytest.fixture
def phone(chromium, place):
    """The page on a phone, its worker ready."""
    context = chromium.new_context(viewport=PHONE)
    page = opened(context, place)
    yield page
    context.close()


def opened(context, server):
    """Open the page and wait until it is at work; a server under load has its first answer ready before."""
    urllib.request.urlopen(server.url + PAGE, timeout=120).close()
    page = context.new_page()
    page.goto(server.url + PAGE)
    page.wait_for_selector("html[data-ready=capture]")
    page.wait_for_selector("html[data-offline=ready]")
    page.wait_for_selector("html[data-sent=done]")
    return page


def kept(page):
    """Wait until what was typed last is kept."""
    page.wait_for_timeout(600)


def note(page, words=WRITE):
    """Write a note and keep it."""
    page.get_by_role("button", name="Note", exact=True).click()
    page.get_by_label("Words").fill(words)
    page.get_by_role("button", name="Keep the note").click()
    page.get_by_text("Kept on this phone.").wait_for()


def waiting(page, words):
    """Wait until the count says this."""
    page.locator("#count").filter(has_text=words).wait_for()


def items(place):
    """Return what the server holds since the test began: the contents of every item, in order."""
    store = open_store(place.server.database)
    try:
        with store.database.reading() as link:
            rows = link.exec_driver_sql("SELECT content FROM capture_item ORDER BY sequence").all()
            return [json.loads(row[0]) for row in rows][place.before :]
    finally:
        store.close()


def test_without_a_signal_it_opens_keeps_and_hands_over_later(phone, place):
    """A half-typed profile stands after a reload without the network; a kept one waits, is told of, and arrives once."""
    phone.locator("#profile-pond").select_option(label="Hollow Oak")
    phone.get_by_label("Depth in ft, depth no. 1").fill("1")
    phone.get_by_role("button", name="One depth more").click()
    phone.get_by_label("Depth in ft, depth no. 2").fill("12 ft 6 in")
    phone.get_by_label("Oxygen in mg/L, depth no. 2").fill("0,1")
    assert "12 ft 6 in = 3.81 m" in phone.locator("#rows").inner_text()
    kept(phone)
    phone.context.set_offline(True)
    phone.reload()
    phone.wait_for_selector("html[data-ready=capture]")
    assert phone.get_by_label("Depth in ft, depth no. 2").input_value() == "12 ft 6 in"
    assert phone.locator("#profile-pond").input_value() == "hollow-oak"
    phone.get_by_role("button", name="Keep the profile").click()
    waiting(phone, "1 reading not yet handed over")
    note(phone)
    waiting(phone, "2 readings not yet handed over")
    assert "everything stays on this phone" in phone.locator("#signal").inner_text()
    phone.context.set_offline(False)
    waiting(phone, "Nothing waits")
    # one that met the signal's return half-way goes after the others: they arrive in either order
    held = sorted(items(place), key=lambda item: item["kind"], reverse=True)
    assert [item["kind"] for item in held] == ["profile", "note"]
    assert [row["depth"] for row in held[0]["body"]["rows"]] == ["1", "12 ft 6 in"]
    assert held[0]["body"]["rows"][1]["oxygen"] == "0,1", "the text as typed, not a number"
    assert held[0]["pond_id"] == "hollow-oak"


def test_a_lost_reply_makes_no_second_item_and_loses_none(phone, place):
    """The server got it, the phone did not hear: it stays, is sent again, and is there once."""
    lost = []

    def lose(route):
        if len(lost) < 3:
            lost.append(route.fetch().status)
            route.abort()
        else:
            route.continue_()

    phone.route("**/api/v1/capture/items/*", lose)
    note(phone)
    waiting(phone, "1 reading not yet handed over")
    for _ in range(3):
        phone.get_by_role("button", name="Hand over now").click()
        phone.wait_for_timeout(200)
    waiting(phone, "Nothing waits")
    assert lost[0] == 201
    assert [item["body"]["text"] for item in items(place)] == [WRITE]


def test_nothing_goes_from_the_phone_before_its_receipt(phone, place):
    """Taken by the server but without a receipt, it waits; a receipt of other bytes is none."""
    phone.route("**/api/v1/capture/receipts", lambda route: route.abort())
    with phone.expect_response("**/api/v1/capture/items/*") as answered:
        note(phone)
    assert answered.value.status == 201
    phone.wait_for_timeout(500)
    waiting(phone, "1 reading not yet handed over")
    assert len(items(place)) == 1
    phone.unroute("**/api/v1/capture/receipts")

    def other(route):
        answer = route.fetch().json()
        for row in answer["receipts"]:
            row["sha256"] = "0" * 64
        route.fulfill(json=answer)

    phone.route("**/api/v1/capture/receipts", other)
    phone.get_by_role("button", name="Hand over now").click()
    phone.wait_for_timeout(500)
    waiting(phone, "1 reading not yet handed over")
    phone.unroute("**/api/v1/capture/receipts")
    phone.get_by_role("button", name="Hand over now").click()
    waiting(phone, "Nothing waits")
    assert len(items(place)) == 1


def test_the_server_killed_in_the_middle_of_a_photo(chromium, tmp_path):
    """Its parts go on where they were; photo and record arrive together, and only then leave the phone."""
    server = served(tmp_path)
    place = Place(server)
    context = chromium.new_context(viewport=PHONE)
    phone = opened(context, place)
    picture = jpeg(size=(1500, 1500), noise=True)
    assert len(picture) > 2 * 524288
    seen = []

    def kill(route):
        seen.append(route.request.url)
        if len(seen) == 2:
            server.kill()
        route.continue_()

    phone.get_by_role("button", name="Photo", exact=True).click()
    phone.locator("#photo-file").set_input_files(
        {"name": "dam.jpg", "mimeType": "image/jpeg", "buffer": picture}
    )
    phone.get_by_text("dam.jpg").wait_for()
    phone.route("**/parts/*", kill)
    phone.get_by_role("button", name="Keep the photo").click()
    phone.get_by_text("not in reach").wait_for()
    waiting(phone, "1 reading not yet handed over")
    phone.unroute("**/parts/*")
    server.start()
    phone.get_by_role("button", name="Hand over now").click()
    waiting(phone, "Nothing waits")
    (held,) = items(place)
    with urllib.request.urlopen(f"{place.url}/api/v1/capture/photos/{held['photos'][0]['sha256']}") as answer:
        assert json.load(answer)["held"] is True
    assert phone.evaluate("import('/static/capture/keep.js').then((keep) => keep.all('photos'))") == []
    context.close()
    server.stop()


def test_one_that_can_t_be_read_blocks_no_other(phone, place):
    """The server refuses one with its reason; the others arrive, it stays and is shown with what was said."""

    def refuse(route):
        if "poison" in (route.request.post_data or ""):
            route.fulfill(
                status=422, json={"detail": "It can't be read."}, content_type="application/problem+json"
            )
        else:
            route.continue_()

    phone.route("**/api/v1/capture/items/*", refuse)
    phone.context.set_offline(True)
    for words in ("one", "poison", "two"):
        note(phone, words)
    phone.context.set_offline(False)
    waiting(phone, "1 reading not yet handed over")
    assert "It can't be read." in phone.locator("#list").inner_text()
    assert sorted(item["body"]["text"] for item in items(place)) == ["one", "two"]


def test_the_file_of_all_that_waits_is_imported_once(phone, place):
    """One tap writes it; the office brings it in; handing over afterwards adds nothing."""
    phone.context.set_offline(True)
    note(phone)
    with phone.expect_download() as got:
        phone.get_by_role("button", name="Write all to a file").click()
    path = got.value.path()
    waiting(phone, "1 reading not yet handed over")
    office = phone.context.browser.new_context().new_page()
    office.goto(place.url + "/captures")
    office.locator("input[type=file]").set_input_files(path)
    office.get_by_role("button", name="Bring in").click()
    office.get_by_text(WRITE).first.wait_for()
    office.context.close()
    phone.context.set_offline(False)
    waiting(phone, "Nothing waits")
    assert len(items(place)) == 1


def test_a_phone_without_a_right_keeps_all_and_says_so(phone, place):
    """401: everything stays, and the way to the sign-in is shown."""
    phone.route(
        "**/api/v1/capture/**", lambda route: route.fulfill(status=401, json={"detail": "sign in first"})
    )
    note(phone)
    phone.get_by_text("Sign in to hand over").wait_for()
    waiting(phone, "1 reading not yet handed over")
    assert phone.get_by_role("link", name="Sign in").is_visible()


def test_a_full_disk_is_said_and_loses_nothing_on_the_screen(phone):
    """The write fails for want of room: plain words, and the text stays."""
    phone.get_by_role("button", name="Note", exact=True).click()
    phone.evaluate(
        "() => { IDBObjectStore.prototype.put = () => { throw new DOMException('no room', 'QuotaExceededError'); }; }"
    )
    phone.get_by_label("Words").fill(WRITE)
    phone.get_by_role("alert").filter(has_text="storage is full").wait_for()
    phone.get_by_role("button", name="Keep the note").click()
    phone.wait_for_timeout(300)
    assert phone.get_by_label("Words").input_value() == WRITE


def test_a_cleared_storage_is_noticed(phone):
    """A9: never an empty list without a word."""
    phone.evaluate("indexedDB.deleteDatabase('plumeline capture')")
    phone.reload()
    phone.get_by_role("alert").filter(has_text="storage was cleared").wait_for()


def test_old_readings_ask_for_signal_and_then_turn_red(phone):
    """A8: over a day, over five days."""
    phone.context.set_offline(True)
    note(phone)
    for hours, look in ((30, "amber"), (130, "red")):
        phone.evaluate(
            """async (hours) => {
              const keep = await import('/static/capture/keep.js');
              const [one] = await keep.all('outbox');
              await keep.put('outbox', { ...one, made_at: new Date(Date.now() - hours * 3600000).toISOString() });
            }""",
            hours,
        )
        phone.reload()
        phone.wait_for_selector("html[data-ready=capture]")
        assert look in phone.locator("#waiting").get_attribute("class")


def test_every_write_waits_for_the_medium(phone):
    """A10: as many transactions with strict durability as writing ones."""
    note(phone)
    waiting(phone, "Nothing waits")
    counted = phone.evaluate("import('/static/capture/keep.js').then((keep) => keep.counted)")
    assert counted["writes"] == counted["strict"] > 5


def test_the_place_is_asked_for_only_between_start_and_have_it(chromium, place):
    """A13: an idle page asks never; the accuracy is shown before anything is kept."""
    spot = {"latitude": 35.86521, "longitude": -79.56312, "accuracy": 4}
    context = chromium.new_context(viewport=PHONE, geolocation=spot, permissions=["geolocation"])
    page = opened(context, place)
    asked = "import('/static/capture/place.js').then((place) => place.counted.asked)"
    assert page.evaluate(asked) == 0
    page.get_by_role("button", name="Sounding").click()
    page.locator('form[data-kind="sounding"] .find').click()
    page.get_by_text("35.86521, -79.56312, good to 4 m").wait_for()
    page.get_by_label("Depth of the water").fill("11 ft 3 in")
    page.get_by_role("button", name="Keep the sounding").click()
    page.get_by_text("Kept on this phone.").wait_for()
    waiting(page, "Nothing waits")
    assert page.evaluate(asked) == 1
    (held,) = items(place)
    assert held["body"]["position"]["accuracy_m"] == 4
    assert held["body"]["depth"] == "11 ft 3 in"
    context.close()


@pytest.mark.parametrize("round_number", range(3))
def test_a_browser_killed_while_typing_loses_at_most_a_second(
    playwright_driver, place, tmp_path, round_number
):
    """A1: SIGKILL at a random moment; what was typed more than a second before is there."""
    chance = random.Random(round_number)
    profile = tmp_path / "profile"

    def launch():
        return playwright_driver.chromium.launch_persistent_context(
            profile,
            executable_path=chromium_path(),
            args=list(FLAGS),
            viewport=PHONE,
        )

    context = launch()
    page = opened(context, place)
    page.get_by_role("button", name="Note", exact=True).click()
    field = page.get_by_label("Words")
    field.fill("first words")
    page.wait_for_timeout(1100)
    field.press("End")
    field.type(" and more", delay=chance.uniform(5, 60))
    for pid in browsers(profile):
        os.kill(pid, signal.SIGKILL)
    time.sleep(0.5)
    again = launch()
    page = opened(again, place)
    assert page.get_by_label("Words").input_value().startswith("first words")
    again.close()


def browsers(profile):
    """Return the processes of the browser over a folder, the first one first."""
    found = []
    for name in os.listdir("/proc"):
        if name.isdigit():
            try:
                words = Path(f"/proc/{name}/cmdline").read_bytes()
            except OSError:
                continue
            if str(profile).encode() in words and b"--type=" not in words:
                found.append(int(name))
    assert found
    return found


def test_the_cautions_of_foul_water_are_at_hand(phone):
    """Who smells rotten eggs reads what to do on the form, without a signal and without looking for it."""
    assert "stay upwind" in phone.locator('form[data-kind="profile"] .caution').first.inner_text().lower()
    card = phone.get_by_role("region", name="Safety").inner_text()
    for words in ("two people, never alone", "Life jacket on", "It may be toxic"):
        assert words in card


@pytest.mark.parametrize("width", [390, 320])
def test_axe_targets_and_type(phone, width):
    """C2, C3: axe clean on each form; targets of 48 px, the main one of 64; type of 18 and 22 px; no sideways scroll."""
    phone.set_viewport_size({"width": width, "height": 844})
    for kind in ("Profile", "Gauge", "Sounding", "Note", "Photo"):
        phone.get_by_role("button", name=kind, exact=True).click()
        found = Axe().run(phone).response["violations"]
        assert not [(item["id"], [node["html"][:120] for node in item["nodes"][:3]]) for item in found]
        assert phone.evaluate("document.documentElement.scrollWidth") <= width
        small = phone.evaluate(
            """() => [...document.querySelectorAll('button, select, input, textarea, a')]
              .filter((one) => one.offsetParent && one.type !== 'checkbox')
              .map((one) => [one.id || one.name || one.textContent, one.getBoundingClientRect().height, one.getBoundingClientRect().width,
                one.classList.contains('main') ? 64 : 48, parseFloat(getComputedStyle(one).fontSize), one.matches('input, textarea, select') ? 22 : 18])
              .filter(([, high, wide, least, size, type]) => high < least - 0.5 || wide < 47.5 || size < type)"""
        )
        assert small == []


def contrast(one, other):
    """Return the contrast of two colours (WCAG 2.2, relative luminance)."""

    def light(colour):
        parts = [float(part) / 255 for part in colour[4:-1].split(",")]
        lin = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return 0.2126 * lin[0] + 0.7152 * lin[1] + 0.0722 * lin[2]

    high, low = sorted((light(one), light(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_type_stands_out_in_the_sun(phone):
    """C3: every text 7:1 or more against what is behind it, as rendered; the page is light whatever the phone is set to."""
    phone.emulate_media(color_scheme="dark")
    pairs = phone.evaluate(
        """() => {
          const behind = (one) => { for (let up = one; up; up = up.parentElement) { const found = getComputedStyle(up).backgroundColor; if (found !== 'rgba(0, 0, 0, 0)') return found; } return 'rgb(255, 255, 255)'; };
          return [...document.querySelectorAll('main *')].filter((one) => one.offsetParent && [...one.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim()))
            .map((one) => [one.textContent.trim().slice(0, 30), getComputedStyle(one).color, behind(one)]);
        }"""
    )
    assert len(pairs) > 20
    assert [words for words, text, ground in pairs if contrast(text, ground) < 7.0] == []


def test_the_page_is_small(place):
    """F3: document, styles, scripts, worker and manifest together, compressed."""
    paths = [PAGE, "/capture/worker.js", *KEPT]
    size = sum(len(gzip.compress(urllib.request.urlopen(place.url + path).read(), 9)) for path in paths)
    assert 5_000 < size <= MOST_BYTES


def test_the_units_are_the_house_s_own():
    """The phone's table is the one that units/ gives now."""
    assert write_units_table.FILE.read_text(encoding="utf-8") == write_units_table.text()


STRINGS = (
    "12 ft 6 in", "1 1/2 in", "2,5 m", "12'", "20 degF", "68 °F", "5' 6\"", "3/4 in", "½ ft", "-3 ft", "1,200 ft", "1.234,5 m", "12 ft 14 in",
    "1.5 ft 6 in", "6 in 12 ft", "8 psig", "8 psia", "8 psi", "55 kPa", "0.4 bar", "12", "", "abc", "1e3 m", "12 m m", "5 cfm", "7.5 mg/L",
    "7.5 ppm", "12-6", "12 ft 6", "9 1/0 in", "4 5/4 in", "-300 degC", "3 yd", "2 yd 1 ft", "1 2 ft", "12ft6in", "12′ 6″", ".5 m", "5. m",
    "27\u202f739 ft", "27 739 ft", "1\u00a0234\u00a0567.5 m", "27\u202f7390 m", "1\u202f250/300 in", "12\u202f500,5 m",
)  # fmt: skip
KINDS = {
    "length": ("ft", "m"),
    "temperature": ("degF", "degc"),
    "pressure": ("psig", "pa"),
    "concentration": ("mg/L", "mg_l"),
}


def generated(count):
    """Return typed values of every sort: numbers of several writings, with units right, wrong and none."""
    chance = random.Random(7)
    numbers = (
        "{}",
        "-{}",
        "{}.5",
        "{},5",
        "0{}",
        "{} 1/2",
        "{}-3/8",
        "{}/8",
        "+{}",
        "{},000",
        "{}e1",
        "{}..2",
        "½",
    )
    units = (
        "",
        "ft",
        " ft",
        "'",
        '"',
        " in",
        " m",
        "cm",
        " degF",
        "°C",
        " C",
        " psi",
        " kPa",
        " psig",
        " bar",
        " mg/L",
        " ppm",
        " ft 6 in",
        " gpm",
        " acre-ft",
        " feet",
        " FT",
        " In.",
    )
    return [chance.choice(numbers).format(chance.randint(0, 40)) + chance.choice(units) for _ in range(count)]


def test_the_phone_understands_what_the_server_does(phone):
    """C5: every string that has been misread elsewhere and thousands of generated ones: the same value, or both refuse."""
    asked = [(text, kind) for kind in KINDS for text in (*STRINGS, *generated(1000))]
    told = phone.evaluate(
        """async (asked) => {
          const { parse } = await import('/static/capture/units.js');
          return asked.map(([text, kind, unit]) => { try { return parse(text, kind, unit); } catch { return null; } });
        }""",
        [[text, kind, KINDS[kind][0]] for text, kind in asked],
    )
    read = 0
    for (text, kind), found in zip(asked, told, strict=True):
        spelling, suffix = KINDS[kind]
        try:
            bare = parse(text, SUFFIXES[suffix].suffix)
            plain = not any(mark.isalpha() or mark in "'\"°′″" for mark in text.replace("e1", ""))
            wanted = parse(f"{text} {spelling}", suffix) if plain else bare
        except PlumelineError:
            wanted = None
        if wanted is None:
            assert found is None, (text, kind, found)
        else:
            read += 1
            assert found == pytest.approx(wanted, rel=1e-9, abs=1e-9), (text, kind)
    assert read > 500


def test_the_field_sheet_keeps_and_gives_a_file(chromium, tmp_path, place):
    """One file without a server: kept through a reload, written to a file, imported by the office."""
    path = tmp_path / "sheet.html"
    path.write_text(field_sheet(), encoding="utf-8")
    context = chromium.new_context(viewport=PHONE)
    page = context.new_page()
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(path.as_uri())
    page.wait_for_selector("html[data-ready=capture]")
    page.get_by_role("button", name="Note", exact=True).click()
    page.get_by_label("Words").fill(WRITE)
    kept(page)
    page.reload()
    page.wait_for_selector("html[data-ready=capture]")
    assert page.get_by_label("Words").input_value() == WRITE
    page.get_by_role("button", name="Keep the note").click()
    waiting(page, "1 reading not yet handed over")
    with page.expect_download() as got:
        page.get_by_role("button", name="Write all to a file").click()
    assert {url.split(":")[0] for url in asked} <= {"file", "blob"}
    page.goto(place.url + "/captures")
    page.locator("input[type=file]").set_input_files(got.value.path())
    page.get_by_role("button", name="Bring in").click()
    page.get_by_text(WRITE).first.wait_for()
    context.close()


def test_the_plain_hash_is_the_standard_s(phone):
    """FIPS 180-4's example "abc", and the browser's own over every length to 200 bytes."""
    abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    told = phone.evaluate(
        """async () => {
          const { plainSha256, sha256 } = await import('/static/capture/sha256.js');
          const same = [];
          for (let n = 0; n <= 200; n += 1) { const data = Uint8Array.from({ length: n }, (_, i) => (i * 7 + n) & 255); same.push(plainSha256(data) === await sha256(data)); }
          return [plainSha256(new TextEncoder().encode('abc')), same.every(Boolean)];
        }"""
    )
    assert told == [abc, True]


@pytest.mark.parametrize(
    ("name", "typed", "words"),
    [
        ("oxygen", "-3", "between 0 and 40"),
        ("temperature", "200", "28 and 113"),
        ("depth", "-2", "between 0 and 200"),
    ],
)
def test_what_no_water_shows_is_said_at_once_and_kept_as_typed(phone, name, typed, words):
    """The words stand at the field; what was typed stays in it; a value that can be is not doubted."""
    field = phone.locator(f'#rows input[name="{name}"]').first
    told = phone.locator(f'#rows div:has(> input[name="{name}"], > span > input[name="{name}"]) .echo').first
    field.fill(typed)
    assert words in told.inner_text()
    assert field.input_value() == typed
    field.fill("70" if name == "temperature" else "5")
    assert "between" not in told.inner_text()


def test_what_can_not_be_is_kept_only_where_it_is_kept_twice(phone):
    """The first tap on Keep says the reason and keeps nothing, nor does a bounce of it; the second keeps it as typed."""
    phone.context.set_offline(True)
    phone.click('#kinds button[data-show="gauge"]')
    phone.fill("#gauge-pressure", "900")
    phone.fill("#gauge-flow", "60000")
    assert "between 0 and 500 scfm" in phone.locator("div:has(> span > #gauge-flow) > .echo").inner_text()
    keep = phone.locator('form[data-kind="gauge"] button.main')
    keep.dblclick()
    said = phone.inner_text("#said")
    assert (
        "Not kept yet. Pressure, psig: A gauge shows between 0 and 700 kPa (101 psi). Is '900' right?" in said
    )
    assert "Air, if it was read, scfm: Air in one line lies between 0 and 500 scfm." in said
    assert phone.input_value("#gauge-pressure") == "900"
    assert phone.evaluate("document.activeElement.id") == "gauge-pressure"
    phone.fill("#gauge-flow", "6")
    phone.wait_for_timeout(1100)
    keep.click()
    assert "Not kept yet. Pressure" in phone.inner_text("#said"), "what is odd changed: it is asked anew"
    phone.wait_for_timeout(1100)
    keep.click()
    phone.wait_for_function(
        "() => document.querySelector('#said').textContent.startsWith('Kept on this phone')"
    )
    assert phone.input_value("#gauge-pressure") == ""


def test_what_waits_says_of_which_pond_it_is(phone):
    """The name as typed stands in the list of what waits."""
    phone.context.set_offline(True)
    phone.click('#kinds button[data-show="note"]')
    phone.fill("#note-pond-typed", "the far pond")
    phone.fill("#note-text", "low by a foot")
    phone.click('form[data-kind="note"] button.main')
    phone.wait_for_function("() => document.querySelector('#list').textContent.includes('the far pond')")
    assert "note of the far pond, " in phone.inner_text("#list")
