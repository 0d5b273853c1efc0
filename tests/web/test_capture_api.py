"""What phones hand over: held once, acknowledged when it is on the disk, and never overwritten."""

from __future__ import annotations

import base64
import io
import json
import random
import struct
import zlib
from datetime import datetime, timedelta

import pytest
from PIL import Image
from tests.capture_items import DEVICE, OTHER, PART, item, jpeg, named, parts, sha, text

BASE = "/api/v1/capture"
PROBLEM = "application/problem+json"


def put(browser, made, **more):
    data = made if isinstance(made, bytes) else text(made)
    ident = more.pop("ident", None) or json.loads(data)["id"]
    return browser.client.put(
        f"{BASE}/items/{ident}", content=data, headers={"content-type": "application/json"}
    )


def put_photo(browser, data, *, only=None, key=None):
    key = key or sha(data)
    answer = None
    for number, part in parts(data):
        if only is None or number in only:
            answer = browser.client.put(
                f"{BASE}/photos/{key}/parts/{number}", params={"size_bytes": len(data)}, content=part
            )
    return answer


def receipts(browser, idents, **more):
    asked = {"device_id": DEVICE, "unsent_count": 0, "oldest_unsent_at": None, "ids": idents, **more}
    answer = browser.client.post(f"{BASE}/receipts", json=asked)
    assert answer.status_code == 200, answer.text
    return answer.json()["receipts"]


@pytest.mark.parametrize("kind", ["profile", "gauge", "sounding", "shore", "note", "photo"])
def test_an_item_is_held_once_however_often_it_is_sent(browser, kind):
    """201, then 200 with the same hash and place in the order; the receipt has the hash of the very bytes."""
    data = text(item(kind))
    first, again = put(browser, data), put(browser, data)
    assert (first.status_code, again.status_code) == (201, 200), first.text
    assert first.json() == again.json()
    assert first.json()["sha256"] == sha(data)
    assert receipts(browser, [first.json()["id"]]) == [
        {"id": first.json()["id"], "sha256": sha(data), "held": True, "state": "new", "missing_photos": [],
         "refused_photos": []}
    ]  # fmt: skip


def test_the_same_words_in_other_bytes_are_another_content(browser):
    """The hash is taken of the bytes: other blanks are a second variant, and nothing is reinterpreted."""
    made = item()
    assert put(browser, made).status_code == 201
    other = json.dumps(made, indent=1).encode()
    assert put(browser, other).status_code == 409


def test_one_id_with_two_contents_is_told_and_both_are_held(browser):
    """409 says that it is held; each variant gets its own receipt, and a third time changes nothing."""
    first, second = item(), item(body={"text": "other words"})
    assert put(browser, first).status_code == 201
    for _ in range(2):
        answer = put(browser, second)
        assert answer.status_code == 409
        assert answer.headers["content-type"] == PROBLEM
        assert answer.json()["sha256"] == sha(text(second))
        assert answer.json()["state"] == "conflict"
    assert put(browser, first).status_code == 200
    found = receipts(browser, [first["id"]])
    assert [(row["sha256"], row["held"], row["state"]) for row in found] == [
        (sha(text(first)), True, "conflict"), (sha(text(second)), True, "conflict")
    ]  # fmt: skip


BAD = {
    "no JSON": b"{",
    "no object": b"[]",
    "no text": b"\xff\xfe",
    "too deep": b'{"a":' * 5000 + b"1" + b"}" * 5000,
    "half a pair": text(item()).replace(b"Geese", b"\\ud800"),
    "no such number": text(item()).replace(b'"clock_skew_s": 0.0', b'"clock_skew_s": NaN'),
    "another format": text(item(format=2)),
    "another kind": text(item()).replace(b'"kind": "note"', b'"kind": "poem"'),
    "a clock without offset": text(item(made_at="2026-08-11T10:30:00")),
    "a number that is none": text(item(counter="one")),
    "a body of another kind": text(item("gauge", body={"pressure": 5.8})),
    "a place off the earth": text(item("sounding", body={"position": {"latitude_deg": 91, "longitude_deg": 0}})),
    "a long note": text(item(body={"text": "x" * 4001})),
    "a photo without hash": text(item("photo", photos=[{"sha256": "x", "size_bytes": 1, "type": "image/jpeg"}])),
}  # fmt: skip


@pytest.mark.parametrize("data", BAD.values(), ids=BAD)
def test_what_is_no_item_is_refused_with_words_and_not_kept(browser, data):
    """422 with every fault; nothing of it is held."""
    ident = item()["id"]
    answer = put(browser, data, ident=ident)
    assert answer.status_code == 422, answer.text
    assert answer.headers["content-type"] == PROBLEM
    assert answer.json()["detail"]
    assert receipts(browser, [ident])[0]["state"] == "unknown"


