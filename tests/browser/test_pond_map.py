"""The map of the ponds on a phone: its words can be read and stay on it, and a thumb hits a pond.

What is held against: docs/web.md promises 11 px in drawings; WCAG 2.2, 2.5.8 asks 24 px for a target.
"""

from __future__ import annotations

import pytest
from tests.browser.test_words_in_drawings import LEAST_PX

from plumeline.demo import demo_folder
from plumeline.store import Folder, open_store, read_folder

BOXES = """(rule) => [...document.querySelectorAll(rule)].filter((item) => item.checkVisibility()).map((item) => {
    const box = item.getBoundingClientRect(), turn = item.getScreenCTM();
    return { left: box.left, right: box.right, wide: box.width, high: box.height,
        size: parseFloat(getComputedStyle(item).fontSize) * Math.hypot(turn.a, turn.b) };
})"""
LONG = "The long pond below the upper meadow of the camp"


@pytest.fixture
def three(server):
    """A server with three ponds, one of them of a long name, east to west."""
    folder = read_folder(demo_folder())
    store = open_store(server.database)
    for name, longitude in (("West", "-79.60"), (LONG, "-79.58"), (f"{LONG}, east", "-79.50")):
        text = folder.files["job.toml"].decode().replace("Hollow Oak", name, 2)
        text = text.replace("-79.5631, 680 ft", f"{longitude}, 680 ft")
        files = {
            "job.toml": text.replace("manifold = {", "# manifold = {")
            .partition("[[air.diffusers]]")[0]
            .encode()
        }
        store.ponds.add(Folder(name, files), author="office", reason="test")
    store.close()
    return server


@pytest.mark.parametrize("width", [320, 390, 640, 641, 1280])
def test_words_and_marks_of_the_map_are_large_enough_and_on_it(page, three, width):
    """Long names are cut, not run over the edge."""
    page.set_viewport_size({"width": width, "height": 844})
    page.goto(three.url)
    (sheet,) = page.evaluate(BOXES, "figure.map > svg")
    words = page.evaluate(BOXES, "figure.map > svg text")
    assert len(words) == 5
    for one in words:
        assert one["size"] >= LEAST_PX
        assert one["left"] >= sheet["left"] - 1
        assert one["right"] <= sheet["right"] + 1
    assert min(one["wide"] for one in page.evaluate(BOXES, "figure.map > svg a circle:first-of-type")) >= 24
    assert page.evaluate("document.documentElement.scrollWidth") <= width
