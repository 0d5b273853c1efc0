"""The page of the shore: corners and soundings as drawn or typed, worked through and kept in their own files."""

from __future__ import annotations

import html
import json
import re

import pytest

from plumeline.stages.survey import survey
from plumeline.stages.survey.plane import plane_of
from plumeline.web.work import asked_of

SQUARE = "-40 m, -30 m\n40 m, -30 m\n40 m, 30 m\n-40 m, 30 m\n"


@pytest.fixture
def place(browser, oak_zip):
    """A server with the demo pond."""
    assert browser.bring_in(oak_zip).status_code == 303
    browser.pond = browser.get("/api/v1/ponds").json()[0]["id"]
    return browser


def data_of(text):
    """Return what a page hands its script."""
    return json.loads(re.search(r'id="data">(.*?)</script>', text, re.S)[1])


def saved(browser):
    """Return the saved sketch, ready to be changed."""
    return data_of(browser.get(f"/ponds/{browser.pond}/shore").text)["saved"]


def ask(browser, sketch):
    return browser.client.post(
        f"/ponds/{browser.pond}/shore/sketch", json=sketch, headers={"Accept": "application/json"}
    )


def save(browser, sketch, **more):
    return browser.post(
        f"/ponds/{browser.pond}/shore", {"sketch": json.dumps(sketch), "author": "Ada", **more}
    )


def files(browser):
    return browser.store.ponds.folder(browser.pond).files


def moved(sketch, corner, east_m, north_m):
    """Return a sketch with one corner moved."""
    item = sketch["corners"][corner]
    sketch["corners"][corner] = {"x_m": item["x_m"] + east_m, "y_m": item["y_m"] + north_m}
    return sketch


def test_a_sketch_says_what_the_survey_says_of_the_job_saved_so(place):
    """Area, volume and depth equal those of the saved revision; other corners keep their last digit."""
    before = place.store.ponds.revision(place.pond).job.pond
    sketch = moved(saved(place), 3, 4.0, -3.0)
    sketch["soundings"] = [
        *sketch["soundings"][1:],
        {"x_m": 1.0, "y_m": 2.0, "depth_m": 0.0, "depth": "9 ft 6 in"},
    ]
    found = ask(place, sketch).json()["answer"]
    assert save(place, sketch).status_code == 303
    revision = place.store.ponds.revision(place.pond)
    basin = survey(asked_of(revision).job, revision.job.seed)
    assert found["area_m2"] == basin.area_m2
    assert found["volume_m3"] == pytest.approx(basin.volume_m3, rel=1e-12)
    pond = revision.job.pond
    assert [a == b for a, b in zip(pond.outline[0], before.outline[0], strict=True)].count(False) == 1
    assert [item.depth_m for item in pond.soundings[:-1]] == [item.depth_m for item in before.soundings[1:]]
    assert pond.soundings[-1].depth_m == pytest.approx(9.5 * 0.3048, abs=1e-3)


def test_the_basin_alone_says_the_same_before_layout_and_drawing_follow(place):
    """Under a hand: the same numbers to the last bit, none of layout and air, which the whole answer has."""
    sketch = moved(saved(place), 3, 4.0, -3.0)
    first = ask(place, sketch | {"draws_ground": False, "lays_out": False}).json()
    whole = ask(place, sketch | {"draws_ground": False}).json()
    drawn = ask(place, sketch | {"lays_out": False}).json()
    assert first["ground"] == whole["ground"] == ""
    assert drawn["ground"].count("<path") >= 3
    for key in ("area_m2", "volume_m3", "max_depth_m"):
        assert first["answer"][key] == whole["answer"][key] == drawn["answer"][key]
    sums = whole["answer"]["sums"]
    assert first["answer"]["sums"] == sums[: len(first["answer"]["sums"])]
    assert [name for name, _ in sums[len(first["answer"]["sums"]) :]] == ["diffusers", "turnover"]
    # the same drawing and numbers as a job that says so from the start
    assert save(place, sketch).status_code == 303
    page = place.get(f"/ponds/{place.pond}/shore").text
    assert all(f"<dd>{value}</dd>" in page for _, value in sums)


