"""The plan page's sketch: the same numbers as a saved job, saved in its own lines, nothing lost in between."""

from __future__ import annotations

import json
import re

import pytest

from plumeline.files.placed_lines import with_places
from plumeline.job.document import LocalPoint
from plumeline.stages.sizing import sizing
from plumeline.stages.survey import survey
from plumeline.stages.survey.plane import LocalPlane
from plumeline.web.sketch import Sketch, laid_over
from plumeline.web.work import asked_of


@pytest.fixture
def place(browser, oak_zip):
    """A server with the demo pond."""
    assert browser.bring_in(oak_zip).status_code == 303
    browser.pond = browser.get("/api/v1/ponds").json()[0]["id"]
    return browser


def page_data(browser):
    """Return what the page hands its script."""
    text = browser.get(f"/ponds/{browser.pond}/plan").text
    return json.loads(re.search(r'id="data">(.*?)</script>', text, re.S)[1])


def sketch_of(browser, **moved):
    """Return the saved sketch with things moved by (east, north) metres."""
    data = page_data(browser)
    sketch = {"revision_number": data["number"], **{k: data["sketch"][k] for k in ("manifold", "diffusers")}}
    for item in [{"name": "manifold"} | sketch["manifold"], *sketch["diffusers"]]:
        if item["name"] in moved:
            east, north = moved[item["name"]]
            target = sketch["manifold"] if item["name"] == "manifold" else item
            target["x_m"] += east
            target["y_m"] += north
    return sketch


def ask(browser, sketch):
    return browser.client.post(
        f"/ponds/{browser.pond}/sketch", json=sketch, headers={"Accept": "application/json"}
    )


def save(browser, sketch, **more):
    return browser.post(
        f"/ponds/{browser.pond}/plan", {"sketch": json.dumps(sketch), "author": "Ada", **more}
    )


def test_a_sketch_says_what_the_stages_say_of_the_job_saved_so(place):
    """Flow, gauge, depth, length, turnover: equal to the last bit to those of the saved revision."""
    sketch = sketch_of(place, A=(4.0, 3.0), manifold=(1.5, 0.0))
    found = ask(place, sketch).json()["answer"]
    assert save(place, sketch).status_code == 303
    revision = place.store.ponds.revision(place.pond)
    asked = asked_of(revision)
    sized = sizing(asked.job, survey(asked.job, asked.seed), seed=asked.seed)
    assert found["turnover_per_day"] == sized.layout.turnover_per_day
    assert found["served_fraction"] == sized.layout.served_fraction
    assert found["compressor_pressure_pa"] == sized.air.balanced.compressor_pressure_pa
    for row, item in zip(found["diffusers"], sized.layout.diffusers, strict=True):
        assert (row["name"], row["depth_m"], row["branch_cut_m"]) == (
            item.name,
            item.depth_m,
            item.branch_cut_m,
        )
        assert row["flow_standard_m3_s"] == sized.air.diffuser_flow_standard_m3_s(item.name)
        assert row["port_pressure_pa"] == sized.air.balanced.branch(item.name).port_pressure_pa


def test_saving_changes_the_lines_of_the_places_and_no_other(place):
    """Comments, order and every other line of job.toml stay."""
    before = place.store.ponds.folder(place.pond).files["job.toml"].decode().splitlines()
    assert save(place, sketch_of(place, B=(2.0, -1.0))).status_code == 303
    after = place.store.ponds.folder(place.pond).files["job.toml"].decode().splitlines()
    changed = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert 1 <= len(changed) <= 4
    assert all(re.match(r"(place|manifold) = ", new) for _, new in changed)


def test_a_diffuser_more_or_less_is_kept_too(place):
    """The file is written anew where its lines do not do, and says the same job."""
    sketch = sketch_of(place)
    sketch["diffusers"] = [*sketch["diffusers"][:2], {"name": "Deep <1>", "x_m": -30.0, "y_m": -20.0}]
    assert save(place, sketch).status_code == 303
    job = place.store.ponds.revision(place.pond).job
    assert [item.name for item in job.air.diffusers] == ["A", "B", "Deep <1>"]
    assert "Deep &lt;1&gt;" in place.get(f"/ponds/{place.pond}/plan").text


