"""The page of the shore: corners and soundings as drawn or typed, worked through and kept in their own files."""

from __future__ import annotations

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
    fields = {
        "number": str(number),
        "action": "save",
        "from": "shore",
        "walls": walls,
        "author": "Ada",
        **more,
    }
    return browser.post(f"/ponds/{browser.pond}/known", fields)


def test_a_wall_between_two_corners_is_kept_drawn_and_comes_back_to_the_page_of_the_shore(place):
    """Its ends are the corners' own places, and the bar runs along the corners between them."""
    number = saved(place)["revision_number"]
    answer = tell_walls(place, "corner 2; corner 5; 3 ft", number)
    assert answer.status_code == 303
    assert answer.headers["location"].endswith("/shore")
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


def test_a_wall_to_a_corner_that_is_none_is_refused_and_stays_as_typed(place):
    """On the page of what is known, at its field, nothing kept."""
    number = saved(place)["revision_number"]
    answer = tell_walls(place, "corner 2; corner 500; 3 ft", number)
    assert answer.status_code == 422
    assert "corner 2; corner 500; 3 ft" in answer.text
    words = " ".join(re.sub("<[^>]+>", "", answer.text).split())
    assert "500: the shore has" in words
    assert place.store.ponds.revision(place.pond).job.pond.walls == ()
