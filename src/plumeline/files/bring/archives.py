"""Zip archives opened with care: few members, no bomb, nothing that leads outside, written only under our own names."""

from __future__ import annotations

import stat
import zipfile
from collections.abc import Callable
from pathlib import Path, PurePosixPath

from plumeline.errors import InputError
from plumeline.files.bring.value import MOST_FILE_BYTES
from plumeline.units import plain

MOST_MEMBERS = 500
MOST_RATIO = 300
"""A track in XML shrinks to a tenth or a thirtieth; what swells three-hundredfold was made to."""
FREE_BYTES = 1_000_000
"""Up to this size the ratio does not matter."""
_STEP_BYTES = 1 << 16


def members(path: Path) -> list[zipfile.ZipInfo]:
    """Return the members of an archive, once all of them are harmless.

    Raises:
        InputError: it is no archive, or one that nobody should open.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            found = archive.infolist()
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError) as error:
        raise InputError(
            f"is no archive that can be opened ({error}).", remedy="Copy it again.", place=path.name
        ) from None
    if len(found) > MOST_MEMBERS:
        raise InputError(
            f"holds {plain(len(found), 0)} members; {MOST_MEMBERS} are the most.",
            remedy="Bring the one file in it.",
            place=path.name,
        )
    total = 0
    for member in found:
        _look(member, path.name)
        total += member.file_size
    if total > MOST_FILE_BYTES:
        raise _bomb(path.name, total)
    return [member for member in found if not member.is_dir()]


def _look(member: zipfile.ZipInfo, file: str) -> None:
    name = member.filename.replace("\\", "/")
    parts = PurePosixPath(name).parts
    if name.startswith("/") or ".." in parts or (parts and parts[0].endswith(":")):
        raise InputError(
            f"has a member that would land outside: '{name[:80]}'.",
            remedy="Do not trust this file.",
            place=file,
        )
    if stat.S_ISLNK(member.external_attr >> 16):
        raise InputError(
            f"has a member that only points elsewhere: '{name[:80]}'.",
            remedy="Pack the files themselves.",
            place=file,
        )
    if member.flag_bits & 0x1:
        raise InputError(
            "is locked with a password.", remedy="Unpack it and bring what is in it.", place=file
        )
    if member.file_size > FREE_BYTES and member.file_size > MOST_RATIO * max(member.compress_size, 1):
        raise _bomb(file, member.file_size)


def _bomb(file: str, size_bytes: int) -> InputError:
    return InputError(
        f"would swell to {plain(size_bytes / 1e6, 0)} MB or more, far beyond its own size or the limit of "
        f"{MOST_FILE_BYTES / 1e6:.0f} MB.",
        remedy="Unpack it yourself and bring what is in it, if you trust it.",
        place=file,
    )


def unpack(path: Path, member: zipfile.ZipInfo, target: Path) -> None:
    """Write one member to a file; what it says of its size is not believed.

    Args:
        path: the archive.
        member: one of ``members``.
        target: where to; a name of our own.

    Raises:
        InputError: it is damaged or larger than it says.
    """
    written = 0
    try:
        with zipfile.ZipFile(path) as archive, archive.open(member) as source, target.open("wb") as out:
            while piece := source.read(_STEP_BYTES):
                written += len(piece)
                if written > min(member.file_size, MOST_FILE_BYTES):
                    raise _bomb(path.name, written)
                out.write(piece)
    except (zipfile.BadZipFile, EOFError, OSError, NotImplementedError, ValueError) as error:
        raise InputError(f"is damaged ({error}).", remedy="Copy it again.", place=path.name) from None
    except Exception as error:  # zlib, bz2 and lzma have an error of their own each
        if isinstance(error, InputError):
            raise
        raise InputError(f"is damaged ({error}).", remedy="Copy it again.", place=path.name) from None


def ending_in(
    found: list[zipfile.ZipInfo], suffix: str, keep: Callable[[str], bool] = lambda _: True
) -> list[zipfile.ZipInfo]:
    """Return the members with an ending, without those that a packing program adds for itself.

    Args:
        found: members.
        suffix: with its dot, in small letters.
        keep: which names.
    """
    return [
        one
        for one in found
        if one.filename.casefold().endswith(suffix)
        and "__MACOSX" not in one.filename
        and not PurePosixPath(one.filename).name.startswith("._")
        and keep(one.filename)
    ]
