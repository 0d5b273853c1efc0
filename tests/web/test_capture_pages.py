"""The pages of what came from the field: shown as typed, taken, set aside, brought back; all without a script."""

from __future__ import annotations

import base64
import io
import json
import re

import pytest
from PIL import Image
from tests.capture_items import OTHER, item, jpeg, named, sha, text

from plumeline.demo import demo_folder
from plumeline.store import Folder, read_folder


@pytest.fixture
def pond(store):
    files = {name: data for name, data in read_folder(demo_folder()).files.items() if name != "weather.csv"}
    return store.ponds.add(Folder("hollow-oak", files), author="office", reason="").pond_id


def hand(store, made):
    return store.captures.receive(text(made)).sequence_number


def act(browser, pond, **fields):
    number = browser.get(f"/api/v1/ponds/{pond}").json()["revision_number"]
    return browser.post(f"/ponds/{pond}/captures/take", {"number": number, "author": "office", **fields})


def test_all_new_items_are_taken_with_one_button_and_one_revision(browser, store, pond):
    """Author and note stand in the history; the unreadable one stays with its reason."""
    for count, kind in enumerate(("profile", "gauge", "sounding", "note", "photo")):
        hand(store, item(kind, count, pond_id=pond))
    bad = hand(store, item("sounding", 9, pond_id=pond, body={"depth": "deep"}))
    page = browser.get(f"/ponds/{pond}/captures").text
    assert "Take all 6 new items" in page
    assert "12 ft 6 in" in page
    answer = act(browser, pond, action="all", last=bad, note="Tuesday's round")
    assert answer.status_code == 422
    assert f"no. {bad}" in answer.text
    assert "does not start with a number" in answer.text
    row = browser.get(f"/api/v1/ponds/{pond}/revisions").json()[0]
    assert (row["revision_number"], row["author"], row["reason"]) == (2, "office", "Tuesday's round")
    assert browser.get(f"/api/v1/ponds/{pond}/revisions").json()[1]["revision_number"] == 1
    assert store.taking.list.counts(pond) == {"new": 0, "taken": 5, "conflict": 1, "set aside": 0}


def test_two_contents_are_shown_and_one_is_picked(browser, store, pond):
    """Both stand on the page with a button each; the other goes aside and comes back by another button."""
    made = item("note", pond_id=pond)
    one, two = hand(store, made), hand(store, {**made, "body": {"text": "the second text"}})
    page = browser.get(f"/ponds/{pond}/captures").text
    assert page.count("Pick this one") == 2
    assert "Geese on the dam" in page
    assert "the second text" in page
    assert act(browser, pond, action="pick", item=two).status_code == 303
    assert (
        browser.post(f"/captures/{one}/undo", {"back": "pond"}).headers["location"]
        == f"/ponds/{pond}/captures"
    )
    assert store.taking.list.one(one).state == "conflict"
    assert browser.post(f"/captures/{one}/aside", {"author": "office"}).status_code == 303
    assert store.taking.list.one(one).decided_by == "office"


def test_who_says_what_of_the_secchi_depth_is_on_one_table(browser, store, pond):
    """The job's value and both phones'; none is gone after the pick."""
    for count, device in enumerate((item()["device_id"], OTHER)):
        made = item(
            "profile",
            count,
            pond_id=pond,
            base_number=1,
            device=device,
            author=f"crew {count}",
            body={"secchi": f"{3 + count} ft"},
        )
        hand(store, made)
    page = browser.get(f"/ponds/{pond}/captures").text
    table = page[page.index("who says what") : page.index("To be decided")]
    assert all(value in table for value in ("2 ft", "3 ft", "4 ft", "crew 0", "crew 1"))
    assert act(browser, pond, action="all", last=2).status_code == 422
    assert "leave the job" in browser.get(f"/ponds/{pond}/captures").text
    assert act(browser, pond, action="readings", item=2).status_code == 303
    assert store.ponds.revision(pond).job.pond.secchi_depth_m == pytest.approx(0.9144)


def test_a_form_of_a_revision_that_is_no_more_the_latest_takes_nothing(browser, store, pond):
    """409 with words, and the page with the present number."""
    number = hand(store, item("profile", pond_id=pond))
    store.ponds.save_files(pond, store.ponds.folder(pond).files, expected_number=1, author="mate", reason="")
    answer = browser.post(f"/ponds/{pond}/captures/take", {"number": 1, "item": number, "action": "take"})
    assert answer.status_code == 409
    assert "mate" in answer.text
    assert 'name="number" value="2"' in answer.text


def test_an_item_of_another_pond_is_not_taken_into_this_one(browser, store, pond):
    """A form that was tampered with, or is old, is refused."""
    number = hand(store, item("profile", pond_id="elsewhere"))
    assert act(browser, pond, action="take", item=number).status_code == 422
    assert store.taking.list.one(number).state == "new"


def test_phones_with_unsent_readings_stand_with_count_and_age(browser, store):
    """Two days: a caution; six days: graver; the clock in words."""
    hand(store, item("note"))
    for device, count, at in ((item()["device_id"], 3, 2), (OTHER, 0, 0)):
        from datetime import UTC, datetime, timedelta

        now = datetime.now(UTC)
        asked = {
            "device_id": device, "device_name": f"phone {count}", "unsent_count": count, "ids": [],
            "oldest_unsent_at": (now - timedelta(days=at)).isoformat() if at else None,
            "device_time": (now - timedelta(hours=2)).isoformat(),
        }  # fmt: skip
        assert browser.client.post("/api/v1/capture/receipts", json=asked).status_code == 200
    page = browser.get("/captures").text
    row = page[page.index("phone 3") :]
    assert "2 d ago" in row or "48 h ago" in row
    assert 'class="notice caution"' in row
    assert "2 h behind" in row or "120 min behind" in row
    assert page.index("phone 3") < page.index("phone 0")


