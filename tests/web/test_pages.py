"""The pages: what they show is what the commands print, and nothing typed becomes part of a page."""

from __future__ import annotations

import html
import json
import re
import xml.etree.ElementTree as ElementTree

import pytest

from plumeline.cli import main
from plumeline.store import read_zip
from plumeline.web.guard import HEADERS

STAGES = ("survey", "reading", "layout", "air")
PAGES = (
    "/", "/ponds/new", "/api",
    "/ponds/{}", "/ponds/{}/survey", "/ponds/{}/reading", "/ponds/{}/layout", "/ponds/{}/air",
    "/ponds/{}/startup", "/ponds/{}/files", "/ponds/{}/files/edit?path=job.toml", "/ponds/{}/history", "/ponds/nowhere",
    "/nowhere/at/all", "/ponds/{}/nothing",
)  # fmt: skip


@pytest.fixture(params=PAGES)
def page(request, shared):
    return shared.get(request.param.format(shared.pond))


def test_a_page_asks_nobody_else_and_runs_nothing_of_its_text(page):
    """No address outside, no script or style in the page, the strict policy on every answer."""
    assert page.status_code in (200, 404, 422)
    for name, value in HEADERS.items():
        assert page.headers[name] == value
    text = page.text
    outside = [
        link
        for link in re.findall(r"(?:src|href|action)=\"([^\"]*)\"", text)
        if not link.startswith(("/", "#"))
    ]
    assert outside == []
    assert "<script>" not in text
    assert not re.search(r"\son\w+=|\sstyle=|<style|javascript:", text)
    assert "alert(1)" not in text.replace("&lt;script&gt;alert(1)&lt;/script&gt;", "")


@pytest.mark.parametrize("rest", ["", "/survey", "/reading", "/layout"])
def test_the_plan_stands_beside_the_cut_each_with_what_it_means(shared, rest):
    """The sentence, as it is read, holds the numbers of the layout and of the reading, which may be links."""
    shown = re.sub(r"</?a\b[^>]*>", "", shared.get(f"/ponds/{shared.pond}{rest}").text)
    text = re.sub(r"\s+", " ", shown)
    stages = f"/api/v1/ponds/{shared.pond}/stages"
    layout = shared.get(f"{stages}/layout").json()["layout"]
    turned = f"{layout['turnover_per_day']:.2g}"
    assert f"3 diffusers turn the water over {turned} times a day" in text
    assert re.search(r"parted at 5 ft 8 in; of the oxygen that it could hold, \d+ % is missing", text)


def test_a_page_is_whole_and_each_field_has_its_label(page):
    """Parsed strictly: one heading of the first order, a title, a language, unique ids, labels that lead somewhere."""
    text = re.sub(r"<(meta|link|input)\b([^>]*?)>", r"<\1\2/>", page.text.replace("<!DOCTYPE html>", ""))
    text = re.sub(r"\s(required|defer)(?=[\s/>])", r' \1=""', text)
    root = ElementTree.fromstring(text)
    plain = [(item, re.sub(r"\{.*\}", "", str(item.tag))) for item in root.iter()]
    assert root.get("lang") == "en"
    assert [name for _, name in plain].count("h1") == 1
    ids = [item.get("id") for item, _ in plain if item.get("id")]
    assert len(ids) == len(set(ids))
    labels = {item.get("for") for item, name in plain if name == "label"}
    assert labels <= set(ids)
    fields = [
        item
        for item, name in plain
        if name in ("input", "textarea", "select") and item.get("type") != "hidden"
    ]
    assert all(item.get("id") in labels for item in fields)
    assert all(item.get("type") != "number" for item in fields)