def test_an_item_under_another_id_or_too_large_is_refused(browser):
    """422 for the wrong id, 413 for more than 256 kB."""
    other = item(number=1)["id"]
    assert put(browser, text(item()), ident=other).status_code == 422
    large = item(body={"text": "x"}, pad="y" * 262144)
    answer = put(browser, large)
    assert answer.status_code == 413
    assert answer.headers["content-type"] == PROBLEM


def test_a_poison_item_among_a_hundred_stops_none_of_the_others(browser):
    """99 of 100 arrive, by themselves and in a file."""
    poison = random.Random(4).randrange(100)
    all_of_them = [text(item(number=number)) for number in range(100)]
    all_of_them[poison] = all_of_them[poison].replace(b'"format": 1', b'"format": "one"')
    codes = [put(browser, data).status_code for data in all_of_them]
    assert codes.count(201) == 99
    assert codes[poison] == 422
    file = {"format": 1, "items": [data.decode() for data in all_of_them], "photos": []}
    answer = browser.client.post(f"{BASE}/import", json=file).json()
    assert len(answer["receipts"]) == 99
    assert all(row["held"] for row in answer["receipts"])
    assert [row["index"] for row in answer["refused"]] == [poison]


def test_a_photo_in_parts_is_held_when_the_last_part_is_there(browser):
    """Any order, any part twice; until then the item's receipt names it as missing, and the order is kept."""
    data = jpeg(1, (1200, 900), noise=True)
    assert len(data) > 2 * PART
    made = item("photo", photos=[named(data)])
    assert put(browser, made).status_code == 201
    assert receipts(browser, [made["id"]])[0]["missing_photos"] == [sha(data)]
    last = len(parts(data)) - 1
    assert put_photo(browser, data, only={last}).json() == {
        "sha256": sha(data), "have": [last], "held": False, "refused": None
    }  # fmt: skip
    put_photo(browser, data, only={last})
    assert put_photo(browser, data, only=set(range(1, last))).json()["have"] == list(range(1, last + 1))
    assert not receipts(browser, [made["id"]])[0]["held"]
    assert put_photo(browser, data, only={0}).json()["held"]
    found = receipts(browser, [made["id"]])[0]
    assert (found["held"], found["missing_photos"]) == (True, [])
    assert put_photo(browser, data, only={0}).json() == {
        "sha256": sha(data), "have": [], "held": True, "refused": None
    }  # fmt: skip
    assert browser.get(f"{BASE}/photos/{'0' * 64}").json()["have"] == []


def test_parts_that_are_not_the_photo_are_dropped_and_may_be_sent_again(browser):
    """422 for a wrong hash, then the right parts are taken."""
    data, other = jpeg(1), jpeg(2)
    answer = put_photo(browser, other, key=sha(data))
    assert answer.status_code == 422
    assert answer.json()["refused"] is None
    assert browser.get(f"{BASE}/photos/{sha(data)}").json()["have"] == []
    assert put_photo(browser, data).json()["held"]


@pytest.mark.parametrize(
    ("number", "size", "length", "status"),
    [(0, 100, 99, 422), (1, 100, 100, 422), (0, PART + 1, PART - 1, 422), (0, 21 * 2**20, PART, 413),
     (0, 2 * PART, PART + 1, 413), (0, 0, 0, 422)],
)  # fmt: skip
def test_a_part_of_a_wrong_size_is_refused(browser, number, size, length, status):
    """The size of each part follows from that of the whole; 20 MB are the most."""
    answer = browser.client.put(
        f"{BASE}/photos/{'a' * 64}/parts/{number}", params={"size_bytes": size}, content=b"x" * length
    )
    assert answer.status_code == status
    assert answer.headers["content-type"] == PROBLEM


def bomb():
    """A PNG of 30,000 by 30,000 pixels in a few kB."""

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 30000, 30000, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 100000))
        + chunk(b"IEND", b"")
    )


def other_kind(kind):
    stream = io.BytesIO()
    Image.new("RGB", (8, 8)).save(stream, kind)
    return stream.getvalue()


REFUSED = {
    "a page": b"<html><script>alert(1)</script>",
    "a drawing": b'<svg xmlns="http://www.w3.org/2000/svg"/>',
    "a bomb": bomb(),
    "a part of a picture": jpeg(3, (640, 480), noise=True)[:20000],
    "a kind that is not read": other_kind("TIFF"),
    "one byte": b"x",
}


@pytest.mark.parametrize("data", REFUSED.values(), ids=REFUSED)
def test_a_photo_that_is_none_is_told_and_blocks_nothing(browser, data):
    """422 with words, once and for all; the item is there, its other photo is held, and nothing is asked for again."""
    good = jpeg(5)
    made = item("photo", photos=[named(data), named(good)])
    put(browser, made)
    assert put_photo(browser, good).json()["held"]
    answer = put_photo(browser, data)
    assert answer.status_code == 422
    assert answer.json()["refused"]
    assert put_photo(browser, data).status_code == 422
    found = receipts(browser, [made["id"]])[0]
    assert found["missing_photos"] == []
    assert [row["sha256"] for row in found["refused_photos"]] == [sha(data)]
    assert not found["held"]
    assert browser.get(f"{BASE}/photos/{sha(data)}").json()["refused"]


