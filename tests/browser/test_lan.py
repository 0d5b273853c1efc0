"""A phone's browser under a host name that is no localhost: trust, the codes on paper, plain http.

Certificate errors are never switched off: the authority is trusted through `certutil` in a HOME that is thrown away.
"""

from __future__ import annotations

import io
import os
import shutil
import socket
import subprocess
import threading
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from ssl import PROTOCOL_TLS_SERVER, SSLContext

import pytest
import zxingcpp
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Error
from tests.browser.conftest import FLAGS, Server, chromium_path

from plumeline.store import open_store
from plumeline.store.people import Role
from plumeline.web.lan.authority import make_leaf, read_keys
from plumeline.web.lan.key_files import AUTHORITY

PASSWORD = "seven small carp"
NAME, OTHER = "pond-office.test", "another.test"
MM_PX = 96 / 25.4


def free_ports():
    with socket.socket() as one, socket.socket() as two:
        one.bind(("127.0.0.1", 0))
        two.bind(("127.0.0.1", 0))
        return one.getsockname()[1], two.getsockname()[1]


def started(folder, *options):
    """A server for phones that listens on loopback alone, with somebody who can sign in."""
    store = open_store(folder / "plumeline.sqlite3")
    store.people.use_code(store.people.add("Ada", Role.OFFICE), PASSWORD)
    store.close()
    port_number, other = free_ports()
    found = Server(folder, "--lan", "--host", "127.0.0.1", "--name", NAME, *options)
    found.port_number = port_number
    if "--plain-http" not in options:
        found.options = (*found.options, "--certificate-port", str(other))
        found.certificate = f"http://{NAME}:{other}"
    return found.start()


@pytest.fixture(scope="module")
def secure_server(tmp_path_factory):
    found = started(tmp_path_factory.mktemp("secure"))
    yield found
    found.stop()


@pytest.fixture(scope="module")
def plain_server(tmp_path_factory):
    found = started(tmp_path_factory.mktemp("plain"), "--plain-http")
    yield found
    found.stop()


@pytest.fixture
def phone(playwright_driver, tmp_path):
    """Start a browser with a HOME of its own, in which an authority is trusted or not."""
    opened = []

    def start(trusted=None):
        home = tmp_path / f"home-{len(opened)}"
        store = home / ".pki" / "nssdb"
        store.mkdir(parents=True)
        if trusted is not None:
            if shutil.which("certutil") is None:
                pytest.skip("no certutil on this machine: as root `make test` installs it (libnss3-tools)")
            base = ["certutil", "-d", f"sql:{store}"]
            subprocess.run([*base, "-N", "--empty-password"], check=True, capture_output=True)
            add = [*base, "-A", "-t", "C,,", "-n", "pond office", "-i", str(trusted)]
            subprocess.run(add, check=True, capture_output=True)
        rules = f"--host-resolver-rules=MAP {NAME} 127.0.0.1, MAP {OTHER} 127.0.0.1"
        browser = playwright_driver.chromium.launch(
            executable_path=chromium_path(), args=[*FLAGS, rules], env={**os.environ, "HOME": str(home)}
        )
        opened.append(browser)
        return browser.new_page()

    yield start
    for browser in opened:
        browser.close()


def public_file(server):
    return server.folder / "certificates" / NAME / "authority.crt"


def signed_in(page, server):
    """Sign in by the form, as everybody who comes over the network must."""
    page.goto(server.url + "/")
    assert page.url.startswith(f"{server.url}/signin")
    page.get_by_label("Name").fill("Ada")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("heading", name="All ponds").or_(
        page.get_by_role("heading", name="Ponds")
    ).first.wait_for()
    return page


SAYS = """async () => ({secure: isSecureContext, workers: 'serviceWorker' in navigator,
    persist: !!(navigator.storage && navigator.storage.persist), place: 'geolocation' in navigator,
    host: location.hostname})"""


def test_a_phone_that_trusts_the_authority_has_a_secure_context(phone, secure_server):
    """With all that only such a page is given; and the page does not say that something is off."""
    page = signed_in(phone(public_file(secure_server)), secure_server)
    assert page.evaluate(SAYS) == {
        "secure": True,
        "workers": True,
        "persist": True,
        "place": True,
        "host": NAME,
    }
    assert not page.get_by_text("Over plain http").count()


