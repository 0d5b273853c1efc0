"""``plumeline serve``, ``backup``, ``restore`` and ``doctor``: the options alone."""

from __future__ import annotations

import argparse
import importlib
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from plumeline.cli.common import common_flags
from plumeline.web.ports import PORT

if TYPE_CHECKING:
    from plumeline.cli.common import Subparsers


def add_commands(subparsers: Subparsers) -> None:
    """Add the commands about the database of ponds."""
    _add_serve(subparsers)
    sheet = subparsers.add_parser(
        "fieldsheet",
        help="the page at the water as one file, for a shop without a server",
        description="Write the page for readings at the water as one HTML file. It keeps what is typed in the browser "
        "that opens it, and writes one file that the office imports under From the field.",
        parents=[common_flags()],
    )
    sheet.add_argument("--out", type=Path, required=True, metavar="OUT", help="the file to write (.html)")
    sheet.set_defaults(run=_later("field_sheet:write"))
    people = _command(
        subparsers,
        "people",
        "who may sign in",
        "List the people who may sign in, put one down and give the one-use code by which they set their password, "
        "give a new code to one who forgot it, or keep one out from now on.",
        "people_work:people",
    )
    people.add_argument("action", choices=("list", "add", "code", "disable"), help="what to do")
    people.add_argument("name", nargs="?", default="", metavar="NAME", help="whom (not for list)")
    people.add_argument(
        "--role", choices=("crew", "office"), default="crew", help="for add (default: %(default)s)"
    )
    backup = _command(
        subparsers,
        "backup",
        "a copy of the ponds' database that was read back",
        "Write a copy of the database while the server may go on, restore it into a scratch file and ask that, and put "
        "a checksum beside it. A damaged database is not copied.",
        "keeping:backup",
    )
    backup.add_argument(
        "--out", type=Path, metavar="OUT", help="the file (default: by the time, in backups/ beside it)"
    )
    restore = _command(
        subparsers,
        "restore",
        "put a backup in the database's place",
        "Read a backup whole, then put it in the database's place. What stood there is renamed and kept. Stop the "
        "server first.",
        "keeping:restore",
    )
    restore.add_argument("backup", type=Path, metavar="BACKUP", help="a file that plumeline backup wrote")
    _command(
        subparsers,
        "doctor",
        "look the database over",
        "Look the database over and change nothing: every page, rows that belong to nothing, every file and job "
        "against its hash, steps of its tables, its place, room on the disk, the journal, the age of the last good "
        "backup. The exit code is 1 where something is wrong.",
        "keeping:doctor",
    )


def _add_serve(subparsers: Subparsers) -> None:
    serve = _command(
        subparsers,
        "serve",
        "all ponds in a browser, on this machine or for the phones of the local network",
        "Show all ponds in a browser: import and export of job folders, every stage, the start-up plan in the "
        "background. Without more it listens on this machine alone, over http, and who sits at it is the office. With "
        "--lan it speaks https to phones of the local network with a certificate of its own, and says how they come "
        "to trust it; people sign in. Ctrl-C ends it; what was being computed goes on at the next start.",
        "serve:serve",
    )
    serve.add_argument("--lan", action="store_true", help="over https, for the phones of the local network")
    serve.add_argument(
        "--name", metavar="HOST",
        help="the name that phones open, fixed at the first start (default: this machine's, with .local behind)",
    )  # fmt: skip
    serve.add_argument(
        "--port", type=_port, metavar="N",
        help=f"fixed at the first start with --lan; on this machine alone 0 takes a free one (default: {PORT})",
    )  # fmt: skip
    serve.add_argument(
        "--certificate-port", type=_port, metavar="N",
        help="where the certificate is given away over plain http (default: the port after --port)",
    )  # fmt: skip
    serve.add_argument(
        "--move", action="store_true",
        help="take another name or port though phones are paired: what they did not hand over stays behind",
    )  # fmt: skip
    serve.add_argument(
        "--plain-http", action="store_true",
        help="with --lan: no https; phones then can't install the pages, keep nothing and find no position",
    )  # fmt: skip
    serve.add_argument(
        "--behind-proxy", metavar="ADDRESS",
        help="over a reverse proxy with a real certificate, which comes from this address, 127.0.0.1",
    )  # fmt: skip
    serve.add_argument(
        "--sign-in", action="store_true", help="people sign in on this machine too (plumeline people)"
    )
    serve.add_argument(
        "--tiles", metavar="ADDRESS",
        help="lay map tiles of this address under plan, shore and map, like https://tiles.example.org/{z}/{x}/{y}.png; "
        "browsers ask its host for them (default: nothing is asked for elsewhere)",
    )  # fmt: skip
    serve.add_argument(
        "--tiles-credit", metavar="WORDS", help="with --tiles: whose map it is, shown beside it"
    )
    serve.add_argument(
        "--tiles-zoom", type=int, metavar="N", help="with --tiles: the closest zoom there is (default: 19)"
    )
    serve.add_argument(
        "--host", metavar="ADDRESS", help="the address listened on (default: 127.0.0.1, every one with --lan)"
    )


def _command(
    subparsers: Subparsers, name: str, summary: str, text: str, work: str
) -> argparse.ArgumentParser:
    """Add a command, its work named as module:function of this package."""
    command = subparsers.add_parser(name, help=summary, description=text, parents=[common_flags()])
    command.add_argument(
        "--database",
        type=Path,
        metavar="FILE",
        help="the ponds' database (default: in this user's data folder)",
    )
    command.set_defaults(run=_later(work))
    return command


def _later(work: str) -> Callable[[argparse.Namespace], int]:
    module, function = work.split(":")

    def run(args: argparse.Namespace) -> int:
        found: int = getattr(importlib.import_module(f"plumeline.web.{module}"), function)(args)
        return found

    return run


def _port(text: str) -> int:
    if not text.isdigit() or not 0 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"'{text}' is no port: 0 to 65535.")
    return int(text)
