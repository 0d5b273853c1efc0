"""The servers as a process: what each listener gives, how both stop, what a proxy's word counts."""

from __future__ import annotations

import hashlib
import http.client
import signal
import socket
import ssl
import threading
import time
import urllib.error
import urllib.request
from contextlib import closing
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest
from starlette.responses import PlainTextResponse
from tests.browser.conftest import Server

from plumeline.store import open_store
from plumeline.store.captures import Told
from plumeline.store.pairings import Pairing
from plumeline.store.people import Role
from plumeline.web import listening
from plumeline.web.lan.key_files import ready

NAME = "pond-office.test"
PHONE = "018f0000-0000-7000-8000-000000000001"


def free_ports():
    """Two ports of this machine that nobody listens on."""
    with socket.socket() as one, socket.socket() as two:
        one.bind(("127.0.0.1", 0))
        two.bind(("127.0.0.1", 0))
        return one.getsockname()[1], two.getsockname()[1]


def office_cookie(folder):
    """Let somebody of the office be signed in already; return the cookie."""
    store = open_store(folder / "plumeline.sqlite3")
    person = store.people.use_code(store.people.add("Ada", Role.OFFICE), "seven small carp")
    found = f"__Host-plumeline_session={store.people.begin_session(person.id)}"
    store.close()
    return found


def lan_server(folder, *options):
    """A server for phones that listens on loopback alone."""
    port_number, other = free_ports()
    words = ("--lan", "--host", "127.0.0.1", "--name", NAME, "--certificate-port", str(other), *options)
    found = Server(folder, *words)
    found.port_number, found.certificate_port_number = port_number, other
    return found


@pytest.fixture(scope="module")
def running(tmp_path_factory):
    folder = tmp_path_factory.mktemp("lan")
    cookie = office_cookie(folder)
    found = lan_server(folder).start()
    found.cookie = cookie
    yield found
    found.stop()


def plain(server, path, method="GET"):
    with closing(http.client.HTTPConnection("127.0.0.1", server.certificate_port_number, timeout=20)) as link:
        link.request(method, path)
        answer = link.getresponse()
        return answer.status, answer.headers, answer.read()


def secure(server, path, host=NAME, cookie=None, header=""):
    """Ask as a phone that trusts the authority does: by its name, at the loopback address, signed in."""
    _status, _headers, pem = plain(server, "/plumeline-authority.pem")
    context = ssl.create_default_context(cadata=pem.decode())
    link = socket.create_connection(("127.0.0.1", server.port_number), timeout=20)
    with context.wrap_socket(link, server_hostname=host) as wire:
        head = f"GET {path} HTTP/1.1\r\nHost: {header or f'{host}:{server.port_number}'}\r\n"
        cookie = server.cookie if cookie is None else cookie
        wire.sendall(f"{head}Cookie: {cookie}\r\nConnection: close\r\n\r\n".encode())
        return b"".join(iter(lambda: wire.recv(65536), b"")).decode()


def test_a_phone_that_trusts_the_authority_gets_the_pages_and_no_hsts(running):
    """A secure context, so nothing is said to be off; HSTS would shut out a phone whose trust was taken away."""
    answer = secure(running, "/pair")
    assert answer.startswith("HTTP/1.1 200")
    assert "Over plain http" not in answer
    assert "strict-transport-security" not in answer.lower()
    assert f"https://{NAME}:{running.port_number}/" in answer
    assert secure(running, "/", host="127.0.0.1").startswith("HTTP/1.1 200")


def test_under_another_name_the_right_one_is_said(running):
    """A page elsewhere that points its own name at us gets no more."""
    answer = secure(running, "/", header=f"evil.test:{running.port_number}")
    assert answer.startswith("HTTP/1.1 421")
    assert f"open https://{NAME}:{running.port_number}/" in answer


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
    """Nothing is made for the other name, and nothing listens."""
    store = open_store(tmp_path / "plumeline.sqlite3")
    store.captures.heard(Told(PHONE, "phone one", unsent_count=3))
    store.pairings.keep(Pairing("https", "old.test", 8621))
    store.close()
    server = lan_server(tmp_path)
    with pytest.raises(AssertionError, match=r"old\.test:8621.*phone one holds 3 not handed over"):
        server.start()
    assert server._process.wait(15) == 2
    server._process.stdout.close()
    assert not (tmp_path / "certificates").exists()


@pytest.mark.parametrize("path", ["/", "/pair", "/captures", "/api/v1/ponds", "/api/v1/capture/ponds"])
def test_without_a_sign_in_nothing_is_shown(path, running):
    """Over the network there is no office by right."""
    answer = secure(running, path, cookie="a=b")
    assert answer.split("\r\n")[0] in ("HTTP/1.1 303 See Other", "HTTP/1.1 401 Unauthorized")


