"""``plumeline serve``: the servers, and the one worker beside them."""

from __future__ import annotations

import argparse
import multiprocessing
import socket
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from plumeline.errors import PlumelineError
from plumeline.store import Store, open_store
from plumeline.store.errors import StoreError
from plumeline.store.locks import held
from plumeline.store.store import default_path
from plumeline.web.hourly import backing_up
from plumeline.web.lan.addresses import private_addresses
from plumeline.web.lan.reach import LOOPBACK, How, Reach, changes, checked_options, planned
from plumeline.web.lan.saying import said, talk
from plumeline.web.listening import Asked, beside, listening, make_server
from plumeline.web.tiles import Tiles, checked_tiles, told_of
from plumeline.web.warming import warming

if TYPE_CHECKING:
    from plumeline.web.lan.key_files import Certificates
    from plumeline.web.site import Site

SWITCH_S = 0.001
"""A thread that computes lets others of the server go on so often: a save asks some forty times for its turn, and at
Python's 5 ms it took 148 ms beside two that compute, at this 65 ms."""

LOOK_S = 0.2
"""How often it is looked whether there is a run, until the first."""


def serve(args: argparse.Namespace) -> int:
    """Listen until Ctrl-C."""
    sys.setswitchinterval(SWITCH_S)
    tiles = checked_tiles(args, checked_options(args))
    asked = Asked()
    asked.listen()
    path = Path(args.database) if args.database else default_path()
    with held(path, "serve"):
        store = open_store(path)
        try:
            reach = planned(args, store)
            with listening(reach.listens_on, reach.port_number) as ear:
                reach = replace(reach, port_number=ear.getsockname()[1])
                _serve(store, reach, ear, asked, sign_in=args.sign_in, tiles=tiles)
        finally:
            store.close()
    return 0


def _serve(
    store: Store, reach: Reach, ear: socket.socket, asked: Asked, *, sign_in: bool, tiles: Tiles | None
) -> None:
    """Serve in the way asked for, the certificate beside it where phones need one."""
    certificates = _certificates(reach)
    if certificates:
        reach = replace(reach, authority_print=certificates.fingerprint)
    changed = _paired(store, reach)
    sign_in = sign_in or reach.how is not How.HERE
    with _certificate_beside(reach, certificates):
        said(store, reach, [*(certificates.said if certificates else ()), *changed, *told_of(tiles)])
        store.photos.tidy()
        if sign_in:
            say_first_code(store)
        with backing_up(store), _worker(store):
            app, site = _app(store, reach, changed, sign_in=sign_in, tiles=tiles)
            keys = certificates.server_file if certificates else None
            warming()
            # slow to load: not before the server's address is said
            from plumeline.web.standing import looking

            with looking(store, site.designs, site.saved):
                server = make_server(app, keys, lambda: _renewed(reach))
                asked.check()
                server.run(sockets=[ear])


def _app(
    store: Store, reach: Reach, changed: list[str], *, sign_in: bool, tiles: Tiles | None
) -> tuple[Any, Site]:
    from plumeline.web.app import make_app

    app = make_app(store, reach=reach, changed=changed, sign_in=sign_in, tiles=tiles)
    site: Site = app.state.site
    if reach.how is not How.PROXY:
        return app, site
    from plumeline.web.lan.proxy import BehindProxy

    return BehindProxy(app, reach.proxy), site


def _certificates(reach: Reach) -> Certificates | None:
    """Return the certificates where phones come over https to us."""
    if reach.how is not How.SECURE:
        return None
    # slow to load, and not wanted on this machine alone
    from plumeline.web.lan.key_files import ready

    return ready(default_path().parent, reach.host_name, (*reach.addresses, *LOOPBACK), datetime.now(UTC))


def _renewed(reach: Reach) -> bool:
    """Make the server's certificate anew where its end is near or the machine has another address; whether it was."""
    try:
        found = _certificates(replace(reach, addresses=private_addresses(reach.listens_on)))
    except PlumelineError as error:
        talk(f"The certificate was not looked after: {error}")
        return False
    for line in found.said if found else ():
        talk(line)
    return found is not None and bool(found.said)


def _paired(store: Store, reach: Reach) -> list[str]:
    """Keep the address as the one that phones know; return what has changed for them."""
    if reach.how is How.HERE:
        return []
    changed = changes(store.pairings.latest(), reach.pairing, store)
    if not store.damage:
        store.pairings.keep(reach.pairing)
    return changed


@contextmanager
def _certificate_beside(reach: Reach, certificates: Certificates | None) -> Iterator[None]:
    """Give the certificate away over plain http while the block runs."""
    if certificates is None:
        yield
        return
    from plumeline.web.lan.certificate_site import make_certificate_app

    server = make_server(make_certificate_app(reach, certificates))
    with (
        listening(reach.listens_on, reach.certificate_port_number, "--certificate-port") as ear,
        beside(server, ear),
    ):
        yield


def say_first_code(store: Store) -> None:
    """Print, where nobody of the office can sign in yet, the code by which the first one does."""
    if store.damage or store.people.any_can_sign_in():
        return
    code = store.people.first_code()
    print(
        f"Nobody can sign in yet. Open /welcome and set the first password with this code: {code}", flush=True
    )


@contextmanager
def _worker(store: Store) -> Iterator[None]:
    """Run the worker from the first run that is asked for until the block ends, and another where it ends before."""
    if store.damage:
        yield
        return
    over = threading.Event()
    keeper = threading.Thread(target=_keep_working, args=(store, over), daemon=True)
    keeper.start()
    try:
        yield
    finally:
        over.set()
        keeper.join(10.0)


def _keep_working(store: Store, over: threading.Event) -> None:
    """Start the worker when there is a run, and again a second after it has ended, until all is over."""
    # to start it takes seconds of a core and 150 MB, and on most days nobody asks for a plan
    while not _any_going(store):
        if over.wait(LOOK_S):
            return
    # a fresh process, for a forked one would share the database's connections
    methods = multiprocessing.get_context("spawn")
    from plumeline.web.worker import work

    while not over.is_set():
        theirs, ours = methods.Pipe(duplex=False)
        child = methods.Process(target=work, args=(str(store.database.path), theirs), daemon=True)
        child.start()
        theirs.close()
        while child.is_alive() and not over.wait(0.2):
            pass
        ours.close()
        child.join(3.0)
        if child.is_alive():
            child.terminate()
            child.join()
        over.wait(1.0)


def _any_going(store: Store) -> bool:
    """Return whether there is a run; a database that can't be read now is read again later."""
    try:
        return store.runs.any_going()
    except StoreError:
        return False