def test_the_rows_of_the_soundings_stay_as_somebody_wrote_them(place):
    """One line goes, one comes, in feet as the file's heading says; comments and every other line stay."""
    before = files(place)["soundings.csv"].decode().splitlines()
    outline, job = files(place)["outline.geojson"], files(place)["job.toml"]
    sketch = saved(place)
    del sketch["soundings"][2]
    sketch["soundings"].append({"x_m": 0.0, "y_m": 0.0, "depth_m": 3.048})
    assert save(place, sketch).status_code == 303
    after = files(place)["soundings.csv"].decode().splitlines()
    rows = [n for n, line in enumerate(before) if re.match(r"-?\d", line)]
    assert after[:-1] == before[: rows[2]] + before[rows[2] + 1 :]
    assert after[-1].split(",")[2] == "10"
    assert (files(place)["outline.geojson"], files(place)["job.toml"]) == (outline, job)


def test_names_and_properties_of_the_outline_file_stay(place):
    """A shore that moves changes the coordinates alone."""
    raw = json.loads(files(place)["outline.geojson"])
    assert save(place, moved(saved(place), 0, 1.0, 1.0)).status_code == 303
    after = json.loads(files(place)["outline.geojson"])
    one, two = (json.dumps(item, sort_keys=True) for item in (raw, after))
    blank = re.compile(r'"coordinates": \[.*?\]\]\]')
    assert one != two
    assert blank.sub("", one) == blank.sub("", two)


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ("1 m, 2 m", "3 are needed"),
        ("0 m, 0 m\n30 m, 30 m\n30 m, 0 m\n0 m, 30 m", "crosses itself"),
        ("1 m", "line 1"),
        (f"{SQUARE}12, 13", "has no unit"),
        (f"{SQUARE}12 psi, 13 ft", "corners, line 5, east"),
        (f"{SQUARE}900 km, 13 ft", "62 miles (100 km)"),
    ],
)
def test_what_can_t_be_is_said_with_its_line_and_stays_typed(place, lines, words):
    """Without a script: 422, the text as typed, nothing saved."""
    fields = {"number": "1", "sketch": "", "author": "Ada", "corner_lines": lines, "sounding_lines": ""}
    refused = place.post(f"/ponds/{place.pond}/shore", fields)
    assert refused.status_code == 422
    assert words in refused.text
    assert lines.splitlines()[0] in refused.text
    assert place.store.ponds.revision(place.pond).number == 1


def test_text_alone_draws_a_shore_for_a_pond_without_one(place):
    """A pond of area and depth gets shore and soundings typed; what was only assumed is said before."""
    folder = dict(files(place))
    del folder["outline.geojson"], folder["soundings.csv"]
    toml = folder["job.toml"].decode()
    toml = re.sub(r"(?m)^(place|manifold) = .*$", "", toml)
    toml = re.sub(r"(?s)\[\[air.diffusers\]\].*?(?=\n\[(?!\[air.diff)|\Z)", "", toml)
    folder["job.toml"] = toml.encode()
    place.store.ponds.save_files(place.pond, folder, expected_number=1, author="Ada", reason="less")
    assert "No shore was drawn yet" in place.get(f"/ponds/{place.pond}/shore").text
    deep = "0 m, 0 m, 12 ft\n10 ft, 5 ft, 3.5 m\n-30 ft; 12 m; 9 ft\n"
    fields = {"number": "2", "sketch": "", "author": "Ada", "corner_lines": SQUARE, "sounding_lines": deep}
    assert place.post(f"/ponds/{place.pond}/shore", fields).status_code == 303
    pond = place.store.ponds.revision(place.pond).job.pond
    assert len(pond.outline[0]) == 4
    assert [item.depth_m for item in pond.soundings] == pytest.approx([3.6576, 3.5, 2.7432])
    assert survey(place.store.ponds.revision(place.pond).job).area_m2 == pytest.approx(4800.0, rel=1e-3)


def test_saved_in_between_shows_both_and_loses_nothing(place):
    """409; what was drawn stands over the newer revision and is kept by saving again."""
    mine = moved(saved(place), 5, 3.0, 0.0)
    assert save(place, moved(saved(place), 1, 0.0, 2.0)).status_code == 303
    refused = save(place, mine)
    assert refused.status_code == 409
    assert "still here, laid over revision 2" in refused.text
    data = data_of(refused.text)
    assert data["number"] == 2
    first, latest = (plane_of(place.store.ponds.revision(place.pond, number).job) for number in (1, 2))
    mine, shown = mine["corners"][5], data["sketch"]["corners"][5]
    meant, kept = first.to_point(mine["x_m"], mine["y_m"]), latest.to_point(shown["x_m"], shown["y_m"])
    assert kept.longitude_deg == pytest.approx(meant.longitude_deg, abs=1e-7)
    assert save(place, data["sketch"]).status_code == 303


