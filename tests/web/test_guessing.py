"""Guessing at names, codes and old passwords, one after another and many at once."""

from __future__ import annotations

import asyncio
import re
import threading

import httpx2 as httpx
import pytest
from tests.apart import run_apart
from tests.web.browsers import HOST, PASSWORD, Client

from plumeline.store import open_store
from plumeline.store import people as people_module
from plumeline.store.people import Role, WrongCodeError
from plumeline.web import tries
from plumeline.web.app import make_app


@pytest.fixture
def people_store(tmp_path):
    store = open_store(tmp_path / "plumeline.sqlite3")
    store.people.use_code(store.people.add("Ada", Role.OFFICE), PASSWORD)
    yield store
    store.close()


@pytest.fixture
def slept(monkeypatch):
    """Waits, which take no time here."""
    found = []

    async def sleep(seconds_s):
        found.append(seconds_s)

    monkeypatch.setattr(tries.asyncio, "sleep", sleep)
    return found


@pytest.fixture
def hashed(monkeypatch):
    """How many slow hashes were compared, and how many at once at most."""
    lock, now, seen = threading.Lock(), [0], []

    def fits(*_):
        with lock:
            now[0] += 1
            seen.append(now[0])
        threading.Event().wait(0.01)
        with lock:
            now[0] -= 1
        return False

    monkeypatch.setattr(people_module, "_fits", fits)
    return seen


def at_once(app, names, answered=lambda _: None):
    """Send a wrong sign-in for each name, all at once; their statuses. Each is told of as it comes."""

    async def all_sent():
        transport = httpx.ASGITransport(app=app)
        async with httpx.AsyncClient(transport=transport, base_url=HOST) as client:
            page = await client.get("/signin")
            token = re.search(r'name="form_token" value="(\w+)"', page.text)[1]
            sent = ({"form_token": token, "name": name, "password": "wrong words"} for name in names)

            async def one(form):
                answer = await client.post("/signin", data=form)
                answered(answer.status_code)
                return answer.status_code

            return await asyncio.gather(*(one(form) for form in sent))

    return run_apart(all_sent())


def test_sixty_wrong_tries_at_once_are_not_answered_at_once(people_store, slept, monkeypatch):
    """Of one name: those that may wait are looked at one at a time, the others are told to come later."""
    lock, all_here, refused, at_work, most_at_work = threading.Lock(), threading.Event(), [], [], []

    def fits(*_):
        with lock:
            at_work.append(1)
            most_at_work.append(len(at_work))
        # until the others have been answered, so that a slow machine does not let them come one after another
        assert all_here.wait(30)
        with lock:
            at_work.pop()
        return False

    def answered(status_number):
        if status_number == 429:
            refused.append(1)
        if len(refused) == 60 - tries.MOST_WAITING:
            all_here.set()

    monkeypatch.setattr(people_module, "_fits", fits)
    found = at_once(make_app(people_store, sign_in=True), ["Ada"] * 60, answered)
    assert found.count(401) == len(most_at_work) == tries.MOST_WAITING
    assert found.count(429) == 60 - tries.MOST_WAITING
    assert max(most_at_work) == 1


def test_tries_at_many_names_at_once_are_counted_together(people_store, hashed, monkeypatch):
    """Of one address: a hundred are looked at, two at a time at most; each further one stands in one row and waits."""
    really_sleep, now, seen = asyncio.sleep, [], []

    async def sleep(seconds_s):
        if seconds_s != tries.WAIT_S:
            return await really_sleep(seconds_s)
        now.append(1)
        seen.append(len(now))
        await really_sleep(0.05)
        now.pop()
        return None

    monkeypatch.setattr(tries.asyncio, "sleep", sleep)
    found = at_once(make_app(people_store, sign_in=True), [f"name {number}" for number in range(160)])
    assert max(hashed) == tries.MOST_HASHES
    at_once_count = tries.WRONG_TRIES_OF_ADDRESS + tries.MOST_HASHES
    assert tries.WRONG_TRIES_OF_ADDRESS <= found.count(401) <= at_once_count + len(seen)
    assert found.count(401) + found.count(429) == 160
    assert max(seen) == 1


def test_the_old_password_is_not_guessed_at_faster_than_at_the_sign_in(people_store, slept):
    """Wrong old passwords count for the name; a new one that is refused does not."""
    client = Client(make_app(people_store, sign_in=True))
    assert client.sign_in("Ada").status_code == 303
    for _ in range(11):
        refused = client.post("/password", {"old": PASSWORD, "new": "short"}, page="/password")
        assert refused.status_code == 422
    assert slept == []
    for _ in range(tries.WRONG_TRIES):
        wrong = client.post("/password", {"old": "wrong words", "new": "four wet words"}, page="/password")
        assert "not right" in wrong.text
    assert slept == []
    client.post("/password", {"old": "wrong words", "new": "four wet words"}, page="/password")
    assert slept == [tries.WAIT_S]
    right = client.post("/password", {"old": PASSWORD, "new": "four wet words"}, page="/password")
    assert right.status_code == 303
    assert slept == [tries.WAIT_S] * 2


def test_a_code_that_is_not_there_costs_no_slow_hash(people_store, monkeypatch):
    """It is looked up first; a code that is there is hashed for."""
    code = people_store.people.add("Cy", Role.CREW)
    count = []

    class Hasher:
        def hash(self, password):
            count.append(password)
            return "$argon2id$"

    monkeypatch.setattr(people_module, "_hasher", Hasher())
    with pytest.raises(WrongCodeError):
        people_store.people.use_code("WRONG-WRONG-WRONG-WRONG", PASSWORD)
    assert count == []
    people_store.people.use_code(code, PASSWORD)
    assert count == [PASSWORD]
