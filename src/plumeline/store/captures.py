"""Items that phones hand over: each kept once, to the byte, before it is acknowledged; nothing is overwritten."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import Connection, insert, select, update
from sqlalchemy.dialects.sqlite import insert as put

from plumeline.files.field_items import FieldItem, read_item
from plumeline.files.field_times import placed
from plumeline.store.capture_tables import device, item, item_photo, photo
from plumeline.store.engine import Database
from plumeline.store.ponds import Clock, stamp

LONGEST_SKEW_S = 1e11


class State(StrEnum):
    """What became of an item."""

    NEW = "new"
    TAKEN = "taken"
    CONFLICT = "conflict"
    ASIDE = "set aside"


@dataclass(frozen=True)
class Received:
    """That an item is held.

    Attributes:
        id: its id.
        sha256: hash of the bytes that are held.
        server_at: when they came.
        sequence_number: the how many-eth they are of all.
        state: what became of it.
        is_new: they came just now, not before.
        is_variant: the id was held with other bytes before.
    """

    id: str
    sha256: str
    server_at: datetime
    sequence_number: int
    state: State
    is_new: bool
    is_variant: bool


@dataclass(frozen=True)
class Refusal:
    """A photo that can't be taken, and why."""

    sha256: str
    words: str


@dataclass(frozen=True)
class Receipt:
    """What is held of an item; one for each variant of its id.

    Attributes:
        id: its id.
        sha256: hash of the bytes that are held; None where none are.
        held: they and all of its photos are.
        state: what became of it; "unknown" where it is not held.
        missing_photos: those not held whole.
        refused_photos: those that can't be taken.
    """

    id: str
    sha256: str | None
    held: bool
    state: str
    missing_photos: tuple[str, ...] = ()
    refused_photos: tuple[Refusal, ...] = ()


@dataclass(frozen=True)
class Told:
    """What a phone tells of itself when it speaks to the server; None where it does not say."""

    device_id: str
    name: str | None = None
    unsent_count: int | None = None
    oldest_unsent_at: datetime | None = None
    skew_s: float | None = None


class Captures:
    """The items of a database."""

    def __init__(self, database: Database, clock: Clock) -> None:
        self._database = database
        self._clock = clock

    def receive(self, data: bytes, ident: str | None = None) -> Received:
        """Keep an item; where its id is held with other bytes, both are kept and a person picks.

        Args:
            data: the bytes, of which the hash is taken.
            ident: the id under which they were sent.

        Raises:
            JobFolderError: they are no item; nothing is kept.
        """
        found = read_item(data, ident)
        sha256 = hashlib.sha256(data).hexdigest()
        now = self._clock()
        with self._database.transaction() as link:
            wanted = (item.c.sequence, item.c.sha256, item.c.server_at, item.c.state)
            held = link.execute(select(*wanted).where(item.c.id == found.id).order_by(item.c.sequence)).all()
            for place, row in enumerate(held):
                if row.sha256 == sha256:
                    return Received(
                        found.id, sha256, datetime.fromisoformat(row.server_at), row.sequence, State(row.state), False,
                        place > 0,
                    )  # fmt: skip
            skew_s = _met(link, found, now)
            state = State.CONFLICT if held else State.NEW
            sequence = _kept(link, found, data, sha256, now, skew_s, state)
            if held:
                link.execute(
                    update(item)
                    .where(item.c.id == found.id, item.c.state == State.NEW)
                    .values(state=State.CONFLICT)
                )
            _settle_places(link, [named.sha256 for named in found.photos])
        return Received(found.id, sha256, now, sequence, state, True, bool(held))

    def heard(self, told: Told) -> None:
        """Keep what a phone tells of itself."""
        with self._database.transaction() as link:
            _heard(link, told, stamp(self._clock()))

    def receipts(self, idents: Sequence[str]) -> tuple[Receipt, ...]:
        """Return what is held of items, in the order asked for; several where an id has variants."""
        wanted = (item.c.id, item.c.sha256, item.c.state, item.c.sequence)
        with self._database.reading() as link:
            rows = link.execute(
                select(*wanted).where(item.c.id.in_(set(idents))).order_by(item.c.sequence)
            ).all()
            photos = link.execute(
                select(item_photo.c.sequence, item_photo.c.sha256, photo.c.refused)
                .outerjoin(photo, photo.c.sha256 == item_photo.c.sha256)
                .where(item_photo.c.sequence.in_([row.sequence for row in rows]))
            ).all()
        named: dict[int, list[Any]] = {}
        for one in photos:
            named.setdefault(one.sequence, []).append(one)
        by_id: dict[str, list[Receipt]] = {}
        for row in rows:
            by_id.setdefault(row.id, []).append(_receipt(row, named.get(row.sequence, [])))
        return tuple(
            receipt
            for ident in dict.fromkeys(idents)
            for receipt in by_id.get(ident, [Receipt(ident, None, False, "unknown")])
        )


