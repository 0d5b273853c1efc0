"""A cross of the survey's plan under a finger: its sounding is put back, and left out again by its button."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from tests.browser.conftest import Server
from tests.web.test_left_out import wild_zip

from plumeline.store import open_store, read_zip


@pytest.fixture
def wild_server(tmp_path):
    """A server whose one pond has one sounding ten times its neighbours."""
    data, _ = wild_zip()
    store = open_store(tmp_path / "plumeline.sqlite3")
    store.ponds.add(read_zip(data, "hollow-oak.zip"), author="office", reason="log")
    store.close()
    found = Server(tmp_path).start()
    yield found
    found.stop()


def test_a_tap_on_the_cross_puts_the_sounding_back(page, wild_server):
    """The cross goes, the row stands under those put back, and its button brings the cross again."""
    page.goto(f"{wild_server.url}/ponds/hollow-oak/survey")
    crosses = page.locator("figure.soundings svg a:visible")
    assert crosses.count() == 1
    assert Axe().run(page).violations_count == 0
    box = crosses.first.bounding_box()
    assert min(box["width"], box["height"]) >= 18  # 6.4 mm of the drawing
    crosses.first.click()
    page.get_by_role("button", name="Leave out again").wait_for()
    assert page.locator("figure.soundings svg a:visible").count() == 0
    page.get_by_role("button", name="Leave out again").click()
    page.get_by_role("button", name="Put back").wait_for()
    assert page.locator("figure.soundings svg a:visible").count() == 1
