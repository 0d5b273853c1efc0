"""Bytes of the database turned: what the server then shows must never be an empty start, nor an error of ours."""

from __future__ import annotations

import random
from dataclasses import dataclass

from starlette.testclient import TestClient
from tests.capture_items import item, text
from tests.every_write import WRITES, Clock, do

from plumeline.errors import PlumelineError
from plumeline.store import open_store
from plumeline.web.app import make_app

HOST = "http://127.0.0.1:8621"
PAGE_BYTES = 4096
DRAWN = "/ponds/hollow-oak"
PAGES = (
    "/", DRAWN, "/ponds/hollow-oak/files", "/ponds/hollow-oak/history", "/captures",
    "/ponds/hollow-oak/files/edit?path=job.toml", "/api/v1/ponds", "/api/v1/ponds/hollow-oak",
    "/api/v1/ponds/hollow-oak/folder.zip",
)  # fmt: skip
LISTS = {"/": "hollow-oak", "/api/v1/ponds": "hollow-oak"}
SAID = ("damaged", "not what was saved")


def made(place):
    """Return the bytes of a database in which everything is written, with a pond of six revisions."""
    path = place / "plumeline.sqlite3"
    store = open_store(path, clock=Clock())
    kept = {}
    for name, write in WRITES:
        # half of the file else, in which a turned byte means nothing but another hash
        if name not in ("parts left behind", "a photo in parts"):
            do(store, kept, name, write)
    assert kept["pond"] == "hollow-oak"
    store.close()
    return path.read_bytes()


@dataclass
class Flip:
    """What came of turned bytes.

    Attributes:
        at: where.
        how: "refused" at the start, "read only", "said" on a page, or "not noticed" by any.
        wrong: what must not be, in words; empty where all is well.
    """

    at: int
    how: str
    wrong: str


def flipped(data, place, chance, *, drawn=True):
    """Turn one to four bytes of a database at one place, start on it, and look at every kind of page.

    Args:
        data: the database.
        place: an empty folder.
        chance: random numbers.
        drawn: look at the page with the drawings too, which takes longest.
    """
    # every other one where a page says what stands in it
    at = PAGE_BYTES * chance.randrange(len(data) // PAGE_BYTES) + chance.randrange(
        chance.choice((100, PAGE_BYTES))
    )
    turned = bytearray(data)
    for n in range(at, min(len(data), at + chance.choice((1, 1, 1, 4)))):
        turned[n] ^= 1 << chance.randrange(8)
    path = place / "plumeline.sqlite3"
    for old in place.glob("plumeline.sqlite3*"):
        old.unlink()
    path.write_bytes(turned)
    try:
        store = open_store(path, clock=Clock())
    except PlumelineError as error:
        empty = path.stat().st_size != len(turned)
        return Flip(at, "refused", f"the file was changed: {error}" if empty else "")
    except Exception as error:
        return Flip(at, "", f"the start fails with {type(error).__name__}: {error}")
    try:
        return _looked_at(store, at, [page for page in PAGES if drawn or page != DRAWN])
    finally:
        store.close()


def _looked_at(store, at, pages):
    client = TestClient(make_app(store), base_url=HOST, raise_server_exceptions=False)
    how = "read only" if store.damage else "not noticed"
    for page in pages:
        answer = client.get(page)
        said = any(words in answer.text for words in SAID)
        if answer.status_code >= 500 and answer.status_code != 503:
            return Flip(at, how, f"{page}: {answer.status_code}: {answer.text[:300]}")
        if answer.status_code == 503 and not said:
            return Flip(at, how, f"{page}: 503 without the reason: {answer.text[:300]}")
        missing = answer.status_code != 200 or LISTS.get(page, "") not in answer.text
        if missing and not said and not store.damage:
            return Flip(at, how, f"{page}: {answer.status_code}, nothing there and no word why")
        if said and how == "not noticed":
            how = "said"
    headers = {"X-Plumeline": "1", "Content-Type": "application/json"}
    made_now = item("note", 99)
    answer = client.put(f"/api/v1/capture/items/{made_now['id']}", content=text(made_now), headers=headers)
    wrong = "" if answer.status_code in (201, 503) else f"a note: {answer.status_code}: {answer.text[:300]}"
    return Flip(at, how, wrong)


def flips(place, count, seed, *, drawn_every=1):
    """Return what came of so many flips; the page with the drawings is looked at after every so many."""
    chance = random.Random(seed)
    (place / "made").mkdir()
    data = made(place / "made")
    (place / "turned").mkdir()
    return [flipped(data, place / "turned", chance, drawn=n % drawn_every == 0) for n in range(count)]
