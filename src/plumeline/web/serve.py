"""``plumeline serve``: the server, and the one worker beside it."""

from __future__ import annotations

import argparse
import multiprocessing
import socket
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from plumeline.cli.commands import UsageError
from plumeline.store import Store, open_store
from plumeline.store.backups import all_backups, write_backup
from plumeline.store.errors import StoreError
from plumeline.store.locks import held
from plumeline.store.store import default_path
from plumeline.web.guard import HERE

BACKUP_EVERY = timedelta(days=1)


def serve(args: argparse.Namespace) -> int:
    """Listen on this machine until Ctrl-C."""
    if args.host not in HERE:
        raise UsageError(
            f"--host {args.host} would let others on the network in, without https.",
            remedy="Use --host 127.0.0.1.",
        )
    path = Path(args.database) if args.database else default_path()
    with held(path, "serve"):
        store = open_store(path)
        try:
            with _listening(args.host, args.port) as ear:
                _said(store, args.host, ear.getsockname()[1])
                store.photos.tidy()
                if args.sign_in:
                    say_first_code(store)
                _daily_backup(store)
                with _worker(store):
                    _run(store, ear, sign_in=args.sign_in)
        finally:
            store.close()
    return 0


@contextmanager
def _listening(host: str, port_number: int) -> Iterator[socket.socket]:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as ear:
        ear.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            ear.bind((host, port_number))
            # before the address is said: whoever opens it at once waits instead of being refused
            ear.listen(128)
        except OSError as error:
            raise StoreError(
                f"port {port_number} can't be listened on ({error.strerror}).",
                remedy="Name another: --port 0 takes a free one.",
            ) from error
        yield ear


def _said(store: Store, host: str, port_number: int) -> None:
    shown = f"[{host}]" if ":" in host else host
    print(f"Open http://{shown}:{port_number}/ in a browser on this machine. Ctrl-C ends it.", flush=True)
    print(f"The ponds are kept in {store.database.path}", file=sys.stderr, flush=True)
    if store.damage:
        good = store.good_backup or "none is beside it"
        print(
            f"DAMAGED, open for reading only: {store.damage}\nLast good backup: {good}",
            file=sys.stderr,
            flush=True,
        )


def say_first_code(store: Store) -> None:
    """Print, where nobody of the office can sign in yet, the code by which the first one does."""
    if store.damage or store.people.any_can_sign_in():
        return
    code = store.people.first_code()
    print(
        f"Nobody can sign in yet. Open /welcome and set the first password with this code: {code}", flush=True
    )


def _daily_backup(store: Store) -> None:
    """Write a backup where there is something to lose and none is newer than a day."""
    if store.damage or not (store.ponds.count() or any(store.taking.list.counts().values())):
        return
    now = datetime.now(UTC)
    newest = next(iter(all_backups(store.database.path)), None)
    if newest is None or now - datetime.fromtimestamp(newest.stat().st_mtime, UTC) > BACKUP_EVERY:
        try:
            made = write_backup(store.database.path, now=now)
        except StoreError as error:
            print(f"No backup today: {error}", file=sys.stderr, flush=True)
        else:
            print(f"Backup: {made.path}", file=sys.stderr, flush=True)


@contextmanager
def _worker(store: Store) -> Iterator[None]:
    """Run the worker while the block runs, and another where it ends before."""
    if store.damage:
        yield
        return
    over = threading.Event()
    keeper = threading.Thread(target=_keep_working, args=(store.database.path, over), daemon=True)
    keeper.start()
    try:
        yield
    finally:
        over.set()
        keeper.join(10.0)


def _keep_working(path: Path, over: threading.Event) -> None:
    """Start the worker, and again a second after it has ended, until all is over."""
    # a fresh process, for a forked one would share the database's connections
    methods = multiprocessing.get_context("spawn")
    from plumeline.web.worker import work

    while not over.is_set():
        theirs, ours = methods.Pipe(duplex=False)
        child = methods.Process(target=work, args=(str(path), theirs), daemon=True)
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


def _run(store: Store, ear: socket.socket, *, sign_in: bool) -> None:
    import uvicorn

    from plumeline.web.app import make_app

    config: Any = uvicorn.Config(
        make_app(store, sign_in=sign_in), log_level="warning", access_log=False, server_header=False,
        timeout_graceful_shutdown=2, lifespan="off", ws="none",
    )  # fmt: skip
    uvicorn.Server(config).run(sockets=[ear])
