"""What is kept out: other hosts, other sites' forms, too much at once, zips that lead out."""

from __future__ import annotations

import io
import re
import zipfile

import pytest

from plumeline.web import guard
from plumeline.web.guard import HEADERS


@pytest.mark.parametrize(
    "host", ["evil.test", "evil.test:8621", "127.0.0.1.evil.test", "", "[::2]:8621", "10.0.0.5", "[bad"]
)
def test_another_name_for_this_machine_is_not_answered(host, browser):
    """A page elsewhere that points its own name at us gets nothing (DNS rebinding)."""
    answer = browser.get("/", headers={"host": host})
    assert answer.status_code == 421
    assert answer.headers["Content-Security-Policy"] == HEADERS["Content-Security-Policy"]


@pytest.mark.parametrize("host", ["127.0.0.1:9", "localhost", "LOCALHOST:1", "[::1]:8621"])
def test_this_machine_is_answered_under_its_own_names(host, browser):
    """By number, by name, by the newer number."""
    assert browser.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.test"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9999"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_a_form_of_another_site_is_refused_whatever_it_holds(headers, browser, oak_zip):
    """Even with the right token, and on the API too."""
    fields = {"form_token": browser.client.cookies["plumeline_form"]}
    answer = browser.client.post(
        "/ponds/import", data=fields, files={"folder": ("a.zip", oak_zip)}, headers=headers
    )
    assert answer.status_code == 403
    assert browser.client.post("/api/v1/ponds/import", content=oak_zip, headers=headers).status_code == 403
    assert browser.store.ponds.count() == 0


@pytest.mark.parametrize("token", [None, "", "x" * 48])
def test_a_form_without_our_token_is_refused(token, browser, oak_zip):
    """Missing, empty, guessed."""
    fields = {} if token is None else {"form_token": token}
    answer = browser.client.post("/ponds/import", data=fields, files={"folder": ("a.zip", oak_zip)})
    assert answer.status_code == 403
    assert "nothing was saved" in answer.text
    assert browser.store.ponds.count() == 0


def test_what_was_typed_into_an_old_form_can_be_sent_again(browser):
    """The page shows it as text under a new token; a password is never shown."""
    typed = {"form_token": "x" * 48, "name": "<b>Lower & upper</b>", "max_depth": "14 ft\r\nor so"}
    answer = browser.client.post("/ponds/new", data=typed)
    assert answer.status_code == 403
    assert "&lt;b&gt;Lower &amp; upper&lt;/b&gt;</textarea>" in answer.text
    assert "14 ft\nor so" in answer.text.replace("\r", "")
    new = browser.client.cookies["plumeline_form"]
    assert f'value="{new}"' in answer.text
    assert "x" * 48 not in answer.text
    for path in ("/password", "/signin", "/welcome"):
        secret = browser.client.post(
            path, data={"form_token": "x" * 48, "old": "hunter-two", "new": "hunter-two"}
        )
        assert secret.status_code == 403, path
        assert "hunter-two" not in secret.text


def test_another_sites_form_gets_a_page_without_a_token(browser):
    """Nothing in the answer helps who sent it, and the cookie of our own forms stays as it is."""
    before = browser.client.cookies["plumeline_form"]
    answer = browser.client.post("/ponds/new", data={"name": "a"}, headers={"origin": "http://evil.test"})
    assert answer.status_code == 403
    assert "<h1>Not taken</h1>" in answer.text
    assert "form_token" not in answer.text
    assert "set-cookie" not in answer.headers
    assert browser.client.cookies["plumeline_form"] == before


def test_an_empty_cookie_does_not_match_an_empty_token(browser):
    """Two empty texts are equal, and still no token."""
    browser.client.cookies.clear()
    assert browser.client.post("/units", data={"form_token": "", "units": "si"}).status_code == 403


@pytest.mark.parametrize(
    "back", ["//evil.test", "/\\evil.test", "https://evil.test", "javascript:alert(1)", ""]
)
def test_the_way_back_leads_nowhere_else(back, browser):
    """After the units are kept, the browser stays here."""
    answer = browser.post("/units", {"units": "si", "back": back})
    assert answer.status_code == 303
    assert answer.headers["location"] == "/"


def test_a_hundred_megabytes_are_refused_by_what_is_said_and_by_what_is_sent(browser, monkeypatch):
    """By the head at once; without one, as soon as the limit is passed."""
    said = browser.client.post("/ponds/import", content=b"x", headers={"content-length": str(100 * 2**20)})
    assert said.status_code == 413
    assert "<h1>Too large</h1>" in said.text
    assert "form_token" not in said.text
    assert "set-cookie" not in said.headers
    monkeypatch.setattr(guard, "MOST_UPLOAD_BYTES", 1000)
    sent = 0

    def pieces():
        nonlocal sent
        for _ in range(1000):
            sent += 1
            yield b"x" * 100

    for path in ("/ponds/import", "/api/v1/ponds/import"):
        kind = "multipart/form-data; boundary=b" if path.startswith("/ponds") else "application/zip"
        answer = browser.client.post(path, content=pieces(), headers={"content-type": kind})
        assert answer.status_code == 413, path
        assert "nothing was kept" in answer.text
    assert browser.store.ponds.count() == 0


def packed(name, data=b"x"):
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as found:
        found.writestr("job.toml", b"format = 1\n")
        found.writestr(name, data)
    return stream.getvalue()


@pytest.mark.parametrize(
    "data", [packed("../../etc/cron.d/x"), packed("/abs"), packed("job.toml/x"), b"no zip", b""]
)
def test_a_bad_zip_is_told_and_nothing_is_kept(data, browser):
    """On the page and on the API, in words and not as an error of ours."""
    assert browser.bring_in(data).status_code == 422
    answer = browser.client.post("/api/v1/ponds/import", content=data)
    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["detail"]
    assert browser.store.ponds.count() == 0


def test_no_file_chosen_is_told(browser):
    """The button pressed too early."""
    answer = browser.post("/ponds/import", {"author": ""})
    assert answer.status_code == 422
    assert "no file was chosen" in answer.text


def test_our_own_files_are_kept_by_a_browser_and_pages_are_not(browser):
    """Asked for again a style comes as 304 without its text; fonts stay for a week; what is not there is not kept.

    RFC 9111, 5.2.2.4: "no-cache" may be kept and is asked after each time.
    """
    style = browser.get("/static/plumeline.css")
    assert style.headers["cache-control"] == "no-cache"
    again = browser.get("/static/plumeline.css", headers={"if-none-match": style.headers["etag"]})
    assert (again.status_code, again.content, again.headers["cache-control"]) == (304, b"", "no-cache")
    fonts = [f"/static/{name}" for name in re.findall(r'url\("(fonts/[^"]+)"\)', style.text)]
    assert len(fonts) == 2
    assert {browser.get(path).headers["cache-control"] for path in fonts} == {"public, max-age=604800"}
    for path in ("/", "/static/fonts/none.ttf", "/static/none.css"):
        assert browser.get(path).headers["cache-control"] == "no-store", path
