# ruff: noqa: E501 -- scripts that run in the page stand in one line
"""What goes wrong at the water: taps that come twice, storage that is shut, requests that stall, a place that comes late."""

from __future__ import annotations

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
from tests.capture_items import jpeg

ALL = "(store) => import('/static/capture/keep.js').then((keep) => keep.all(store))"
QUICK = "() => { const real = AbortSignal.timeout; AbortSignal.timeout = (ms) => { window.limits = [...(window.limits || []), ms]; return real.call(AbortSignal, ms / 100); }; }"
LOST = "() => { const put = IDBObjectStore.prototype.put; window.cut = 0; IDBObjectStore.prototype.put = function (...all) { const asked = put.apply(this, all); if (Math.random() < 0.3 && !window.spare) { window.spare = true; window.cut += 1; this.transaction.abort(); } else window.spare = false; return asked; }; }"


def show(page, kind):
    page.get_by_role("button", name=kind, exact=True).click()


def with_picture(page, name="dam.jpg", size=(300, 300)):
    """Take a photo into the photo's form; the same size is the same picture."""
    picture = {"name": name, "mimeType": "image/jpeg", "buffer": jpeg(size=size, noise=True)}
    page.locator("#photo-file").set_input_files(picture)
    page.get_by_text(name).wait_for()


def test_a_double_tap_makes_one_reading(phone, place):  # noqa: F811
    """The second tap finds the form held; what is typed while the first is being kept stays."""
    show(phone, "Note")
    phone.get_by_label("Words").fill("once")
    phone.evaluate(
        """() => {
          const key = document.querySelector('form[data-kind=note] .main'), field = document.getElementById('note-text');
          key.click(); key.click(); field.value = 'typed meanwhile'; field.dispatchEvent(new Event('input', { bubbles: true }));
        }"""
    )
    phone.get_by_text("Kept on this phone.").wait_for()
    waiting(phone, "Nothing waits")
    assert [one["body"]["text"] for one in items(place)] == ["once"]
    assert phone.get_by_label("Words").input_value() == "typed meanwhile"
    kept(phone)
    (draft,) = phone.evaluate(ALL, "drafts")
    assert draft["fields"]["text"] == ["typed meanwhile"]


def test_storage_that_is_shut_is_said_and_loses_nothing_on_the_screen(chromium, place):  # noqa: F811
    """No IndexedDB: no submit of the browser's own, plain words, and the draft is in the small storage."""
    context = chromium.new_context(viewport=PHONE)
    page = context.new_page()
    page.add_init_script(
        "IDBFactory.prototype.open = () => { throw new DOMException('no', 'SecurityError'); }"
    )
    page.goto(place.url + PAGE)
    page.get_by_role("alert").filter(has_text="Nothing can be kept on this phone").wait_for()
    page.get_by_label("Secchi depth").fill("4 ft")
    page.get_by_role("button", name="Keep the profile").click()
    page.wait_for_timeout(900)
    assert page.url == place.url + PAGE
    assert page.get_by_label("Secchi depth").input_value() == "4 ft"
    page.reload()
    page.get_by_role("alert").filter(has_text="Nothing can be kept on this phone").wait_for()
    assert page.get_by_label("Secchi depth").input_value() == "4 ft"
    context.close()


def test_a_tap_before_the_scripts_are_there_sends_nothing(chromium, place):  # noqa: F811
    """The form has no way out of its own."""
    context = chromium.new_context(viewport=PHONE)
    page = context.new_page()
    page.route("**/capture.js", lambda route: route.abort())
    page.goto(place.url + PAGE)
    page.get_by_label("Secchi depth").fill("4 ft")
    page.get_by_role("button", name="Keep the profile").click()
    page.wait_for_timeout(300)
    assert page.url == place.url + PAGE
    assert page.get_by_label("Secchi depth").input_value() == "4 ft"
    context.close()


