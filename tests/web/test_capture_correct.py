"""The office corrects what a phone sent; an unknown gauge is kept and chosen, and the visits' page stays up."""

from __future__ import annotations

import html
import json
import re

import pytest
from tests.capture_items import item, text

from plumeline.demo import demo_folder
from plumeline.store import Folder, read_folder
from plumeline.store.captures import State
from plumeline.web.site import Site
from plumeline.web.visit_fit import ports_known


@pytest.fixture
def pond(store):
    files = {name: data for name, data in read_folder(demo_folder()).files.items() if name != "weather.csv"}
    return store.ponds.add(Folder("hollow-oak", files), author="office", reason="").pond_id


def hand(store, made):
    return store.captures.receive(text(made)).sequence_number


def act(browser, store, pond, **fields):
    number = store.ponds.revision(pond).number
    return browser.post(f"/ponds/{pond}/captures/take", {"number": number, "author": "office", **fields})


def gauge(pond, what, number=0, pressure="5.8"):
    return item("gauge", number, pond_id=pond, body={"what": what, "pressure": pressure})


def test_a_gauge_at_no_port_is_kept_chosen_and_taken(browser, store, pond):
    """Refused with the ports to choose from, still there; after the choice its row names the port."""
    number = hand(store, gauge(pond, "left one"))
    page = browser.get(f"/ponds/{pond}/captures").text
    assert "'left one' is not a port of this pond" in html.unescape(page)
    answer = act(browser, store, pond, action="all", last=number)
    assert answer.status_code == 422
    assert store.taking.list.one(number).state is State.CONFLICT
    assert "left one (not a port of this pond)" in browser.get(f"/captures/{number}/correct").text
    done = browser.post(f"/captures/{number}/correct", {"value:what": "A", "author": "Cy"})
    assert done.status_code == 303
    later = int(done.headers["location"].rpartition("-")[2])
    page = html.unescape(browser.get(f"/ponds/{pond}/captures").text)
    assert "which gauge: was left one, now A" in page
    assert act(browser, store, pond, action="take", item=later).status_code == 303
    assert ",A," in store.ponds.folder(pond).files["gauges.csv"].decode()
    before = store.taking.list.one(number)
    assert (before.state, before.item.parsed.what) == (State.ASIDE, "left one")
    assert browser.get(f"/ponds/{pond}/visits").text.count("What is wrong with the line") == 1


def test_words_round_a_port_are_let_by(browser, store, pond):
    """ "at the Compressor" is the compressor, and stands so in the file."""
    number = hand(store, gauge(pond, "At the Compressor"))
    assert act(browser, store, pond, action="take", item=number).status_code == 303
    assert ",compressor," in store.ponds.folder(pond).files["gauges.csv"].decode()


def test_rows_of_no_port_leave_the_visits_page_up(browser, store, pond):
    """A file with one stray row: the others are worked out; the stray one becomes a port by one choice."""
    rows = (
        "time,place,pressure_psig\n2026-08-12T10:30,compressor,6.2\n"
        '2026-08-12T10:31,"left one",5.1\n2026-08-12T10:32,A,5.6\n'
    )
    files = {**store.ponds.folder(pond).files, "gauges.csv": rows.encode()}
    store.ponds.save_files(pond, files, expected_number=1, author="office", reason="gauges")
    answer = browser.get(f"/ponds/{pond}/visits")
    page = html.unescape(answer.text)
    assert answer.status_code == 200
    assert "What is wrong with the line" in page
    assert "'left one' is not a port of this pond" in page
    assert "can't be worked out" not in page
    fields = {"number": "2", "row": "3", "was": "left one", "port": "B", "author": "Cy"}
    assert browser.post(f"/ponds/{pond}/visits/port", {**fields, "port": "Z9"}).status_code == 422
    assert browser.post(f"/ponds/{pond}/visits/port", {**fields, "row": "4"}).status_code == 422
    assert browser.post(f"/ponds/{pond}/visits/port", fields).status_code == 303
    after = store.ponds.folder(pond).files["gauges.csv"].decode()
    assert after == rows.replace('"left one"', "B")
    assert "not a port" not in browser.get(f"/ponds/{pond}/visits").text
    assert store.ponds.revision(pond).reason == "the gauge 'left one' is that of B"


