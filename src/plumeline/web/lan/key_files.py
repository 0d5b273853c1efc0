"""The files of the authority and of the server's certificate, in the data folder; this user alone may read them."""

from __future__ import annotations

import os
import stat
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from plumeline.errors import PlumelineError
from plumeline.web.lan.authority import (
    BadKeysError,
    Keys,
    ends_soon,
    fingerprint,
    make_authority,
    make_leaf,
    read_keys,
    reason_to_renew,
)

FOLDER = "certificates"
AUTHORITY = "authority-key-and-certificate.pem"
SERVER = "server-key-and-certificate.pem"
PUBLIC = "authority.crt"
OTHERS_MAY = stat.S_IRWXG | stat.S_IRWXO


class KeyFileError(PlumelineError):
    """A file of keys that can't be used as it stands."""


@dataclass(frozen=True)
class Certificates:
    """What a server over https needs, and what was done to have it.

    Attributes:
        authority_pem: the root's certificate, which phones trust; its key is kept nowhere.
        authority_der: the same in the form that phones take.
        fingerprint: its SHA-256, in pairs of hex digits.
        server_file: key and certificate of the server.
        public_file: the authority's certificate as a file to give away.
        said: what a person must know of it.
    """

    authority_pem: bytes
    authority_der: bytes
    fingerprint: str
    server_file: Path
    public_file: Path
    said: tuple[str, ...]


def ready(home: Path, host_name: str, addresses: Sequence[str], now: datetime) -> Certificates:
    """Return the certificates of a host name, made or renewed where they must be.

    Each host name has an authority of its own, which stays until its last month: whoever goes back to an earlier name
    finds the phones' trust as it was.

    Args:
        home: the data folder.
        host_name: the name that phones open.
        addresses: private addresses of this machine.
        now: the time.

    Raises:
        KeyFileError: a file can't be read or written, or holds something else.
    """
    from cryptography.hazmat.primitives.serialization import Encoding

    place = home / FOLDER / host_name
    said: list[str] = []
    try:
        place.mkdir(parents=True, exist_ok=True, mode=0o700)
        authority = _authority(place / AUTHORITY, host_name, now, said)
        _leaf(place / SERVER, authority, host_name, addresses, now, said)
        public = authority.signer.public_bytes(Encoding.DER)
        if not (place / PUBLIC).is_file() or (place / PUBLIC).read_bytes() != public:
            write_private(place / PUBLIC, public)
    except OSError as error:
        raise KeyFileError(
            f"the certificates can't be kept ({error.strerror}).",
            remedy="Give this user the right to read and write that folder.",
            place=str(error.filename or place),
        ) from error
    pem = authority.signer.public_bytes(Encoding.PEM)
    print_of = fingerprint(authority.signer)
    return Certificates(pem, public, print_of, place / SERVER, place / PUBLIC, tuple(said))


def _authority(path: Path, host_name: str, now: datetime, said: list[str]) -> Keys:
    found = _read(path, said) if path.exists() else None
    if found is not None and not ends_soon(found, now):
        since = found.certificate.not_valid_before_utc
        if since > now:
            said.append(f"The authority holds from {since:%Y-%m-%d} on; look at the clock of this machine.")
        return found
    if found is not None:
        old = path.with_name(f"ended-{now:%Y%m%d}-{path.name}")
        os.replace(path, old)
        said.append("The certificate authority of before is at its end; every phone must trust the new one.")
    made = make_authority(host_name, now)
    write_private(path, made.pem())
    said.append(f"A certificate authority was made for {host_name} alone; its key is in {path}")
    return made


def _leaf(
    path: Path, authority: Keys, host_name: str, addresses: Sequence[str], now: datetime, said: list[str]
) -> None:
    why = "there is none"
    if path.exists():
        try:
            why = reason_to_renew(
                read_keys(path.read_bytes()).certificate, authority, host_name, addresses, now
            )
        except BadKeysError as error:
            why = str(error)
        if not why:
            _closed_to_others(path, said)
            return
        said.append(f"The server's certificate was made anew: {why}. Phones notice nothing.")
    write_private(path, make_leaf(authority, host_name, addresses, now).pem())


def _read(path: Path, said: list[str]) -> Keys:
    _closed_to_others(path, said)
    try:
        return read_keys(path.read_bytes())
    except BadKeysError as error:
        raise KeyFileError(
            f"the file of the certificate authority can't be used: {error}.",
            remedy="Bring the file back from a copy, or move it away: a new authority is made, and every phone must "
            "trust that one.",
            place=str(path),
        ) from error


def _closed_to_others(path: Path, said: list[str]) -> None:
    """Take a key away from others who might read it, and say so."""
    if os.name == "nt":  # the user's own data folder is closed to others there
        return
    if path.stat().st_mode & OTHERS_MAY:
        path.chmod(0o600)
        said.append(
            f"Others on this machine could read {path}; they can't any more. If one of them may have copied it, stop, "
            "move that file away and start again: a new one is made."
        )


def write_private(path: Path, data: bytes) -> None:
    """Write a file that this user alone may read; whoever reads it finds the old content or the new."""
    part = path.with_name(f".{path.name}.part")
    part.unlink(missing_ok=True)
    with os.fdopen(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())
    os.replace(part, path)