def test_a_phone_without_the_authority_is_shut_out(phone, secure_server):
    """As it should be: nothing of ours asks anybody to click past a warning."""
    with pytest.raises(Error, match=r"ERR_CERT_AUTHORITY_INVALID"):
        phone().goto(secure_server.url + "/")


def test_the_authority_cant_vouch_for_another_name_before_a_browser(phone, secure_server, tmp_path):
    """Somebody who stole its key signs another name: the browser that trusts it refuses."""
    authority = read_keys((public_file(secure_server).parent / AUTHORITY).read_bytes())
    for name, refused in ((OTHER, True), (NAME, False)):
        keys = tmp_path / f"{name}.pem"
        keys.write_bytes(make_leaf(authority, name, (), datetime.now(UTC)).pem())
        context = SSLContext(PROTOCOL_TLS_SERVER)
        context.load_cert_chain(keys)
        with ThreadingHTTPServer(("127.0.0.1", 0), Hello) as stranger:
            stranger.socket = context.wrap_socket(stranger.socket, server_side=True)
            threading.Thread(target=stranger.serve_forever, daemon=True).start()
            address = f"https://{name}:{stranger.server_port}/"
            page = phone(public_file(secure_server))
            if refused:
                with pytest.raises(
                    Error, match=r"ERR_CERT_AUTHORITY_INVALID|ERR_CERT_NAME_CONSTRAINT|ERR_CERT_INVALID"
                ):
                    page.goto(address)
            else:
                page.goto(address)
                assert page.inner_text("body") == "hello"
            stranger.shutdown()


class Hello(BaseHTTPRequestHandler):
    """Another server."""

    def do_GET(self):
        self.send_response(200)
        self.send_header("Content-Type", "text/html")
        self.end_headers()
        self.wfile.write(b"<title>x</title>hello")

    def log_message(self, *_words):
        """Say nothing."""


def test_over_plain_http_the_page_says_what_is_off(phone, plain_server):
    """And it is off indeed; the page of pairing says what to do instead."""
    page = signed_in(phone(), plain_server)
    found = page.evaluate(SAYS)
    assert (found["secure"], found["workers"], found["persist"]) == (False, False, False)
    page.get_by_role("link", name="What is off").click()
    text = page.inner_text("main")
    assert "can't be installed" in text
    assert "coordinates are typed" in text
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        assert not Axe().run(page).response["violations"]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_both_codes_are_read_from_the_printed_page(phone, secure_server, scheme):
    """25 mm at least, from a print at 100 dots an inch, and on a dark screen."""
    page = signed_in(phone(public_file(secure_server)), secure_server)
    page.emulate_media(media="print" if scheme == "light" else "screen", color_scheme=scheme)
    page.goto(secure_server.url + "/pair")
    for figure in page.locator("svg.code").all():
        box = figure.bounding_box()
        # the quiet zone of four modules on each side does not count
        assert box["width"] * 29 / 37 >= 25 * MM_PX
    shot = Image.open(io.BytesIO(page.screenshot(full_page=True)))
    small = shot.resize((shot.width * 100 // 96, shot.height * 100 // 96))
    assert {one.text for one in zxingcpp.read_barcodes(small)} == {
        f"{secure_server.certificate}/", f"{secure_server.url}/",
    }  # fmt: skip
    assert all(one.ec_level == "Q" for one in zxingcpp.read_barcodes(small))


def test_the_pages_of_pairing_have_no_fault_of_accessibility(phone, secure_server):
    """The one in the office and the one over plain http, at the width of a phone, without sideways scroll."""
    page = signed_in(phone(public_file(secure_server)), secure_server)
    errors = []
    page.on("console", lambda message: errors.append(message.text) if message.type == "error" else None)
    page.set_viewport_size({"width": 320, "height": 700})
    for address in (secure_server.url + "/pair", secure_server.certificate + "/"):
        page.goto(address)
        assert not Axe().run(page).response["violations"]
        assert page.evaluate("document.documentElement.scrollWidth") <= 320
        colour = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
        assert colour == "rgb(244, 241, 232)"
    assert not errors


def test_a_phone_takes_the_certificate_from_the_plain_listener(phone, secure_server):
    """The button's file is the one that is trusted."""
    page = phone()
    page.goto(secure_server.certificate + "/")
    with page.expect_download() as found:
        page.get_by_role("link", name="The certificate").click()
    with open(found.value.path(), "rb") as stream:
        assert stream.read() == public_file(secure_server).read_bytes()
