"""Plan and shore under fingers: the page scrolls past the drawing, things are dragged, two fingers bring it closer."""

from __future__ import annotations

import pytest

PHONE = {"width": 390, "height": 780}
PAGES = ("plan", "shore")


class Fingers:
    """Real touches of a screen, as the browser itself gets them."""

    def __init__(self, page) -> None:
        self.page = page
        self.session = page.context.new_cdp_session(page)

    def _send(self, kind, places):
        points = [{"x": x, "y": y, "id": n} for n, (x, y) in enumerate(places)]
        self.session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    def move(self, *ways, steps=12):
        """Put one finger after another down at the beginning of its way, move all to their ends, and lift them."""
        for count in range(1, len(ways) + 1):
            self._send("touchStart", [way[0] for way in ways[:count]])
            self.page.wait_for_timeout(40)
        for n in range(1, steps + 1):
            places = [(x + (u - x) * n / steps, y + (v - y) * n / steps) for (x, y), (u, v) in ways]
            self._send("touchMove", places)
            self.page.wait_for_timeout(16)
        self._send("touchEnd", [])
        self.page.wait_for_timeout(150)


@pytest.fixture(params=PAGES)
def phone(request, chromium, oak_server):
    """A phone with the plan or the shore before it, the drawing in the middle of the screen."""
    context = chromium.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
    page = context.new_page()
    page.goto(f"{oak_server.url}/ponds/hollow-oak/{request.param}")
    page.wait_for_selector(f"html[data-ready={request.param}]")
    page.evaluate("document.querySelector('#plan').scrollIntoView({ block: 'center' })")
    yield page, Fingers(page)
    context.close()


def scrolled(page):
    """Return how far down the page stands."""
    return page.evaluate("scrollY")


def shown(page):
    """Return the part of the drawing that is shown."""
    return page.evaluate(
        "(() => { const b = document.querySelector('#plan svg').viewBox.baseVal; return [b.x, b.y, b.width]; })()"
    )


def empty(page):
    """Return a place of the drawing that is farther than a finger's width from all that can be dragged."""
    return page.evaluate(
        """() => {
      const box = document.querySelector('#plan svg').getBoundingClientRect();
      const taken = [...document.querySelectorAll('.handle')].map((item) => {
        const part = item.querySelector('circle:not(.halo), rect').getBoundingClientRect();
        return [part.x + part.width / 2, part.y + part.height / 2];
      });
      for (let y = box.top + box.height * 0.55; y < box.bottom - 4; y += 4)
        for (let x = box.left + 12; x < box.right - 12; x += 4)
          if (taken.every(([u, v]) => Math.hypot(u - x, v - y) > 34)) return [x, y];
      return null;
    }"""
    )


def first(page):
    """Return the middle of the first thing that can be dragged and is on the drawing."""
    box = page.locator(".handle:not(.sounding)").first.locator("circle:not(.halo), rect").first.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def test_a_finger_on_the_empty_drawing_scrolls_the_page(phone):
    """Up and down; nothing is moved on the drawing."""
    page, fingers = phone
    before, (x, y) = scrolled(page), empty(page)
    fingers.move(((x, y), (x, y - 220)))
    assert scrolled(page) > before + 100
    assert not page.locator("#unsaved").is_visible()
    assert shown(page)[:2] == [0, 0]


def test_a_tap_chooses_a_thing_and_another_one_moves_it(phone):
    """Without dragging: tap, then tap where it shall lie; the page stays."""
    page, fingers = phone
    before, (x, y) = scrolled(page), first(page)
    fingers.move(((x, y), (x, y)), steps=1)
    assert page.locator('.handle[aria-pressed="true"]').count() == 1
    u, v = empty(page)
    fingers.move(((u, v), (u, v)), steps=1)
    page.locator("#unsaved").wait_for()
    assert first(page) == pytest.approx((u, v), abs=3)
    assert scrolled(page) == before


def test_a_finger_on_a_thing_drags_it(phone):
    """Caught up to 20 px beside its middle, up and down as well; the page stays where it is."""
    page, fingers = phone
    before, (x, y) = scrolled(page), first(page)
    fingers.move(((x + 14, y + 14), (x + 14, y - 46)))
    page.locator("#unsaved").wait_for()
    assert scrolled(page) == before
    assert first(page)[1] == pytest.approx(y - 60, abs=3)


@pytest.mark.parametrize("phone", ["plan"], indirect=True)  # both pages have the same hands
def test_two_fingers_bring_the_drawing_closer_and_move_it(phone):
    """The page stays; apart is closer, side by side moves what is shown."""
    page, fingers = phone
    before = scrolled(page)
    box = page.locator("#plan svg").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    fingers.move(((x - 30, y), (x - 90, y)), ((x + 30, y), (x + 90, y)))
    closer = shown(page)
    assert closer[2] < 0.5 * 146
    fingers.move(((x - 40, y), (x - 40, y - 60)), ((x + 40, y), (x + 40, y - 60)))
    moved = shown(page)
    assert moved[1] > closer[1] + 5
    assert moved[2] == pytest.approx(closer[2], rel=0.05)
    assert scrolled(page) == before
    assert not page.locator("#unsaved").is_visible()


@pytest.mark.parametrize("phone", ["plan"], indirect=True)  # both pages have the same hands
def test_the_drawing_brought_closer_still_lets_the_page_scroll(phone):
    """One finger on the ground is for the page, however close the drawing is."""
    page, fingers = phone
    page.locator("#closer").click()
    page.evaluate("document.querySelector('#plan').scrollIntoView({ block: 'center' })")
    before, (x, y) = scrolled(page), empty(page)
    fingers.move(((x, y), (x, y - 220)))
    assert scrolled(page) > before + 100
