"""Photo files: written whole or not at all, copied into backups and back, looked through for damage."""

from __future__ import annotations

import hashlib
import os
import secrets
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from plumeline.store.disk_files import flush_folder

FOLDER = "photos"


def place_of(folder: Path, kept_sha256: str) -> Path:
    """Return where a photo stands in a folder of photos, by the hash of what is in its file."""
    return folder / kept_sha256[:2] / f"{kept_sha256}.jpg"


def keep_file(path: Path, data: bytes) -> None:
    """Write a file that is there whole or not at all, through a power cut too; one that is there stays.

    Args:
        path: named by the hash of the content.
        data: the content.
    """
    if not (path.is_file() and path.read_bytes() == data):
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        beside = path.with_name(f".{path.name}.{secrets.token_hex(8)}.part")
        try:
            with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
            os.replace(beside, path)
        finally:
            beside.unlink(missing_ok=True)
    for folder in (path.parent, path.parent.parent, path.parent.parent.parent):
        flush_folder(folder)


@dataclass(frozen=True)
class Copied:
    """What became of the photos of a backup.

    Attributes:
        count: how many the database names.
        lost: those whose file is gone or damaged.
    """

    count: int
    lost: tuple[str, ...]


def named_in(database: Path) -> tuple[str, ...]:
    """Return the photos that a database names, by the hash of what is in their files; none in one of before."""
    link = sqlite3.connect(f"{database.resolve().as_uri()}?mode=ro", uri=True)
    try:
        there = link.execute("SELECT 1 FROM sqlite_schema WHERE name = 'capture_photo'").fetchone()
        if there is None:
            return ()
        rows = link.execute("SELECT DISTINCT kept_sha256 FROM capture_photo WHERE kept_sha256 IS NOT NULL")
        return tuple(str(row[0]) for row in rows)
    finally:
        link.close()


def copied(names: Iterable[str], source: Path, target: Path) -> Copied:
    """Copy photos that are not in the target folder yet; each is read and its hash taken.

    Args:
        names: the photos.
        source: folder of photos.
        target: folder of photos.
    """
    lost, count = [], 0
    for name in names:
        count += 1
        if sound(target, name, whole=False):
            continue
        try:
            data = place_of(source, name).read_bytes()
        except OSError:
            lost.append(name)
            continue
        if hashlib.sha256(data).hexdigest() != name:
            lost.append(name)
            continue
        keep_file(place_of(target, name), data)
    return Copied(count, tuple(lost))


def sound(folder: Path, name: str, *, whole: bool = True) -> bool:
    """Return whether a photo's file is there and is what its name says.

    Args:
        folder: of photos.
        name: hash of what is in the file.
        whole: look at every byte; else that it is there and not empty.
    """
    path = place_of(folder, name)
    try:
        if not whole:
            return path.stat().st_size > 0
        return hashlib.sha256(path.read_bytes()).hexdigest() == name
    except OSError:
        return False
