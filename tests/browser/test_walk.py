"""The bank walked with a phone in a real browser: each point kept as it comes, to the outline of the office."""

from __future__ import annotations

import math
import os
import signal
import time

import pytest
from tests.browser.conftest import FLAGS, chromium_path
from tests.browser.test_capture_phone import (  # noqa: F401 -- fixtures
    PAGE,
    PHONE,
    Place,
    browsers,
    items,
    opened,
    own_server,
    place,
    served,
    waiting,
)

LAT, LON = 35.8652, -79.5631


def corner(n, count=8):
    """Return the how many-eth place of a walk round an oval."""
    turn = 2 * math.pi * n / count
    return {"latitude": LAT + 4e-4 * math.sin(turn), "longitude": LON + 6e-4 * math.cos(turn), "accuracy": 4}


@pytest.fixture
def walker(chromium, place):  # noqa: F811
    """The page of a phone that knows where it is."""
    context = chromium.new_context(viewport=PHONE, geolocation=corner(0), permissions=["geolocation"])
    page = opened(context, place)
    page.get_by_role("button", name="Shore", exact=True).click()
    yield page
    context.close()


def step(page, spot, count):
    """Go somewhere, and wait until so many points are kept."""
    page.context.set_geolocation(spot)
    page.wait_for_selector(f'html[data-walked="{count}"]')


def told(page, words):
    page.locator("#walked").filter(has_text=words).wait_for()


def arrived(page, where):
    """Wait for the one item that the server holds: the page's "Nothing waits" stands there before it is kept too."""
    for _ in range(100):
        if items(where):
            break
        page.wait_for_timeout(100)
    (held,) = items(where)
    return held


def test_a_walk_broken_off_goes_on_and_becomes_the_outline(walker, place):  # noqa: F811
    """Half way the page is loaded anew, without a signal; the office picks it, and it is the shore."""
    asked = "import('/static/capture/place.js').then((place) => place.counted.asked)"
    assert walker.evaluate(asked) == 0
    walker.get_by_role("button", name="Start walking").click()
    walker.wait_for_selector('html[data-walked="1"]')
    for n in range(1, 5):
        step(walker, corner(n), n + 1)
    walker.context.set_offline(True)
    walker.reload()
    walker.wait_for_selector("html[data-ready=capture]")
    told(walker, "5 points kept")
    assert walker.evaluate(asked) == 0, "it goes on when somebody says so"
    walker.get_by_role("button", name="Go on walking").click()
    rough = {**corner(4.5), "accuracy": 60}
    walker.context.set_geolocation(rough)
    told(walker, "1 place worse than 25 m")
    for n in range(5, 8):
        step(walker, corner(n), n + 1)
    walker.get_by_role("button", name="Stop walking").click()
    told(walker, "8 points kept")
    told(walker, "closed it holds 1.68 acre")
    walker.locator("#shore-pond").select_option(label="Hollow Oak")
    walker.get_by_role("button", name="Keep the shore").click()
    waiting(walker, "1 reading not yet handed over")
    told(walker, "No point yet")
    walker.context.set_offline(False)
    waiting(walker, "Nothing waits")
    (held,) = items(place)
    assert (held["kind"], held["body"]["what"]) == ("shore", "shore")
    assert held["body"]["places"]["accuracy_m"] == [4] * 8
    assert held["body"]["places"]["latitude_deg"] == [round(corner(n)["latitude"], 7) for n in range(8)]
    assert held["body"]["places"]["after_s"][0] == 0
    walker.goto(place.url + "/ponds/hollow-oak/captures")
    card = walker.locator("article", has_text="8 points, good to")
    card.get_by_role("button", name="Take", exact=False).first.click()
    walker.get_by_text("the job has a shore already").first.wait_for()
    walker.get_by_role("button", name="Pick this one").first.click()
    walker.get_by_text("revision 2, outline.geojson").first.wait_for()


def test_corners_are_typed_where_no_satellites_are(chromium, place):  # noqa: F811
    """No leave to know the place: that is said; typed corners make the walk, and the last one can be taken out."""
    context = chromium.new_context(viewport=PHONE)
    page = opened(context, place)
    page.get_by_role("button", name="Shore", exact=True).click()
    page.get_by_role("button", name="Start walking").click()
    page.locator("#said").filter(has_text="type the corners").wait_for()
    page.get_by_role("button", name="Keep the shore").click()
    page.locator("#said").filter(has_text="three points at least").wait_for()
    for n in (0, 2, 3, 5):
        spot = corner(n)
        page.get_by_label("Or typed: a corner").fill(f"{spot['latitude']:.6f}, {spot['longitude']:.6f}")
        page.get_by_role("button", name="Add this corner").click()
    told(page, "4 points kept")
    page.get_by_role("button", name="Take the last point out").click()
    told(page, "3 points kept")
    page.get_by_label("Or typed: a corner").fill("north of the dam")
    page.get_by_role("button", name="Keep the shore").click()
    page.locator("#said").filter(has_text="Write latitude, longitude").wait_for()
    page.get_by_label("Or typed: a corner").fill("")
    page.get_by_role("button", name="Keep the shore").click()
    held = arrived(page, place)
    assert held["body"]["places"]["accuracy_m"] == [None] * 3
    context.close()


def test_a_walk_survives_what_no_page_hears(walker, place):  # noqa: F811
    """The page is gone without a word right after a point was kept: it stands in the next one, strictly written."""
    walker.get_by_role("button", name="Start walking").click()
    walker.wait_for_selector('html[data-walked="1"]')
    step(walker, corner(1), 2)
    counted = walker.evaluate("import('/static/capture/keep.js').then((keep) => keep.counted)")
    assert counted["writes"] == counted["strict"]
    context = walker.context
    walker.close(run_before_unload=False)
    again = opened(context, place)
    assert again.locator('form[data-kind="shore"]').is_visible()
    told(again, "2 points kept")


def test_server_and_browser_killed_on_the_way_lose_no_point(playwright_driver, tmp_path, request):
    """SIGKILL of the server under way, and of the browser right after the fifth point: all of them arrive."""
    server = served(tmp_path)
    request.addfinalizer(server.stop)
    spot, profile = Place(server), tmp_path / "profile"

    def launch(at):
        return playwright_driver.chromium.launch_persistent_context(
            profile, executable_path=chromium_path(), args=list(FLAGS), viewport=PHONE,
            geolocation=corner(at), permissions=["geolocation"],
        )  # fmt: skip

    page = opened(launch(0), spot)
    page.get_by_role("button", name="Shore", exact=True).click()
    page.get_by_role("button", name="Start walking").click()
    page.wait_for_selector('html[data-walked="1"]')
    server.kill()
    for n in range(1, 5):
        step(page, corner(n), n + 1)
    for pid in browsers(profile):
        os.kill(pid, signal.SIGKILL)
    time.sleep(0.5)
    server.start()
    context = launch(5)
    page = opened(context, spot)
    told(page, "5 points kept")
    page.get_by_role("button", name="Go on walking").click()
    told(page, "6 points kept")
    page.get_by_role("button", name="Stop walking").click()

    page.get_by_role("button", name="Keep the shore").click()
    held = arrived(page, spot)
    walked = [corner(n) for n in range(6)]
    places = held["body"]["places"]
    assert places["latitude_deg"] == pytest.approx([one["latitude"] for one in walked], abs=1e-7)
    assert places["longitude_deg"] == pytest.approx([one["longitude"] for one in walked], abs=1e-7)
    context.close()
