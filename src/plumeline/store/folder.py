"""A job folder as files by path: from a directory or a zip that nobody trusts, and back to a zip."""

from __future__ import annotations

import io
import stat
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from plumeline.errors import InputError
from plumeline.files.toml_values import JOB_FILE

MOST_FILES = 500
MOST_ZIP_BYTES = 64 * 1024 * 1024
MOST_BYTES = 256 * 1024 * 1024
"""Of all files of a folder together, unpacked."""
MOST_PATH = 200
DROPPED = ("__MACOSX/", ".DS_Store", "Thumbs.db")
"""What computers put into folders by themselves."""
FORBIDDEN = frozenset('<>:"|?*\\')
"""In a path: the folder must open on any computer."""
DEVICES = frozenset(
    {"con", "prn", "aux", "nul", *(f"{kind}{n}" for kind in ("com", "lpt") for n in range(1, 10))}
)
EPOCH = (1980, 1, 1, 0, 0, 0)
"""Time of every file in a zip, so that the same folder gives the same zip."""


@dataclass(frozen=True)
class Folder:
    """The files of a job folder by their path in it, and the folder's name."""

    name: str
    files: Mapping[str, bytes]


def check_path(path: str) -> str:
    """Return a path inside a folder, or refuse it.

    Raises:
        InputError: it leads out of the folder, or can't be a file's name everywhere.
    """
    parts = path.split("/")
    bad = (
        not path
        or len(path) > MOST_PATH
        or any(part in ("", ".", "..") or part != part.strip() or part.endswith(".") for part in parts)
        or any(part.split(".")[0].lower() in DEVICES for part in parts)
        or any(mark in FORBIDDEN or not mark.isprintable() for mark in path)
    )
    if bad:
        raise InputError(
            f"{path[:MOST_PATH]!r} is no path of a file inside the folder.",
            remedy="Use plain names of files and folders, without '..' and without a leading '/'.",
        )
    return path


def checked(files: Mapping[str, bytes]) -> dict[str, bytes]:
    """Return files by path, in order, or refuse them.

    Raises:
        InputError: there are too many, they are too large, or two paths are one file on some computers.
    """
    if len(files) > MOST_FILES:
        raise InputError(f"{len(files)} files are more than the {MOST_FILES} that a pond's folder may hold.")
    total_bytes = sum(len(data) for data in files.values())
    if total_bytes > MOST_BYTES:
        raise _too_large(MOST_BYTES)
    seen: dict[str, str] = {}
    for path in files:
        other = seen.setdefault(check_path(path).casefold(), path)
        if other != path:
            raise InputError(f"'{other}' and '{path}' are one file on some computers.", remedy="Rename one.")
    for path in seen:
        parents = {path.rsplit("/", count)[0] for count in range(1, path.count("/") + 1)}
        if clash := parents & seen.keys():
            raise InputError(f"'{seen[min(clash)]}' is a file and a folder at once.", remedy="Rename one.")
    return {path: files[path] for path in sorted(files)}


def _too_large(limit_bytes: int) -> InputError:
    return InputError(
        f"the files are larger than {limit_bytes // 2**20} MB together.",
        remedy="Leave photos out that the plan does not need, or make them smaller.",
    )


def read_folder(path: Path) -> Folder:
    """Return the files of a directory, links and special files refused.

    Raises:
        InputError: it is no directory, or holds what can't be kept.
    """
    if not path.is_dir():
        raise InputError("is not a folder.", remedy=f"Name a folder that holds {JOB_FILE}.", place=str(path))
    found: dict[str, bytes] = {}
    total_bytes = 0
    for item in sorted(path.rglob("*")):
        name = item.relative_to(path).as_posix()
        if _is_dropped(name) or (item.is_dir() and not item.is_symlink()):
            continue
        if not stat.S_ISREG(item.lstat().st_mode):
            raise InputError(f"'{name}' is a link or no plain file.", remedy="Put the file itself there.")
        total_bytes += item.stat().st_size
        if total_bytes > MOST_BYTES:
            raise _too_large(MOST_BYTES)
        found[name] = item.read_bytes()
    return Folder(_plain_name(path.resolve().name), checked(found))