def test_a_file_of_items_and_photos_comes_in_twice_and_is_held_once(browser, store):
    """The same receipts as by the wire; a photo that is not what it says is told by itself."""
    good, bad = jpeg(1), jpeg(2)
    made = item("photo", photos=[named(good)])
    file = {
        "format": 1,
        "items": [text(made).decode()],
        "photos": [
            {"sha256": sha(good), "type": "image/jpeg", "base64": base64.b64encode(good).decode()},
            {"sha256": sha(bad), "type": "image/jpeg", "base64": base64.b64encode(good).decode()},
            {"sha256": sha(bad), "type": "image/jpeg", "base64": "*"},
        ],
    }
    for _ in range(2):
        answer = browser.client.post(f"{BASE}/import", json=file).json()
        assert [row["held"] for row in answer["receipts"]] == [True]
        assert len(answer["refused_photos"]) == 2
    assert put(browser, made).status_code == 200
    assert put(browser, made).json()["sequence"] == 1


@pytest.mark.parametrize("data", [b"", b"[]", b'{"format":2,"items":[]}', b'{"format":1,"items":[3]}'])
def test_a_file_that_is_none_is_refused(browser, data):
    """422 with words."""
    answer = browser.client.post(f"{BASE}/import", content=data)
    assert answer.status_code == 422
    assert "field readings" in answer.json()["detail"]


def test_ponds_go_along_without_prices_and_owners(shared):
    """Id, name, revision, position and places to read; nothing else of the job."""
    answer = shared.get(f"{BASE}/ponds").json()
    kept_for = datetime.fromisoformat(answer["expires_at"]) - datetime.fromisoformat(answer["server_time"])
    assert kept_for == timedelta(days=14), "ASVS 5.0, 14.3.3: what a phone takes along is forgotten"
    pond = answer["ponds"][0]
    assert set(pond) == {"id", "name", "number", "position", "stations", "max_depth_m"}
    assert pond["stations"][0]["name"] == "deepest sounding"
    assert pond["stations"][0]["latitude_deg"] == pytest.approx(35.8652)
    assert pond["max_depth_m"] == pytest.approx(4.2672)


def test_a_phone_tells_what_it_has_not_handed_over(browser, store):
    """Count, age and clock of a device are kept with its last contact."""
    told = {"unsent_count": 7, "oldest_unsent_at": "2026-08-09T07:00:00Z", "device_name": "phone two"}
    receipts(browser, ["01920000-0000-7000-8000-000000000009"], **told)
    answer = browser.client.post(
        f"{BASE}/receipts", json={"device_id": OTHER, "unsent_count": -1, "oldest_unsent_at": None, "ids": []}
    )
    assert answer.status_code == 422
    with store.database.reading() as link:
        row = link.exec_driver_sql("SELECT name, unsent_count, oldest_unsent_at FROM capture_device").one()
    assert tuple(row) == ("phone two", 7, "2026-08-09T07:00:00+00:00")


def test_the_description_tells_of_every_refusal(browser):
    """OpenAPI: each route of field capture names 401 and its other refusals as problem+json."""
    paths = browser.get("/api/v1/openapi.json").json()["paths"]
    wanted = {
        ("put", "/items/{item_id}"): {"200", "201", "401", "409", "413", "422"},
        ("put", "/photos/{sha256}/parts/{number}"): {"200", "401", "413", "422"},
        ("get", "/photos/{sha256}"): {"200", "401"},
        ("post", "/receipts"): {"200", "401", "413", "422"},
        ("get", "/ponds"): {"200", "401"},
        ("post", "/import"): {"200", "401", "413", "422"},
    }
    for (method, path), codes in wanted.items():
        said = paths[f"{BASE}{path}"][method]["responses"]
        assert codes <= set(said), path
        for code, what in said.items():
            if code >= "400":
                assert PROBLEM in what["content"], (path, code)


@pytest.mark.parametrize("path", ["items/{}", "photos/{}/parts/0?size_bytes=9"])
def test_far_more_than_is_taken_is_refused_as_a_problem_too(browser, path):
    """What the first look at a request refuses is told like all else: problem+json."""
    ident = item()["id"] if path.startswith("items") else "a" * 64
    answer = browser.client.put(f"{BASE}/{path.format(ident)}", content=b"x" * 5_000_000)
    assert answer.status_code == 413
    assert answer.headers["content-type"] == PROBLEM
    assert "MB" in answer.json()["detail"]
