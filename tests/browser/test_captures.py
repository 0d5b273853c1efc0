"""The pages of what came from the field, in a browser, without a script of ours."""

from __future__ import annotations

from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from tests.capture_items import DEVICE, OTHER, item, jpeg, named, sha, text

from plumeline.store import open_store
from plumeline.store.captures import Told
from plumeline.store.taking import Asked

POND = "hollow-oak"


@pytest.fixture(scope="session")
def field_server(tmp_path_factory):
    """A server with the demo pond and, of two phones, every kind of item in every state."""
    from tests.browser.conftest import Server

    from plumeline.demo import demo_folder
    from plumeline.store import read_folder

    folder = tmp_path_factory.mktemp("field-server")
    store = open_store(folder / "plumeline.sqlite3")
    store.ponds.add(read_folder(demo_folder()), author="office", reason="demo")
    data, refused = jpeg(90, (800, 600)), b"no picture at all"
    for photo in (data, refused):
        store.photos.put_whole(sha(photo), photo)
    photos = [named(data), named(refused), named(b"still on the phone")]
    note = item("note", 5, pond_id=POND, device=OTHER, device_name="phone two")
    made = [
        item("profile", 1, pond_id=POND, base_number=1, body={"secchi": "3 ft"}),
        item(
            "profile",
            2,
            pond_id=POND,
            base_number=1,
            device=OTHER,
            body={"secchi": "4"},
            device_name="phone two",
        ),
        item("gauge", 3, pond_id=POND, made_at="1970-01-01T00:00:10+00:00"),
        item("sounding", 4, pond_id=POND, body={"depth": "deep"}),
        note,
        {**note, "body": {"text": "Other words under the same id."}},
        item("photo", 6, pond_id=POND, photos=photos),
        item("note", 7, pond_id=None, pond_name_typed="oak, the lower one"),
        item("note", 8, pond_id=POND, body={"text": "to be taken"}),
        item("note", 9, pond_id=POND, body={"text": "to be set aside"}),
    ]
    numbers = [store.captures.receive(text(one)).sequence_number for one in made]
    store.taking.take([numbers[3]], Asked(POND, 1, "office"))
    store.taking.take([numbers[8]], Asked(POND, 1, "office"))
    store.taking.set_aside(numbers[9], "office")
    now = store.clock()
    store.captures.heard(Told(DEVICE, "phone one", 4, now - timedelta(days=6), -7200.0))
    store.captures.heard(Told(OTHER, "phone two", 1, now - timedelta(days=2), 3.0))
    store.close()
    found = Server(folder).start()
    yield found
    found.stop()


@pytest.mark.parametrize("path", ["/captures", "/captures?state=conflict", f"/ponds/{POND}/captures"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(page, field_server, path, scheme):
    """axe-core finds no fault of accessibility, in light and in dark."""
    page.emulate_media(color_scheme=scheme)
    page.goto(field_server.url + path)
    found = Axe().run(page).response["violations"]
    assert not [(one["id"], [node["html"][:120] for node in one["nodes"][:3]]) for one in found]


@pytest.mark.parametrize("path", ["/captures", f"/ponds/{POND}/captures"])
def test_nothing_runs_off_a_screen_of_320_pixels(page, field_server, path):
    """No sideways scroll of the page."""
    page.set_viewport_size({"width": 320, "height": 700})
    page.goto(field_server.url + path)
    assert page.evaluate("document.documentElement.scrollWidth") <= 320


def test_an_item_is_set_aside_brought_back_and_taken_with_scripts_off(chromium, field_server):
    """The whole round by links and buttons alone."""
    context = chromium.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(field_server.url + "/")
    page.get_by_role("link", name="From the field").click()
    page.get_by_label("Pond of no. 8, by its name or id").fill("Hollow Oak")
    page.get_by_role("button", name="It belongs there no. 8").click()
    page.get_by_role("button", name="Set aside no. 8").click()
    page.get_by_role("button", name="Bring back no. 8").click()
    page.get_by_role("button", name="Take no. 8").click()
    taken = page.get_by_role("article", name="No. 8:")
    assert "kept with the pond" in taken.inner_text()
    context.close()
