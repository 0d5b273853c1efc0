"""What phones handed over, as pages list it: items with their photos, and the phones themselves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, and_, func, or_, select, true

from plumeline.files.field_items import FieldItem, local_time
from plumeline.store.capture_tables import device, item, item_photo, photo
from plumeline.store.captures import State
from plumeline.store.engine import Database
from plumeline.store.errors import NotThereError
from plumeline.store.read_back import read_back

LONGEST_CHAIN = 200
OFFICE_DEVICE = "00000000-0000-5000-8000-0000000000ff"
"""No phone: under this id stands what the office corrected."""


@dataclass(frozen=True)
class PhotoRow:
    """A photo of an item.

    Attributes:
        sha256: hash of the phone's file.
        held: it can be shown.
        refused: why it can't be taken; empty where it can.
        size: width and height in pixels, in words.
        taken_at: when it was taken, where the item wants that kept.
        place: where, in words.
    """

    sha256: str
    held: bool
    refused: str
    size: str
    taken_at: str
    place: str


@dataclass(frozen=True)
class ItemRow:
    """An item with what became of it.

    Attributes:
        sequence_number: its place in the order in which all came.
        sha256: hash of its bytes.
        item: what it says.
        device_name: name of the phone.
        pond_id: the pond that it was assigned to.
        server_at: when it came.
        made_at: when it was made, by the clock of the place.
        placed_by: how that was found: device, gps or server.
        clock_words: what is odd about the phone's clock.
        state: what became of it.
        words: why, where it could not be taken.
        decided_at: when somebody took it or set it aside.
        decided_by: who.
        taken_number: the revision that it went into.
        taken_path: the file that its rows went into.
        taken_lines: those rows.
        photos: its photos.
    """

    sequence_number: int
    sha256: str
    item: FieldItem
    device_name: str
    pond_id: str | None
    server_at: datetime
    made_at: datetime
    placed_by: str
    clock_words: str
    state: State
    words: str
    decided_at: datetime | None
    decided_by: str
    taken_number: int | None
    taken_path: str
    taken_lines: tuple[str, ...]
    photos: tuple[PhotoRow, ...] = ()

    @property
    def live(self) -> bool:
        """Return whether nobody has set it aside."""
        return self.state is not State.ASIDE


@dataclass(frozen=True)
class DeviceRow:
    """A phone.

    Attributes:
        id: made on the phone.
        name: what its owner calls it.
        author: whose readings came last.
        last_contact_at: when it spoke to the server last.
        unsent_count: how many items it had not handed over then; None where it never said.
        oldest_unsent_at: when the oldest of them was made, by its clock.
        skew_s: server minus phone when that was measured last.
        held_count: how many of its items are here.
        open_count: how many of those nobody has decided on.
    """

    id: str
    name: str
    author: str
    last_contact_at: datetime
    unsent_count: int | None
    oldest_unsent_at: datetime | None
    skew_s: float | None
    held_count: int
    open_count: int


class CaptureList:
    """Reads the items and phones of a database."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def items(
        self, *, pond_id: str | None = None, states: Sequence[State] = (), device_id: str = "",
        before: int | None = None, most: int | None = None, latest_first: bool = False,
    ) -> tuple[ItemRow, ...]:  # fmt: skip
        """Return items in the order in which they came, or the other way round.

        Args:
            pond_id: of this pond alone.
            states: in one of these alone.
            device_id: of this phone alone.
            before: those that came before the one of this number.
            most: how many; all when None.
            latest_first: the last that came stands first.
        """
        wanted: list[ColumnElement[bool]] = [true() if before is None else item.c.sequence < before]
        if pond_id is not None:
            wanted.append(item.c.pond_id == pond_id)
        if states:
            wanted.append(item.c.state.in_([str(state) for state in states]))
        if device_id:
            wanted.append(item.c.device_id == device_id)
        return self._rows(and_(*wanted), most, latest_first=latest_first)

    def one(self, sequence: int) -> ItemRow:
        """Return an item.

        Raises:
            NotThereError: there is none of that number.
        """
        found = self._rows(item.c.sequence == sequence, 1)
        if not found:
            raise NotThereError(f"there is no field item no. {sequence}.")
        return found[0]

    def content(self, sequence: int) -> bytes:
        """Return the bytes that a phone sent.

        Raises:
            NotThereError: there is none of that number.
        """
        with self._database.reading() as link:
            found = link.execute(select(item.c.content).where(item.c.sequence == sequence)).scalar()
        if found is None:
            raise NotThereError(f"there is no field item no. {sequence}.")
        return bytes(found)

    def counts(self, pond_id: str | None = None) -> dict[str, int]:
        """Return how many items are in each state, of one pond or of all."""
        wanted = true() if pond_id is None else item.c.pond_id == pond_id
        with self._database.reading() as link:
            rows = link.execute(select(item.c.state, func.count()).where(wanted).group_by(item.c.state)).all()
        return {str(state): 0 for state in State} | {row[0]: int(row[1]) for row in rows}

    @read_back
    def devices(self) -> tuple[DeviceRow, ...]:
        """Return the phones; those with the most that is not handed over first."""
        undecided = item.c.state.in_([State.NEW, State.CONFLICT])
        with self._database.reading() as link:
            rows = link.execute(
                select(
                    device, func.count(item.c.sequence).label("held"),
                    func.count(item.c.sequence).filter(undecided).label("undecided"),
                )
                .outerjoin(item, item.c.device_id == device.c.id)
                .where(device.c.id != OFFICE_DEVICE)
                .group_by(device.c.id)
                .order_by(func.coalesce(device.c.unsent_count, 0).desc(), device.c.last_contact_at.desc())
            ).all()  # fmt: skip
        return tuple(
            DeviceRow(
                row.id, row.name, row.author, datetime.fromisoformat(row.last_contact_at), row.unsent_count,
                _time(row.oldest_unsent_at), row.skew_s, int(row.held), int(row.undecided),
            )
            for row in rows
        )  # fmt: skip

    def root_of(self, row: ItemRow) -> tuple[str, ItemRow]:
        """Return the id that an item's edits began from, and the first of them that is held."""
        first, name = row, row.item.id
        seen = {name}
        while first.item.supersedes and first.item.supersedes not in seen and len(seen) < LONGEST_CHAIN:
            name = first.item.supersedes
            seen.add(name)
            before = self._rows(item.c.id == name, 1)
            if not before:
                break
            first = before[0]
        return name, first

    def family(self, root_id: str) -> tuple[ItemRow, ...]:
        """Return every variant and every edit of an item, in the order in which they came."""
        known: dict[int, ItemRow] = {}
        idents = {root_id}
        fresh = set(idents)
        while fresh and len(idents) <= LONGEST_CHAIN:
            found = self._rows(or_(item.c.id.in_(fresh), item.c.supersedes.in_(fresh)), LONGEST_CHAIN)
            known |= {row.sequence_number: row for row in found}
            fresh = {row.item.id for row in found} - idents
            idents |= fresh
        return tuple(known[number] for number in sorted(known))

    def _rows(
        self, wanted: ColumnElement[bool], most: int | None, *, latest_first: bool = False
    ) -> tuple[ItemRow, ...]:
        with self._database.reading() as link:
            rows = link.execute(
                select(item, device.c.name.label("device_name"))
                .join(device, device.c.id == item.c.device_id)
                .where(wanted)
                .order_by(item.c.sequence.desc() if latest_first else item.c.sequence)
                .limit(most)
            ).all()
            numbers = [row.sequence for row in rows]
            photos = link.execute(
                select(
                    item_photo.c.sequence, item_photo.c.keep_place, item_photo.c.sha256.label("key"), photo
                )
                .outerjoin(photo, photo.c.sha256 == item_photo.c.sha256)
                .where(item_photo.c.sequence.between(min(numbers, default=0), max(numbers, default=0)))
            ).all()
        by_item: dict[int, list[PhotoRow]] = {}
        for one in photos:
            by_item.setdefault(one.sequence, []).append(_photo(one))
        return tuple(_item(row, by_item.get(row.sequence, [])) for row in rows)


@read_back
def _photo(row: Any) -> PhotoRow:
    place = ""
    if row.keep_place and row.latitude_deg is not None:
        place = f"{row.latitude_deg:.5f}, {row.longitude_deg:.5f}"
    return PhotoRow(
        row.key,
        row.refused == "",
        row.refused or "",
        f"{row.width_px} by {row.height_px}" if row.width_px else "",
        (row.taken_at or "") if row.keep_place else "",
        place,
    )


@read_back
def _item(row: Any, photos: Sequence[PhotoRow]) -> ItemRow:
    import json

    said = FieldItem.model_validate_json(row.content)
    placed = datetime.fromisoformat(row.placed_at)
    lines = tuple(json.loads(row.taken_lines)) if row.taken_lines else ()
    return ItemRow(
        row.sequence, row.sha256, said, row.device_name, row.pond_id, datetime.fromisoformat(row.server_at),
        local_time(placed, said.time_zone, said.made_at), row.placed_by, row.clock_words, State(row.state), row.words,
        _time(row.decided_at), row.decided_by or "", row.taken_number, row.taken_path or "", lines, tuple(photos),
    )  # fmt: skip


def _time(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)
