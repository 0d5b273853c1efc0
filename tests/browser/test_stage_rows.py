"""The pages of a pond on a phone: folded behind one row, opened by thumb, by keys and without scripts.

What is held against: 48 px targets and no sideways scroll at 320 px (WCAG 2.2, 1.4.10 and 2.5.8 ask 24 px); two rows of
targets with 8 px between are 104 px.
"""

from __future__ import annotations

import pytest

OAK = "/ponds/hollow-oak"
TARGET_PX = 48
TWO_ROWS_PX = 2 * TARGET_PX + 8
PAGES = ("", "/known", "/survey", "/visits", "/papers", "/links", "/bring")


@pytest.fixture
def phone(chromium):
    """A page the size of a phone that runs no scripts."""
    context = chromium.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True, java_script_enabled=False
    )
    yield context.new_page()
    context.close()


def stages(page):
    return page.get_by_role("navigation", name="Stages of the work")


@pytest.mark.parametrize("width", [320, 390, 640])
@pytest.mark.parametrize("path", PAGES)
def test_the_pages_of_a_pond_take_two_rows_at_most(page, oak_server, path, width):
    """Before the heading of each page, and nothing of it is wider than the screen."""
    page.set_viewport_size({"width": width, "height": 844})
    page.goto(oak_server.url + OAK + path)
    assert stages(page).bounding_box()["height"] <= TWO_ROWS_PX
    row = stages(page).locator("summary")
    assert row.bounding_box()["height"] >= TARGET_PX
    assert stages(page).get_by_role("link").count() == 0
    row.click()
    assert stages(page).get_by_role("link").count() == 14
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    for link in stages(page).get_by_role("link").all():
        assert link.bounding_box()["height"] >= TARGET_PX


def test_a_thumb_goes_from_page_to_page_without_scripts(phone, oak_server):
    """The fold is the browser's own; the row says which page is open."""
    phone.goto(oak_server.url + OAK + "/air")
    row = stages(phone).locator("summary")
    assert row.inner_text() == "Pages of this pond: air"
    row.tap()
    stages(phone).get_by_role("link", name="papers").tap()
    phone.wait_for_url("**/papers")
    assert stages(phone).locator("summary").inner_text() == "Pages of this pond: papers"


def test_keys_open_the_row_and_reach_what_it_holds(page, oak_server):
    """Tab comes to the row, Enter opens it, the next Tab stands on the first page in it."""
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(oak_server.url + OAK + "/layout")
    row = stages(page).locator("summary")
    for _ in range(20):
        page.keyboard.press("Tab")
        if row.evaluate("(element) => element === document.activeElement"):
            break
    else:
        pytest.fail("Tab never came to the row")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    first = stages(page).get_by_role("link").first
    assert first.evaluate("(element) => element === document.activeElement")


def test_a_wide_screen_shows_them_all(page, oak_server):
    """From 641 px on there is no row to open."""
    for width in (641, 1280):
        page.set_viewport_size({"width": width, "height": 844})
        page.goto(oak_server.url + OAK)
        assert stages(page).get_by_role("link").count() == 14
        assert not stages(page).locator("summary").is_visible()


def test_each_stage_leads_on_to_the_next(page, oak_server):
    """Survey, reading, layout, air, start-up; papers, visits: the foot of each page has the way on."""
    page.goto(oak_server.url + OAK + "/survey", timeout=120_000)
    seen = []
    for _ in range(4):
        page.get_by_role("link", name="Next: ").click(timeout=120_000)
        page.wait_for_load_state()
        seen.append(page.url.rpartition("/")[2])
    assert seen == ["reading", "layout", "air", "startup"]
    # there the plan comes first
    assert page.get_by_role("link", name="Next: ").count() == 0
    page.get_by_role("button", name="Make the start-up plan").wait_for()
    page.goto(oak_server.url + OAK + "/papers")
    page.get_by_role("link", name="Next: the visits").click()
    page.wait_for_url("**/visits")
