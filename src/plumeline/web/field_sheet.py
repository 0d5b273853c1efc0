"""``plumeline fieldsheet``: the page at the water as one file."""

from __future__ import annotations

import argparse

from plumeline.cli.common import print_json
from plumeline.cli.tables import paragraph
from plumeline.errors import InputError
from plumeline.web.capture_phone import field_sheet


def write(args: argparse.Namespace) -> int:
    """Write the file.

    Raises:
        InputError: its place can't be written.
    """
    data = field_sheet().encode()
    try:
        args.out.write_bytes(data)
    except OSError as error:
        raise InputError(
            f"{args.out} can't be written ({error.strerror}).", remedy="Name another place."
        ) from error
    if args.json:
        print_json({"file": str(args.out), "size_bytes": len(data)})
    else:
        print(
            paragraph(f"{args.out}: send it to the phone and open it there in a browser; it needs no signal.")
        )
    return 0