def _is_dropped(name: str) -> bool:
    return name.startswith(DROPPED[0]) or name.rsplit("/", 1)[-1] in DROPPED


def _plain_name(name: str) -> str:
    """Return a folder's name, or "pond" where it can't be one everywhere."""
    try:
        return check_path(name) if "/" not in name else "pond"
    except InputError:
        return "pond"


def read_zip(data: bytes, name: str = "") -> Folder:
    """Return the job folder of a zip.

    Args:
        data: the zip; its own words about sizes are not believed.
        name: the zip file's name, for a folder without one.

    Raises:
        InputError: it is no zip, too large, encrypted, or holds paths or files that can't be kept.
    """
    if len(data) > MOST_ZIP_BYTES:
        raise _too_large(MOST_ZIP_BYTES)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            files = _unpacked(packed)
    except (zipfile.BadZipFile, NotImplementedError, EOFError, RuntimeError, ValueError) as error:
        raise InputError(
            "this is no zip file that can be read.", remedy="Pack the job folder again."
        ) from error
    except (zipfile.zlib.error, OSError) as error:  # type: ignore[attr-defined]
        raise InputError("a file in the zip is damaged.", remedy="Pack the job folder again.") from error
    top, inside = _without_top(files)
    if JOB_FILE not in inside:
        remedy = "Pack the folder that plumeline new made, or one that this page exported."
        raise InputError(f"there is no {JOB_FILE} in the zip.", remedy=remedy)
    stem = name.replace("\\", "/").rsplit("/", 1)[-1].removesuffix(".zip")
    return Folder(_plain_name(top or stem or "pond"), checked(inside))


def _unpacked(packed: zipfile.ZipFile) -> dict[str, bytes]:
    items = [item for item in packed.infolist() if not item.is_dir() and not _is_dropped(item.filename)]
    if len(items) > MOST_FILES:
        raise InputError(f"the zip holds {len(items)} files; a pond's folder may hold {MOST_FILES}.")
    files: dict[str, bytes] = {}
    left_bytes = MOST_BYTES
    for item in items:
        # orig_filename: what stands in the zip, before Python makes a usable name of it
        path = check_path(item.orig_filename)
        kind = stat.S_IFMT(item.external_attr >> 16)
        if kind not in (0, stat.S_IFREG):
            raise InputError(f"'{path}' is a link or no plain file.", remedy="Put the file itself there.")
        if item.flag_bits & 1:
            raise InputError("the zip asks for a password.", remedy="Pack it without one.")
        if path in files:
            raise InputError(f"'{path}' is in the zip twice.", remedy="Pack the folder again.")
        with packed.open(item) as stream:
            files[path] = stream.read(left_bytes + 1)
        left_bytes -= len(files[path])
        if left_bytes < 0:
            raise _too_large(MOST_BYTES)
    return files


def _without_top(files: Mapping[str, bytes]) -> tuple[str, dict[str, bytes]]:
    """Return the one folder that holds everything, and the files without it; "" where there is none."""
    tops = {path.split("/", 1)[0] for path in files}
    if JOB_FILE in files or len(tops) != 1:
        return "", dict(files)
    top = tops.pop()
    if not all(path.startswith(f"{top}/") for path in files):
        return "", dict(files)
    return top, {path.removeprefix(f"{top}/"): data for path, data in files.items()}


def write_zip(folder: Folder) -> bytes:
    """Return a folder as a zip; the same files give the same bytes."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed:
        for path, data in _in_order(folder.files.items()):
            item = zipfile.ZipInfo(f"{folder.name}/{path}", EPOCH)
            item.compress_type = zipfile.ZIP_DEFLATED
            item.external_attr = (stat.S_IFREG | 0o644) << 16
            packed.writestr(item, data)
    return stream.getvalue()


def _in_order(items: Iterable[tuple[str, bytes]]) -> list[tuple[str, bytes]]:
    return sorted(items, key=lambda pair: pair[0])
