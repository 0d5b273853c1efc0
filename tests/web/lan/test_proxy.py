"""Behind a proxy only the proxy is heard, and only what it says of its client is believed."""

from __future__ import annotations

import pytest
from starlette.requests import Request
from starlette.responses import JSONResponse
from starlette.testclient import TestClient

from plumeline.web.guard import HEADERS
from plumeline.web.lan.proxy import BehindProxy


async def shows(scope, receive, send):
    """Answer with what the application is told of its client."""
    request = Request(scope)
    found = {"client": request.client.host, "scheme": request.url.scheme}
    await JSONResponse(found)(scope, receive, send)


def ask(headers, peer="10.0.0.2", proxy="10.0.0.2"):
    client = TestClient(BehindProxy(shows, proxy), client=(peer, 5000))
    return client.get("/", headers=headers)


HTTPS = {"X-Forwarded-Proto": "https"}


def test_the_proxys_word_on_its_client_is_taken():
    """The address behind it, for the limits of sign-in; the scheme, for cookies and what a page may do."""
    answer = ask(HTTPS | {"X-Forwarded-For": "203.0.113.9"})
    assert answer.json() == {"client": "203.0.113.9", "scheme": "https"}


def test_an_address_that_the_client_made_up_is_not_taken():
    """A proxy adds what it saw at the right; what stands left of it came with the request."""
    answer = ask(HTTPS | {"X-Forwarded-For": "127.0.0.1, 10.9.9.9, 203.0.113.9"})
    assert answer.json()["client"] == "203.0.113.9"


@pytest.mark.parametrize("peer", ["10.0.0.3", "127.0.0.1", "203.0.113.9", "testclient", "::1"])
def test_nobody_else_is_heard_whatever_it_says(peer):
    """Past the proxy there is no way in."""
    answer = ask(HTTPS | {"X-Forwarded-For": "10.0.0.2"}, peer=peer)
    assert answer.status_code == 403
    assert all(answer.headers[name] == value for name, value in HEADERS.items())


@pytest.mark.parametrize("headers", [{}, {"X-Forwarded-Proto": "http"}, {"X-Forwarded-Proto": "ftp"}])
def test_a_client_without_https_is_refused_in_words(headers):
    """With what to set in the proxy."""
    answer = ask(headers)
    assert answer.status_code == 400
    assert "X-Forwarded-Proto" in answer.text


def test_an_address_of_the_newer_kind_is_known_in_any_spelling():
    """::1 is 0:0:0:0:0:0:0:1."""
    assert ask(HTTPS, peer="::1", proxy="0:0:0:0:0:0:0:1").status_code == 200
