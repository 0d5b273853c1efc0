"""Before every route: headers on whatever is answered, who is asked first, and sessions that end."""

from __future__ import annotations

import asyncio
import re

import httpx2 as httpx
import pytest
from starlette.testclient import TestClient
from tests.apart import run_apart
from tests.web.browsers import HOST, ROUTES, Client

from plumeline.store.errors import StoreError
from plumeline.web import plans
from plumeline.web.app import make_app
from plumeline.web.guard import HEADERS
from plumeline.web.rights import RIGHTS
from plumeline.web.visitors import CUSTOMER, SESSION


@pytest.fixture
def both(app, place):
    """A browser of the office that also opened a customer's link."""
    client = Client(app)
    assert client.sign_in("Ada").status_code == 303
    _link, secret = place.links.make("hollow-oak", "Ada")
    assert client.post("/link", {"code": secret}, page="/link").status_code == 303
    if place.quotes.latest("hollow-oak", 1) is None:
        place.quotes.keep("hollow-oak", 1, 1, None, "Ada", {"us": b"%PDF us", "si": b"%PDF si"})
    return client


def headed(answer):
    """Tell whether an answer has every header."""
    return all(answer.headers.get(name) == value for name, value in HEADERS.items())


def test_errors_of_ours_carry_the_headers(app, everybody, monkeypatch):
    """A page and a JSON answer of 500, which are made outside all other layers."""

    def broken(*_, **__):
        raise ZeroDivisionError

    monkeypatch.setattr("plumeline.store.ponds.Ponds.rows", broken)
    for path in ("/", "/api/v1/ponds"):
        answer = everybody["office"].http.get(path)
        assert answer.status_code == 500
        assert headed(answer), path
        assert answer.headers["cache-control"] == "no-store"
        assert "ZeroDivisionError" in answer.text


def test_papers_and_refusals_carry_the_headers(everybody):
    """A served PDF, too much at once, another host's name, a method that nothing takes."""
    client = everybody["office"].http
    paper = client.get("/ponds/hollow-oak/papers/gauges.pdf")
    assert paper.content.startswith(b"%PDF-")
    large = client.post("/signin", content=b"x" * (5 * 2**20))
    assert large.status_code == 413
    elsewhere = client.get("/", headers={"Host": "elsewhere.test"})
    assert elsewhere.status_code == 421
    wrong = client.delete("/people", headers={"X-Plumeline": "1"})
    assert wrong.status_code == 405
    for answer in (paper, large, elsewhere, wrong):
        assert headed(answer), answer.status_code
        assert answer.headers["cache-control"] == "no-store"


def test_a_stranger_is_asked_who_they_are_before_their_body_is_read(everybody):
    """JSON that is none, to every route that changes: 401, and not what is wrong with it."""
    sent = {"content": b"{not json", "headers": {"X-Plumeline": "1", "Content-Type": "application/json"}}
    for method, path, key in ROUTES:
        if method == "GET" or "nobody" in RIGHTS[key]:
            continue
        answer = everybody["nobody"].http.request(method, re.sub(r"\{\w+\}", "1", path), **sent)
        assert answer.status_code == 401, (method, path)
    answer = everybody["office"].http.post("/api/v1/ponds", **sent)
    assert answer.status_code == 422
    assert everybody["link"].http.post("/api/v1/ponds", **sent).status_code == 404


def test_a_database_that_can_not_be_read_is_told_as_such(everybody, monkeypatch):
    """At a change, before its body: 503 as problem+json, and as a page."""

    def locked(*_, **__):
        raise StoreError("the database is busy.", remedy="Try again in a minute.")

    monkeypatch.setattr("plumeline.store.people.People.of_session", locked)
    client = everybody["office"].http
    for path in ("/api/v1/ponds", "/people"):
        answer = client.post(path, json={}, headers={"X-Plumeline": "1"})
        assert answer.status_code == 503, path
        assert "database is busy" in answer.text
        assert headed(answer)


def test_no_byte_of_a_strangers_body_is_taken(app):
    """The body isn't asked for at all."""

    async def asked():
        taken = []

        async def body():
            taken.append(1)
            yield b"{"

        async with httpx.AsyncClient(transport=httpx.ASGITransport(app=app), base_url=HOST) as client:
            answer = await client.post("/api/v1/ponds/import", content=body(), headers={"X-Plumeline": "1"})
        return answer.status_code, taken

    assert run_apart(asked()) == (401, [])


