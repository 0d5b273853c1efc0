"""What stands over every page: on a phone in two rows at most, each target as large as a thumb."""

from __future__ import annotations

import pytest
from tests.browser.conftest import Server

from plumeline.store import open_store
from plumeline.store.people import Role

PHONE = {"width": 390, "height": 844}
LONG = "Ada B. Superintendent of the Lower Ponds"
PASSWORD = "a long one for the office"
THUMB_PX = 44
"""WCAG 2.2, 2.5.5 (Target Size, enhanced)."""
PLACED = """() => [...document.querySelectorAll('.everywhere a, .everywhere button')].map((item) => {
    const box = item.getBoundingClientRect();
    return { words: item.textContent.trim(), top: box.top, left: box.left, right: box.right, high: box.height };
})"""


def held(page, names):
    """Hold what stands on top to its rows, sizes and names; nothing of it lies over another."""
    page.get_by_role("button", name=names[-1]).wait_for()
    page.wait_for_load_state("load")
    found = page.evaluate(PLACED)
    assert [one["words"] for one in found] == names
    assert len({round(one["top"]) for one in found}) <= 2, found
    for n, one in enumerate(found):
        assert one["high"] >= THUMB_PX, one
        assert 0 <= one["left"] < one["right"] <= PHONE["width"], one
        assert not any(
            other["top"] == one["top"] and one["left"] < other["right"] and other["left"] < one["right"]
            for other in found[:n]
        ), one


@pytest.mark.parametrize("path", ["/", "/ponds/hollow-oak", "/ponds/hollow-oak/shore"])
def test_over_every_page_stand_two_rows_at_most_on_a_phone(page, oak_server, path):
    """Three places and the units, in either system; a screen reader hears the whole of the button."""
    page.set_viewport_size(PHONE)
    page.goto(oak_server.url + path)
    held(page, ["All ponds", "From the field", "At the water", "Show metres and kPa"])
    assert page.locator(".units button").inner_text() == "Show metres and kPa"
    page.get_by_role("button", name="Show metres and kPa").click()
    held(page, ["All ponds", "From the field", "At the water", "Show feet and psi"])


@pytest.fixture
def closed_server(tmp_path):
    """A server that asks for a sign-in, with somebody of the office who has a long name."""
    store = open_store(tmp_path / "plumeline.sqlite3")
    store.people.use_code(store.people.add(LONG, Role.OFFICE), PASSWORD)
    store.close()
    found = Server(tmp_path, "--sign-in").start()
    yield found
    found.stop()


def test_who_is_signed_in_stands_in_the_same_two_rows(page, closed_server):
    """The office, with a long name: it is cut short there, and leads to its own page as before."""
    page.set_viewport_size(PHONE)
    page.goto(closed_server.url + "/signin")
    page.get_by_label("Name").fill(LONG)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("link", name="Sign out").wait_for()
    places = ["All ponds", "From the field", "At the water"]
    held(page, [*places, "People", LONG, "Sign out", "Show metres and kPa"])
    assert page.locator(".units button span span").bounding_box()["width"] <= 1
    page.set_viewport_size({"width": 1280, "height": 800})
    assert page.locator(".units button").inner_text() == "Show metres and kPa"
    seen = page.locator(".units button > span").bounding_box()["width"]
    alone = page.evaluate("""() => {
        const button = document.querySelector('.units button'), words = button.cloneNode();
        words.textContent = button.textContent;
        button.after(words);
        const style = getComputedStyle(words);
        const wide = words.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
        words.remove();
        return wide;
    }""")
    assert seen == pytest.approx(alone, abs=2), "the blank before the units is there"
    page.get_by_role("link", name=LONG).click()
    page.wait_for_url("**/password")
