"""Files that last through a power cut: copied, flushed, hashed."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

CHUNK_BYTES = 1 << 20


def digest_of(path: Path) -> str:
    """Return the SHA-256 of a file, in hex."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def copy_file(source: Path, target: Path) -> None:
    """Copy a file, for this user alone to read, and flush it."""
    with source.open("rb") as old, target.open("wb") as new:
        os.chmod(target, 0o600)
        while chunk := old.read(CHUNK_BYTES):
            new.write(chunk)
        new.flush()
        os.fsync(new.fileno())


def flush(path: Path) -> None:
    """Make what a file holds last through a power cut."""
    with path.open("rb+") as stream:
        os.fsync(stream.fileno())


def flush_folder(path: Path) -> None:
    """Make new names last through a power cut; some systems can't open folders, and do it by themselves."""
    if os.name == "nt":
        return
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
