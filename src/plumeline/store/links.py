"""Links by which a customer reads one pond's papers and accepts them; only hashes of their tokens are kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

from sqlalchemy import Select, exists, insert, select, update

from plumeline.errors import InputError
from plumeline.store.engine import Database
from plumeline.store.errors import ConflictError, NotThereError
from plumeline.store.people import hash_of, new_token
from plumeline.store.people_tables import acceptance, customer_link, session
from plumeline.store.ponds import Clock, stamp, there
from plumeline.store.read_back import read_back
from plumeline.store.schema import binned_pond, pond, revision

LINK_LASTS = timedelta(days=30)
LONGEST_NAME = 120


@dataclass(frozen=True)
class CustomerLink:
    """A customer's way to one pond.

    Attributes:
        id: its id.
        pond_id: the one pond.
        made_by: who made it.
        created_at: when it was made.
        expires_at: when it ends by itself.
        revoked_at: when it was ended; None where it was not.
        is_expired: it has ended by itself.
        open: it leads somewhere now.
    """

    id: str
    pond_id: str
    made_by: str
    created_at: datetime
    expires_at: datetime
    revoked_at: datetime | None
    is_expired: bool
    open: bool


@dataclass(frozen=True)
class Acceptance:
    """What a customer accepted: which revision, under which name, when."""

    link_id: str
    pond_id: str
    number: int
    name: str
    accepted_at: datetime


def links() -> Select[Any]:
    """Return the query of links; where the pond was taken away, a link leads nowhere until it is back."""
    binned = exists().where(binned_pond.c.pond_id == customer_link.c.pond_id)
    return select(customer_link, binned.label("binned"))


def _by_session(token: str) -> Select[Any]:
    joined = links().join(session, session.c.link_id == customer_link.c.id)
    return joined.where(session.c.token_sha256 == hash_of(token))


class Links:
    """The customer links of a database."""

    def __init__(self, database: Database, clock: Clock) -> None:
        self._database = database
        self._clock = clock

    def make(self, pond_id: str, made_by: str) -> tuple[CustomerLink, str]:
        """Return a new link and its token, which is nowhere kept and can't be shown again.

        Raises:
            NotThereError: there is no such pond.
        """
        token, now, ident = new_token(), self._clock(), uuid4().hex
        with self._database.transaction() as link:
            there(link, pond_id)
            link.execute(
                insert(customer_link).values(
                    id=ident, token_sha256=hash_of(token), pond_id=pond_id, made_by=made_by[:80],
                    created_at=stamp(now), expires_at=stamp(now + LINK_LASTS),
                )
            )  # fmt: skip
        return CustomerLink(ident, pond_id, made_by[:80], now, now + LINK_LASTS, None, False, True), token

    def of_pond(self, pond_id: str) -> list[CustomerLink]:
        """Return the links of a pond, the latest first."""
        wanted = links().where(customer_link.c.pond_id == pond_id).order_by(customer_link.c.created_at.desc())
        with self._database.reading() as link:
            return [self._link(row) for row in link.execute(wanted)]

    def revoke(self, pond_id: str, ident: str) -> None:
        """End a link of a pond: whoever came in by it sees nothing any more but that it has ended.

        Raises:
            NotThereError: the pond has no such link.
        """
        with self._database.transaction() as link:
            mine = (customer_link.c.id == ident, customer_link.c.pond_id == pond_id)
            if link.execute(select(customer_link.c.id).where(*mine)).first() is None:
                raise NotThereError("this pond has no such link.")
            link.execute(
                update(customer_link)
                .where(*mine, customer_link.c.revoked_at.is_(None))
                .values(revoked_at=stamp(self._clock()))
            )

    def enter(self, token: str) -> str | None:
        """Return the token of a session for whoever holds a link's token; None where it leads nowhere."""
        mine, now = new_token(), stamp(self._clock())
        with self._database.transaction() as link:
            row = link.execute(links().where(customer_link.c.token_sha256 == hash_of(token))).first()
            if row is None or not self._link(row).open:
                return None
            link.execute(
                insert(session).values(
                    token_sha256=hash_of(mine), link_id=row.id, created_at=now, expires_at=row.expires_at
                )
            )
        return mine

    def of_session(self, token: str) -> CustomerLink | None:
        """Return the link by which a session came in; None where either is over."""
        found = self._found(_by_session(token))
        return found if found is not None and found.open else None

    def ended_of_session(self, token: str) -> CustomerLink | None:
        """Return the link by which a session came in, where it leads nowhere now; None where it is open."""
        found = self._found(_by_session(token))
        return None if found is None or found.open else found

    def ended_of_token(self, token: str) -> CustomerLink | None:
        """Return the link that a token was made for, where it leads nowhere now; None where it is open."""
        found = self._found(links().where(customer_link.c.token_sha256 == hash_of(token)))
        return None if found is None or found.open else found

    def _found(self, wanted: Select[Any]) -> CustomerLink | None:
        with self._database.reading() as link:
            row = link.execute(wanted).first()
        return None if row is None else self._link(row)

    def accept(self, link_id: str, number: int, name: str) -> Acceptance:
        """Keep that a customer accepted a revision; sent twice under one name it is kept once.

        Raises:
            InputError: no name was typed.
            NotThereError: the link is over.
            ConflictError: the pond was saved since the page was shown.
        """
        shown = " ".join(name.split())
        if not shown or len(shown) > LONGEST_NAME:
            raise InputError("no name was typed.", remedy=f"Type your name, up to {LONGEST_NAME} letters.")
        now = self._clock()
        with self._database.transaction() as link:
            row = link.execute(links().where(customer_link.c.id == link_id)).first()
            if row is None or not self._link(row).open:
                raise NotThereError("this link is over.", remedy="Ask for a new one.")
            there(link, row.pond_id)
            latest = link.execute(
                select(revision)
                .join(pond, (pond.c.id == revision.c.pond_id) & (pond.c.latest_revision == revision.c.number))
                .where(pond.c.id == row.pond_id)
            ).one()
            if latest.number != number:
                raise ConflictError(row.pond_id, number, latest.number, latest.author, latest.saved_at)
            same = select(acceptance).where(
                acceptance.c.link_id == link_id, acceptance.c.number == number, acceptance.c.name == shown
            )
            before = link.execute(same).first()
            if before is not None:
                return _acceptance(before)
            link.execute(
                insert(acceptance).values(
                    id=uuid4().hex, link_id=link_id, pond_id=row.pond_id, number=number, name=shown,
                    accepted_at=stamp(now),
                )
            )  # fmt: skip
        return Acceptance(link_id, row.pond_id, number, shown, now)

    def accepted(self, pond_id: str) -> list[Acceptance]:
        """Return what was accepted of a pond, the latest first."""
        wanted = (
            select(acceptance)
            .where(acceptance.c.pond_id == pond_id)
            .order_by(acceptance.c.accepted_at.desc())
        )
        with self._database.reading() as link:
            return [_acceptance(row) for row in link.execute(wanted)]

    @read_back
    def _link(self, row: Any) -> CustomerLink:
        revoked_at = None if row.revoked_at is None else datetime.fromisoformat(row.revoked_at)
        expires_at = datetime.fromisoformat(row.expires_at)
        is_expired = expires_at <= self._clock()
        return CustomerLink(
            id=row.id, pond_id=row.pond_id, made_by=row.made_by, created_at=datetime.fromisoformat(row.created_at),
            expires_at=expires_at, revoked_at=revoked_at, is_expired=is_expired,
            open=revoked_at is None and not is_expired and not row.binned,
        )  # fmt: skip


@read_back
def _acceptance(row: Any) -> Acceptance:
    return Acceptance(row.link_id, row.pond_id, row.number, row.name, datetime.fromisoformat(row.accepted_at))