class Proxy(BaseHTTPRequestHandler):
    """A reverse proxy as small as can be: it says the client's address and scheme, and keeps the host name."""

    target = 0
    scheme = "https"

    def do_GET(self):
        sent = {
            "Host": self.headers["Host"],
            "Cookie": self.headers["Cookie"],
            "X-Forwarded-For": "203.0.113.9",
        }
        if self.scheme:
            sent["X-Forwarded-Proto"] = self.scheme
        with closing(http.client.HTTPConnection("127.0.0.1", self.target, timeout=20)) as link:
            link.request("GET", self.path, headers=sent)
            answer = link.getresponse()
            body = answer.read()
        self.send_response(answer.status)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_words):
        """Say nothing."""


@pytest.fixture
def proxied(tmp_path):
    """A server behind a proxy on this machine."""
    cookie = office_cookie(tmp_path)
    server = Server(tmp_path, "--behind-proxy", "127.0.0.1", "--name", "ponds.test")
    server.cookie = cookie
    server.port_number = free_ports()[0]
    with ThreadingHTTPServer(("127.0.0.1", 0), Proxy) as proxy:
        threading.Thread(target=proxy.serve_forever, daemon=True).start()
        Proxy.target, Proxy.scheme = server.port_number, "https"
        server.proxy_url = f"http://127.0.0.1:{proxy.server_port}"
        yield server
        proxy.shutdown()
    server.stop()


def through(server, host="ponds.test"):
    """Ask the proxy."""
    asked = urllib.request.Request(server.proxy_url + "/", headers={"Host": host, "Cookie": server.cookie})
    try:
        with urllib.request.urlopen(asked, timeout=20) as answer:
            return answer.status, answer.read().decode()
    except urllib.error.HTTPError as error:
        with error:
            return error.code, error.read().decode()


def test_behind_a_proxy_the_real_name_is_answered_and_no_other(proxied):
    """A stranger's name, and a client over http, get a refusal in words."""
    proxied.start()
    assert proxied.url == "https://ponds.test"
    status, text = through(proxied)
    assert status == 200
    assert "through a proxy" in text
    assert "Over plain http" not in text
    assert through(proxied, host="evil.test")[0] == 421
    Proxy.scheme = "http"
    assert through(proxied)[0] == 400
    Proxy.scheme = ""
    status, text = through(proxied)
    assert status == 400
    assert "X-Forwarded-Proto" in text


def test_a_certificate_that_was_renewed_is_shown_without_a_new_start(tmp_path, monkeypatch):
    """The machine gets another address while the server runs; phones trust on."""
    monkeypatch.setattr(listening, "LOOK_S", 0)
    day = datetime.now(UTC)
    made = ready(tmp_path, NAME, ("192.168.7.20",), day)
    addresses = ["192.168.7.20"]

    def renew():
        return bool(ready(tmp_path, NAME, addresses, day).said)

    async def hello(scope, receive, send):
        await PlainTextResponse("hello")(scope, receive, send)

    def shown(port_number):
        context = ssl.create_default_context(cadata=made.authority_pem.decode())
        link = socket.create_connection(("127.0.0.1", port_number), timeout=20)
        with context.wrap_socket(link, server_hostname=NAME) as wire:
            return {value for kind, value in wire.getpeercert()["subjectAltName"] if kind == "IP Address"}

    server = listening.make_server(hello, made.server_file, renew)
    with listening.listening("127.0.0.1", 0) as ear, listening.beside(server, ear):
        assert shown(ear.getsockname()[1]) == {"192.168.7.20"}
        addresses[:] = ["10.0.0.7"]
        end = time.monotonic() + 10
        while shown(ear.getsockname()[1]) != {"10.0.0.7"}:
            assert time.monotonic() < end
            time.sleep(0.1)


def test_an_answer_s_parts_do_not_wait_for_each_other():
    """Of the answers over one connection one is quicker than the 40 ms that a client may hold back its receipt."""

    async def hello(scope, receive, send):
        await PlainTextResponse("hello")(scope, receive, send)

    server, took = listening.make_server(hello), []
    with (
        listening.listening("127.0.0.1", 0) as ear,
        listening.beside(server, ear),
        closing(http.client.HTTPConnection("127.0.0.1", ear.getsockname()[1], timeout=20)) as link,
    ):
        for _ in range(20):
            begun = time.monotonic()
            link.request("GET", "/")
            assert link.getresponse().read() == b"hello"
            took.append(time.monotonic() - begun)
    # the first ones are answered for at once, whoever sends
    assert min(took[5:]) < 0.03
