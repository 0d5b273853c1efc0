"""Long computations: asked for by anybody, owned by one worker, their progress and results kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any
from uuid import uuid4

from sqlalchemy import Connection, insert, select, update

from plumeline.store.engine import Database
from plumeline.store.errors import NotThereError
from plumeline.store.ponds import Clock, keep_blob, stamp, there
from plumeline.store.read_back import read_back
from plumeline.store.schema import blob, revision, run, run_file

MOST_ATTEMPTS = 2


class RunKind(StrEnum):
    """What a run works out."""

    START_UP = "start-up"
    ALTERNATIVES = "alternatives"


class RunState(StrEnum):
    """Where a run stands."""

    WAITING = "waiting"
    RUNNING = "running"
    STOPPING = "stopping"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"

    @property
    def ended(self) -> bool:
        """Return whether nothing more will come."""
        return self in (RunState.DONE, RunState.FAILED, RunState.CANCELLED)


GOING = (RunState.WAITING, RunState.RUNNING, RunState.STOPPING)


@dataclass(frozen=True)
class Run:
    """A start-up plan, or a pond's alternatives, in the making or made.

    Attributes:
        id: its id.
        pond_id: the pond.
        number: the revision that it is computed for.
        state: where it stands.
        doing: what is being done.
        share_fraction: how far that is, 0 to 1.
        asked_at: when it was asked for.
        ended_at: when it ended; None before.
        program: the version of the program that ran it.
        words: why it failed; empty else.
        kind: what it works out.
    """

    id: str
    pond_id: str
    number: int
    state: RunState
    doing: str
    share_fraction: float
    asked_at: datetime
    ended_at: datetime | None
    program: str
    words: str
    kind: RunKind


class Runs:
    """The runs of a database."""

    def __init__(self, database: Database, clock: Clock) -> None:
        self._database = database
        self._clock = clock

    def ask(self, pond_id: str, number: int, program: str, kind: RunKind = RunKind.START_UP) -> Run:
        """Ask for a run of a revision; the one of its kind that is under way already is returned, if there is one.

        Raises:
            NotThereError: no such revision.
        """
        with self._database.transaction() as link:
            there(link, pond_id)
            known = select(revision.c.number).where(
                revision.c.pond_id == pond_id, revision.c.number == number
            )
            if link.execute(known).first() is None:
                raise NotThereError(f"pond '{pond_id[:80]}' has no revision {number}.")
            going = select(run).where(
                run.c.pond_id == pond_id, run.c.number == number, run.c.kind == kind, run.c.state.in_(GOING)
            )
            found = link.execute(going.where(run.c.state != RunState.STOPPING)).first()
            if found is None:
                row = {
                    "id": uuid4().hex, "pond_id": pond_id, "number": number, "state": RunState.WAITING, "attempts": 0,
                    "doing": "waiting for its turn", "share_fraction": 0.0, "asked_at": self._now(),
                    "program": program, "words": "", "kind": kind,
                }  # fmt: skip
                link.execute(insert(run).values(**row))
                found = _row(link, str(row["id"]))
        return _run(found)

    def get(self, run_id: str) -> Run:
        """Return a run.

        Raises:
            NotThereError: no such run.
        """
        with self._database.reading() as link:
            return _run(_row(link, run_id))

    def of_pond(self, pond_id: str, most: int = 20, kind: RunKind = RunKind.START_UP) -> tuple[Run, ...]:
        """Return the runs of a pond that are of one kind, the latest first."""
        own = select(run).where(run.c.pond_id == pond_id, run.c.kind == kind)
        wanted = own.order_by(run.c.asked_at.desc()).limit(most)
        with self._database.reading() as link:
            return tuple(_run(row) for row in link.execute(wanted))

    def any_going(self) -> bool:
        """Return whether a run waits, runs, or was broken off."""
        with self._database.reading() as link:
            return link.execute(select(run.c.id).where(run.c.state.in_(GOING)).limit(1)).first() is not None

    def claim(self, *kinds: RunKind) -> Run | None:
        """Take a run for the one worker, of those that take seconds before those that take minutes; None for none.

        Args:
            kinds: which are taken; any where none is named.
        """
        wanted = (
            select(run)
            .where(run.c.state == RunState.WAITING, run.c.kind.in_(kinds or tuple(RunKind)))
            .order_by(run.c.kind != RunKind.ALTERNATIVES, run.c.asked_at)
            .limit(1)
        )
        with self._database.reading() as link:
            if link.execute(wanted).first() is None:
                return None
        with self._database.transaction() as link:
            row = link.execute(wanted).first()
            if row is None:
                return None
            _set(link, row.id, state=RunState.RUNNING, started_at=self._now(), attempts=row.attempts + 1)
            return _run(_row(link, row.id))

    def tell(self, run_id: str, doing: str, share_fraction: float) -> bool:
        """Keep how far a run is; False when it is to stop."""
        with self._database.transaction() as link:
            _set(link, run_id, doing=doing, share_fraction=min(max(share_fraction, 0.0), 1.0))
            return bool(_row(link, run_id).state == RunState.RUNNING)

    def finish(self, run_id: str, files: Mapping[str, bytes]) -> None:
        """Keep the files of a run and end it, both or neither; a run that was to stop is cancelled."""
        with self._database.transaction() as link:
            if _row(link, run_id).state != RunState.RUNNING:
                self._end(link, run_id, RunState.CANCELLED)
                return
            for path, data in files.items():
                row = {"run_id": run_id, "path": path, "sha256": keep_blob(link, data)}
                link.execute(insert(run_file).values(**row))
            _set(link, run_id, doing="done", share_fraction=1.0)
            self._end(link, run_id, RunState.DONE)

    def fail(self, run_id: str, words: str) -> None:
        """End a run that can't be done, with the reason."""
        with self._database.transaction() as link:
            self._end(link, run_id, RunState.FAILED, words)

    def stop(self, run_id: str) -> Run:
        """Cancel a run: at once where it waits, else as soon as the worker hears of it; an ended one stays."""
        with self._database.transaction() as link:
            state = _row(link, run_id).state
            if state == RunState.WAITING:
                self._end(link, run_id, RunState.CANCELLED)
            elif state == RunState.RUNNING:
                _set(link, run_id, state=RunState.STOPPING)
            return _run(_row(link, run_id))

    def stopped(self, run_id: str) -> None:
        """End a run that the worker has left off."""
        with self._database.transaction() as link:
            self._end(link, run_id, RunState.CANCELLED)

    def take_over(self) -> None:
        """Put the runs of a worker that is gone back in the row; one that broke off twice has failed."""
        left = select(run).where(run.c.state.in_((RunState.RUNNING, RunState.STOPPING)))
        with self._database.transaction() as link:
            for row in link.execute(left).all():
                if row.state == RunState.STOPPING:
                    self._end(link, row.id, RunState.CANCELLED)
                elif row.attempts >= MOST_ATTEMPTS:
                    self._end(link, row.id, RunState.FAILED, "The program ended twice while it was at this.")
                else:
                    _set(
                        link,
                        row.id,
                        state=RunState.WAITING,
                        doing="waiting for its turn again",
                        share_fraction=0.0,
                    )

    def files(self, run_id: str) -> tuple[str, ...]:
        """Return the paths of a run's files."""
        wanted = select(run_file.c.path).where(run_file.c.run_id == run_id).order_by(run_file.c.path)
        with self._database.reading() as link:
            return tuple(link.execute(wanted).scalars())

    def file(self, run_id: str, path: str) -> bytes:
        """Return one file of a run.

        Raises:
            NotThereError: no such file.
        """
        wanted = (
            select(blob.c.content)
            .join(run_file, run_file.c.sha256 == blob.c.sha256)
            .where(run_file.c.run_id == run_id, run_file.c.path == path)
        )
        with self._database.reading() as link:
            found = link.execute(wanted).scalar_one_or_none()
        if found is None:
            raise NotThereError(f"this run has no file '{path[:80]}'.")
        return bytes(found)

    def of_many(self, pond_ids: Sequence[str], path: str) -> dict[str, bytes]:
        """Return one file of the plan made last of each of several ponds; ponds without it are left out."""
        wanted = (
            select(run.c.pond_id, blob.c.content)
            .join(run_file, run_file.c.run_id == run.c.id)
            .join(blob, blob.c.sha256 == run_file.c.sha256)
            .where(run.c.pond_id.in_(pond_ids), run.c.state == RunState.DONE, run_file.c.path == path)
            .order_by(run.c.ended_at)
        )
        with self._database.reading() as link:
            return {row.pond_id: bytes(row.content) for row in link.execute(wanted)}

    def _end(self, link: Connection, run_id: str, state: RunState, words: str = "") -> None:
        _set(link, run_id, state=state, words=words, ended_at=self._now())

    def _now(self) -> str:
        return stamp(self._clock())


def _set(link: Connection, run_id: str, **values: Any) -> None:
    link.execute(update(run).where(run.c.id == run_id).values(**values))


def _row(link: Connection, run_id: str) -> Any:
    found = link.execute(select(run).where(run.c.id == run_id)).one_or_none()
    if found is None:
        raise NotThereError("there is no such run.", remedy="Look at the pond's page.")
    return found


@read_back
def _run(row: Any) -> Run:
    return Run(
        row.id, row.pond_id, row.number, RunState(row.state), row.doing, row.share_fraction,
        datetime.fromisoformat(row.asked_at),
        None if row.ended_at is None else datetime.fromisoformat(row.ended_at),
        row.program, row.words, RunKind(row.kind),
    )  # fmt: skip
