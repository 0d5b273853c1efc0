"""A file of items and photos that a phone or a field sheet wrote: each by itself, so that one bad one stops none."""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass, field

from pydantic import ValidationError

from plumeline.errors import InputError
from plumeline.store import Store
from plumeline.store.captures import Receipt
from plumeline.web.capture_rows import Imported, RefusedItem, RefusedPhoto


@dataclass
class Brought:
    """What became of a file.

    Attributes:
        receipts: of its items.
        new_count: how many of them were not here before.
        refused: those that can't be read.
        refused_photos: photos that can't be taken, or are not what the file says.
    """

    receipts: tuple[Receipt, ...] = ()
    new_count: int = 0
    refused: list[RefusedItem] = field(default_factory=list)
    refused_photos: list[RefusedPhoto] = field(default_factory=list)


def read_file(data: bytes) -> Imported:
    """Return a file as it was written.

    Raises:
        InputError: it is none.
    """
    try:
        return Imported.model_validate_json(data)
    except ValidationError as error:
        first = error.errors(include_input=False, include_url=False)[0]
        where = ".".join(map(str, first["loc"]))
        raise InputError(
            f"this is no file of field readings ({where + ': ' if where else ''}{first['msg']}).",
            remedy="Choose the file that the capture page or a field sheet wrote.",
        ) from error


def bring_in(store: Store, found: Imported) -> Brought:
    """Keep every item and photo of a file that can be kept; what was kept before stays as it is."""
    brought = Brought()
    for photo in found.photos:
        words = _photo(store, photo.sha256, photo.base64)
        if words:
            brought.refused_photos.append(RefusedPhoto(sha256=photo.sha256, words=words))
    idents = []
    for index, text in enumerate(found.items):
        try:
            data = text.encode()
            held = store.captures.receive(data)
        except (InputError, UnicodeEncodeError) as error:
            words = str(error) if isinstance(error, InputError) else "it holds what is no text."
            brought.refused.append(RefusedItem(index=index, id=_ident(text), words=words))
            continue
        brought.new_count += held.is_new
        idents.append((held.id, held.sha256))
    brought.receipts = tuple(_own(store, idents))
    return brought


def _photo(store: Store, sha256: str, text: str) -> str:
    try:
        data = base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError):
        return "it is not written in base64."
    if hashlib.sha256(data).hexdigest() != sha256:
        return "its hash is not the one that the file says: the file is damaged here."
    try:
        return store.photos.put_whole(sha256, data).refused
    except InputError as error:
        return str(error)


def _own(store: Store, idents: list[tuple[str, str]]) -> Iterable[Receipt]:
    """Return the receipt of each item's own bytes, not those of another variant of its id."""
    for start in range(0, len(idents), 500):
        some = dict.fromkeys(idents[start : start + 500])
        found = {
            (receipt.id, receipt.sha256): receipt
            for receipt in store.captures.receipts([ident for ident, _ in some])
        }
        yield from (found[one] for one in some)


def _ident(text: str) -> str | None:
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        return None
    ident = found.get("id") if isinstance(found, dict) else None
    return ident[:100].encode(errors="replace").decode() if isinstance(ident, str) else None