def test_every_port_of_the_line_can_be_read(browser, store, pond):
    """The ports that are offered are those that the line's gauges may have."""
    ports = ports_known(Site(store), store.ponds.revision(pond))
    assert ports[:2] == ("compressor", "manifold")
    for number, name in enumerate(ports):
        assert (
            act(browser, store, pond, action="take", item=hand(store, gauge(pond, name, number))).status_code
            == 303
        )
    assert "not a port" not in browser.get(f"/ponds/{pond}/visits").text


def test_a_bad_row_is_corrected_and_the_original_stays(browser, store, pond):
    """The field at fault is named and linked; both contents, who and when are shown; the profile is in the job."""
    body = {"rows": [{"depth": "1", "temperature": "82", "oxygen": "8.2"},
                     {"depth": "deep", "temperature": "61", "oxygen": "0.3"}]}  # fmt: skip
    sent = item("profile", pond_id=pond, body=body)
    number = hand(store, sent)
    form = {"author": "Cy"}
    answer = browser.post(f"/captures/{number}/correct", {**form, "value:row 2, depth": "12 psi"})
    page = html.unescape(answer.text)
    assert answer.status_code == 422
    assert 'value="12 psi"' in page
    place = re.search(r'<a href="#(value-\d+)">row 2, depth</a>', page)
    assert f'id="{place[1]}-wrong"' in page
    assert browser.post(f"/captures/{number}/correct", form).status_code == 422
    wanted = {**form, "value:row 2, depth": "12 ft 6 in"}
    assert browser.post(f"/captures/{number}/correct", {**wanted, "author": ""}).status_code == 422
    done = browser.post(f"/captures/{number}/correct", wanted)
    again = browser.post(f"/captures/{number}/correct", wanted)
    assert done.headers["location"] == again.headers["location"]
    later = int(done.headers["location"].rpartition("-")[2])
    page = html.unescape(browser.get(f"/ponds/{pond}/captures").text)
    assert f"A correction of no. {number}" in page
    assert "row 2, depth: was deep, now 12 ft 6 in" in page
    assert "Cy, on the office" in page
    assert store.taking.list.content(number) == text(sent)
    assert act(browser, store, pond, action="all", last=later).status_code == 303
    profile = next(one for one in store.ponds.revision(pond).job.profiles if one.id.startswith("field-"))
    assert [one.depth_m for one in profile.points] == pytest.approx([0.3048, 3.81])
    assert profile.time.isoformat() == "2026-08-11T07:30:00-04:00"
    assert [one.name for one in store.taking.list.devices()] == ["phone one"]


def test_a_reading_that_was_taken_is_corrected_in_its_place(browser, store, pond):
    """The rows of the first are replaced, not added to."""
    number = hand(store, gauge(pond, "A"))
    assert act(browser, store, pond, action="take", item=number).status_code == 303
    done = browser.post(f"/captures/{number}/correct", {"value:pressure": "39 kPa", "author": "Cy"})
    later = int(done.headers["location"].rpartition("-")[2])
    assert act(browser, store, pond, action="take", item=later).status_code == 303
    lines = store.ponds.folder(pond).files["gauges.csv"].decode().splitlines()
    assert len(lines) == 2
    assert lines[1].split(",")[2] == "39000"


def test_a_sounding_without_a_place_gets_one_typed(browser, store, pond):
    """Nonsense is said at the field; degrees are kept as typed."""
    number = hand(store, item("sounding", pond_id=pond, body={"position": None}))
    fields = {"author": "Cy", "value:position": "by the dam"}
    answer = browser.post(f"/captures/{number}/correct", fields)
    assert answer.status_code == 422
    assert "is no latitude and longitude" in html.unescape(answer.text)
    done = browser.post(f"/captures/{number}/correct", {**fields, "value:position": "35.86525, -79.56305"})
    assert done.status_code == 303
    later = int(done.headers["location"].rpartition("-")[2])
    said = json.loads(store.taking.list.content(later))
    assert said["body"]["position"]["how"] == "typed"
    assert act(browser, store, pond, action="take", item=later).status_code == 303


def test_a_value_with_its_own_unit_is_not_given_another(browser, store, pond):
    """39 kPa in a form of psig is 39 kPa, 5.8 is 5.8 psig."""
    for number, pressure in enumerate(("39 kPa", "5.8")):
        hand(store, gauge(pond, "A", number, pressure))
    page = browser.get(f"/ponds/{pond}/captures").text
    assert "A: 39 kPa</p>" in page
    assert "A: 5.8 psig</p>" in page
