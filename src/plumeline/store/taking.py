"""Taking what phones handed over into the job: by the same save as every change, never over another's value."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from sqlalchemy import Connection, update

from plumeline.errors import InputError, JobFolderError, PlumelineError
from plumeline.files.field_items import ShoreBody
from plumeline.files.field_shore import with_walk
from plumeline.files.field_taking import FieldRows, field_rows, in_its_file, secchi_m
from plumeline.files.geojson import FILE as OUTLINE
from plumeline.files.secchi_line import with_secchi
from plumeline.files.toml_values import JOB_FILE
from plumeline.store.capture_list import CaptureList, ItemRow
from plumeline.store.capture_tables import item
from plumeline.store.captures import State
from plumeline.store.engine import Database
from plumeline.store.errors import ConflictError, StoreError
from plumeline.store.pond_rows import Revision
from plumeline.store.ponds import Clock, Ponds, stamp
from plumeline.store.taking_rows import Rows, alone, in_words, put_rows
from plumeline.units import both

OPEN = (State.NEW, State.CONFLICT)


@dataclass(frozen=True)
class Asked:
    """What somebody in the office wants of items.

    Attributes:
        pond_id: the pond that they belong to.
        expected_number: the revision that was shown.
        author: who takes them.
        note: why, in words; made from the items where it is empty.
        picked: this one, of several that say different things.
        leave_secchi: the readings, and the job's own Secchi depth.
        ports: the gauges of the pond's line; empty where they are not known.
    """

    pond_id: str
    expected_number: int
    author: str
    note: str = ""
    picked: bool = False
    leave_secchi: bool = False
    ports: tuple[str, ...] = ()


@dataclass(frozen=True)
class Left:
    """An item that was not taken, and why; it stays on the page."""

    sequence_number: int
    words: str


@dataclass(frozen=True)
class Outcome:
    """What became of items: the revision they went into, those taken, those left."""

    saved: Revision | None = None
    taken_rows: tuple[int, ...] = ()
    left: tuple[Left, ...] = ()


@dataclass
class _Ready:
    """An item ready to be taken: its rows in its file, and what else is decided with it."""

    row: ItemRow
    path: str = ""
    lines: tuple[str, ...] = ()
    aside: list[ItemRow] = field(default_factory=list)
    replaced: list[ItemRow] = field(default_factory=list)


@dataclass
class _Batch:
    """The folder with the items so far."""

    asked: Asked
    revision: Revision
    files: dict[str, bytes]
    ready: list[_Ready] = field(default_factory=list)
    secchi_by: str = ""


class Taking:
    """Takes items into the job, sets them aside, and takes that back."""

    def __init__(self, database: Database, ponds: Ponds, clock: Clock) -> None:
        self._database = database
        self._ponds = ponds
        self._clock = clock
        self.list = CaptureList(database)

    def take(self, rows: Sequence[int], asked: Asked) -> Outcome:
        """Take items into the job of a pond, as one revision; what can't be taken is left with its reason.

        Args:
            rows: numbers of the items.
            asked: what is wanted of them.

        Raises:
            ConflictError: the pond was saved in between.
            NotThereError: no such pond or item.
        """
        current = self._ponds.revision(asked.pond_id)
        if current.number != asked.expected_number:
            raise ConflictError(
                asked.pond_id,
                asked.expected_number,
                current.number,
                current.author,
                current.saved_at.isoformat(),
            )
        items = [self.list.one(number) for number in sorted(set(rows))]
        batch = _Batch(asked, current, dict(self._ponds.folder(asked.pond_id, current.number).files))
        before = dict(batch.files)
        left: list[Left] = []
        for row in items:
            try:
                self._apply(batch, row)
            except StoreError:
                # of the disk, not of the item: nothing is said of it
                raise
            except PlumelineError as error:
                left.append(Left(row.sequence_number, in_words(error)))
        self._leave(left)
        if not batch.ready:
            return Outcome(None, (), tuple(left))
        if batch.files == before:
            with self._database.transaction() as link:
                self._mark(link, batch, None)
            return Outcome(None, tuple(one.row.sequence_number for one in batch.ready), tuple(left))
        done = self._saved(batch)
        return Outcome(done.saved, done.taken_rows, (*left, *done.left))

    def _saved(self, batch: _Batch) -> Outcome:
        """Save the folder; where it has faults, each item by itself, so that one bad one stops none."""
        asked = batch.asked
        numbers = tuple(one.row.sequence_number for one in batch.ready)
        try:
            saved = self._ponds.save_files(
                asked.pond_id, batch.files, expected_number=asked.expected_number, author=asked.author,
                reason=asked.note or _reason([one.row for one in batch.ready]),
                also=lambda link, number: self._mark(link, batch, number),
            )  # fmt: skip
        except JobFolderError as error:
            if len(numbers) == 1:
                left = (Left(numbers[0], in_words(error)),)
                self._leave(left)
                return Outcome(None, (), left)
            return self._one_by_one(numbers, asked)
        return Outcome(saved, numbers)

    def _one_by_one(self, numbers: Sequence[int], asked: Asked) -> Outcome:
        saved, taken, left = None, list[int](), list[Left]()
        for number in numbers:
            now = asked.expected_number if saved is None else saved.number
            one = self.take([number], replace(asked, expected_number=now))
            saved = one.saved or saved
            taken += one.taken_rows
            left += one.left
        return Outcome(saved, tuple(taken), tuple(left))

    def _apply(self, batch: _Batch, row: ItemRow) -> None:
        """Put an item into the folder of a batch.

        Raises:
            PlumelineError: why it can't be taken as it is.
        """
        if row.state not in OPEN:
            raise InputError(f"it is {row.state} already.", remedy="Undo that first." if not row.live else "")
        root_id, first = self.list.root_of(row)
        family = [one for one in self.list.family(root_id) if one.live]
        asked = batch.asked
        if not asked.picked:
            alone(row, family)
        stands_in = next((one.taken_path for one in reversed(family) if one.taken_path), "")
        said = field_rows(row.item, first.made_at, root_id, asked.ports)
        rows = in_its_file(said, first.made_at, batch.files, batch.revision.job.date, stands_in=stands_in)
        others = [one for one in family if one.sequence_number != row.sequence_number]
        ready = _Ready(
            row,
            aside=[one for one in others if one.state in OPEN],
            replaced=[one for one in others if one.state is State.TAKEN],
        )
        files = dict(batch.files)
        if rows.rows:
            ready.path = rows.file
            ready.lines = put_rows(
                files, rows, Rows(row, root_id, family, asked.pond_id, batch.revision.number, asked.picked)
            )
        body = row.item.parsed
        if isinstance(body, ShoreBody):
            ready.path = OUTLINE
            files[OUTLINE] = with_walk(files, body, batch.revision.job.site, picked=asked.picked)
        if rows.secchi and not asked.leave_secchi:
            own = [one for one in family if one.state is State.TAKEN]
            self._put_secchi(files, rows, row, root_id, own, batch)
            batch.secchi_by = root_id
        batch.files = files
        batch.ready.append(ready)

    def _put_secchi(
        self, files: dict[str, bytes], rows: FieldRows, row: ItemRow, root_id: str, own: Sequence[ItemRow],
        batch: _Batch,
    ) -> None:  # fmt: skip
        now_m, wanted_m = batch.revision.job.pond.secchi_depth_m, rows.secchi_m
        assert wanted_m is not None
        if batch.secchi_by not in ("", root_id):
            raise InputError(
                f"another item that is taken now says a Secchi depth too; this one says {rows.secchi}.",
                remedy="Pick the one that shall stand.",
            )
        ours = any(now_m is not None and now_m == secchi_m(one.item) for one in own)
        if not batch.asked.picked and not ours and now_m is not None and abs(now_m - wanted_m) > 1e-9:
            base = row.item.base_number
            known = None
            if base is not None and base <= batch.revision.number:
                known = self._ponds.revision(batch.revision.pond_id, base).job.pond.secchi_depth_m
            if base is None or known != now_m:
                was = "not known to the phone" if known is None else f"{both(known, 'm')} in revision {base}"
                raise InputError(
                    f"the Secchi depth is {both(now_m, 'm')} in the job now (revision {batch.revision.number}), "
                    f"was {was}, and is {rows.secchi} in this item.",
                    remedy="Pick the one that shall stand.",
                )
        files[JOB_FILE] = with_secchi(files[JOB_FILE], rows.secchi)

    def _mark(self, link: Connection, batch: _Batch, number: int | None) -> None:
        asked = batch.asked
        decided = {"decided_at": stamp(self._clock()), "decided_by": asked.author[:200]}
        for one in batch.ready:
            values = {
                "state": State.TAKEN, "words": "", "pond_id": asked.pond_id, "taken_number": number,
                "taken_path": one.path or None, "taken_lines": json.dumps(one.lines, ensure_ascii=False),
            }  # fmt: skip
            done = link.execute(
                update(item)
                .where(item.c.sequence == one.row.sequence_number, item.c.state.in_(OPEN))
                .values(**values, **decided)
            )
            if done.rowcount != 1:
                raise StoreError(
                    "somebody decided on this item in between; nothing was saved.", remedy="Look again."
                )
            for other in one.replaced:
                words = f"no. {one.row.sequence_number} stands in its place now"
                link.execute(
                    update(item)
                    .where(item.c.sequence == other.sequence_number)
                    .values(taken_path=None, taken_lines=None, words=words)
                )
            for other in one.aside:
                words = f"no. {one.row.sequence_number} was taken in its place"
                link.execute(
                    update(item)
                    .where(item.c.sequence == other.sequence_number, item.c.state.in_(OPEN))
                    .values(state=State.ASIDE, words=words, **decided)
                )

    def _leave(self, left: Sequence[Left]) -> None:
        with self._database.transaction() as link:
            for one in left:
                link.execute(
                    update(item)
                    .where(item.c.sequence == one.sequence_number, item.c.state.in_(OPEN))
                    .values(state=State.CONFLICT, words=one.words)
                )

    def set_aside(self, sequence: int, author: str) -> ItemRow:
        """Set an item aside: it is kept and shown, and taken by nobody until that is undone.

        Raises:
            InputError: it was taken already.
        """
        row = self.list.one(sequence)
        if row.state is State.TAKEN:
            raise InputError(
                "it was taken already.", remedy="Change the job's file, or go back in its history."
            )
        decided = {"decided_at": stamp(self._clock()), "decided_by": author[:200]}
        with self._database.transaction() as link:
            link.execute(
                update(item)
                .where(item.c.sequence == sequence, item.c.state.in_(OPEN))
                .values(state=State.ASIDE, **decided)
            )
        self._settle(row)
        return self.list.one(sequence)

    def undo(self, sequence: int) -> ItemRow:
        """Bring back an item that was set aside.

        Raises:
            InputError: it was not.
        """
        row = self.list.one(sequence)
        if row.state is not State.ASIDE:
            raise InputError(f"it is {row.state}, not set aside.")
        with self._database.transaction() as link:
            link.execute(
                update(item)
                .where(item.c.sequence == sequence, item.c.state == State.ASIDE)
                .values(state=State.NEW, words="", decided_at=None, decided_by=None)
            )
        self._settle(row)
        return self.list.one(sequence)

    def assign(self, sequence: int, pond_id: str) -> None:
        """Say to which pond an item belongs; the bytes that the phone sent stay as they are.

        Raises:
            InputError: it was taken already.
            NotThereError: no such pond or item.
        """
        self._ponds.revision(pond_id)
        row = self.list.one(sequence)
        with self._database.transaction() as link:
            done = link.execute(
                update(item)
                .where(item.c.sequence == sequence, item.c.state != State.TAKEN)
                .values(pond_id=pond_id)
            )
        if done.rowcount != 1:
            raise InputError(f"it is {row.state} already.")

    def _settle(self, row: ItemRow) -> None:
        """Say of the variants of an id whether there is still a choice between them."""
        live = [one for one in self.list.family(row.item.id) if one.item.id == row.item.id and one.live]
        with self._database.transaction() as link:
            for one in live:
                if one.state in OPEN and not one.words:
                    state = State.CONFLICT if len(live) > 1 else State.NEW
                    link.execute(
                        update(item).where(item.c.sequence == one.sequence_number).values(state=state)
                    )


def _reason(rows: Sequence[ItemRow]) -> str:
    kinds: dict[str, int] = {}
    for row in rows:
        kinds[row.item.kind] = kinds.get(row.item.kind, 0) + 1
    what = ", ".join(f"{count} {kind}{'s' if count > 1 else ''}" for kind, count in kinds.items())
    who = ", ".join(sorted({row.item.author or row.device_name for row in rows} - {""}))
    return f"from the field: {what}{f' by {who}' if who else ''}"
