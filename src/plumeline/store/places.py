"""Folders where a database must not stand: synchronised ones and network drives.

A program that copies folders to other machines copies a database in the middle of a change, or puts an older one back;
on network drives locks and flushes do not mean what they mean on a disk.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterable
from pathlib import Path

from plumeline.store.errors import StoreError

MARKS = re.compile(
    r"\.(?!rsync)(_?sync_[0-9a-f]+\.db|[a-z]*sync[a-z_]*\.(log|db)|csync_journal\.db|stfolder|sync)"
)
"""Hidden names that programs which keep folders alike leave at the top of such a folder."""
CACHE = ".cache"
CLOUD_FOLDERS = ("CloudStorage", "Mobile Documents")
"""Below the Library folder of a Mac: where the system puts what it keeps alike with other machines."""
CLOUD_TAG, CLOUD_MASK = 0x9000001A, 0xFFFF0FFF
"""Of folders that Windows keeps alike with other machines (IO_REPARSE_TAG_CLOUD and its kin)."""
NETWORK = re.compile(
    r"nfs4?|cifs|smb3|smbfs|ncpfs|afs|coda|ceph|lustre|glusterfs|davfs|"
    r"fuse\.(sshfs|rclone|davfs2|glusterfs|s3fs|gvfsd-fuse|curlftpfs)"
)
"""Kinds of file system that stand on another machine."""
MOUNTS = Path("/proc/mounts")
ANOTHER = "Name a file in a folder that is there or can be made"


def refuse(database: Path) -> None:
    """Refuse a place where a database would come to harm.

    Raises:
        StoreError: with the reason.
    """
    reason = what_is_wrong(database)
    if reason:
        raise StoreError(
            f"{reason}; a database would come to harm there.",
            remedy="Name a folder on a disk of this machine: --database FILE. A backup may stand there: --out FILE.",
            place=str(database),
        )


def file_above(path: Path) -> Path | None:
    """Return the part of the way to a file that is no folder, below which nothing can stand; else None."""
    above = nearest_above(path)
    return above if above.exists() and not above.is_dir() else None


def nearest_above(path: Path) -> Path:
    """Return the nearest part of the way to a file that is there; its folder where none is."""
    return next((here for here in path.parents if here.exists()), path.parent)


def make_folder_of(path: Path, option: str) -> None:
    """Make the folder in which a file is to stand, where it is not there yet.

    Args:
        path: the file.
        option: of the shell, that names it.

    Raises:
        StoreError: a part of the way is a file, or the folder can't be made.
    """
    remedy = f"{ANOTHER}: {option} FILE."
    if above := file_above(path):
        raise StoreError(
            f"nothing can stand below '{above}': that is a file.", remedy=remedy, place=str(path)
        )
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        raise StoreError(
            f"the folder '{path.parent}' can't be made ({error.strerror}).", remedy=remedy, place=str(path)
        ) from error


def what_is_wrong(database: Path) -> str:
    """Return why a database must not stand at a place; empty where it may."""
    folder = Path(os.path.realpath(database.parent))
    kind = _network_kind(folder)
    if kind:
        return f"the folder is on a network drive ({kind})"
    alike = synchronised(folder)
    return f"a program keeps {alike} alike on several machines" if alike else ""


def synchronised(folder: Path) -> Path | None:
    """Return the folder at or above one that a program keeps alike on several machines; None where none is seen."""
    for here in (folder, *folder.parents):
        if here.parent.name == "Library" and here.name in CLOUD_FOLDERS:
            return here
        try:
            if getattr(here.lstat(), "st_reparse_tag", 0) & CLOUD_MASK == CLOUD_TAG:
                return here
            names = set(os.listdir(here))
        except OSError:
            continue
        if any(MARKS.fullmatch(name) for name in names) or _client_and_cache(names):
            return here
    return None


def _client_and_cache(names: Iterable[str]) -> bool:
    """Tell whether a hidden mark stands beside its own cache: ``.name`` and ``.name.cache``."""
    there = set(names)
    return any(
        name.startswith(".") and name.endswith(CACHE) and name.removesuffix(CACHE) in there for name in there
    )


def _network_kind(folder: Path) -> str:
    if os.name == "nt":
        return _windows_kind(folder)
    if sys.platform == "darwin":
        return ""
    try:
        return network_kind(folder, MOUNTS.read_text(encoding="utf-8", errors="surrogateescape"))
    except OSError:
        return ""


def network_kind(folder: Path, mounts: str) -> str:
    """Return the kind of network drive on which a folder stands; empty on a disk of this machine.

    Args:
        folder: without links in it.
        mounts: the system's table of what is mounted, as in /proc/mounts.
    """
    best, kind = -1, ""
    for line in mounts.splitlines():
        parts = line.split(" ")
        if len(parts) < 3:
            continue
        at = Path(re.sub(r"\\([0-7]{3})", lambda found: chr(int(found[1], 8)), parts[1]))
        # of two at one place the later hides the earlier
        if folder.is_relative_to(at) and len(at.parts) >= best:
            best, kind = len(at.parts), parts[2]
    return kind if NETWORK.fullmatch(kind) else ""


def _windows_kind(folder: Path) -> str:
    import ctypes

    if str(folder).startswith("\\\\") and not str(folder).startswith("\\\\?\\"):
        return str(folder.drive)
    remote = 4
    kind = ctypes.windll.kernel32.GetDriveTypeW(folder.anchor)  # type: ignore[attr-defined,unused-ignore]
    return str(folder.drive) if kind == remote else ""
