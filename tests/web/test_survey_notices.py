"""The numbers of the notices on outline and depths open, each to its own kind; their lines come to what is shown."""

import html
import re

import pytest
from tests.web.opened_pages import Page, check_lines, check_links

from plumeline.demo import demo_folder
from plumeline.store import Folder, read_folder


def no_soundings(files):
    """Area, greatest depth and shape alone."""
    files.pop("soundings.csv")


def told_wrong(files):
    """The job's greatest depth is 8 ft; the soundings go to some 14."""
    files["job.toml"] = files["job.toml"].replace(b'max_depth = "14 ft"', b'max_depth = "8 ft"')


def feet_as_metres(files):
    """Fourteen metres in 1.6 acre, soundings left out."""
    files["job.toml"] = files["job.toml"].replace(b'max_depth = "14 ft"', b'max_depth = "40 m"')
    files.pop("soundings.csv")


def soundings_in_feet(files):
    """Feet under a header in metres."""
    files["soundings.csv"] = files["soundings.csv"].replace(b"depth_ft", b"depth_m")


def max_depth_in_feet(files):
    """14 m said where 14 ft were meant."""
    files["job.toml"] = files["job.toml"].replace(b'max_depth = "14 ft"', b'max_depth = "14 m"')


CASES = {
    no_soundings: {"volume-estimated"},
    told_wrong: {"max-depth-differs"},
    feet_as_metres: {"volume-estimated", "feet-as-metres", "depth-suspicious"},
    soundings_in_feet: {"feet-as-metres", "soundings-in-feet"},
    max_depth_in_feet: {"max-depth-in-feet"},
}


@pytest.mark.parametrize(
    ("change", "units"),
    list(zip(CASES, ("us", "si", "us", "us", "si"), strict=True)),
    ids=[change.__name__ for change in CASES],
)
def test_every_number_of_such_a_notice_opens(browser, change, units):
    """Each figure of the notices of that job is a link to a working that comes to it."""
    files = dict(read_folder(demo_folder()).files)
    change(files)
    pond = browser.store.ponds.add(Folder("water", files), author="", reason="").pond_id
    browser.in_units(units)
    page = Page(browser.get(f"/ponds/{pond}/survey").text)
    rows = browser.get(f"/api/v1/ponds/{pond}/workings/survey?units={units}").json()
    check_links(page, rows)
    check_lines(rows)
    shown = browser.get(f"/api/v1/ponds/{pond}/stages/survey").json()["notices"]
    assert CASES[change] <= {notice["code"] for notice in shown}
    text = browser.get(f"/ponds/{pond}/survey").text
    blocks = re.findall(r'<p class="notice \w+">.*?</p>', text, re.S)
    assert len(blocks) >= len(CASES[change])
    for block in blocks:
        bare = re.sub(r'<a class="opens".*?</a>', "", block, flags=re.S)
        bare = html.unescape(re.sub(r"<[^>]+>", "", bare))
        assert not re.search(r"(?<![\w.])\d", bare), bare