def test_an_item_finds_its_pond_by_name(browser, store, pond):
    """By the pond's name in any case, or its id; an unknown one is refused and nothing is lost."""
    number = hand(store, item("note", pond_name_typed="Hollow oak"))
    assert 'value="Hollow oak"' in browser.get("/captures").text
    assert browser.post(f"/captures/{number}/assign", {"pond": "nowhere"}).status_code == 404
    answer = browser.post(f"/captures/{number}/assign", {"pond": "hollow OAK"})
    assert answer.headers["location"] == f"/ponds/{pond}/captures"
    assert store.taking.list.one(number).pond_id == pond


def test_a_photo_is_shown_written_anew_and_small(browser, store, pond):
    """image/jpeg, nosniff, no word of place or time where the item does not want them kept; both where it does."""
    data = jpeg(3, (1600, 1200), place=(35.86525, -79.56305))
    store.photos.put_whole(sha(data), data)
    hand(store, item("photo", 1, pond_id=pond, photos=[named(data)]))
    for query, size in (("", (1600, 1200)), ("?small=true", (640, 480))):
        answer = browser.get(f"/captures/photos/{sha(data)}.jpg{query}")
        assert answer.headers["content-type"] == "image/jpeg"
        assert answer.headers["x-content-type-options"] == "nosniff"
        with Image.open(io.BytesIO(answer.content)) as found:
            assert (found.size, dict(found.getexif())) == (size, {})
    page = browser.get(f"/ponds/{pond}/captures").text
    assert "35.865" not in page
    assert "2026-08-11T10:29" not in page
    other = jpeg(4, (64, 48), place=(35.86525, -79.56305))
    hand(store, item("photo", 2, pond_id=pond, photos=[named(other, keep_place=True)]))
    store.photos.put_whole(sha(other), other)
    page = browser.get(f"/ponds/{pond}/captures").text
    assert "35.86525, -79.56305" in page
    assert "2026-08-11T10:29:00-04:00" in page
    assert browser.get(f"/captures/photos/{'0' * 64}.jpg").status_code == 404


@pytest.mark.parametrize("first", ["item", "photo"])
def test_a_place_that_nobody_wants_kept_is_in_no_table(store, first):
    """Whichever comes first, the item that wants no place leaves none in the database."""
    data = jpeg(3, place=(35.86525, -79.56305))
    made = item("photo", photos=[named(data)])
    if first == "item":
        store.captures.receive(text(made))
    store.photos.put_whole(sha(data), data)
    store.captures.receive(text(made))
    with store.database.reading() as link:
        row = link.exec_driver_sql("SELECT taken_at, latitude_deg, longitude_deg FROM capture_photo").one()
    assert tuple(row) == (None, None, None)


def test_a_file_is_brought_in_by_a_form(browser, store):
    """What is new is counted, what can't be read is told; a file that is none is refused with words."""
    data = jpeg(1)
    items = [text(item("photo", photos=[named(data)])).decode(), "{}", text(item("note", 2)).decode()]
    photo = {"sha256": sha(data), "type": "image/jpeg", "base64": base64.b64encode(data).decode()}
    file = json.dumps({"format": 1, "items": items, "photos": [photo]}).encode()
    for new in (2, 0):
        answer = browser.post("/captures/import", files={"file": ("from-phone.json", file)})
        assert answer.status_code == 200
        assert f"2 items held, {new} of them new" in answer.text
        assert "item 2:" in answer.text
    assert browser.post("/captures/import", files={"file": ("x.json", b"<html>")}).status_code == 422
    assert store.taking.list.counts()["new"] == 2


def test_what_a_phone_sent_is_shown_as_text(browser, store, pond):
    """A script in every field of every kind is text on the page, and the raw bytes come as a download."""
    evil = "<script>alert(1)</script>"
    row = {"depth": evil, "temperature": evil, "oxygen": evil, "note": evil}
    for count, (kind, body) in enumerate(
        {
            "note": {"text": evil}, "photo": {"caption": evil}, "gauge": {"what": evil, "flow": evil},
            "profile": {"place": evil, "secchi": evil, "rows": [row]},
            "sounding": {"depth": evil, "muck": evil},
        }.items()
    ):  # fmt: skip
        made = item(kind, count, pond_id=pond, author=evil, device_name=evil, pond_name_typed=evil, body=body)
        number = hand(store, made)
        answer = browser.get(f"/captures/{number}/item.json")
        assert answer.content == text(made)
        assert answer.headers["content-disposition"].startswith("attachment")
    for path in ("/captures", f"/ponds/{pond}/captures"):
        page = browser.get(path).text
        assert "alert(1)" in page
        assert "<script>alert" not in page


def test_the_list_goes_on_and_is_narrowed_by_state_and_phone(browser, store):
    """A hundred a page, the latest first."""
    for number in range(103):
        hand(store, item("note", number, device=OTHER if number < 2 else item()["device_id"]))
    page = browser.get("/captures").text
    assert [int(n) for n in re.findall(r'id="item-(\d+)"', page)] == list(range(103, 3, -1))
    more = re.search(r'href="(/captures\?before=[^"]+)">More', page)[1].replace("&amp;", "&")
    assert re.findall(r'id="item-(\d+)"', browser.get(more).text) == ["3", "2", "1"]
    assert re.findall(r'id="item-(\d+)"', browser.get(f"/captures?device={OTHER}").text) == ["2", "1"]
    assert "None." in browser.get("/captures?state=taken").text
    assert browser.get("/captures?state=lost").status_code == 422
