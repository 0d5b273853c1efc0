"""The main jobs by keys alone: each control is reached by Tab, typed into, pressed by Enter; no pointer.

Of eight main jobs these are five: a reading at the water, taking it into the job, a gauge at a visit, a folder brought
in, the customer's link and acceptance. A new pond and its plan stand in test_main_job, the shore in test_shore, moving
the diffusers in test_plan.
"""

from __future__ import annotations

import pytest
from tests.browser.conftest import Server

from plumeline.demo import demo_folder
from plumeline.store import open_store, read_folder, write_zip
from plumeline.store.people import Role

PASSWORD = "three wet words"
MOST_STOPS = 400
WORDS = "low by a foot, typed by keys"


@pytest.fixture(scope="module")
def closed_server(tmp_path_factory):
    """A server that asks for a sign-in, with the demo pond, somebody of the office, and a quote."""
    folder = tmp_path_factory.mktemp("keys")
    store = open_store(folder / "plumeline.sqlite3")
    store.ponds.add(read_folder(demo_folder()), author="office", reason="demo")
    store.people.use_code(store.people.add("Ada", Role.OFFICE), PASSWORD)
    store.quotes.keep("hollow-oak", 1, 1, None, "Ada", {"us": b"%PDF us", "si": b"%PDF si"})
    store.close()
    found = Server(folder, "--sign-in").start()
    yield found
    found.stop()


@pytest.fixture
def office(page, closed_server):
    """A page on which Ada signed in, by keys."""
    page.set_default_timeout(120_000)
    page.goto(closed_server.url + "/signin")
    type_in(page, page.get_by_label("Name"), "Ada")
    type_in(page, page.get_by_label("Password"), PASSWORD)
    press(page, page.get_by_role("button", name="Sign in"))
    page.get_by_role("link", name="Hollow Oak").first.wait_for()
    return page


def reach(page, found):
    """Come to a control by Tab."""
    handle = found.element_handle()
    for _ in range(MOST_STOPS):
        if handle.evaluate("(element) => element === document.activeElement"):
            return
        page.keyboard.press("Tab")
    pytest.fail(f"Tab never came to {found}")


def press(page, found):
    """Press a control that shows where the keys are."""
    reach(page, found)
    assert page.evaluate("() => getComputedStyle(document.activeElement).outlineStyle") != "none"
    page.keyboard.press("Enter")


def type_in(page, found, words):
    """Type into a field in place of what it holds."""
    reach(page, found)
    page.keyboard.press("Control+A")
    page.keyboard.type(words)


def test_a_customer_is_sent_a_link_and_accepts(office, chromium, closed_server):
    """The office's key makes it; the customer types a name and accepts."""
    office.goto(closed_server.url + "/ponds/hollow-oak/links")
    press(office, office.get_by_role("button", name="Make a link"))
    link = office.get_by_role("status").locator("code").inner_text()
    context = chromium.new_context()
    customer = context.new_page()
    customer.goto(link)
    customer.wait_for_url(closed_server.url + "/customer")
    type_in(customer, customer.get_by_label("Your name"), "B. Owner")
    press(customer, customer.get_by_role("button", name="Accept"))
    customer.get_by_text("accepted by B. Owner").wait_for()
    context.close()


def test_a_reading_is_typed_kept_handed_over_and_taken_into_the_job(office, closed_server):
    """From the page at the water to the pond's page of what came from the field."""
    press(office, office.get_by_role("link", name="At the water"))
    office.wait_for_selector("html[data-sent=done]")
    press(office, office.get_by_role("button", name="Note", exact=True))
    type_in(office, office.locator("#note-pond"), "Hollow Oak")
    type_in(office, office.locator("#note-text"), WORDS)
    press(office, office.get_by_role("button", name="Keep the note"))
    office.get_by_text("Kept on this phone.").wait_for()
    office.locator("#count").filter(has_text="Nothing waits").wait_for()
    press(office, office.get_by_role("link", name="From the field, at the office"))
    office.get_by_text(WORDS).first.wait_for()
    office.goto(closed_server.url + "/ponds/hollow-oak/captures")
    press(office, office.get_by_role("button", name="Take the new item into the job"))
    office.get_by_role("button", name="Take the new item into the job").wait_for(state="detached")
    assert WORDS in office.inner_text("main")


def test_a_gauge_is_typed_at_a_visit(office, closed_server):
    """The next revision holds it, and the page compares it."""
    office.goto(closed_server.url + "/ponds/hollow-oak/visits")
    type_in(office, office.locator("#pressure"), "5.9 psig")
    press(office, office.get_by_role("button", name="Keep the gauge"))
    office.get_by_role("row").filter(has_text="5.90 psig").first.wait_for()


def test_a_folder_is_brought_in(office, closed_server, tmp_path):
    """The chooser opens by Enter; the pond's page follows."""
    path = tmp_path / "another-pond.zip"
    path.write_bytes(write_zip(read_folder(demo_folder())))
    # asked for before the page is open: a chooser that opens before it is watched is never heard of
    office.on("filechooser", lambda chooser: chooser.set_files(path))
    office.goto(closed_server.url + "/")
    reach(office, office.locator("#folder"))
    office.keyboard.press("Enter")
    office.wait_for_function("() => document.getElementById('folder').files.length === 1")
    press(office, office.get_by_role("button", name="Import"))
    office.wait_for_url(lambda url: "/ponds/" in url)
    assert office.url.startswith(f"{closed_server.url}/ponds/")
    assert not office.url.endswith("/hollow-oak")
