"""Visits, papers, what is due and the map: a gauge typed in is a row of the folder; papers are the commands' own."""

from __future__ import annotations

import io
import json
import re
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pypdf
import pytest

from plumeline.store import write_zip
from plumeline.store.ponds import PondRow
from plumeline.web.due import DUE
from plumeline.web.pond_map import pond_map


@pytest.fixture
def place(browser, oak_zip):
    """A server with the demo pond."""
    assert browser.bring_in(oak_zip).status_code == 303
    browser.pond = browser.get("/api/v1/ponds").json()[0]["id"]
    return browser


def gauge(browser, **changed):
    fields = {
        "number": "1",
        "author": "Cy",
        "time": "2026-08-12T10:30",
        "place": "compressor",
        "pressure": "6.2 psig",
    }
    return browser.post(f"/ponds/{browser.pond}/visits", {**fields, **changed})


def test_a_gauge_becomes_a_row_and_stands_beside_what_it_must_show(place):
    """gauges.csv is made with its heading; the page compares it; a second one is added below, in the file's unit."""
    assert gauge(place).status_code == 303
    assert (
        gauge(place, number="2", place="A", pressure="38.6 kPa", time="2026-08-12T10:40").status_code == 303
    )
    lines = place.store.ponds.folder(place.pond).files["gauges.csv"].decode().splitlines()
    assert lines[0].startswith("time,place,pressure_psig")
    assert [line.split(",")[1] for line in lines[1:]] == ["compressor", "A"]
    assert float(lines[2].split(",")[2]) == pytest.approx(38.6 / 6.894757, abs=1e-4)
    text = place.get(f"/ponds/{place.pond}/visits").text
    assert "What is wrong with the line" in text
    assert place.store.ponds.revision(place.pond).author == "Cy"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"pressure": "6.2 ft"}, "pressure"),
        ({"pressure": ""}, "pressure"),
        ({"pressure": "5.8"}, "has no unit"),
        ({"pressure": "1e9"}, "has no unit"),
        ({"water_level": "2"}, "has no unit"),
        ({"time": "this morning"}, "is no time"),
        ({"time": "2031-01-01T10:00"}, "still to come"),
        ({"water_level": "2 psi"}, "water level"),
    ],
)
def test_nonsense_is_said_and_stays_in_the_form(place, change, words):
    """422, the field's name and what would be right; nothing is saved."""
    answer = gauge(place, boil="A <B>", **change)
    assert answer.status_code == 422
    assert words in answer.text
    assert "A &lt;B&gt;" in answer.text
    assert place.store.ponds.revision(place.pond).number == 1


def test_a_second_look_in_the_same_minute_is_kept_too(place):
    """A gauge that was typed wrong is read again at once: the second row has its own second, the first one stays."""
    assert gauge(place).status_code == 303
    assert gauge(place, number="2", pressure="6.1 psig").status_code == 303
    lines = place.store.ponds.folder(place.pond).files["gauges.csv"].decode().splitlines()[1:]
    assert [line.split(",")[0] for line in lines] == ["2026-08-12T10:30", "2026-08-12T10:30:01"]


def test_a_gauge_of_before_the_line_was_built_is_listed_and_the_others_are_worked_out(place):
    """One row too early beside one that is not: the page lists the first with its reason and compares the second."""
    files = dict(place.store.ponds.folder(place.pond).files)
    files["job.toml"] += b"\n[as_built]\nmade_on = 2026-08-10\n"
    lines = ("time,place,pressure_psig", "2026-08-09T10:30,compressor,5.6", "2026-08-11T08:30,compressor,5.8")
    files["gauges.csv"] = ("\n".join(lines) + "\n").encode()
    place.store.ponds.save_files(place.pond, files, expected_number=1, author="", reason="built")
    text = place.get(f"/ponds/{place.pond}/visits").text
    assert "is before the line was built on 2026-08-10" in text
    assert "Mend row 2 in gauges.csv" in text
    assert "Mend row 3 in gauges.csv" not in text
    assert "line can't be worked out" not in text.replace("&#39;", "'")
    assert "5.8" in re.sub(r"<[^>]+>", "", text).partition("The gauges, as they must stand")[2]