def test_a_photo_that_does_not_get_through_blocks_nothing(phone, place):  # noqa: F811
    """A4: every text and every receipt comes; the photo stays and is told of."""
    phone.route("**/parts/*", lambda route: route.abort())
    phone.context.set_offline(True)
    show(phone, "Photo")
    with_picture(phone)
    phone.get_by_role("button", name="Keep the photo").click()
    phone.get_by_text("Kept on this phone.").wait_for()
    for words in ("one", "two"):
        note(phone, words)
        phone.wait_for_timeout(100)
    phone.context.set_offline(False)
    waiting(phone, "1 reading not yet handed over")
    phone.get_by_text("not everything arrived").wait_for()
    assert sorted(one["kind"] for one in items(place)) == ["note", "note", "photo"]
    phone.unroute("**/parts/*")
    phone.get_by_role("button", name="Hand over now").click()
    waiting(phone, "Nothing waits")


def test_a_request_that_stalls_is_given_up(phone, place):  # noqa: F811
    """30 s for a request (here 100 times as fast): then the others go, and it is sent again."""
    phone.evaluate(QUICK)
    held = []
    phone.route("**/items/*", lambda route: held.append(route) if not held else route.continue_())
    note(phone, "stalls")
    note(phone, "goes")
    phone.wait_for_timeout(800)
    phone.get_by_role("button", name="Hand over now").click()
    waiting(phone, "Nothing waits")
    assert len(held) == 1
    assert set(phone.evaluate("window.limits")) == {30_000}
    assert sorted(one["body"]["text"] for one in items(place)) == ["goes", "stalls"]


def test_the_next_sounding_has_no_place_of_the_last(chromium, place):  # noqa: F811
    """Kept while the place is still sought: what comes later belongs to nothing."""
    spot = {"latitude": 35.0, "longitude": -79.0, "accuracy": 30}
    context = chromium.new_context(viewport=PHONE, geolocation=spot, permissions=["geolocation"])
    page = opened(context, place)
    show(page, "Sounding")
    page.locator('form[data-kind="sounding"] .find').click()
    page.get_by_text("good to 30 m").wait_for()
    page.get_by_label("Depth of the water").fill("5")
    page.get_by_role("button", name="Keep the sounding").click()
    page.get_by_text("Kept on this phone.").wait_for()
    context.set_geolocation({"latitude": 35.1, "longitude": -79.1, "accuracy": 4})
    page.wait_for_timeout(700)
    assert page.locator('form[data-kind="sounding"] .placed').inner_text() == "no place yet"
    page.get_by_label("Depth of the water").fill("7")
    page.get_by_role("button", name="Keep the sounding").click()
    # the words of the first one still stand: only the server can say that the second has arrived
    for _ in range(100):
        if len(items(place)) == 2:
            break
        page.wait_for_timeout(100)
    first, second = items(place)
    assert first["body"]["position"]["accuracy_m"] == 30
    assert second["body"]["position"] is None
    context.close()


def test_steady_typing_is_kept_within_a_second(phone):  # noqa: F811
    """A1: a letter each 100 ms for 3 s: what stands in the draft is never more than a second old."""
    show(phone, "Note")
    for _ in range(3):
        phone.get_by_label("Words").press_sequentially("x" * 10, delay=100)
        typed = len(phone.get_by_label("Words").input_value())
        (draft,) = phone.evaluate(ALL, "drafts")
        assert typed - 10 <= len(draft["fields"]["text"][0])


def test_two_forms_are_kept_each_by_its_own_timer(phone):  # noqa: F811
    """Typed into one and at once into another: both drafts stand."""
    phone.get_by_label("Secchi depth").fill("4 ft")
    show(phone, "Note")
    phone.get_by_label("Words").fill("wet")
    kept(phone)
    assert len(phone.evaluate(ALL, "drafts")) == 2


