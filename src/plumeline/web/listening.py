"""The listeners: sockets first, so that an address is said only where somebody listens; then the servers on them."""

from __future__ import annotations

import signal
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import Any

from plumeline.store.errors import StoreError

STOP_S = 5.0
TOLD_S = 2
LOOK_S = 600


@contextmanager
def listening(host: str, port_number: int, option: str = "--port") -> Iterator[socket.socket]:
    """Give a socket that listens.

    Args:
        host: the address to listen on.
        port_number: its port; 0 takes a free one.
        option: what names the port on the command line.

    Raises:
        StoreError: somebody else listens there, or it may not be listened on.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # with the protocol named, the server's loop sends an answer's parts at once; else the second part of each waits
    # for the client to say that it has the first: 40 ms
    with socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP) as ear:
        ear.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            ear.bind((host, port_number))
            # before the address is said: whoever opens it at once waits instead of being refused
            ear.listen(128)
        except OSError as error:
            free = ": --port 0 takes a free one" if option == "--port" else f" with {option}"
            raise StoreError(
                f"port {port_number} can't be listened on ({error.strerror}).", remedy=f"Name another{free}."
            ) from error
        yield ear


def make_server(app: Any, keys: Path | None = None, renew: Callable[[], bool] | None = None) -> Any:
    """Return a server for an application.

    Args:
        app: the application.
        keys: file of the certificate and its key; None for plain http.
        renew: looks after the certificate every ten minutes; whether the file holds another one now.
    """
    import uvicorn

    async def look() -> None:
        if keys is not None and renew is not None and renew():
            config.ssl.load_cert_chain(keys)  # for the connections to come

    config: Any = uvicorn.Config(
        app, log_level="warning", access_log=False, server_header=False, timeout_graceful_shutdown=TOLD_S,
        # what a request says of a proxy before us is believed by web/lan/proxy.py alone, of the one that was named
        lifespan="off", ws="none", proxy_headers=False, ssl_certfile=keys, callback_notify=look, timeout_notify=LOOK_S,
    )  # fmt: skip
    return uvicorn.Server(config)


class Asked:
    """Whether this process was asked to end, by Ctrl-C or by the system's word, which here are one.

    Python raises Ctrl-C wherever the main thread is, and inside a callback of the garbage collector or of an import
    it is printed and lost: a server that was asked to end while it started would start all the same.
    """

    def __init__(self) -> None:
        self._asked = False

    def listen(self) -> None:
        """Take both signals; without it, SIGTERM would cut off half of the stop."""
        signal.signal(signal.SIGINT, self._handle)
        signal.signal(signal.SIGTERM, self._handle)

    def check(self) -> None:
        """Raise KeyboardInterrupt where one was raised before and lost."""
        if self._asked:
            raise KeyboardInterrupt

    def _handle(self, number: int, frame: FrameType | None) -> None:
        self._asked = True
        signal.default_int_handler(number, frame)


@contextmanager
def beside(server: Any, ear: socket.socket) -> Iterator[None]:
    """Serve in a thread while the block runs."""
    thread = threading.Thread(target=server.run, kwargs={"sockets": [ear]}, daemon=True)
    thread.start()
    try:
        yield
    finally:
        server.should_exit = True
        thread.join(STOP_S)
