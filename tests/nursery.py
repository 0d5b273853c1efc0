"""A process that has read the program once and forks a server each time: to read it anew takes seconds of a core.

What runs in the child is what ``python -m plumeline`` runs, in a session of its own; only the imports and the
compiled kernels are there already. Tests of the start itself start it by hand.
"""

from __future__ import annotations

import json
import os
import select
import signal
import socket
import subprocess
import sys
import tempfile
import time
import traceback
from pathlib import Path

BEGIN = "import sys; from tests.nursery import attend; attend(int(sys.argv[1]))"
MESSAGE_BYTES = 1 << 16
START_S = 120


_kept = {"in_tests": False, "nursery": None}


def in_tests(yes):
    """From here on servers are forked, or no more; outside a run of tests each is started by hand."""
    _kept["in_tests"] = yes
    if not yes and _kept["nursery"] is not None:
        _kept["nursery"].close()
        _kept["nursery"] = None


def opened_nursery():
    """Return this process's nursery, opened when the first server is asked for; None outside a run of tests."""
    if _kept["in_tests"] and _kept["nursery"] is None:
        _kept["nursery"] = Nursery()
    return _kept["nursery"]


class Nursery:
    """The tests' end of it."""

    def __init__(self):
        ours, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
        with theirs:
            self._process = subprocess.Popen(
                [sys.executable, "-c", BEGIN, str(theirs.fileno())], pass_fds=[theirs.fileno()]
            )
        self._link = ours
        self._codes = {}

    def start(self, words, environment, log):
        """Fork a server; return it.

        Args:
            words: what follows the program's name.
            environment: the whole of it.
            log: the open file that its stderr goes to.
        """
        out, into = os.pipe()
        told = json.dumps([list(words), environment]).encode()
        assert len(told) < MESSAGE_BYTES
        socket.send_fds(self._link, [told], [into, log.fileno()])
        os.close(into)
        self._link.settimeout(START_S)
        while "born" not in (heard := self._hear()):
            pass
        return Born(self, heard["born"], os.fdopen(out))

    def code(self, pid, wait_s):
        """Return the exit code of one, or None where it still runs after so long [s]."""
        until = time.monotonic() + wait_s
        while pid not in self._codes:
            left_s = max(0.0, until - time.monotonic())
            if not select.select([self._link], [], [], left_s)[0]:
                return None
            self._hear()
        return self._codes[pid]

    def close(self):
        """End it; those that it bore were stopped by who asked for them."""
        self._link.close()
        self._process.wait(15)

    def _hear(self):
        heard = json.loads(self._link.recv(MESSAGE_BYTES) or b'{"born": 0}')
        assert heard.get("born") != 0, "the nursery has ended"
        if "code" in heard:
            self._codes[heard["pid"]] = heard["code"]
        return heard


class Born:
    """A forked server, as far as the tests use ``subprocess.Popen``."""

    def __init__(self, nursery, pid, stdout):
        self.pid = pid
        self.stdout = stdout
        self._nursery = nursery

    def poll(self):
        """Return the exit code, or None while it runs."""
        return self._nursery.code(self.pid, 0.0)

    def wait(self, timeout):
        """Return the exit code.

        Raises:
            subprocess.TimeoutExpired: it still runs after so long [s].
        """
        code = self._nursery.code(self.pid, timeout)
        if code is None:
            raise subprocess.TimeoutExpired("serve", timeout)
        return code

    def send_signal(self, how):
        """Send it a signal."""
        os.kill(self.pid, how)


def attend(number):
    """Read the program, then fork what is asked for until the tests are over."""
    _read()
    link = socket.socket(fileno=number)
    awake, waker = os.pipe()
    for end in (awake, waker):
        os.set_blocking(end, False)
    signal.signal(signal.SIGCHLD, lambda *_: None)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.set_wakeup_fd(waker, warn_on_full_buffer=False)
    while True:
        ready = select.select([link, awake], [], [])[0]
        if awake in ready:
            os.read(awake, 4096)
            _tell_ended(link)
        if link in ready:
            try:
                told, fds, _, _ = socket.recv_fds(link, MESSAGE_BYTES, 2)
            except ConnectionResetError:
                told = b""
            if not told:
                return
            pid = os.fork()
            if pid == 0:
                _be_born(link, (awake, waker), json.loads(told), fds)
            for one in fds:
                os.close(one)
            link.send(json.dumps({"born": pid}).encode())


def _read():
    """Import what a server imports, load its compiled kernels, and answer one page: its statements are known then."""
    import uvicorn
    from starlette.testclient import TestClient

    import plumeline.web.standing  # noqa: F401
    from plumeline.store import open_store
    from plumeline.web.app import make_app
    from plumeline.web.warming import warm_up

    warm_up()
    with tempfile.TemporaryDirectory() as folder:
        store = open_store(Path(folder) / "plumeline.sqlite3")
        app = make_app(store)
        uvicorn.Config(app, log_config=None).load()
        assert TestClient(app, base_url="http://127.0.0.1:8621").get("/").status_code == 200
        store.close()


def _tell_ended(link):
    while True:
        try:
            pid, status = os.waitpid(-1, os.WNOHANG)
        except ChildProcessError:
            return
        if pid == 0:
            return
        link.send(json.dumps({"pid": pid, "code": os.waitstatus_to_exitcode(status)}).encode())


def _be_born(link, pipes, told, fds):
    """Run the program in the child and end with its code."""
    words, environment = told
    code = 1
    try:
        signal.set_wakeup_fd(-1)
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)
        signal.signal(signal.SIGINT, signal.default_int_handler)
        os.setsid()
        link.close()
        for one in pipes:
            os.close(one)
        os.dup2(fds[0], 1)
        os.dup2(fds[1], 2)
        for one in fds:
            os.close(one)
        # those of the nursery remember what they were files of
        sys.stdout = os.fdopen(1, "w", encoding="utf-8", closefd=False)
        sys.stderr = os.fdopen(2, "w", 1, encoding="utf-8", errors="backslashreplace", closefd=False)
        os.environ.clear()
        os.environ.update(environment)
        from plumeline.cli import main

        code = main(words)
        # as the interpreter's own end does
        import atexit
        import threading

        threading._shutdown()
        atexit._run_exitfuncs()
        sys.stdout.flush()
        sys.stderr.flush()
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(code)
