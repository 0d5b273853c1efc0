"""Where map tiles come from, by the options of the server; without them nothing is asked for elsewhere."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable
from dataclasses import dataclass
from urllib.parse import urlsplit

from plumeline.cli.commands import UsageError
from plumeline.web.lan.reach import How

FIELDS = ("{z}", "{x}", "{y}")
HOST = re.compile(r"[a-z0-9]([a-z0-9.-]*[a-z0-9])?|\[[0-9a-f:]+\]", re.IGNORECASE)
PLAIN = re.compile(r"[A-Za-z0-9._~!$&()*+,=:@%/?{}-]+")
"""What may stand in the address after the host."""
EXAMPLE = "https://tiles.example.org/{z}/{x}/{y}.png"
DEEPEST_ZOOM_NUMBER = 19
LARGEST_ZOOM_NUMBER = 22
MOST_CREDIT = 200


@dataclass(frozen=True)
class Tiles:
    """Where map tiles come from.

    Attributes:
        address: of a tile, with {z}, {x} and {y} in it.
        origin: scheme, host and port: what pages may load pictures from besides ourselves.
        credit: whose map it is, as its maker wants to be named.
        deepest_zoom_number: the closest zoom that there is.
    """

    address: str
    origin: str
    credit: str
    deepest_zoom_number: int = DEEPEST_ZOOM_NUMBER

    @property
    def host(self) -> str:
        """The host, as people know it."""
        return self.origin.partition("//")[2]

    def href(self, zoom_number: int, column: int, row: int) -> str:
        """Return the address of a tile; columns go round the earth."""
        numbers = (zoom_number, column % 2**zoom_number, row)
        found = self.address
        for field, number in zip(FIELDS, numbers, strict=True):
            found = found.replace(field, str(number))
        return found


def checked_tiles(args: argparse.Namespace, how: How) -> Tiles | None:
    """Return where tiles come from by the options of ``plumeline serve``; None without them.

    Args:
        args: with tiles, tiles_credit and tiles_zoom.
        how: by which way the server is reached.

    Raises:
        UsageError: the address is none that pages could load tiles from, or nobody is credited.
    """
    if args.tiles is None:
        if args.tiles_credit is not None or args.tiles_zoom is not None:
            raise UsageError(
                "--tiles-credit and --tiles-zoom belong to --tiles.", remedy=f"Add --tiles '{EXAMPLE}'."
            )
        return None
    origin = _origin(args.tiles)
    if how in (How.SECURE, How.PROXY) and not origin.startswith("https:"):
        raise UsageError(
            f"--tiles {args.tiles}: pages that come over https load no pictures over http.",
            remedy="Name an address that begins with https://",
        )
    credit = " ".join((args.tiles_credit or "").split())
    if not credit:
        raise UsageError(
            "--tiles needs --tiles-credit: whose map it is, in the words that its maker asks for.",
            remedy="Add --tiles-credit 'Map: ...'.",
        )
    if len(credit) > MOST_CREDIT:
        raise UsageError(f"--tiles-credit is longer than {MOST_CREDIT} characters.", remedy="Shorten it.")
    zoom_number = DEEPEST_ZOOM_NUMBER if args.tiles_zoom is None else args.tiles_zoom
    if not 0 <= zoom_number <= LARGEST_ZOOM_NUMBER:
        raise UsageError(
            f"--tiles-zoom {zoom_number} is no zoom: 0 (the whole earth) to {LARGEST_ZOOM_NUMBER}.",
            remedy=f"Leave it away for {DEEPEST_ZOOM_NUMBER}.",
        )
    return Tiles(args.tiles, origin, credit, zoom_number)


def _origin(address: str) -> str:
    """Return scheme, host and port of an address of tiles; what could end a policy or a field of it is refused."""

    def refused(what: str) -> UsageError:
        return UsageError(f"--tiles {address}: {what}.", remedy=f"Write it like {EXAMPLE}")

    try:
        parts = urlsplit(address)
        host, port_number = parts.hostname or "", parts.port
    except ValueError:
        raise refused("that is no address") from None
    if parts.scheme not in ("http", "https"):
        raise refused("it must begin with https:// or http://")
    if parts.username is not None or parts.password is not None:
        raise refused("a name or password in it would be given to every browser")
    if "{" in parts.netloc or "}" in parts.netloc:
        raise refused("its host must be one name; {z}, {x} and {y} stand behind it")
    host = f"[{host}]" if ":" in host else host
    if not HOST.fullmatch(host):
        raise refused(f"'{host}' is no host" if host else "it names no host")
    rest = address.partition(parts.netloc)[2]
    if parts.fragment or "#" in address or not PLAIN.fullmatch(rest or "/"):
        raise refused(
            "behind the host stand letters, digits and the marks of an address alone, no # and no space"
        )
    missing = [field for field in FIELDS if rest.count(field) != 1]
    if missing:
        raise refused(f"{' and '.join(missing)} must stand in it once")
    if re.search(r"[{}]", re.sub(r"\{[zxy]\}", "", rest)):
        raise refused("nothing but {z}, {x} and {y} may stand in braces")
    return f"{parts.scheme}://{host}{'' if port_number is None else f':{port_number}'}"


def told_of(tiles: Tiles | None) -> list[str]:
    """Return what is said at the start about tiles."""
    if tiles is None:
        return []
    return [
        f"Map tiles come from {tiles.origin}: whoever keeps it can tell by what is asked for where the ponds lie."
    ]


def pictures_of(tiles: Tiles | None) -> Callable[[str], str]:
    """Return which origin besides ours the page of a path may load pictures from, by whether it shows tiles."""
    origin = tiles.origin if tiles else ""
    return lambda path: origin if path == "/" or path.endswith(("/plan", "/shore")) else ""
