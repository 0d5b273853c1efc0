"""A first answer from four inputs: on a phone, in a minute and twelve taps, with its band and what would narrow it."""

from __future__ import annotations

import re
import time

MOST_TAPS = 12
MOST_S = 60.0
FOUR = {
    "Name of the pond": "Four answers",
    "Latitude, longitude": "35.91, -79.72, 680 ft",
    "Area of the water": "1.6 acre",
    "Greatest depth": "14 ft",
}


def test_four_inputs_give_a_volume_with_its_band_and_what_narrows_it_most(chromium, server):
    """C9: from the empty list to the pond's page; the band is wide, twenty soundings would narrow it most."""
    context = chromium.new_context(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    page = context.new_page()
    page.set_default_timeout(120_000)
    page.goto(server.url)
    began_s, taps = time.monotonic(), []

    def tap(found):
        found.tap()
        taps.append(str(found))

    tap(page.get_by_role("link", name="New pond"))
    for label, words in FOUR.items():
        tap(page.get_by_label(label))
        page.keyboard.type(words)
    tap(page.get_by_role("button", name="Show how it is understood"))
    tap(page.get_by_role("button", name="Keep this pond"))
    page.get_by_role("heading", name="Four answers").wait_for()
    took_s = time.monotonic() - began_s
    said = " ".join(page.inner_text("main").split())
    low, high = map(
        float, re.search(r"90 % band of the volume ([\d.]+) acre-ft to ([\d.]+) acre-ft", said).groups()
    )
    middle = float(re.search(r"volume ([\d.]+) acre-ft =", said)[1])
    # by hand: 1.6 acre x 14 ft is 22.4 acre-ft; a pond holds between a third (cone) and the half and more of it
    assert low < 22.4 / 3 < middle < 22.4 / 2 < high
    assert "Twenty soundings would narrow the volume most." in said
    assert said.count("Twenty soundings would narrow") == 1
    assert "Give a reading at the surface and a reading over the bottom" in said
    assert page.locator("a.opens").count() >= 5
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert len(taps) <= MOST_TAPS
    assert took_s <= MOST_S
    context.close()