@pytest.mark.parametrize("what", ["name", "place"])
def test_a_name_or_a_place_alone_is_a_draft(chromium, place, what):  # noqa: F811
    """A pond's name typed, or a place found, and nothing else: there after a reload."""
    spot = {"latitude": 35.86521, "longitude": -79.56312, "accuracy": 4}
    context = chromium.new_context(viewport=PHONE, geolocation=spot, permissions=["geolocation"])
    page = opened(context, place)
    if what == "name":
        page.locator("#profile-pond-typed").fill("mill pond")
    else:
        page.locator('form[data-kind="profile"] .find').click()
        page.get_by_text("good to 4 m").wait_for()
    kept(page)
    page.reload()
    page.wait_for_selector("html[data-ready=capture]")
    if what == "name":
        assert page.locator("#profile-pond-typed").input_value() == "mill pond"
    else:
        assert "35.86521" in page.locator('form[data-kind="profile"] .placed').inner_text()
    context.close()


def test_words_are_in_view_on_a_long_profile(phone):  # noqa: F811
    """Beside the key that was tapped, however far down it is."""
    for _ in range(8):
        phone.get_by_role("button", name="One depth more").click()
    inside = "(id) => { const r = document.getElementById(id).getBoundingClientRect(); return r.height > 0 && r.top >= 0 && r.bottom <= innerHeight; }"
    key = phone.get_by_role("button", name="Keep the profile")
    key.click()
    phone.get_by_text("Type a depth first.").wait_for()
    assert phone.evaluate(inside, "said")
    phone.get_by_label("Depth in ft, depth no. 9").fill("9")
    key.click()
    phone.get_by_text("1 reading waits to be handed over").wait_for()
    assert phone.evaluate(inside, "said")
    phone.evaluate(
        "() => { IDBObjectStore.prototype.put = () => { throw new DOMException('no room', 'QuotaExceededError'); }; }"
    )
    phone.locator("#profile-typed-place").fill("35, -79")
    phone.get_by_role("alert").filter(has_text="storage is full").wait_for()
    assert phone.evaluate(inside, "trouble")


def test_a_photo_that_another_reading_needs_is_not_dropped(phone):  # noqa: F811
    """The same picture in a waiting reading, a refused one and a draft: it goes with the last of them."""
    phone.context.set_offline(True)
    show(phone, "Photo")
    for name in ("a.jpg", "b.jpg", "c.jpg"):
        with_picture(phone, name)
        if name != "c.jpg":
            phone.get_by_role("button", name="Keep the photo").click()
            phone.get_by_text(name).wait_for(state="detached")
    first, second = phone.evaluate(ALL, "outbox")
    drop = "([id, shas]) => import('/static/capture/keep.js').then((keep) => keep.release(id, shas))"
    for one in (first, second):
        phone.evaluate(drop, [one["id"], one["photos"]])
        assert len(phone.evaluate(ALL, "photos")) == 1
    phone.get_by_role("button", name="Take it out: c.jpg").click()
    phone.get_by_text("c.jpg").wait_for(state="detached")
    kept(phone)
    assert phone.evaluate(ALL, "photos") == phone.evaluate(ALL, "drafts") == []
    with_picture(phone, "c.jpg")


def test_after_a_kept_profile_no_draft_is_open(phone):  # noqa: F811
    """Pond and units go on to the next one; they are no draft, and a new version need not wait for them."""
    phone.locator("#profile-pond-typed").fill("mill pond")
    phone.get_by_label("Where").fill("left dam")
    phone.get_by_label("Depth in ft, depth no. 1").fill("1")
    phone.get_by_role("button", name="Keep the profile").click()
    phone.get_by_text("Kept on this phone.").wait_for()
    phone.get_by_label("Secchi depth").fill("1")
    phone.get_by_label("Secchi depth").fill("")
    kept(phone)
    assert phone.locator("#profile-pond-typed").input_value() == "mill pond"
    assert phone.get_by_label("Where").input_value() == ""
    assert phone.evaluate(ALL, "drafts") == []


