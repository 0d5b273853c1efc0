"""The names and private addresses of this machine; nothing is asked of the network."""

from __future__ import annotations

import re
import socket
import struct
import sys
from ipaddress import ip_address, ip_network

from plumeline.errors import InputError

PRIVATE_RANGES = (
    "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8",
    "fc00::/7", "fe80::/10", "::1/128",
)  # fmt: skip
"""Addresses that lead to nobody else's server: private ones (RFC 1918, 4193), link-local ones and this machine."""
LONGEST_NAME = 45
"""A longer one makes a code that a phone reads badly from paper."""
LABEL = re.compile(r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?")
SOMEWHERE = ("10.255.255.254", "172.16.255.254", "192.168.255.254", "169.254.255.254", "192.0.2.1")
SOMEWHERE_6 = ("fd00::1", "2001:db8::1")
ANYWHERE = ("0.0.0.0", "::")
OWN = ("127.", "::1", "fe80")
"""This machine alone, and addresses that a browser can't be given."""
SIOCGIFADDR = 0x8915


def machine_name() -> str:
    """Return the first part of this machine's own name, as a host name may be written."""
    first = socket.gethostname().split(".")[0].lower()
    return re.sub(r"[^a-z0-9-]+", "-", first).strip("-")[: LONGEST_NAME - 6] or "plumeline"


def default_host_name() -> str:
    """Return the name by which machines of a local network are found without a name server (RFC 6762)."""
    return f"{machine_name()}.local"


def checked_host_name(text: str) -> str:
    """Return a host name in small letters.

    Raises:
        InputError: it is none that phones can open.
    """
    name = text.strip().lower().rstrip(".")
    remedy = "Write one like pond-office.local: letters, digits, hyphens and dots."
    labels = name.split(".")
    if all(label.isdigit() for label in labels) or ":" in name:
        raise InputError(f"'{text[:60]}' is an address, and addresses change.", remedy=remedy, place="--name")
    if len(name) > LONGEST_NAME or not all(LABEL.fullmatch(label) for label in labels):
        why = f"longer than {LONGEST_NAME} letters" if len(name) > LONGEST_NAME else "no host name"
        raise InputError(f"'{text[:60]}' is {why}.", remedy=remedy, place="--name")
    if labels[-1] == "localhost":
        raise InputError("localhost is each machine's name for itself.", remedy=remedy, place="--name")
    return name


def private_addresses(listens_on: str = "::") -> tuple[str, ...]:
    """Return the private addresses of this machine, those of this machine alone left out.

    Args:
        listens_on: the address that is listened on; only what leads there is returned.
    """
    if listens_on not in ANYWHERE:
        return (listens_on,) if is_private(listens_on) and not listens_on.startswith(OWN) else ()
    found = {_way_to(place, socket.AF_INET) for place in SOMEWHERE}
    found |= {_way_to(place, socket.AF_INET6) for place in SOMEWHERE_6}
    found |= _of_every_card()
    wanted = {
        address
        for address in found
        if is_private(address) and not address.startswith(OWN) and (listens_on == "::" or ":" not in address)
    }
    return tuple(sorted(wanted, key=lambda address: (":" in address, address)))


def is_private(text: str) -> bool:
    """Return whether an address is in one of the ranges that an authority may vouch for."""
    try:
        address = ip_address(text)
    except ValueError:
        return False
    return any(address in ip_network(one) for one in PRIVATE_RANGES)


def _way_to(place: str, family: socket.AddressFamily) -> str:
    """Return the address that a packet to a place would come from; none is sent."""
    try:
        with socket.socket(family, socket.SOCK_DGRAM) as asked:
            asked.connect((place, 9))
            return str(asked.getsockname()[0])
    except OSError:
        return ""


def _of_every_card() -> set[str]:
    """Return the address of each network card where the system tells it without a look-up."""
    if sys.platform == "win32":
        try:
            return set(socket.gethostbyname_ex(socket.gethostname())[2])
        except OSError:
            return set()
    if sys.platform != "linux":
        return set()
    import fcntl

    found = set()
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        for _, card in socket.if_nameindex():
            try:
                said = fcntl.ioctl(asked, SIOCGIFADDR, struct.pack("256s", card.encode()[:15]))
            except OSError:
                continue
            found.add(socket.inet_ntoa(said[20:24]))
    return found
