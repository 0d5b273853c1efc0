"""Words in drawings as a browser shows them: 11 pixels and more at every width, and none over another.

What is held against: docs/web.md promises 11 px; a rectangle that the browser itself measures is what a reader sees.
"""

from __future__ import annotations

import pytest

LEAST_PX = 11.0
WIDTHS = (320, 390, 641, 768, 1024, 1280)
SEEN = """() => [...document.querySelectorAll('svg text')].filter((text) => text.textContent.trim() &&
    text.checkVisibility({ visibilityProperty: true }) && text.getBoundingClientRect().width > 0).map((text) => {
        const turn = text.getScreenCTM();
        const box = text.getBoundingClientRect();
        return {
            words: text.textContent, size: parseFloat(getComputedStyle(text).fontSize) * Math.hypot(turn.a, turn.b),
            left: box.left, right: box.right, top: box.top, bottom: box.bottom,
            of: text.closest('.sounding') ? 'sounding' : text.closest('.handle') ? 'handle' : 'ground',
        };
    })"""
SLACK_PX = 1.0
"""What two words may share: a browser's boxes of letters are higher than what is inked by a third."""


def opened(page, server, path, width):
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(f"{server.url}/ponds/hollow-oak{path}", timeout=120_000)
    if path in ("/plan", "/shore"):
        page.wait_for_selector(f"html[data-ready={path[1:]}]")
    page.evaluate("document.fonts.ready")
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


def inked(one):
    """Return the box of the letters: without a fifth of the height above and a sixth below, which are empty."""
    high = one["bottom"] - one["top"]
    return one["left"], one["right"], one["top"] + 0.2 * high, one["bottom"] - 0.16 * high


def meetings(words):
    """Return the pairs of words that lie over one another."""
    found = []
    for n, one in enumerate(words):
        for other in words[:n]:
            a, b = inked(one), inked(other)
            wide = min(a[1], b[1]) - max(a[0], b[0])
            high = min(a[3], b[3]) - max(a[2], b[2])
            if wide > SLACK_PX and high > SLACK_PX:
                found.append((one["words"], other["words"]))
    return found


@pytest.mark.parametrize("path", ["", "/survey", "/layout", "/plan", "/shore"])
def test_no_word_in_a_drawing_is_smaller_than_promised(page, oak_server, path):
    """From 320 to 1280 px, on the pond's page, survey, layout, plan and shore."""
    for width in WIDTHS:
        opened(page, oak_server, path, width)
        words = page.evaluate(SEEN)
        assert len(words) > 5, width
        assert min((one["size"], one["words"]) for one in words) >= (LEAST_PX, ""), width
        assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("width", WIDTHS)
def test_depths_on_the_shore_cover_no_other_and_come_by_zoom_or_tap(page, oak_server, width):
    """No two of them meet; closer, more of them stand there; the one that is chosen always does."""
    opened(page, oak_server, "/shore", width)
    depths = [one for one in page.evaluate(SEEN) if one["of"] == "sounding"]
    assert depths
    assert not meetings(page.evaluate(SEEN))
    in_all = page.locator(".sounding").count()
    assert len(depths) < in_all
    name = page.locator(".sounding:has(.unsaid)").first.get_attribute("data-name")
    left_out = page.locator(f'.handle[data-name="{name}"]')
    left_out.press("Enter")
    assert left_out.locator("text").is_visible()
    page.wait_for_timeout(100)
    assert not meetings(page.evaluate(SEEN))
    left_out.press("Escape")
    for _ in range(6):
        page.get_by_role("button", name="Closer").click()
    page.wait_for_timeout(100)
    box = page.locator("#plan svg").bounding_box()
    near = [
        one
        for one in page.evaluate(SEEN)
        if box["x"] < one["left"] and one["right"] < box["x"] + box["width"]
        and box["y"] < one["top"] and one["bottom"] < box["y"] + box["height"]
    ]  # fmt: skip
    assert not meetings(near)
    assert page.locator(".sounding:not(:has(.unsaid))").count() > len(depths)
    assert all(one["size"] >= LEAST_PX for one in near)


def test_on_the_plan_no_depth_stands_over_a_name(page, oak_server):
    """Depths of lines give way to names of diffusers, at the size that each has on the screen."""
    for width in WIDTHS:
        opened(page, oak_server, "/plan", width)
        words = page.evaluate(SEEN)
        assert {one["of"] for one in words} == {"ground", "handle"}
        assert not meetings(words), width


WALLED = """() => {
    const path = document.querySelector('path.wall-mark'), turn = path.getScreenCTM();
    const half = path.getAttribute('stroke-width') / 2 * turn.a, long = path.getTotalLength();
    return Array.from({ length: 2000 }, (_, n) => path.getPointAtLength(long * n / 1999).matrixTransform(turn))
        .map((at) => ({ x: at.x, y: at.y, half }));
}"""


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_no_depth_on_the_shore_lies_over_the_bar_of_a_wall_or_over_a_corner(page, oak_server, width):
    """A wall past the soundings nearest to the shore; each depth stands beside it, the one that is chosen too."""
    opened(page, oak_server, "/shore", width)
    before = sum(one["of"] == "sounding" for one in page.evaluate(SEEN))
    page.locator("#wall-lines").fill("corner 2; corner 9; 3 ft\ncorner 60; corner 72; 3 ft")
    page.wait_for_timeout(200)

    def covered():
        words = [inked(one) for one in page.evaluate(SEEN) if one["of"] != "handle"]
        assert len(words) >= min(before, 4)
        bar = page.evaluate(WALLED)
        corners = page.evaluate(
            "() => [...document.querySelectorAll('.corner rect')].map((item) => item.getBoundingClientRect())"
        )
        over = [
            one for one in words for at in bar
            if one[0] < at["x"] + at["half"] - SLACK_PX and at["x"] - at["half"] + SLACK_PX < one[1]
            and one[2] < at["y"] + at["half"] - SLACK_PX and at["y"] - at["half"] + SLACK_PX < one[3]
        ]  # fmt: skip
        over += [
            one for one in words for box in corners
            if one[0] < box["right"] - SLACK_PX and box["left"] + SLACK_PX < one[1]
            and one[2] < box["bottom"] - SLACK_PX and box["top"] + SLACK_PX < one[3]
        ]  # fmt: skip
        return over

    assert not covered()
    # 1.1 ft, the sounding nearest to that wall
    page.locator('.sounding[aria-label^="Sounding, 1.1 ft"]').first.press("Enter")
    page.wait_for_timeout(100)
    assert not covered()