def test_a_gauge_typed_on_an_older_revision_is_not_kept_and_not_lost(place):
    """409; what was typed is still in the form, which is now of the newer revision."""
    assert gauge(place).status_code == 303
    late = gauge(place, pressure="5.9 psig")
    assert late.status_code == 409
    assert "5.9 psig" in late.text
    assert 'name="number" value="2"' in late.text


def test_what_is_due_comes_from_the_plan_made_last(place):
    """The list shows the first thing to come, the visits page all of them on the pond's clock, neither what is past."""
    now = place.store.clock()
    run = place.store.runs.ask(place.pond, 1, "1")
    place.store.runs.claim()
    rows = [
        ["start", (now - timedelta(hours=5)).isoformat(), "long past"],
        ["reading", (now + timedelta(hours=5)).isoformat(), "read the water"],
        ["visit", (now + timedelta(days=3)).isoformat(), "prove it"],
    ]
    place.store.runs.finish(run.id, {DUE: json.dumps(rows).encode()})
    listed = place.get("/").text
    there = datetime.fromisoformat(rows[1][1]).astimezone(ZoneInfo("America/New_York"))
    assert f"{there:%a %Y-%m-%d %H:%M} ({there.tzname()}): reading" in listed
    page = place.get(f"/ponds/{place.pond}/visits").text
    assert "read the water" in page
    assert "prove it" in page
    assert "long past" not in page


def test_papers_are_made_on_demand(place):
    """The comparison for the quote and the sheet of gauges, as PDF with the pond's name; another name is not there."""
    page = place.get(f"/ponds/{place.pond}/papers").text
    for name, words in (("quote.pdf", "oak"), ("gauges.pdf", "accepted by")):
        assert f"/papers/{name}" in page
        answer = place.get(f"/ponds/{place.pond}/papers/{name}")
        assert answer.headers["content-type"] == "application/pdf"
        pages = pypdf.PdfReader(io.BytesIO(answer.content)).pages
        assert words in " ".join(" ".join(one.extract_text() for one in pages).split())
    assert place.get(f"/ponds/{place.pond}/papers/passwd").status_code == 404


def row(name, latitude_deg, longitude_deg):
    now = datetime.fromisoformat("2026-08-11T00:00:00+00:00")
    return PondRow(name, name, 1, now, None, None, latitude_deg, longitude_deg, "UTC")


def test_the_map_keeps_directions_and_distances():
    """Three ponds: north is up, east is right, and the bar's length is that of its words within a per cent."""
    rows = [row("a", 50.0, 10.0), row("b", 50.1, 10.0), row("c", 50.0, 10.2)]
    found = pond_map(rows, "si")
    a, b, c = found["marks"]
    assert a.y > b.y
    assert c.x > a.x
    km = float(found["bar_said"].split()[0])
    assert found["bar_said"].endswith("km")
    degree_km = 111.195  # mean of the sphere of 6371 km
    assert (a.y - b.y) / found["bar"] * km == pytest.approx(0.1 * degree_km, rel=0.01)


def test_the_map_joins_ponds_on_both_sides_of_the_date_line():
    """179.9° and -179.9° are neighbours, 22 km apart at the equator."""
    found = pond_map([row("a", 0.0, 179.9), row("b", 0.0, -179.9)], "si")
    a, b = found["marks"]
    assert b.x > a.x
    assert found["bar_said"].endswith("km")
    assert float(found["bar_said"].split()[0]) < 10


def test_one_pond_needs_no_map(place, oak):
    """With a second one the map stands there, with a way to each."""
    assert '<figure class="map' not in place.get("/").text
    assert place.bring_in(write_zip(oak)).status_code == 303
    text = place.get("/").text
    assert '<figure class="map' in text
    assert "<script>alert" not in text
