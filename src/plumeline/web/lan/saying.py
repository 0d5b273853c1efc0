"""What ``plumeline serve`` says at its start: the address first, then how phones come to trust it."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from plumeline.store import Store
from plumeline.web.lan.reach import How, Reach

WHERE = {
    How.HERE: "in a browser on this machine",
    How.SECURE: "on phones and computers of the local network",
    How.PLAIN: "on phones and computers of the local network",
    How.PROXY: "in a browser: the proxy leads it here",
}


def said(store: Store, reach: Reach, news: Sequence[str]) -> None:
    """Say where the pages are, how phones trust them, and what has changed.

    Args:
        store: the open database.
        reach: how the server is reached.
        news: what was made or has changed since the last start.
    """
    print(f"Open {reach.address} {WHERE[reach.how]}. Ctrl-C ends it.", flush=True)
    if reach.how is How.SECURE:
        print(f"First each phone must trust it, once: {reach.certificate_address} says how.")
        print(f"Fingerprint that it must show (SHA-256): {reach.authority_print}", flush=True)
    if reach.how is How.PLAIN:
        talk(
            "Over plain http: no page can be installed or keep readings without a signal, and anybody on the network"
        )
        talk("can read along, passwords too. Leave --plain-http away for https.")
    for line in news:
        talk(line)
    talk(f"The ponds are kept in {store.database.path}")
    if store.damage:
        good = store.good_backup or "none is beside it"
        talk(f"DAMAGED, open for reading only: {store.damage}\nLast good backup: {good}")


def talk(line: str) -> None:
    """Say a line to whoever watches the server."""
    print(line, file=sys.stderr, flush=True)