def test_a_temperature_below_zero_has_its_key_and_rows_say_their_unit(phone):  # noqa: F811
    """A keyboard of digits has no minus."""
    phone.locator("#profile-unit-temperature").select_option("degC")
    field = phone.get_by_label("Temperature in °C, depth no. 1")
    field.fill("1")
    phone.get_by_role("button", name="± in row 1").click()
    assert field.input_value() == "-1"
    assert [one.strip() for one in phone.locator("#rows small").all_inner_texts()][:3] == [
        "Depth, ft",
        "Temperature, °C",
        "Oxygen, mg/L",
    ]
    phone.get_by_role("button", name="± in row 1").click()
    assert field.input_value() == "1"


UNITS = """() => [...document.querySelectorAll('input[data-unit]')].map((field) => {
  const label = field.closest('li') ? field.closest('div').querySelector('small') : document.querySelector(`label[for="${field.id}"]`);
  const beside = field.parentElement.querySelector('.unit, select');
  return [field.name, label.textContent, beside.matches('select') ? beside.selectedOptions[0].textContent : beside.textContent, field.getAttribute('aria-label')];
})"""


def test_each_number_has_its_unit_beside_it_and_in_its_label_as_it_is_chosen(phone):  # noqa: F811
    """C4: over all forms of the page; another unit chosen is told at once in both places, and to a screen reader."""

    names = {"secchi", "depth", "temperature", "oxygen", "pressure", "flow", "muck", "level"}
    assert {name for name, *_ in phone.evaluate(UNITS)} == names
    for name, label, beside, called in phone.evaluate(UNITS):
        unit = beside.replace("deg", "°")
        assert unit, name
        assert label.endswith(f", {unit}"), (name, label, unit)
        assert called is None or f" in {unit}," in called, (name, called)
    for unit, temperature in (("m", "degC"), ("ft", "degF")):
        phone.locator("#profile-unit-depth").select_option(unit)
        phone.locator("#profile-unit-temperature").select_option(temperature)
        found = {name: (label, beside) for name, label, beside, _ in phone.evaluate(UNITS)}
        assert found["secchi"][0] == f"Secchi depth, {unit}"
        assert found["secchi"][1] == unit
        assert found["temperature"][1] == temperature.replace("deg", "°")


def test_a_connection_lost_in_a_write_loses_nothing(phone):  # noqa: F811
    """A10: three of ten writes broken off in the middle, 200 items: each is written again, all are there."""
    phone.evaluate(LOST)
    told = phone.evaluate(
        """async () => {
          const keep = await import('/static/capture/keep.js');
          for (let n = 0; n < 200; n += 1) await keep.put('state', n, `test ${n}`);
          const found = await Promise.all(Array.from({ length: 200 }, (_, n) => keep.read('state', `test ${n}`)));
          return [window.cut, found.every((one, n) => one === n)];
        }"""
    )
    assert told[0] > 30
    assert told[1] is True


def test_a_write_that_fails_halfway_leaves_no_half(phone):  # noqa: F811
    """What threw in its middle is taken back whole."""
    told = phone.evaluate(
        """async () => {
          const keep = await import('/static/capture/keep.js');
          const words = await keep.addPhoto({ sha256: 'ab', data: new ArrayBuffer(1) }, { bad: () => 1 }, 'photo').catch((error) => error.name);
          return [words, (await keep.all('photos')).length, (await keep.all('drafts')).length];
        }"""
    )
    assert told == ["DataCloneError", 0, 0]


@pytest.mark.parametrize("status", [403, 500])
def test_an_answer_that_takes_nothing_is_not_called_reached(phone, status):  # noqa: F811
    """Receipts refused: the words of the server, and everything stays."""
    phone.route(
        "**/receipts", lambda route: route.fulfill(status=status, json={"detail": "Not for this phone."})
    )
    note(phone)
    phone.get_by_text("took nothing over: Not for this phone.").wait_for()
    waiting(phone, "1 reading not yet handed over")