def test_saved_in_between_shows_both_and_loses_nothing(place):
    """409; what was placed stands over the newer revision and is kept by saving again."""
    mine = sketch_of(place, A=(5.0, 0.0))
    assert save(place, sketch_of(place, B=(0.0, 3.0))).status_code == 303
    refused = save(place, mine)
    assert refused.status_code == 409
    assert "still here, laid over revision 2" in refused.text
    data = json.loads(re.search(r'id="data">(.*?)</script>', refused.text, re.S)[1])
    assert data["number"] == 2
    assert data["sketch"]["diffusers"][0]["x_m"] == pytest.approx(mine["diffusers"][0]["x_m"], abs=0.002)
    again = {"revision_number": 2, **{k: data["sketch"][k] for k in ("manifold", "diffusers")}}
    assert save(place, again).status_code == 303
    assert place.store.ponds.revision(place.pond).number == 3


def test_fields_alone_do_without_a_script(place):
    """The form as a browser without scripts sends it: typed in the trade's units."""
    fields = {"number": "1", "count": "4", "author": "Ada", "sketch": ""}
    rows = re.findall(r'name="(east|north)(\d)" value="([^"]+)"', place.get(f"/ponds/{place.pond}/plan").text)
    fields |= {f"{key}{n}": value for key, n, value in rows}
    fields |= {f"name{n}": name for n, name in enumerate(("manifold", "A", "B", "C"))}
    fields["east1"] = "-80 ft 6 in"
    assert place.post(f"/ponds/{place.pond}/plan", fields).status_code == 303
    moved = page_data(place)["sketch"]["diffusers"][0]
    assert moved["x_m"] == pytest.approx(-80.5 * 0.3048, abs=0.01)


def test_a_line_is_bent_kept_in_its_own_line_and_laid_straight_again(place):
    """Dragged or typed it is the same bend; job.toml gains one line and loses it again; the length follows."""
    before = place.store.ponds.folder(place.pond).files["job.toml"]
    sketch = sketch_of(place)
    straight = ask(place, sketch).json()["answer"]["diffusers"][0]
    a = sketch["diffusers"][0]
    bend = {"x_m": a["x_m"] + 3.0, "y_m": a["y_m"] - 4.0}
    a["bends"] = [bend]
    dragged = ask(place, sketch).json()
    row = dragged["answer"]["diffusers"][0]
    assert row["branch_cut_m"] >= straight["branch_cut_m"]
    assert row["bends_xy_m"][0] == pytest.approx([bend["x_m"], bend["y_m"]], abs=0.02)
    a["bends"] = []
    a["through"] = f"{bend['x_m']} m, {bend['y_m']} m"
    typed = ask(place, sketch).json()
    assert typed["answer"] == dragged["answer"]
    assert "through" not in typed["sketch"]["diffusers"][0]
    assert save(place, sketch).status_code == 303
    kept = place.store.ponds.folder(place.pond).files["job.toml"].decode().splitlines()
    added = [line for line in kept if line not in before.decode().splitlines()]
    assert [line for line in added if not re.match(r"(place|manifold) = ", line)] == [
        line for line in added if line.startswith("branch_through = [{ ")
    ]
    assert page_data(place)["sketch"]["diffusers"][0]["bends"][0] == pytest.approx(bend, abs=0.02)
    again = sketch_of(place)
    assert again["diffusers"][0]["bends"]
    again["diffusers"][0]["through"] = ""
    assert save(place, again).status_code == 303
    last = place.store.ponds.folder(place.pond).files["job.toml"].decode()
    assert "branch_through" not in last
    assert len(last.splitlines()) == len(before.decode().splitlines())