def test_with_both_cookies_each_page_goes_to_whom_it_is_for(both):
    """The customer's page is the customer's, the office's pages are the office's, forms hold on both."""
    assert "Your name" in both.http.get("/customer").text
    assert both.http.get("/people").status_code == 200
    for page in ("/customer", "/people"):
        answer = both.post("/units", {"units": "si", "back": page}, page=page)
        assert (answer.status_code, answer.headers["location"]) == (303, page)
    assert both.post("/customer/accept", {"name": "B", "number": "1"}, page="/people").status_code == 403
    accepted = both.post(
        "/customer/accept", {"name": "B. Owner", "number": "1", "quote_number": "1"}, page="/customer"
    )
    assert accepted.status_code == 303


def test_a_sign_out_ends_both(both, place):
    """Neither cookie opens anything afterwards, kept or not."""
    mine, theirs = both.http.cookies[SESSION], both.http.cookies[CUSTOMER]
    assert both.post("/signout", page="/signout").status_code == 303
    assert place.people.of_session(mine) is None
    assert place.links.of_session(theirs) is None
    assert SESSION not in both.http.cookies
    assert CUSTOMER not in both.http.cookies


def test_a_customers_forms_are_tied_to_the_customers_session(everybody):
    """A cookie of a session that is over, left in their browser, changes no token."""
    client = everybody["link"]
    before = client.token("/customer")
    client.http.cookies.set(SESSION, "long over", domain="127.0.0.1")
    try:
        assert client.token("/customer") == before
        assert (
            client.post("/units", {"units": "us", "back": "/customer"}, page="/customer").status_code == 303
        )
    finally:
        client.http.cookies.delete(SESSION)


def test_a_new_sign_in_ends_the_session_that_the_browser_had(app, place):
    """Of somebody else too: one browser, one session."""
    client = Client(app)
    client.sign_in("Cy")
    before = client.http.cookies[SESSION]
    token = client.token("/signout")
    sent = {"form_token": token, "name": "Ada", "password": "three wet words"}
    assert client.http.post("/signin", data=sent).status_code == 303
    assert place.people.of_session(before) is None
    assert place.people.of_session(client.http.cookies[SESSION]).name == "Ada"


@pytest.mark.parametrize("scheme", ["http", "https"])
def test_every_cookie_is_kept_to_https_where_we_are_asked_over_it(place, scheme):
    """Units and author too; each of them is out of reach of scripts."""
    client = Client(make_app(place, sign_in=True))
    client.http = TestClient(
        client.http.app,
        base_url=HOST.replace("http", scheme),
        raise_server_exceptions=False,
        follow_redirects=False,
    )
    signed = client.sign_in("Ada")
    units = client.post("/units", {"units": "si"}, page="/people")
    text = place.ponds.folder("hollow-oak").files["job.toml"].decode()
    number = place.ponds.revision("hollow-oak").number
    fields = {"path": "notes.txt", "text": f"seen {scheme} {len(text)}\n", "number": str(number)}
    saved = client.post("/ponds/hollow-oak/files/edit", fields, page="/people")
    cookies = [
        cookie for answer in (signed, units, saved) for cookie in answer.headers.get_list("set-cookie")
    ]
    assert {cookie.partition("=")[0].removeprefix("__Host-") for cookie in cookies} == {
        SESSION, "plumeline_units", "plumeline_author",
    }  # fmt: skip
    for cookie in cookies:
        assert ("; secure" in cookie.lower()) == (scheme == "https"), cookie
        assert "; httponly" in cookie.lower(), cookie


def test_a_stream_of_events_ends_when_its_reader_signs_out(app, place, monkeypatch):
    """Looked at every few seconds: the run goes on, the stream is over."""
    monkeypatch.setattr(plans, "LOOK_S", 0.0)
    monkeypatch.setattr(plans, "GAP_S", 0.0)
    client = Client(app)
    client.sign_in("Cy")
    secret = client.http.cookies[SESSION]
    run = place.runs.ask("hollow-oak", 1, "x")

    async def connected():
        return False

    async def read():
        from fastapi import Request

        scope = {
            "type": "http", "app": app, "endpoint": plans.events, "method": "GET", "path": "/", "scheme": "http",
            "headers": [(b"cookie", f"{SESSION}={secret}".encode())], "server": ("127.0.0.1", 8621),
            "query_string": b"",
        }  # fmt: skip
        request = Request(scope)
        monkeypatch.setattr(request, "is_disconnected", connected)
        stream = plans.told(request, app.state.site, run.id)
        assert (await anext(stream)).startswith("data: ")
        assert (await anext(stream)).startswith(": still here")
        place.people.end_session(secret)
        return [part async for part in stream]

    assert run_apart(asyncio.wait_for(read(), 20)) == []
    assert not place.runs.get(run.id).state.ended
    place.runs.stop(run.id)
