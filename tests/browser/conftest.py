"""A real Chromium before a real server: both are started here, and nothing but loopback is spoken to."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest
from tests.nursery import Born, opened_nursery

from plumeline.demo import demo_folder
from plumeline.store import open_store, read_folder

START_S = 60
FLAGS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip


def chromium_path() -> str | None:
    """Return the browser of this machine: Debian's, or the one that PLUMELINE_CHROMIUM names."""
    named = os.environ.get("PLUMELINE_CHROMIUM")
    return named or shutil.which("chromium") or shutil.which("chromium-browser")


class Server:
    """`plumeline serve` as a process of its own, over a database in a folder; may be killed and started again."""

    def __init__(self, folder: Path, *options: str, environment: dict[str, str] | None = None) -> None:
        self.folder = folder
        self.database = folder / "plumeline.sqlite3"
        self.options = options
        self.environment = environment or {}
        self.port_number = 0
        self.url = ""
        self._process: subprocess.Popen[str] | Born | None = None

    def start(self) -> Server:
        """Start it, on the port that it had before where it had one."""
        words = ["serve", "--database", str(self.database), "--port", str(self.port_number), *self.options]
        environment = {**os.environ, "PLUMELINE_HOME": str(self.folder), **self.environment}
        with (self.folder / "server.log").open("a") as log:
            nursery = None if "PYTHONPATH" in self.environment else opened_nursery()
            if nursery is None:
                self._process = subprocess.Popen(
                    [sys.executable, "-m", "plumeline", *words],
                    stdout=subprocess.PIPE, stderr=log, text=True, env=environment, start_new_session=True,
                )  # fmt: skip
            else:
                self._process = nursery.start(words, environment, log)
        assert self._process.stdout is not None
        words = self._process.stdout.readline()
        found = re.search(r"(https?://[^/: ]+(?::(\d+))?)/", words)
        assert found, f"{words}{(self.folder / 'server.log').read_text()}"
        # behind a proxy the address is the proxy's
        self.url, self.port_number = found[1], int(found[2] or self.port_number)
        return self

    def kill(self) -> None:
        """Take it away as a power cut would, its worker with it."""
        self._end(signal.SIGKILL)

    def stop(self) -> None:
        """End it as Ctrl-C does."""
        self._end(signal.SIGINT)

    def _end(self, how: signal.Signals) -> None:
        if self._process is None:
            return
        if self._process.poll() is None:
            os.killpg(self._process.pid, how) if how is signal.SIGKILL else self._process.send_signal(how)
        try:
            self._process.wait(15)
        except subprocess.TimeoutExpired:
            os.killpg(self._process.pid, signal.SIGKILL)
            self._process.wait(15)
        assert self._process.stdout is not None
        self._process.stdout.close()
        self._process = None

    def answers(self) -> bool:
        """Tell whether it answers."""
        with urllib.request.urlopen(self.url + "/", timeout=START_S) as answer:
            return answer.status == 200


@pytest.fixture
def server(tmp_path):
    """A server with an empty database."""
    found = Server(tmp_path).start()
    yield found
    found.stop()


@pytest.fixture(scope="session")
def oak_server(tmp_path_factory):
    """A server with the demo pond, for tests that only look; its pond's id is `hollow-oak`."""
    folder = tmp_path_factory.mktemp("oak-server")
    store = open_store(folder / "plumeline.sqlite3")
    store.ponds.add(read_folder(demo_folder()), author="office", reason="demo")
    store.close()
    found = Server(folder).start()
    yield found
    found.stop()


@pytest.fixture(scope="session")
def playwright_driver():
    """Playwright, where there is a browser for it."""
    if chromium_path() is None:
        pytest.skip(
            "no Chromium on this machine: as root `make test` installs it, else name one in PLUMELINE_CHROMIUM"
        )
    from playwright.sync_api import sync_playwright

    with sync_playwright() as found:
        yield found


@pytest.fixture(scope="session")
def chromium(playwright_driver):
    """One browser for all tests; each test has a context of its own."""
    found = playwright_driver.chromium.launch(executable_path=chromium_path(), args=list(FLAGS))
    yield found
    found.close()


@pytest.fixture
def page(chromium):
    """A page of its own that may speak to loopback and `.test` names alone, and whose scripts may not fail."""
    context = chromium.new_context()
    found = context.new_page()
    outside, errors = [], []
    context.on("request", lambda request: outside.append(request.url) if _leads_out(request.url) else None)
    found.on("pageerror", lambda error: errors.append(str(error)))
    yield found
    context.close()
    assert not outside, outside
    assert not errors, errors


def _leads_out(url: str) -> bool:
    return not re.match(
        r"(https?://(127\.0\.0\.1|localhost|[a-z0-9.-]+\.test)(:\d+)?/|data:|blob:|about:)", url
    )
