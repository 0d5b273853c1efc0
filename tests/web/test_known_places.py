"""Walls, the compressor's place, trench and stock on the form of what is known, and what the form does to job.toml."""

from __future__ import annotations

import html
import re

import pytest
from tests.web.test_known import fields_of

from plumeline.demo import demo_folder
from plumeline.store import Folder, read_folder

POND = "/ponds/hollow-oak"
KNOWN = f"{POND}/known"
WALL = """
# along the dock, by the owner
[[pond.walls]]                     # oak piles
start = { longitude_deg = -79.5624022, latitude_deg = 35.8652 }
end = { longitude_deg = -79.5622468, latitude_deg = 35.8654528 }   # the swimming ladder
depth = "3 ft"
"""


@pytest.fixture
def oak(browser):
    """A server with the demo pond: a drawn shore, soundings, a manifold at its shore."""
    browser.store.ponds.add(Folder("hollow-oak", read_folder(demo_folder()).files), author="", reason="")
    return browser


def sent(there, changes, action="save"):
    """Fill in the page as it stands, change some answers, and send it."""
    return there.post(
        KNOWN, {**fields_of(there.get(KNOWN).text), "author": "Ada", "action": action, **changes}
    )


def beside(text, field):
    """Return what stands at a field of the page: its own words, its hint, its faults and its warnings."""
    end = "</fieldset>" if f'<fieldset id="{field}"' in text else "</div>"
    return text.partition(f' id="{field}"')[2].partition(end)[0]


def job_of(there):
    return there.store.ponds.revision("hollow-oak").job


def text_of(there):
    return there.store.ponds.folder("hollow-oak").files["job.toml"].decode()


def test_a_wall_between_two_corners_is_kept_as_places_and_every_other_line_stays(oak):
    """The first and the fifth corner of the demo's shore, as its file has them; shown again as typed."""
    before = text_of(oak)
    look = sent(oak, {"walls": "corner 1; corner 5; 3 ft"}, action="look")
    assert look.status_code == 200
    said = html.unescape(look.text)
    assert "from 35.865200° N, 79.562402° W to 35.865453° N, 79.562247° W" in said
    assert "3 ft = 0.914 m" in said
    assert fields_of(look.text)["walls"] == "corner 1; corner 5; 3 ft"
    assert sent(oak, {"walls": "corner 1; corner 5; 3 ft"}).status_code == 303
    (wall,) = job_of(oak).pond.walls
    assert (wall.start.longitude_deg, wall.start.latitude_deg) == (-79.5624022, 35.8652)
    assert (wall.end.longitude_deg, wall.end.latitude_deg) == (-79.5622468, 35.8654528)
    # a foot is 0.3048 m exactly (NIST Handbook 44, appendix C)
    assert wall.depth_m == pytest.approx(0.9144)
    line = 'walls = ["35.8652, -79.5624022; 35.8654528, -79.5622468; 3 ft"]\n'
    assert text_of(oak).replace(line, "") == before
    shown = oak.get(KNOWN).text
    assert fields_of(shown)["walls"] == "35.8652, -79.5624022; 35.8654528, -79.5622468; 3 ft"
    assert "corners, counted as where it is drawn" in shown
    assert sent(oak, {"walls": ""}).status_code == 303
    assert job_of(oak).pond.walls == ()


def test_walls_that_stand_as_tables_are_shown_and_changed_and_their_comments_stay(oak):
    """Two walls instead of one: the tables go, every comment and every other line stays."""
    files = dict(oak.store.ponds.folder("hollow-oak").files)
    files["job.toml"] = files["job.toml"] + WALL.encode()
    oak.store.ponds.save_files("hollow-oak", files, expected_number=1, author="", reason="")
    assert fields_of(oak.get(KNOWN).text)["walls"] == "35.8652, -79.5624022; 35.8654528, -79.5622468; 3 ft"
    assert sent(oak, {"swimmers": "no"}).status_code == 303
    assert "[[pond.walls]]" in text_of(oak)
    typed = "35.8652, -79.5624022; corner 5; 4 ft\r\ncorner 8; corner 9; 50 cm"
    assert sent(oak, {"walls": typed}).status_code == 303
    assert [wall.depth_m for wall in job_of(oak).pond.walls] == pytest.approx([4 * 0.3048, 0.5])
    text = text_of(oak)
    assert "[[pond.walls]]" not in text
    for comment in (
        "# along the dock, by the owner",
        "# oak piles",
        "# the swimming ladder",
        "# in the barn\n",
    ):
        assert comment in text


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("walls", "corner 1; corner 5", "has 2 parts, not 3"),
        ("walls", "corner 1; corner 5; 3", "3 has no unit"),
        ("walls", "corner 1; corner 400; 3 ft", "Corner 400: the shore has 72 corners"),
        ("walls", "corner 1; the dock; 3 ft", "'the dock' is no place"),
        ("walls", "corner 1; 35.87, -79.56; 3 ft", "The end of wall 1 lies"),
        ("compressor_place", "35.8652, 79.5631", "no air line is as long"),
        ("compressor_place", "in the barn", "is no place"),
        ("trench_width", "6", "6 has no unit"),
        ("ticket_expires", "next week", "is not a date"),
        ("frost_depth", "-3 in", "below the limit"),
        ("heavy_stock", "perhaps", "neither true nor false"),
    ],
)
def test_what_is_wrong_is_told_at_its_field_and_stays_as_typed(oak, field, typed, words):
    """No revision is made; what was typed beside it stays too."""
    answer = sent(oak, {field: typed, "shore_owner": "the camp"})
    assert answer.status_code == 422
    assert words in html.unescape(beside(answer.text, field))
    assert 'aria-invalid="true"' in beside(answer.text, field)
    if field != "heavy_stock":
        assert fields_of(answer.text)[field] == typed
    assert fields_of(answer.text)["shore_owner"] == "the camp"
    assert oak.store.ponds.revision("hollow-oak").number == 1


