"""The bin: a pond that was taken away stays 30 days and comes back whole; or it is erased for good."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, delete, insert, null, select, update

from plumeline.errors import InputError
from plumeline.store.capture_tables import item
from plumeline.store.engine import Database
from plumeline.store.errors import NotThereError
from plumeline.store.people_tables import acceptance, customer_link, session
from plumeline.store.pond_rows import time_of
from plumeline.store.ponds import Clock, stamp, there
from plumeline.store.runs import GOING, RunState
from plumeline.store.schema import (
    binned_pond,
    blob,
    pond,
    pond_place,
    quote,
    quote_file,
    revision,
    revision_file,
    run,
    run_file,
    sent_once,
    standing,
)

KEPT = timedelta(days=30)


@dataclass(frozen=True)
class Binned:
    """A pond in the bin.

    Attributes:
        id: its id.
        name: its name.
        binned_at: when it was taken away.
        binned_by: by whom.
        goes_at: when it is erased.
    """

    id: str
    name: str
    binned_at: datetime
    binned_by: str
    goes_at: datetime


class Bin:
    """The ponds of a database that were taken away."""

    def __init__(self, database: Database, clock: Clock) -> None:
        self._database = database
        self._clock = clock

    def put(self, pond_id: str, by: str) -> None:
        """Take a pond away: no list, page or link leads to it any more; its plans under way are stopped.

        Raises:
            NotThereError: there is no such pond.
        """
        with self._database.transaction() as link:
            there(link, pond_id)
            link.execute(
                insert(binned_pond).values(pond_id=pond_id, binned_at=stamp(self._clock()), binned_by=by[:80])
            )
            going = (run.c.pond_id == pond_id, run.c.state.in_(GOING))
            waiting = {"state": RunState.CANCELLED, "ended_at": stamp(self._clock())}
            link.execute(update(run).where(*going, run.c.state == RunState.WAITING).values(**waiting))
            link.execute(
                update(run).where(*going, run.c.state == RunState.RUNNING).values(state=RunState.STOPPING)
            )

    def take_back(self, pond_id: str) -> None:
        """Bring a pond back as it was.

        Raises:
            NotThereError: it is not in the bin.
        """
        with self._database.transaction() as link:
            _in_bin(link, pond_id)
            link.execute(delete(binned_pond).where(binned_pond.c.pond_id == pond_id))

    def all(self) -> tuple[Binned, ...]:
        """Return the ponds in the bin, the latest first."""
        wanted = (
            select(binned_pond, pond.c.name)
            .join(pond, pond.c.id == binned_pond.c.pond_id)
            .order_by(binned_pond.c.binned_at.desc())
        )
        with self._database.reading() as link:
            rows = link.execute(wanted).all()
        return tuple(
            Binned(
                row.pond_id, row.name, time_of(row.binned_at), row.binned_by, time_of(row.binned_at) + KEPT
            )
            for row in rows
        )

    def erase(self, pond_id: str, typed_name: str) -> None:
        """Erase a pond of the bin for good: revisions, files, plans, links. Backups made before still hold it.

        Items from the field stay, assigned to no pond: a phone was told that they are held.

        Raises:
            NotThereError: it is not in the bin.
            InputError: what was typed is not its name.
        """
        with self._database.transaction() as link:
            name = _in_bin(link, pond_id)
            if " ".join(typed_name.split()) != " ".join(name.split()):
                raise InputError(
                    "the name that was typed is not the pond's; nothing was erased.",
                    remedy="Type the name as it stands in the list, letter by letter.",
                )
            _erase(link, pond_id)

    def erase_old(self) -> list[str]:
        """Erase what was in the bin for 30 days, and return the names."""
        last = stamp(self._clock() - KEPT)
        wanted = (
            select(pond.c.id, pond.c.name)
            .join(binned_pond, binned_pond.c.pond_id == pond.c.id)
            .where(binned_pond.c.binned_at <= last)
        )
        with self._database.reading() as link:
            if link.execute(wanted.limit(1)).first() is None:
                return []
        with self._database.transaction() as link:
            rows = link.execute(wanted).all()
            for row in rows:
                _erase(link, row.id)
        return [str(row.name) for row in rows]


def _in_bin(link: Connection, pond_id: str) -> str:
    wanted = (
        select(pond.c.name).join(binned_pond, binned_pond.c.pond_id == pond.c.id).where(pond.c.id == pond_id)
    )
    found = link.execute(wanted).scalar_one_or_none()
    if found is None:
        raise NotThereError(
            f"pond '{pond_id[:80]}' is not in the bin.", remedy="Look for it in the list of all ponds."
        )
    return str(found)


def _erase(link: Connection, pond_id: str) -> None:
    """Take away every row of a pond, what belongs to others first, and contents that nothing names any more."""
    runs = select(run.c.id).where(run.c.pond_id == pond_id)
    links = select(customer_link.c.id).where(customer_link.c.pond_id == pond_id)
    taken = (item.c.pond_id == pond_id,)
    link.execute(update(item).where(*taken).values(pond_id=null()))
    link.execute(delete(run_file).where(run_file.c.run_id.in_(runs)))
    link.execute(delete(session).where(session.c.link_id.in_(links)))
    for table in (
        acceptance,
        customer_link,
        quote_file,
        quote,
        run,
        standing,
        pond_place,
        revision_file,
        revision,
        sent_once,
        binned_pond,
    ):
        link.execute(delete(table).where(table.c.pond_id == pond_id))
    link.execute(delete(pond).where(pond.c.id == pond_id))
    link.execute(
        delete(blob).where(
            blob.c.sha256.not_in(select(revision_file.c.sha256)),
            blob.c.sha256.not_in(select(run_file.c.sha256)),
            blob.c.sha256.not_in(select(quote_file.c.sha256)),
        )
    )
