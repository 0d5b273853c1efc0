"""The database locked by another program, or its disk full, while people work: 503, clear words, the form kept."""

from __future__ import annotations

import html
import sqlite3
from contextlib import closing

import pytest
from starlette.testclient import TestClient
from tests.capture_items import item, text
from tests.web.conftest import HOST

from plumeline.files.new_answers import ANSWERS
from plumeline.store import engine
from plumeline.store.people import Role
from plumeline.web.app import make_app

LOOKS = ("/", "/ponds/{pond}", "/ponds/{pond}/files", "/ponds/{pond}/history", "/captures", "/api/v1/ponds")


@pytest.fixture
def pond(browser, oak_zip):
    """A pond that is there before the trouble begins."""
    browser.bring_in(oak_zip)
    return browser.get("/api/v1/ponds").json()[0]["id"]


@pytest.fixture
def locked(pond, store, monkeypatch):
    """Another program that holds the database alone, and goes on holding it."""
    monkeypatch.setattr(engine, "BUSY_MS", 30)
    store.database.close()
    with closing(sqlite3.connect(store.database.path, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        yield


@pytest.fixture
def full(pond, store, monkeypatch):
    """A disk on which the file can grow no more; SQLite says of it what it says of a full disk."""
    with closing(sqlite3.connect(store.database.path)) as link:
        pages = link.execute("PRAGMA page_count").fetchone()[0]
    real = engine.pragmas
    monkeypatch.setattr(engine, "pragmas", lambda **how: (*real(**how), f"PRAGMA max_page_count={pages}"))
    store.database.close()


def edit(browser, pond, typed):
    """Send a file of the pond's folder as changed in the form."""
    number = browser.store.ponds.revision(pond).number if typed is None else 1
    fields = {"path": "note.txt", "text": typed, "number": str(number), "author": "crew", "reason": "a note"}
    return browser.post(f"/ponds/{pond}/files/edit", fields)


def test_a_save_on_a_full_disk_is_refused_and_what_was_typed_stays(browser, pond, full, monkeypatch):
    """503, the words, the typed text in a form that can be sent again; with room made it is kept."""
    typed = "geese <on> the dam & more\n" * 20_000
    answer = edit(browser, pond, typed)
    assert answer.status_code == 503
    assert "the disk is full; nothing was saved. Make room and try again." in answer.text
    assert html.escape(typed, quote=False) in answer.text
    assert f'action="/ponds/{pond}/files/edit"' in answer.text
    assert browser.store.ponds.revision(pond).number == 1
    monkeypatch.undo()
    browser.store.database.close()
    assert edit(browser, pond, typed).status_code == 303
    assert browser.store.ponds.folder(pond).files["note.txt"].decode() == typed


def test_the_api_on_a_full_disk_says_so(browser, pond, full):
    """503 as problem+json; no row of it is kept."""
    job = browser.get(f"/api/v1/ponds/{pond}").json()
    headers = {"X-Plumeline": "1", "Content-Type": "application/json"}
    answers = [
        browser.client.put(
            f"/api/v1/ponds/{pond}?made_on_number=1", json=job.get("job", job), headers=headers
        )
    ]
    for number in range(30):
        made = item("note", number, body={"text": "n" * 3_900}, pond_id=pond)
        path = f"/api/v1/capture/items/{made['id']}"
        answer = browser.client.put(path, content=text(made), headers=headers)
        if answer.status_code != 201:
            answers.append(answer)
    assert len(answers) > 1
    assert {answer.status_code for answer in answers} == {503}, [answer.text for answer in answers]
    assert all("the disk is full; nothing was saved" in answer.json()["detail"] for answer in answers)
    assert all(answer.headers["content-type"].startswith("application/problem+json") for answer in answers)


def test_a_new_pond_on_a_full_disk_keeps_its_ten_answers(browser, full):
    """Every answer stands in the page, to be sent again."""
    given = {answer.name: answer.hint.split(";")[0].split(", or")[0].split(" or")[0] for answer in ANSWERS}
    given["smell"] = "faint"
    for _ in range(40):
        answer = browser.post("/ponds/new", {**given, "action": "save", "author": "office"})
        if answer.status_code != 303:
            break
    assert answer.status_code == 503
    assert "the disk is full" in answer.text
    assert all(html.escape(text) in answer.text for text in given.values())


@pytest.mark.parametrize("path", LOOKS)
def test_a_page_of_a_locked_database_says_who_is_in_the_way(path, browser, pond, locked):
    """503 and words, no 500, no empty list."""
    answer = browser.get(path.format(pond=pond))
    assert answer.status_code == 503
    assert "another program holds the database" in answer.text
    assert "Close it and try again." in answer.text


def test_a_save_into_a_locked_database_keeps_what_was_typed(browser, pond, locked):
    """The text is in the page."""
    answer = edit(browser, pond, "typed and not lost")
    assert answer.status_code == 503
    assert "typed and not lost" in answer.text
    assert "another program holds the database" in answer.text


def test_a_secret_typed_is_never_shown_again(browser, locked):
    """A password is not in the page that says why it was not taken."""
    answer = browser.post("/signin", {"name": "crew", "password": "a secret here"})
    assert answer.status_code == 503
    assert "secret here" not in answer.text


def test_who_has_signed_in_is_told_too(store, pond, monkeypatch):
    """The page of the trouble does not itself need the database."""
    code = store.people.add("Office One", Role.OFFICE)
    store.people.use_code(code, "a long and quiet pond")
    client = TestClient(make_app(store, sign_in=True), base_url=HOST, raise_server_exceptions=False)
    client.get("/signin")
    typed = {
        "name": "Office One",
        "password": "a long and quiet pond",
        "form_token": client.cookies["plumeline_form"],
    }
    assert client.post("/signin", data=typed, follow_redirects=False).status_code == 303
    assert client.get("/").status_code == 200
    monkeypatch.setattr(engine, "BUSY_MS", 30)
    store.database.close()
    with closing(sqlite3.connect(store.database.path, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        answer = client.get("/")
    assert answer.status_code == 503
    assert "another program holds the database" in answer.text