def test_a_file_of_the_shore_is_taken_as_it_is_or_its_faults_are_told(place):
    """The bytes are kept; one that holds no polygon changes nothing and is told where."""
    good = files(place)["outline.geojson"] + b"\n"
    path = f"/ponds/{place.pond}/shore/file"
    bad = place.post(path, {"number": "1"}, files={"outline": ("shore.kml", b"<kml/>", "text/xml")})
    assert bad.status_code == 422
    assert "not valid JSON" in bad.text
    assert place.store.ponds.revision(place.pond).number == 1
    assert place.post(path, {"number": "1"}).status_code == 422
    assert place.post(path, {"number": "1"}, files={"outline": ("a.json", good, "")}).status_code == 303
    assert files(place)["outline.geojson"] == good
    assert place.post(path, {"number": "1"}, files={"outline": ("a.json", good, "")}).status_code == 409


def tell_walls(browser, walls, number, **more):
    """Send what the page's own form of walls sends."""
    fields = {"number": str(number), "walls": walls, "author": "Ada", **more}
    return browser.post(f"/ponds/{browser.pond}/shore/walls", fields)


def typed_walls(text):
    """Return what stands in the field of the walls."""
    return html.unescape(re.search(r'<textarea id="wall-lines"[^>]*>([^<]*)</textarea>', text)[1])


def take_out(browser, wall, number, walls=None):
    """Tap the button of one wall: the form that it stands in is sent along."""
    if walls is None:
        walls = typed_walls(browser.get(f"/ponds/{browser.pond}/shore").text)
    fields = {"number": str(number), "wall": str(wall), "walls": walls, "author": "Ada"}
    return browser.post(f"/ponds/{browser.pond}/shore/walls/out", fields)


def test_a_wall_between_two_corners_is_kept_drawn_and_comes_back_to_the_page_of_the_shore(place):
    """Its ends are the corners' own places, and the bar runs along the corners between them."""
    number = saved(place)["revision_number"]
    answer = tell_walls(place, "corner 2; corner 5; 3 ft", number)
    assert answer.status_code == 303
    assert answer.headers["location"].endswith("/shore?after=2#walls")
    (wall,) = place.store.ponds.revision(place.pond).job.pond.walls
    assert wall.depth_m == pytest.approx(0.9144)
    data = data_of(place.get(f"/ponds/{place.pond}/shore").text)
    corners = [(item["x_m"], item["y_m"]) for item in data["saved"]["corners"][1:5]]
    (drawn,) = [[(item["x_m"], item["y_m"]) for item in way] for way in data["walls"]]
    found = drawn if drawn[0] == pytest.approx(corners[0], abs=0.02) else drawn[::-1]
    assert [value for xy in found for value in xy] == pytest.approx(
        [value for xy in corners for value in xy], abs=0.02
    )
    assert "3 ft</textarea>" in place.get(f"/ponds/{place.pond}/shore").text


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("corner 2; corner 500; 3 ft", "Corner 500: the shore has 72 corners"),
        ("corner 2; corner 5", "has 2 parts, not 3"),
        ("corner 2; corner 5; 3", "3 has no unit"),
        ("corner 2; the dock; 3 ft", "'the dock' is no place"),
        ("corner 2; 35.87, -79.56; 3 ft", "The end of wall 1 lies"),
    ],
)
def test_a_wall_that_can_not_be_is_refused_where_it_was_typed(place, typed, words):
    """On the page of the shore, at its field, with what was typed; what is drawn is as it is saved, nothing is kept."""
    number = saved(place)["revision_number"]
    answer = tell_walls(place, typed, number)
    assert answer.status_code == 422
    assert "<h1>Shore and soundings of" in answer.text
    assert typed_walls(answer.text) == typed
    field = answer.text.partition('id="wall-lines"')[2].partition("</p>")[0]
    assert words in html.unescape(field)
    assert 'aria-invalid="true"' in field
    assert '<a href="#wall-lines">Walls</a>' in answer.text
    data = data_of(answer.text)
    assert (data["changed"], data["wall_lines"]) == (False, "")
    assert place.store.ponds.revision(place.pond).number == 1


