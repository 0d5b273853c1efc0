"""Photos in parts: each part kept before it is acknowledged, the whole checked, written anew and kept as a file.

Parts stand in the database until the whole is there. A photo is a file in ``photos/`` beside it, named by the hash
of what is in it, flushed to the disk before the database says that it is held, and never changed.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, delete, func, select
from sqlalchemy.dialects.sqlite import insert as put

from plumeline.errors import InputError
from plumeline.files.field_items import MOST_PHOTO_BYTES
from plumeline.files.pictures import Picture, written_anew
from plumeline.store.capture_tables import item_photo, part, photo
from plumeline.store.engine import Database
from plumeline.store.errors import NotThereError, ReadOnlyError, StoreError
from plumeline.store.photo_files import FOLDER, keep_file, place_of
from plumeline.store.ponds import Clock, stamp

PART_BYTES = 512 * 1024
GIVEN_UP = timedelta(days=60)


class PhotoSizeError(InputError):
    """A photo that is larger than is taken."""


class SpoiltPhotoError(InputError):
    """Parts that together are not the photo they were sent as; they were dropped and may be sent again."""


@dataclass(frozen=True)
class Upload:
    """How much of a photo is there.

    Attributes:
        sha256: hash of the photo's file on the phone.
        have: numbers of the parts, from 0.
        held: the whole is kept.
        refused: why it can't be taken; empty where it can.
    """

    sha256: str
    have: tuple[int, ...] = ()
    held: bool = False
    refused: str = ""


def parts_count(size_bytes: int) -> int:
    """Return in how many parts a photo is sent."""
    return -(-size_bytes // PART_BYTES)


class Photos:
    """The photos of a database."""

    def __init__(self, database: Database, clock: Clock) -> None:
        self._database = database
        self._clock = clock
        self.folder = database.path.parent / FOLDER

    def status(self, sha256: str) -> Upload:
        """Return how much of a photo is there; a whole that waits for its check since a crash is checked now."""
        found = self._seen(sha256)
        if not found.have or self._database.read_only:
            return found
        with self._database.reading() as link:
            size = link.execute(
                select(part.c.whole_bytes).where(part.c.sha256 == sha256).limit(1)
            ).scalar_one_or_none()
        if size is not None and len(found.have) == parts_count(size):
            return self._finish(sha256)
        return found

    def _seen(self, sha256: str) -> Upload:
        with self._database.reading() as link:
            row = link.execute(select(photo.c.refused).where(photo.c.sha256 == sha256)).one_or_none()
            if row is not None:
                return Upload(sha256, held=not row.refused, refused=row.refused)
            have = link.execute(
                select(part.c.number).where(part.c.sha256 == sha256).order_by(part.c.number)
            ).scalars()
            return Upload(sha256, tuple(have))

    def put_part(self, sha256: str, number: int, whole_bytes: int, data: bytes) -> Upload:
        """Keep a part; once all are there, the whole is checked and kept.

        Args:
            sha256: hash of the whole.
            number: of the part, from 0.
            whole_bytes: size of the whole.
            data: the part.

        Raises:
            PhotoSizeError: the whole is too large.
            SpoiltPhotoError: all parts are there and are not that photo; they are dropped.
            InputError: a part of another size, or none of that number.
        """
        _check_part(number, whole_bytes, data)
        found = self._seen(sha256)
        if found.held or found.refused:
            return found
        row = {
            "sha256": sha256, "number": number, "whole_bytes": whole_bytes, "received_at": stamp(self._clock()),
            "content": data,
        }  # fmt: skip
        with self._database.transaction() as link:
            # another size is another beginning: of the two the first was wrong, or the hash will say so
            link.execute(delete(part).where(part.c.sha256 == sha256, part.c.whole_bytes != whole_bytes))
            link.execute(
                put(part).values(**row).on_conflict_do_update(index_elements=["sha256", "number"], set_=row)
            )
            count = link.execute(
                select(func.count()).select_from(part).where(part.c.sha256 == sha256)
            ).scalar_one()
        return self._finish(sha256) if count == parts_count(whole_bytes) else self._seen(sha256)

    def put_whole(self, sha256: str, data: bytes) -> Upload:
        """Keep a photo that came in one piece, from a file.

        Raises:
            PhotoSizeError: it is too large.
            SpoiltPhotoError: its hash is another.
        """
        if len(data) > MOST_PHOTO_BYTES:
            raise _too_large(len(data))
        found = self._seen(sha256)
        return found if found.held or found.refused else self._check(sha256, data)

    def _finish(self, sha256: str) -> Upload:
        with self._database.reading() as link:
            parts = link.execute(
                select(part.c.content).where(part.c.sha256 == sha256).order_by(part.c.number)
            ).scalars()
            data = b"".join(bytes(content) for content in parts)
        if not data:  # another request was first
            return self._seen(sha256)
        return self._check(sha256, data)

    def _check(self, sha256: str, data: bytes) -> Upload:
        if hashlib.sha256(data).hexdigest() != sha256:
            with self._database.transaction() as link:
                link.execute(delete(part).where(part.c.sha256 == sha256))
            raise SpoiltPhotoError(
                "what came is not the photo that was announced: its hash differs; the parts were dropped.",
                remedy="Send the parts again.",
                place=sha256,
            )
        try:
            picture, refused = written_anew(data), ""
        except InputError as error:
            picture, refused = None, str(error)
        if picture is not None:
            self._to_disk(picture)
        with self._database.transaction() as link:
            _kept(link, sha256, picture, refused, stamp(self._clock()))
        return self._seen(sha256)

    def _to_disk(self, picture: Picture) -> None:
        if self._database.read_only:
            raise ReadOnlyError("the database is damaged and open for reading only; nothing was saved.")
        path = self.path_of(hashlib.sha256(picture.data).hexdigest())
        try:
            keep_file(path, picture.data)
        except OSError as error:
            raise StoreError(
                f"the photo can't be kept ({error.strerror}).",
                remedy="Make room, then send it again.",
                place=str(path),
            ) from error

    def tidy(self) -> None:
        """Take away what was left half done: files that a crash cut off, and parts of photos given up long ago.

        A phone keeps a photo until a receipt says that it is held, so that parts can be sent again. Call it while
        nobody else writes.
        """
        for left in self.folder.glob("??/.*.part"):
            left.unlink(missing_ok=True)
        if not self._database.read_only:
            before = stamp(self._clock() - GIVEN_UP)
            with self._database.transaction() as link:
                link.execute(delete(part).where(part.c.received_at < before))

    def path_of(self, kept_sha256: str) -> Path:
        """Return where a photo that was written anew stands."""
        return place_of(self.folder, kept_sha256)

    def picture(self, sha256: str, shrink: Callable[[bytes], bytes] | None = None) -> bytes:
        """Return a photo as it was written anew.

        Args:
            sha256: hash of the photo's file on the phone.
            shrink: makes it smaller.

        Raises:
            NotThereError: no such photo is held, or its file is gone or damaged.
        """
        with self._database.reading() as link:
            kept = link.execute(select(photo.c.kept_sha256).where(photo.c.sha256 == sha256)).scalar()
        if kept is None:
            raise NotThereError("there is no such photo.")
        try:
            data = self.path_of(kept).read_bytes()
        except OSError as error:
            raise NotThereError(
                "the photo's file is gone.",
                remedy="Bring it back from a backup's photos/.",
                place=str(self.path_of(kept)),
            ) from error
        if hashlib.sha256(data).hexdigest() != kept:
            raise NotThereError(
                "the photo's file is damaged.",
                remedy="Bring it back from a backup's photos/.",
                place=str(self.path_of(kept)),
            )
        return shrink(data) if shrink else data


def _check_part(number: int, whole_bytes: int, data: bytes) -> None:
    if whole_bytes > MOST_PHOTO_BYTES:
        raise _too_large(whole_bytes)
    count = parts_count(whole_bytes)
    if not 0 <= number < count:
        raise InputError(
            f"a photo of {whole_bytes} bytes has parts 0 to {count - 1}; {number} is none of them."
        )
    wanted = PART_BYTES if number < count - 1 else whole_bytes - PART_BYTES * (count - 1)
    if len(data) != wanted:
        raise InputError(
            f"part {number} of a photo of {whole_bytes} bytes has {wanted} bytes; {len(data)} came.",
            remedy="Send it again.",
        )


def _too_large(size_bytes: int) -> PhotoSizeError:
    return PhotoSizeError(
        f"{size_bytes / 2**20:.1f} MB are more than the {MOST_PHOTO_BYTES // 2**20} MB of one photo.",
        remedy="Take it again at a smaller size.",
    )


def _kept(link: Connection, sha256: str, picture: Picture | None, refused: str, now: str) -> None:
    row: dict[str, Any] = {"sha256": sha256, "received_at": now, "refused": refused}
    if picture is not None:
        row |= {
            "kept_sha256": hashlib.sha256(picture.data).hexdigest(),
            "kept_bytes": len(picture.data),
            "width_px": picture.width_px,
            "height_px": picture.height_px,
        }
        wants = link.execute(select(item_photo.c.keep_place).where(item_photo.c.sha256 == sha256)).scalars()
        said = list(wants)
        if any(said) or not said:  # no item yet: what it says decides when it comes
            row |= {
                "taken_at": picture.taken_at or None,
                "latitude_deg": picture.latitude_deg,
                "longitude_deg": picture.longitude_deg,
            }
    link.execute(put(photo).values(**row).on_conflict_do_nothing())
    link.execute(delete(part).where(part.c.sha256 == sha256))
