"""Who can reach the server and under which address: worked out from the options and from what was fixed at pairing."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from enum import StrEnum
from ipaddress import ip_address

from plumeline.cli.commands import UsageError
from plumeline.store import Store
from plumeline.store.pairings import Pairing
from plumeline.web.guard import HERE, HERE_ALONE
from plumeline.web.lan.addresses import (
    checked_host_name,
    default_host_name,
    is_private,
    machine_name,
    private_addresses,
)
from plumeline.web.ports import PORT

LARGEST_PORT = 65535
LOOPBACK = ("127.0.0.1", "::1")
"""So that this machine may open the pages by its own number, too."""


class How(StrEnum):
    """The ways to be reached."""

    HERE = "on this machine only"
    SECURE = "over https on the local network"
    PLAIN = "over plain http on the local network"
    PROXY = "through a proxy"


@dataclass(frozen=True)
class Reach:
    """How a server is reached.

    Attributes:
        how: by which way.
        listens_on: the address that it listens on.
        port_number: the port that it listens on.
        host_name: the name that phones open; empty where none may.
        addresses: private addresses of this machine.
        certificate_port_number: where the certificate is given away; 0 where it is not.
        proxy: the one address that may speak to it, for others; empty without a proxy.
        authority_print: SHA-256 of the authority; empty without one.
    """

    how: How = How.HERE
    listens_on: str = "127.0.0.1"
    port_number: int = PORT
    host_name: str = ""
    addresses: tuple[str, ...] = ()
    certificate_port_number: int = 0
    proxy: str = ""
    authority_print: str = ""

    def answers_to(self, name: str) -> bool:
        """Return whether the server may be asked under a host name.

        On the local network under any private number too: this machine's own may change while the server runs, and no
        page from elsewhere can stand under a number that leads here, as it can under a name.
        """
        if self.how is How.HERE:
            return name in HERE
        return name == self.host_name or (self.how is not How.PROXY and (name in HERE or is_private(name)))

    @property
    def pairing(self) -> Pairing:
        """What phones know it by."""
        scheme = "http" if self.how is How.PLAIN else "https"
        port_number = 443 if self.how is How.PROXY else self.port_number
        return Pairing(
            scheme, self.host_name, port_number, self.authority_print, machine_name(), self.addresses
        )

    @property
    def address(self) -> str:
        """What is typed into a browser."""
        if self.how is not How.HERE:
            return f"{self.pairing.origin}/"
        shown = f"[{self.listens_on}]" if ":" in self.listens_on else self.listens_on
        return f"http://{shown}:{self.port_number}/"

    @property
    def certificate_address(self) -> str:
        """Where the certificate is given away: by number, for the name may not be found yet; empty for nowhere."""
        if not self.certificate_port_number:
            return ""
        place = next((one for one in self.addresses if ":" not in one), self.host_name)
        return f"http://{place}:{self.certificate_port_number}/"

    @property
    def where_else(self) -> str:
        """What is said to whoever asks under another name."""
        if self.how is How.HERE:
            return HERE_ALONE
        return f"This server does not answer under that name: open {self.address}"


ON_THIS_MACHINE = Reach()


def checked_options(args: argparse.Namespace) -> How:
    """Return the way that the options ask for, before anything is opened.

    Raises:
        UsageError: they contradict each other, or would let others in without https.
    """
    if args.lan and args.behind_proxy:
        raise UsageError(
            "--lan and --behind-proxy exclude each other.", remedy="Behind a proxy, leave --lan away."
        )
    if args.behind_proxy:
        _checked_proxy(args.behind_proxy)
    if args.plain_http and not args.lan:
        raise UsageError(
            "--plain-http belongs to --lan.", remedy="On this machine alone http is used anyway."
        )
    if args.certificate_port is not None and (not args.lan or args.plain_http):
        raise UsageError("--certificate-port belongs to --lan with https.", remedy="Leave it away.")
    if args.lan:
        if args.port == 0:
            raise UsageError(
                "--port 0 would change the port at every start.", remedy="Phones need one that stays."
            )
        return How.PLAIN if args.plain_http else How.SECURE
    if args.behind_proxy:
        return How.PROXY
    if args.name is not None or args.move:
        raise UsageError("--name and --move belong to --lan or --behind-proxy.", remedy="Leave them away.")
    if args.host is not None and args.host not in HERE:
        raise UsageError(
            f"--host {args.host} would let others on the network in over http, where anybody on the way reads along.",
            remedy="Use --lan: https, a sign-in, and pages that phones can keep. --lan --plain-http goes without.",
        )
    return How.HERE


def _checked_proxy(text: str) -> None:
    try:
        ip_address(text)
    except ValueError:
        raise UsageError(
            f"--behind-proxy {text} is no address.",
            remedy="Name the one address that the proxy comes from: 127.0.0.1 where it runs on this machine.",
        ) from None


def planned(args: argparse.Namespace, store: Store) -> Reach:
    """Return how the server is to be reached: what was fixed at pairing, where the options name nothing else.

    Raises:
        UsageError: the address would become another than the one that phones know, and ``--move`` was not given.
        InputError: the name is none that phones can open.
    """
    how = checked_options(args)
    if how is How.HERE:
        return Reach(
            listens_on=args.host or "127.0.0.1", port_number=PORT if args.port is None else args.port
        )
    before = store.pairings.latest()
    name = args.name or (before.host_name if before else default_host_name())
    if how is How.PROXY:
        if args.name is None and before is None:
            raise UsageError(
                "behind a proxy the name must be known.", remedy="Give it: --name ponds.example.org"
            )
        port_number = PORT if args.port is None else args.port
        reach = Reach(
            how, args.host or "127.0.0.1", port_number, checked_host_name(name), proxy=args.behind_proxy
        )
    else:
        # the port of a proxy is not ours
        kept = before and (before.authority_print or before.scheme == "http")
        port_number = args.port or (before.port_number if before and kept else PORT)
        given = args.certificate_port or (port_number + 1 if port_number < LARGEST_PORT else port_number - 1)
        host = args.host or "0.0.0.0"
        reach = Reach(
            how, host, port_number, checked_host_name(name), private_addresses(host),
            0 if how is How.PLAIN else given,
        )  # fmt: skip
    if reach.certificate_port_number == reach.port_number:
        raise UsageError("--certificate-port is the port of the pages.", remedy="Name another.")
    _may_move(before, reach.pairing, store, move=args.move)
    return reach


def _may_move(before: Pairing | None, new: Pairing, store: Store, *, move: bool) -> None:
    """Refuse an address that would strand what phones keep, unless that is wanted."""
    # over plain http phones keep nothing
    if before is None or before.origin == new.origin or before.scheme == "http" or move:
        return
    raise UsageError(
        f"phones know this server as {before.origin}, and now it would be {new.origin}. What a phone keeps belongs to "
        f"the old address and can't be handed over under the new one. {' '.join(phones(store))}",
        remedy="Leave --name, --port and --plain-http as they were at pairing; or have every phone hand over first, "
        "then add --move and pair each phone again.",
    )


def phones(store: Store) -> list[str]:
    """Return which phones still hold readings, as they said when they were heard of last."""
    lines, silent, empty = [], 0, 0
    for one in store.taking.list.devices():
        if one.unsent_count is None:
            silent += 1
        elif one.unsent_count == 0:
            empty += 1
        else:
            oldest = f", the oldest of {one.oldest_unsent_at:%Y-%m-%d}" if one.oldest_unsent_at else ""
            whose = f" ({one.author})" if one.author else ""
            lines.append(
                f"{one.name or 'A phone without a name'}{whose} holds {one.unsent_count} not handed over{oldest}, "
                f"heard of {one.last_contact_at:%Y-%m-%d}."
            )
    if not lines:
        lines.append(
            "No phone has said that it holds readings." if silent + empty else "No phone has handed over yet."
        )
    if empty:
        lines.append(f"{_counted(empty)} held none when heard of last, and may since.")
    if silent:
        lines.append(f"{_counted(silent)} never said.")
    return lines


def _counted(count: int) -> str:
    return "One phone" if count == 1 else f"{count} phones"


def changes(before: Pairing | None, new: Pairing, store: Store) -> list[str]:
    """Return what is not as it was at the last start, and which phones it may strand."""
    if before is None:
        return []
    lines = []
    if before.origin != new.origin:
        lines.append(
            f"The address was {before.origin} and is {new.origin}. Pair each phone again. What a phone did not hand "
            f"over is under the old address still: start once more with that name and port (and --move) to fetch it."
        )
    if new.authority_print and before.authority_print and before.authority_print != new.authority_print:
        lines.append(
            "The certificate authority is another than the one that phones trust: its file is gone, ended, or this "
            "is another machine. Each phone keeps its readings and must trust the new one before it can hand over."
        )
    if new.host_name == f"{before.machine_name}.local" and new.machine_name != before.machine_name:
        lines.append(
            f"This machine called itself {before.machine_name} and is {new.machine_name} now: the network finds it as "
            f"{new.machine_name}.local, and phones look for {new.host_name}. Give it its old name back."
        )
    if before.addresses and set(before.addresses) != set(new.addresses):
        lines.append(
            f"This machine's address was {_listed(before.addresses)} and is {_listed(new.addresses)}. "
            f"{new.host_name} must lead to the new one; a phone that opened the pages by the old one kept its readings "
            "under that."
        )
    return [*lines, *phones(store)] if lines else []


def _listed(addresses: tuple[str, ...]) -> str:
    return " and ".join(addresses) or "none"