def test_walls_of_a_page_that_is_old_are_shown_over_the_new_one(place):
    """409: what was typed stays, and its corners are to be looked at; sent again it is kept."""
    assert save(place, moved(saved(place), 30, 1.0, 1.0)).status_code == 303
    answer = tell_walls(place, "corner 2; corner 5; 3 ft", 1)
    assert answer.status_code == 409
    assert "look whether its corners are the same" in answer.text
    assert typed_walls(answer.text) == "corner 2; corner 5; 3 ft"
    assert tell_walls(place, typed_walls(answer.text), 2).status_code == 303


def test_a_saved_wall_is_taken_out_told_and_brought_back(place):
    """Each has its button; the other stays as it is written, what changed is said, and undo is a revision too."""
    assert tell_walls(place, "corner 2; corner 5; 3 ft\ncorner 8; corner 12; 4 ft", 1).status_code == 303
    page = place.get(f"/ponds/{place.pond}/shore?after=2").text
    assert "Kept as revision 2." in page
    marked = html.unescape(re.search(r"Kept as revision 2\.</strong> ([^<]*)<", page)[1])
    assert re.match(
        r"Marked: the wall from corner 2 to corner 5, \d+ ft( \d+ in)? of shore, 3 ft deep at its foot\. Marked: ",
        marked,
    )
    rows = re.findall(
        r"<li><span>(Wall \d: from corner \d+ to corner \d+), [^<]*</span>\s*<button name=\"wall\"", page
    )
    assert rows == ["Wall 1: from corner 2 to corner 5", "Wall 2: from corner 8 to corner 12"]
    assert "4 ft deep at its foot" in page
    both = place.store.ponds.revision(place.pond).job.pond.walls
    before = files(place)

    answer = take_out(place, 1, 2)
    assert (answer.status_code, answer.headers["location"]) == (
        303,
        f"/ponds/{place.pond}/shore?after=3#walls",
    )
    revision = place.store.ponds.revision(place.pond)
    assert revision.job.pond.walls == both[1:]
    assert (revision.author, revision.reason) == ("Ada", "wall taken out: from corner 2 to corner 5")
    told = place.get(answer.headers["location"]).text
    said = html.unescape(re.search(r"Kept as revision 3\.</strong> ([^<]*)<", told)[1])
    assert said.startswith("Taken out: the wall from corner 2 to corner 5, ")
    assert re.search(r"Water: [\d.]+ acre-ft now, [\d.]+ acre-ft before\.$", said)
    assert "Kept as revision" not in place.get(f"/ponds/{place.pond}/shore").text

    back = place.post(f"/ponds/{place.pond}/shore/walls/undo", {"number": "3", "author": "Ada"})
    assert back.headers["location"].endswith("/shore?after=4#walls")
    assert place.store.ponds.revision(place.pond).job.pond.walls == both
    assert files(place) == before
    assert "wall taken out: from corner 2 to corner 5" in place.get(f"/ponds/{place.pond}/history").text


def test_no_wall_is_taken_out_of_what_is_not_saved_or_not_there(place):
    """Typed lines wait and stay; a wall that is none, a page that is old: nothing is kept."""
    assert tell_walls(place, "corner 2; corner 5; 3 ft", 1).status_code == 303
    more = typed_walls(place.get(f"/ponds/{place.pond}/shore").text) + "\ncorner 8; corner 12; 4 ft"
    answer = take_out(place, 1, 2, more)
    assert answer.status_code == 422
    assert typed_walls(answer.text) == more
    assert "Save them first" in answer.text
    assert take_out(place, 2, 2).status_code == 422
    assert take_out(place, 0, 2).status_code == 422
    assert save(place, moved(saved(place), 30, 1.0, 1.0)).status_code == 303
    stale = take_out(place, 1, 2)
    assert stale.status_code == 409
    assert "No wall was taken out" in stale.text
    undone = place.post(f"/ponds/{place.pond}/shore/walls/undo", {"number": "3"})
    assert undone.status_code == 422
    assert "did not change walls alone" in html.unescape(undone.text)
    assert place.store.ponds.revision(place.pond).number == 3