@pytest.mark.parametrize("written", ["branch_through = [{A}]", "branch_through = [\n  {A},\n  {A},\n]"])
def test_a_list_of_bends_is_found_however_it_is_written(written):
    """On one line or over several; every other line stays."""
    place = LocalPoint(x_m=1.0, y_m=2.0)
    spot = "{ x_m = 1.00, y_m = 2.00 }"
    text = f'[[air.diffusers]]\nname = "A"\nplace = {spot}\n{written}\nvalve = "ball"\n'.replace("{A}", spot)
    left = '[[air.diffusers]]\nname = "A"\nplace = { x_m = 1.00, y_m = 2.00 }\nvalve = "ball"\n'
    assert with_places(text.encode(), None, {"A": place}, {"A": ()}) == left.encode()
    assert with_places(text.encode(), None, {"A": place}) == text.encode()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"x_m": 900.0, "y_m": 0.0}, "outside the water"),
        ({"east": "12 psi"}, "A, east"),
        ({"east": "a bit left"}, "A, east"),
        ({"east": "900 mi"}, "62 miles (100 km) away"),
        ({"east": "-80"}, "has no unit"),
        ({"name": "B"}, "two diffusers have one name"),
        ({"bends": [{"x_m": 900.0, "y_m": 0.0}]}, "a bend lies outside the water"),
        ({"through": "12 ft"}, "has 1 part. Write east, north"),
        ({"through": "1 ft, 2 ft; 3 ft, 4"}, "line of A, bend 2, north"),
        ({"through": "1 ft, 2 ft;" * 7}, "it has 7 bends. A line has at most 6."),
    ],
)
def test_what_can_t_be_is_said_and_kept_on_the_page(place, change, words):
    """422 in words from the sketch; the saved form shows the same and keeps what was placed."""
    sketch = sketch_of(place)
    sketch["diffusers"][0] |= change
    found = ask(place, sketch)
    assert found.status_code == 422
    assert words in found.json()["detail"]
    refused = save(place, sketch)
    assert refused.status_code == 422
    assert words in refused.text
    for typed in ("east", "through"):
        if typed in change:
            assert f'value="{change[typed]}"' in refused.text
    assert place.store.ponds.revision(place.pond).number == 1


def test_nothing_of_it_can_end_the_script_block(place):
    """A name that is markup stands in the data as an escape."""
    sketch = sketch_of(place)
    sketch["diffusers"][0]["name"] = "</script><script>alert(1)</script>"
    assert save(place, sketch).status_code == 303
    text = place.get(f"/ponds/{place.pond}/plan").text
    assert "<script>alert" not in text
    assert page_data(place)["sketch"]["diffusers"][0]["name"] == "</script><script>alert(1)</script>"


def test_a_sketch_is_laid_over_at_the_same_places_when_the_middle_moved():
    """Two planes of shores 100 m apart: the place on the ground is the same, its metres are not."""
    places = {"manifold": {"x_m": 5.0, "y_m": -7.0}, "diffusers": [{"name": "A", "x_m": 0.0, "y_m": 0.0}]}
    sketch = Sketch.model_validate({"revision_number": 1, **places})
    before, after = LocalPlane(-79.563, 35.865), LocalPlane(-79.562, 35.866)
    found = laid_over(sketch, before, after, 2)
    place = found["diffusers"][0]
    # a degree of latitude is 110.95 km there (WGS 84), one of longitude 90.28 km
    assert place["x_m"] == pytest.approx(-90.28, abs=0.2)
    assert place["y_m"] == pytest.approx(-110.95, abs=0.2)
    ground = after.to_point(place["x_m"], place["y_m"])
    assert ground.latitude_deg == pytest.approx(35.865, abs=1e-7)
    assert found["revision_number"] == 2


def test_lines_that_would_say_something_else_are_written_anew(place, monkeypatch):
    """Where the changed text does not read, the whole job is saved instead: the diffuser stands where it was put."""
    monkeypatch.setattr("plumeline.web.planning.with_places", lambda *_: b"no = [")
    sketch = sketch_of(place, B=(2.0, -1.0))
    assert save(place, sketch).status_code == 303
    wanted = next(item for item in sketch["diffusers"] if item["name"] == "B")
    assert place.store.ponds.revision(place.pond).number == 2
    kept = next(item for item in sketch_of(place)["diffusers"] if item["name"] == "B")
    assert (kept["x_m"], kept["y_m"]) == pytest.approx((wanted["x_m"], wanted["y_m"]), abs=0.01)