def _receipt(row: Any, photos: Sequence[Any]) -> Receipt:
    missing = tuple(named.sha256 for named in photos if named.refused is None)
    refused = tuple(Refusal(named.sha256, named.refused) for named in photos if named.refused)
    return Receipt(row.id, row.sha256, not missing and not refused, row.state, missing, refused)


def _met(link: Connection, found: FieldItem, now: datetime) -> float | None:
    """Keep that a device spoke; return how far its clock is behind, as it says or as was measured before."""
    skew_s = found.clock_skew_s
    if skew_s is not None and abs(skew_s) > LONGEST_SKEW_S:
        skew_s = None
    _heard(link, Told(found.device_id, found.device_name, skew_s=skew_s), stamp(now), found.author)
    if skew_s is not None:
        return skew_s
    return link.execute(select(device.c.skew_s).where(device.c.id == found.device_id)).scalar_one_or_none()


def _heard(link: Connection, told: Told, now: str, author: str | None = None) -> None:
    said: dict[str, Any] = {"last_contact_at": now}
    if told.name:
        said["name"] = told.name
    if author:
        said["author"] = author
    if told.skew_s is not None and abs(told.skew_s) <= LONGEST_SKEW_S:
        said["skew_s"] = told.skew_s
    if told.unsent_count is not None:
        oldest = told.oldest_unsent_at
        said |= {
            "unsent_count": told.unsent_count,
            "oldest_unsent_at": None if oldest is None else oldest.isoformat(),
        }
    first = {"id": told.device_id, "name": "", "author": "", **said}
    link.execute(put(device).values(**first).on_conflict_do_update(index_elements=["id"], set_=said))


def _kept(
    link: Connection, found: FieldItem, data: bytes, sha256: str, now: datetime, skew_s: float | None, state: State
) -> int:  # fmt: skip
    when = placed(found.made_at, now, clock_skew_s=skew_s, gps_at=found.gps_at)
    done = link.execute(
        insert(item).values(
            id=found.id,
            sha256=sha256,
            device_id=found.device_id,
            kind=found.kind,
            author=found.author,
            pond_id=found.pond_id,
            supersedes=found.supersedes,
            server_at=stamp(now),
            placed_at=stamp(when.time),
            placed_by=when.by,
            clock_words=when.words,
            state=state,
            words="",
            content=data,
        )
    )
    assert done.inserted_primary_key is not None
    sequence = int(done.inserted_primary_key[0])
    named = {photo.sha256: photo for photo in found.photos}
    if named:
        rows = [
            {"sequence": sequence, "sha256": key, "size_bytes": one.size_bytes, "keep_place": one.keep_place}
            for key, one in named.items()
        ]
        link.execute(insert(item_photo), rows)
    return sequence


def _settle_places(link: Connection, photos: Sequence[str]) -> None:
    """Forget when and where photos were taken that came before the item, where no item wants it kept."""
    for sha256 in photos:
        wants = select(item_photo.c.sequence).where(item_photo.c.sha256 == sha256, item_photo.c.keep_place)
        if link.execute(wants.limit(1)).first() is None:
            nothing = {"taken_at": None, "latitude_deg": None, "longitude_deg": None}
            link.execute(update(photo).where(photo.c.sha256 == sha256).values(**nothing))
