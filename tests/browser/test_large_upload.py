"""A file of a hundred megabytes, from a browser or without a length: refused in words, the memory stays small."""

from __future__ import annotations

import contextlib
import http.client
import re
from pathlib import Path

import pytest

HUNDRED_MB = 100 * 2**20
PIECE = b"PK\x03\x04" + b"x" * (2**20 - 4)
MB = 1024


def most_kb(server):
    """The most memory that the server's process held at once [kB]."""
    status = Path(f"/proc/{server._process.pid}/status")
    if not status.exists():
        pytest.skip("only Linux tells how much memory a process held")
    return int(re.search(r"VmHWM:\s+(\d+) kB", status.read_text())[1])


def pieces(head=b""):
    """A hundred megabytes, one after the other."""
    yield head
    for _ in range(HUNDRED_MB // len(PIECE)):
        yield PIECE


def sent_without_a_length(server, path, headers, head=b""):
    """Send until the server has had enough; return its answer."""
    link = http.client.HTTPConnection("127.0.0.1", server.port_number, timeout=60)
    told = {**headers, "Transfer-Encoding": "chunked"}
    with contextlib.suppress(BrokenPipeError, ConnectionResetError):
        link.request("POST", path, body=pieces(head), headers=told, encode_chunked=True)
    answer = link.getresponse()
    found = answer.status, answer.read().decode()
    link.close()
    return found


def test_without_a_length_it_is_refused_where_the_limit_is_passed_and_memory_stays_small(server):
    """By the form less than 40 MB more than before, by the API, which has the whole in memory, less than 150 MB."""
    assert server.answers()
    begun_kb = most_kb(server)
    head = (
        b'--b\r\nContent-Disposition: form-data; name="folder"; filename="big.zip"\r\n'
        b"Content-Type: application/zip\r\n\r\n"
    )
    headers = {"Content-Type": "multipart/form-data; boundary=b"}
    status, words = sent_without_a_length(server, "/ponds/import", headers, head)
    assert status == 413
    assert "more than the 65 MB that are taken at once; nothing was kept" in words
    assert most_kb(server) - begun_kb < 40 * MB
    status, words = sent_without_a_length(
        server, "/api/v1/ponds/import", {"Content-Type": "application/zip", "X-Plumeline": "1"}
    )
    assert status == 413
    assert "nothing was kept" in words
    assert most_kb(server) - begun_kb < 150 * MB
    assert server.answers()


def test_in_a_browser_a_hundred_megabytes_are_refused_in_words(page, server, tmp_path):
    """Whoever chose the wrong file reads why it was not taken."""
    large = tmp_path / "large.zip"
    with large.open("wb") as out:
        out.truncate(HUNDRED_MB)
    page.goto(server.url + "/")
    page.locator("input[type=file]").first.set_input_files(large)
    page.get_by_role("button", name=re.compile("import", re.IGNORECASE)).first.click()
    page.get_by_text(re.compile(r"more than the 65 MB")).wait_for(timeout=60_000)
