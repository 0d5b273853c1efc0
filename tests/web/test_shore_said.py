"""A wall on a stretch of shore and the banks' slope on the page of the survey: said, and each number opens."""

from __future__ import annotations

import html
import re

import pytest
from tests.web.opened_pages import Page, check_lines, check_links

from plumeline.demo import demo_folder
from plumeline.store import Folder, read_folder

SAID = b"""[pond]
bank_slope = "3:1"
"""
WALL = b"""
[[pond.walls]]
start = { longitude_deg = -79.5624022, latitude_deg = 35.8652 }
end = { longitude_deg = -79.5622468, latitude_deg = 35.8654528 }
depth = "3 ft"
"""


@pytest.mark.parametrize("units", ["us", "si"])
def test_wall_and_slope_are_said_with_what_they_do_to_volume_and_error(browser, units):
    """The demo pond with a wall along its east shore, from one corner of its outline to another."""
    files = dict(read_folder(demo_folder()).files)
    files["job.toml"] = files["job.toml"].replace(b"[pond]\n", SAID, 1) + WALL
    pond = browser.store.ponds.add(Folder("walled", files), author="", reason="").pond_id
    browser.in_units(units)
    text = browser.get(f"/ponds/{pond}/survey").text
    plain = " ".join(html.unescape(re.sub(r"<[^>]+>", "", text)).split())
    for words in (
        "without what is said of the shore",
        "of it walled",
        "falling 1 in 3 at the shore",
        "of wall",
    ):
        assert words in plain, words
    page = Page(text)
    rows = browser.get(f"/api/v1/ponds/{pond}/workings/survey?units={units}").json()
    check_links(page, rows)
    check_lines(rows)
    about = ("walled", "without what", "banks", "of wall", "falling", "water's edge")
    loose = [line for line in page.loose if re.search(r"(?<![\w.])\d", line)]
    assert not [line for line in loose if any(word in line for word in about)], loose
    shore = browser.get(f"/api/v1/ponds/{pond}/stages/survey").json()["survey"]["shore"]
    assert shore["walled_m"] == pytest.approx(31.5, abs=1.0)
    assert shore["run_number"] == 3.0
    assert shore["without_m3"] > 0.0
