"""The servers as a process: what each listener gives, how both stop, what a proxy's word counts."""

from __future__ import annotations

import hashlib
import http.client
import signal
import socket
import ssl
import time
from contextlib import closing

import pytest
from tests.browser.conftest import Server

from plumeline.store import open_store
from plumeline.store.captures import Told

NAME = "pond-office.test"
PHONE = "018f0000-0000-7000-8000-000000000001"


def free_ports():
    """Two ports of this machine that nobody listens on."""
    with socket.socket() as one, socket.socket() as two:
        one.bind(("127.0.0.1", 0))
        two.bind(("127.0.0.1", 0))
        return one.getsockname()[1], two.getsockname()[1]


def lan_server(folder, *options):
    """A server for phones that listens on loopback alone."""
    port_number, other = free_ports()
    words = ("--lan", "--host", "127.0.0.1", "--name", NAME, "--certificate-port", str(other), *options)
    found = Server(folder, *words)
    found.port_number, found.certificate_port_number = port_number, other
    return found


@pytest.fixture(scope="module")
def running(tmp_path_factory):
    found = lan_server(tmp_path_factory.mktemp("lan")).start()
    yield found
    found.stop()


def plain(server, path, method="GET"):
    with closing(http.client.HTTPConnection("127.0.0.1", server.certificate_port_number, timeout=20)) as link:
        link.request(method, path)
        answer = link.getresponse()
        return answer.status, answer.headers, answer.read()


def secure(server, path, host=NAME):
    """Ask as a phone that trusts the authority does: by its name, at the loopback address."""
    _status, _headers, pem = plain(server, "/plumeline-authority.pem")
    context = ssl.create_default_context(cadata=pem.decode())
    link = socket.create_connection(("127.0.0.1", server.port_number), timeout=20)
    with context.wrap_socket(link, server_hostname=host) as wire:
        wire.sendall(
            f"GET {path} HTTP/1.1\r\nHost: {host}:{server.port_number}\r\nConnection: close\r\n\r\n".encode()
        )
        return b"".join(iter(lambda: wire.recv(65536), b"")).decode()


def test_a_phone_that_trusts_the_authority_gets_the_pages_and_no_hsts(running):
    """A secure context, so nothing is said to be off; HSTS would shut out a phone whose trust was taken away."""
    answer = secure(running, "/pair")
    assert answer.startswith("HTTP/1.1 200")
    assert "Over plain http" not in answer
    assert "strict-transport-security" not in answer.lower()
    assert f"https://{NAME}:{running.port_number}/" in answer
    assert secure(running, "/", host="127.0.0.1").startswith("HTTP/1.1 200")


def test_who_does_not_trust_the_authority_gets_nothing(running):
    """The handshake itself fails."""
    link = socket.create_connection(("127.0.0.1", running.port_number), timeout=20)
    context = ssl.create_default_context()
    with pytest.raises(ssl.SSLCertVerificationError):
        context.wrap_socket(link, server_hostname=NAME)
    link.close()


def test_the_plain_listener_gives_the_certificate_and_the_steps_and_nothing_else(running):
    """No page, no API, no method but GET; the type is the one that phones offer to install."""
    status, headers, der = plain(running, "/plumeline-authority.crt")
    assert (status, headers["Content-Type"]) == (200, "application/x-x509-ca-cert")
    assert ssl.DER_cert_to_PEM_cert(der) == plain(running, "/plumeline-authority.pem")[2].decode()
    status, headers, steps = plain(running, "/")
    assert status == 200
    assert b"Certificate Trust Settings" in steps
    # a fingerprint from here could be anybody's; the office's page shows it
    printed = hashlib.sha256(der).digest().hex(" ").upper()
    assert printed.encode() not in steps
    assert printed in secure(running, "/pair")
    assert "script-src" not in headers["Content-Security-Policy"]
    assert headers["Content-Security-Policy"].startswith("default-src 'none'")
    assert "Set-Cookie" not in headers
    for path in (
        "/ponds",
        "/api/v1/ponds",
        "/static/plumeline.css",
        "/pair",
        "/../key",
        "/docs",
        "/openapi.json",
    ):
        assert plain(running, path)[0] == 404, path
    for method in ("POST", "PUT", "DELETE"):
        assert plain(running, "/", method)[0] in (404, 405), method


def test_no_key_is_said_or_served(running):
    """Neither in what was printed nor in any answer."""
    said = (running.folder / "server.log").read_bytes()
    answers = [
        plain(running, path)[2] for path in ("/", "/plumeline-authority.crt", "/plumeline-authority.pem")
    ]
    whole = said + b"".join(answers) + secure(running, "/pair").encode()
    for path in (running.folder / "certificates").rglob("*.pem"):
        for line in path.read_bytes().split(b"-----END PRIVATE KEY-----")[0].splitlines()[1:]:
            assert line not in whole
    assert b"PRIVATE KEY" not in whole


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_both_listeners_stop_in_order(how, tmp_path):
    """By Ctrl-C and by the system's word, within seconds, and both ports are free again."""
    server = lan_server(tmp_path).start()
    process = server._process
    began = time.monotonic()
    process.send_signal(how)
    assert process.wait(15) == 130
    assert time.monotonic() - began < 10
    process.stdout.close()
    for number in (server.port_number, server.certificate_port_number):
        with socket.socket() as ear:
            ear.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            ear.bind(("127.0.0.1", number))


def test_a_changed_name_stops_the_start_and_names_the_phone(tmp_path):
    """Nothing is made for the other name, and the old one goes on."""
    server = lan_server(tmp_path).start()
    server.stop()
    store = open_store(server.database)
    store.captures.heard(Told(PHONE, "phone one", unsent_count=3))
    store.close()
    server.options = (*server.options, "--name", "other.test")
    with pytest.raises(AssertionError, match=r"phone one holds 3 not handed over"):
        server.start()
    server._process.wait(15)
    server._process.stdout.close()
    assert not (tmp_path / "certificates" / "other.test").exists()
    server.options = server.options[:-2]
    server.start()
    server.stop()


@pytest.mark.parametrize(
    "options",
    [("--lan",), ("--lan", "--plain-http"), ("--behind-proxy", "127.0.0.1", "--name", "ponds.test")],
)
def test_nobody_beyond_this_machine_is_let_in_without_a_sign_in(options, tmp_path):
    """However they would come."""
    server = Server(tmp_path, *options)
    server.port_number = free_ports()[0]
    with pytest.raises(AssertionError, match="no sign-in yet"):
        server.start()
    server._process.wait(15)
    server._process.stdout.close()