@pytest.mark.parametrize("stage", STAGES)
def test_a_stage_says_the_same_as_its_command(stage, shared, oak, tmp_path, capsys):
    """The JSON of the API is the JSON of the command, key for key and number for number."""
    for path, data in oak.files.items():
        (tmp_path / path).write_bytes(data)
    assert main([stage, str(tmp_path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    told.pop("safety", None)
    found = shared.get(f"/api/v1/ponds/{shared.pond}/stages/{stage}").json()
    words = {"notices"}
    assert {k: v for k, v in found.items() if k not in words | {stage}} == {
        k: v for k, v in told.items() if k not in words | {stage}
    }
    assert found[stage].keys() == told[stage].keys()
    for key, value in told[stage].items():
        # sentences hold both units here, and SI alone there
        if isinstance(value, int | float):
            assert found[stage][key] == value, key
    assert [item["code"] for item in found["notices"]] == [item["code"] for item in told["notices"]]


@pytest.mark.parametrize("stage", STAGES)
def test_a_page_shows_every_figure_of_the_command_in_both_units(stage, shared, oak, tmp_path, capsys):
    """Each word of the text of the shell stands on the page: the same tables, in feet and in metres."""
    for path, data in oak.files.items():
        (tmp_path / path).write_bytes(data)
    for units in ("us", "si"):
        assert main([stage, str(tmp_path), "--units", units]) == 0
        told = capsys.readouterr().out
        text = html.unescape(
            re.sub(r"<[^>]+>", " ", shared.in_units(units).get(f"/ponds/{shared.pond}/{stage}").text)
        )
        seen = set(re.findall(r"\d[\d.,]*", text))
        missing = [word for word in re.findall(r"\d[\d.,]*", told.split("\n", 1)[1]) if word not in seen]
        # a number that the shell breaks at a line's end, and the numbers of steps, are no figures
        assert len(missing) <= 0.02 * len(re.findall(r"\d[\d.,]*", told)) + 10, missing
    shared.in_units("us")


def test_the_pond_stands_first_with_its_two_drawings(shared):
    """Plan view and cut, inline, each with a name for those who can't see it."""
    text = shared.get(f"/ponds/{shared.pond}").text
    assert text.count("<svg ") == 2 * 2, "each once more, drawn for a phone"
    assert text.count('role="img" aria-label="') == 2 * 2


def test_the_folder_goes_in_and_comes_out_to_the_byte(shared, oak):
    """By the pages and by the API, name and all."""
    for path in (f"/ponds/{shared.pond}/folder.zip", f"/api/v1/ponds/{shared.pond}/folder.zip"):
        answer = shared.get(path)
        assert answer.headers["content-type"] == "application/zip"
        assert "attachment" in answer.headers["content-disposition"]
        assert read_zip(answer.content) == oak


def test_the_list_shows_last_reading_and_what_stands_against_a_pond(shared):
    """The demo pond was read on 11 August and has warnings."""
    text = shared.get("/").text
    assert "2026-08-11" in text
    assert "notice danger" in text or "notice caution" in text


TEN = {
    "name": "Mill pond", "date": "2026-08-11", "position": "35.8652, -79.5631, 680 ft", "time_zone": "America/New_York",
    "area": "1.6 acre", "max_depth": "14 ft", "secchi_depth": "2 ft", "surface": "84 degF, 7.5 mg/L",
    "bottom": "64 degF, 0.1 mg/L", "smell": "strong", "route_length": "430 ft", "rise": "12 ft",
    "power": "120 V, 20 A", "species": "bluegill, largemouth bass", "author": "crew",
}  # fmt: skip


def test_ten_answers_make_a_pond_and_are_echoed_first(browser):
    """14 ft is shown as 4.267 m (14 x 0.3048) before anything is kept; then it is."""
    seen = browser.post("/ponds/new", TEN)
    assert seen.status_code == 200
    assert "4.27 m" in seen.text
    assert browser.store.ponds.count() == 0
    kept = browser.post("/ponds/new", {**TEN, "action": "save"})
    assert kept.status_code == 303
    job = browser.store.ponds.revision("mill-pond").job
    assert job.pond.max_depth_m == pytest.approx(14 * 0.3048)
    assert job.fish.species == ("bluegill", "largemouth-bass")
    assert job.latest_profile is not None


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("max_depth", "14 gallons"),
        ("area", "much"),
        ("position", "35.9"),
        ("smell", "awful"),
        ("date", "August"),
        ("surface", "84"),
    ],
)
def test_nonsense_in_a_field_is_told_at_that_field_and_the_rest_stays(field, text, browser):
    """Nothing is kept, nothing typed is lost, and the field says what would be right."""
    answer = browser.post("/ponds/new", {**TEN, field: text, "action": "save"})
    assert answer.status_code == 422
    assert browser.store.ponds.count() == 0
    assert 'aria-invalid="true"' in answer.text.split(f'id="{field}"')[1].split(">")[0]
    assert 'value="Mill pond"' in answer.text
    assert f'value="{text}"' in answer.text


def test_a_file_is_changed_and_a_stale_form_is_not_lost(browser, oak_zip):
    """Two people have revision 1 open: the second is told, sees both texts, and can save both brought together."""
    browser.bring_in(oak_zip)
    pond = browser.get("/api/v1/ponds").json()[0]["id"]
    text = browser.store.ponds.folder(pond).files["job.toml"].decode()
    first, second = text.replace('"2 ft"', '"3 ft"'), text.replace('"14 ft"', '"13 ft"')
    edit = f"/ponds/{pond}/files/edit"
    form = {"path": "job.toml", "number": "1", "author": "a", "reason": "clearer"}
    assert browser.post(edit, {**form, "text": first}).status_code == 303
    refused = browser.post(edit, {**form, "text": second})
    assert refused.status_code == 409
    shown = html.unescape(refused.text)
    assert '"13 ft"' in shown
    assert 'secchi_depth = "3 ft"' in shown
    assert 'name="number" value="2"' in refused.text
    both = first.replace('"14 ft"', '"13 ft"')
    assert browser.post(edit, {**form, "number": "2", "text": both}).status_code == 303
    assert browser.store.ponds.revision(pond).job.pond.secchi_depth_m == pytest.approx(3 * 0.3048)
    assert browser.store.ponds.folder(pond).files["job.toml"].decode() == both


def test_a_fault_typed_into_a_file_keeps_the_text(browser, oak_zip):
    """422 with every fault, the text still there, no new revision."""
    browser.bring_in(oak_zip)
    pond = browser.get("/api/v1/ponds").json()[0]["id"]
    form = {
        "path": "job.toml",
        "number": "1",
        "text": 'format = 1\nname = "my words"\n[pond]\narea = "nonsense"\n',
    }
    answer = browser.post(f"/ponds/{pond}/files/edit", form)
    assert answer.status_code == 422
    assert "my words" in answer.text
    assert len(browser.store.ponds.revisions(pond)) == 1
