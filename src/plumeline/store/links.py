"""Links by which a customer reads one pond's papers and accepts them; only hashes of their tokens are kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

from sqlalchemy import Connection, Select, exists, insert, select, update

from plumeline.errors import InputError
from plumeline.store.engine import Database
from plumeline.store.errors import ConflictError, NotThereError
from plumeline.store.people import hash_of, new_token
from plumeline.store.people_tables import acceptance, customer_link, session
from plumeline.store.ponds import Clock, stamp, there
from plumeline.store.read_back import read_back
from plumeline.store.runs import RunState
from plumeline.store.schema import binned_pond, pond, quote, revision, run

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
    """What a customer accepted: which revision, under which name, when.

    Attributes:
        id: its id.
        link_id: the link by which it was accepted.
        pond_id: the pond.
        number: the revision.
        name: as typed.
        accepted_at: when.
        quote_number: of the quote that stood on the page; None where none did, or nobody kept that then.
        quote_made_at: when that was made.
        run_id: of the start-up plan that stood on the page; None likewise.
        plan_made_at: when that was made.
    """

    id: str
    link_id: str
    pond_id: str
    number: int
    name: str
    accepted_at: datetime
    quote_number: int | None = None
    quote_made_at: datetime | None = None
    run_id: str | None = None
    plan_made_at: datetime | None = None

    @property
    def are_papers_noted(self) -> bool:
        """Return whether it names a paper; one kept before papers were noted names none, and none is kept today."""
        return self.quote_number is not None or self.run_id is not None


@dataclass(frozen=True)
class Papers:
    """The papers that stood on a customer's page: a quote's number, a plan's run; None where there was none."""

    quote_number: int | None = None
    run_id: str | None = None


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

    def accept(self, link_id: str, number: int, name: str, papers: Papers) -> Acceptance:
        """Keep that a customer accepted a revision and the papers that they saw; sent twice under one name it is one.

        Raises:
            InputError: no name was typed, or there is no paper to accept.
            NotThereError: the link is over, or the pond has no such paper of that revision.
            ConflictError: the pond was saved since the page was shown.
        """
        shown = " ".join(name.split())
        if not shown or len(shown) > LONGEST_NAME:
            raise InputError("no name was typed.", remedy=f"Type your name, up to {LONGEST_NAME} letters.")
        if papers == Papers():
            raise InputError("there is no paper to accept yet.", remedy="Ask the office for one.")
        ident = uuid4().hex
        with self._database.transaction() as link:
            row = link.execute(links().where(customer_link.c.id == link_id)).first()
            if row is None or not self._link(row).open:
                raise NotThereError("this link is over.", remedy="Ask for a new one.")
            _must_stand(link, row.pond_id, number)
            _must_be_of(link, row.pond_id, number, papers)
            same = _accepted().where(
                acceptance.c.link_id == link_id, acceptance.c.number == number, acceptance.c.name == shown,
                acceptance.c.quote_number.is_not_distinct_from(papers.quote_number),
                acceptance.c.run_id.is_not_distinct_from(papers.run_id),
            )  # fmt: skip
            before = link.execute(same).first()
            if before is not None:
                return _acceptance(before)
            link.execute(
                insert(acceptance).values(
                    id=ident, link_id=link_id, pond_id=row.pond_id, number=number, name=shown,
                    accepted_at=stamp(self._clock()), quote_number=papers.quote_number, run_id=papers.run_id,
                )
            )  # fmt: skip
            return _acceptance(link.execute(_accepted().where(acceptance.c.id == ident)).one())

    def accepted(self, pond_id: str) -> list[Acceptance]:
        """Return what was accepted of a pond, the latest first."""
        wanted = _accepted().where(acceptance.c.pond_id == pond_id).order_by(acceptance.c.accepted_at.desc())
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


def _must_stand(link: Connection, pond_id: str, number: int) -> None:
    there(link, pond_id)
    latest = link.execute(
        select(revision)
        .join(pond, (pond.c.id == revision.c.pond_id) & (pond.c.latest_revision == revision.c.number))
        .where(pond.c.id == pond_id)
    ).one()
    if latest.number != number:
        raise ConflictError(pond_id, number, latest.number, latest.author, latest.saved_at)


def _must_be_of(link: Connection, pond_id: str, number: int, papers: Papers) -> None:
    """Refuse papers of another pond or revision."""
    of_quote = select(quote.c.number).where(
        quote.c.pond_id == pond_id, quote.c.number == number, quote.c.quote_number == papers.quote_number
    )
    of_run = select(run.c.id).where(
        run.c.id == papers.run_id,
        run.c.pond_id == pond_id,
        run.c.number == number,
        run.c.state == RunState.DONE,
    )
    for wanted, asked in ((of_quote, papers.quote_number), (of_run, papers.run_id)):
        if asked is not None and link.execute(wanted).first() is None:
            raise NotThereError("there is no such paper of this revision.")


def _accepted() -> Select[Any]:
    """Return the query of acceptances with the times of their papers."""
    of_quote = (quote.c.pond_id == acceptance.c.pond_id) & (quote.c.quote_number == acceptance.c.quote_number)
    return (
        select(acceptance, quote.c.made_at.label("quote_made_at"), run.c.ended_at.label("plan_made_at"))
        .outerjoin(quote, of_quote)
        .outerjoin(run, run.c.id == acceptance.c.run_id)
    )


@read_back
def _acceptance(row: Any) -> Acceptance:
    def time_of(text: str | None) -> datetime | None:
        return None if text is None else datetime.fromisoformat(text)

    return Acceptance(
        row.id, row.link_id, row.pond_id, row.number, row.name, datetime.fromisoformat(row.accepted_at),
        row.quote_number, time_of(row.quote_made_at), row.run_id, time_of(row.plan_made_at),
    )  # fmt: skip