def test_the_compressor_s_place_is_kept_and_the_trench_is_held_against_it(oak):
    """430 ft of trench with the compressor 656 ft from the manifold, then 131 ft: said at its field."""
    for place, said in (
        ("35.86677, -79.5628598", "which no line undercuts"),
        ("35.86533, -79.5628598", "twice"),
    ):
        assert sent(oak, {"compressor_place": place}).status_code == 303
        notices = [one.said("us") for one in oak.store.ponds.revision("hollow-oak").notices]
        assert any(said in one for one in notices), notices
        field = html.unescape(beside(oak.get(KNOWN).text, "route_length"))
        assert said in field
    assert sent(oak, {"compressor_place": "35.86590, -79.5628598"}).status_code == 303
    assert not [one for one in oak.store.ponds.revision("hollow-oak").notices if one.code.startswith("line-")]


def test_trench_and_stock_are_asked_with_what_follows_and_kept(oak):
    """Each in its table; "not known" of the stock is no "no"."""
    text = oak.get(KNOWN).text
    assert fields_of(text)["heavy_stock"] == "no"
    assert fields_of(text)["private_lines_located"] == "unknown"
    assert "no digging before a private locator has marked" in beside(text, "private_lines_located")
    answers = {
        "utility_ticket": "A 4711", "ticket_expires": "2026-08-25", "dig_date": "2026-08-20",
        "frost_depth": "1 ft 6 in",
        "private_lines_located": "yes", "trench_width": "4 in", "water_elevation": "680 ft", "heavy_stock": "unknown",
    }  # fmt: skip
    assert sent(oak, answers).status_code == 303
    job = job_of(oak)
    assert job.fish.heavy_stock is None
    assert (job.trench.dig_date.isoformat(), job.trench.ticket_expires.isoformat()) == (
        "2026-08-20",
        "2026-08-25",
    )
    # an inch is 25.4 mm exactly (NIST Handbook 44, appendix C)
    assert (job.trench.frost_depth_m, job.trench.width_m) == pytest.approx((18 * 0.0254, 4 * 0.0254))
    assert job.trench.water_elevation_m == pytest.approx(680 * 0.3048)
    shown = fields_of(oak.get(KNOWN).text)
    assert {name: shown[name] for name in answers} == answers
    assert "Not known is not no" in beside(oak.get(KNOWN).text, "heavy_stock")
    assert sent(oak, dict.fromkeys(("dig_date", "trench_width", "frost_depth"), "")).status_code == 303
    assert job_of(oak).trench.width_m == pytest.approx(0.15)
    assert (job_of(oak).trench.dig_date, job_of(oak).trench.frost_depth_m) == (None, None)


def test_the_page_begins_with_a_list_of_what_stands_on_it(oak):
    """Every heading of the form, and the button; each link leads to a part that is there."""
    text = oak.get(KNOWN).text
    listed = re.findall(
        r'<a href="#([\w-]+)">', text.partition('aria-label="On this page"')[2].partition("</nav>")[0]
    )
    heads = re.findall(r'<h2 id="(group-\d+)">', text)
    assert listed == [*heads, "save"]
    assert len(heads) >= 9
    assert 'id="save"' in text


def test_both_lengths_in_the_warning_of_a_line_too_short_open(oak):
    """On the survey's page: each is a link to what it is."""
    assert sent(oak, {"compressor_place": "35.86677, -79.5628598"}).status_code == 303
    text = oak.get(f"{POND}/survey").text
    notice = next(
        one for one in re.findall(r'<p class="notice .*?</p>', text, re.DOTALL) if "which no line" in one
    )
    assert re.findall(r'<a class="opens"[^>]*>([^<]*)</a>', notice) == ["430 ft", "658 ft"]
