"""Quotes: each kept as it was made, with its number, its revision and the start-up plan that it goes with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import func, insert, select

from plumeline.store.engine import Database
from plumeline.store.errors import NotThereError, StoreError
from plumeline.store.ponds import Clock, keep_blob, stamp, there
from plumeline.store.read_back import read_back
from plumeline.store.runs import RunState
from plumeline.store.schema import blob, quote, quote_file, run


@dataclass(frozen=True)
class Quote:
    """One quote.

    Attributes:
        pond_id: the pond.
        quote_number: its number among the quotes of that pond, from 1 on.
        number: the revision that it is of.
        run_id: the start-up plan of that revision that was there; None where none was.
        made_at: when it was made.
        made_by: by whom.
    """

    pond_id: str
    quote_number: int
    number: int
    run_id: str | None
    made_at: datetime
    made_by: str


class NumberTakenError(StoreError):
    """Somebody else made a quote of that number at the same time."""


class Quotes:
    """The quotes of a database; none is ever changed."""

    def __init__(self, database: Database, clock: Clock) -> None:
        self._database = database
        self._clock = clock

    def next_number(self, pond_id: str) -> int:
        """Return the number that a pond's next quote gets."""
        with self._database.reading() as link:
            most = link.execute(select(func.max(quote.c.quote_number)).where(quote.c.pond_id == pond_id))
            return (most.scalar_one_or_none() or 0) + 1

    def keep(
        self,
        pond_id: str,
        quote_number: int,
        number: int,
        run_id: str | None,
        made_by: str,
        files: Mapping[str, bytes],
    ) -> Quote:
        """Keep a quote with its PDF in each system of units.

        Raises:
            NotThereError: no such pond, or the plan is none of that revision.
            NumberTakenError: there is a quote of that number.
        """
        now = self._clock()
        key = {"pond_id": pond_id, "quote_number": quote_number}
        with self._database.transaction() as link:
            there(link, pond_id)
            mine = (quote.c.pond_id == pond_id, quote.c.quote_number == quote_number)
            if link.execute(select(quote.c.number).where(*mine)).first() is not None:
                raise NumberTakenError(f"there is a quote {quote_number} by now.", remedy="Look at it.")
            if run_id is not None:
                wanted = (run.c.id == run_id, run.c.pond_id == pond_id, run.c.number == number)
                done = select(run.c.id).where(*wanted, run.c.state == RunState.DONE)
                if link.execute(done).first() is None:
                    raise NotThereError("there is no such plan of this revision.")
            row = {**key, "number": number, "run_id": run_id, "made_at": stamp(now), "made_by": made_by[:80]}
            link.execute(insert(quote).values(**row))
            for units, data in files.items():
                link.execute(insert(quote_file).values(**key, units=units, sha256=keep_blob(link, data)))
        return Quote(pond_id, quote_number, number, run_id, now, made_by[:80])

    def of_pond(self, pond_id: str) -> list[Quote]:
        """Return the quotes of a pond, the latest first."""
        wanted = select(quote).where(quote.c.pond_id == pond_id).order_by(quote.c.quote_number.desc())
        with self._database.reading() as link:
            return [_quote(row) for row in link.execute(wanted)]

    def latest(self, pond_id: str, number: int) -> Quote | None:
        """Return the quote of a revision that was made last; None where none was."""
        return next((row for row in self.of_pond(pond_id) if row.number == number), None)

    def file(self, pond_id: str, quote_number: int, units: str) -> bytes:
        """Return the PDF of a quote.

        Raises:
            NotThereError: no such quote.
        """
        wanted = (
            select(blob.c.content)
            .join(quote_file, quote_file.c.sha256 == blob.c.sha256)
            .where(quote_file.c.pond_id == pond_id, quote_file.c.quote_number == quote_number)
            .where(quote_file.c.units == units)
        )
        with self._database.reading() as link:
            found = link.execute(wanted).scalar_one_or_none()
        if found is None:
            raise NotThereError(f"this pond has no quote {quote_number}.")
        return bytes(found)


@read_back
def _quote(row: Any) -> Quote:
    made_at = datetime.fromisoformat(row.made_at)
    return Quote(row.pond_id, row.quote_number, row.number, row.run_id, made_at, row.made_by)
