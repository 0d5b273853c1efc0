"""People who may sign in: their one-use codes, passwords and sessions. Secrets are kept as hashes alone."""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from functools import cache
from importlib import resources
from typing import Any
from uuid import uuid4

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from sqlalchemy import Connection, delete, func, insert, select, update

from plumeline.errors import InputError
from plumeline.store.engine import Database
from plumeline.store.errors import NotThereError
from plumeline.store.people_tables import person, session, sign_in_code
from plumeline.store.ponds import Clock, stamp
from plumeline.store.read_back import read_back

CODE_LASTS = timedelta(days=7)
SESSION_LASTS = timedelta(days=30)
"""Absolute: a phone at the water is not asked again each morning, and a lost one is closed by the office."""
SHORTEST_PASSWORD = 8
LONGEST_PASSWORD = 1000
LONGEST_NAME = 60
_CODE_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
"""Without I, O, 0 and 1, which are read for one another."""
_CODE_LENGTH = 20
_hasher = PasswordHasher()


class Role(StrEnum):
    """What a person may do."""

    OFFICE = "office"
    CREW = "crew"


@dataclass(frozen=True)
class Person:
    """Somebody who may sign in.

    Attributes:
        id: theirs.
        name: as it is typed at the sign-in; capitals make no difference.
        role: what they may do.
        created_at: when they were put down.
        disabled: may no longer sign in.
        has_password: has used the first code.
    """

    id: str
    name: str
    role: Role
    created_at: datetime
    disabled: bool
    has_password: bool


class PasswordError(InputError):
    """A password that is not taken, with the reason."""


class WrongPasswordError(PasswordError):
    """The old password is not right."""


class WrongCodeError(InputError):
    """A code that is unknown, used or too old."""


def hash_of(secret: str) -> str:
    """Return the SHA-256 of a secret of 100 bits or more, which needs no slow hash."""
    return hashlib.sha256(secret.encode()).hexdigest()


def new_token() -> str:
    """Return 256 random bits for a cookie or a link."""
    return secrets.token_urlsafe(32)


@cache
def common_passwords() -> frozenset[str]:
    """Return starts of the hashes of passwords that are guessed first, from sources/common_passwords.csv."""
    text = resources.files("plumeline.sources").joinpath("common_passwords.csv").read_text(encoding="utf-8")
    return frozenset(text.split()[1:])


def check_password(password: str) -> None:
    """Refuse a password that is short or among those guessed first.

    Raises:
        PasswordError: it is not taken.
    """
    if len(password) < SHORTEST_PASSWORD:
        raise PasswordError(
            f"a password has {SHORTEST_PASSWORD} characters at least.", remedy="Better: three or four words."
        )
    if len(password) > LONGEST_PASSWORD:
        raise PasswordError(
            f"a password has {LONGEST_PASSWORD} characters at most.", remedy="Take a shorter one."
        )
    if hash_of(password.casefold())[:16] in common_passwords():
        raise PasswordError(
            "this password is one of the first that are guessed.",
            remedy="Take three or four words of your own.",
        )


class People:
    """The people of a database."""

    def __init__(self, database: Database, clock: Clock) -> None:
        self._database = database
        self._clock = clock

    def all(self) -> list[Person]:
        """Return everybody, by name."""
        with self._database.reading() as link:
            return [_person(row) for row in link.execute(select(person).order_by(person.c.name_key))]

    def any_can_sign_in(self) -> bool:
        """Tell whether somebody has a password and is not disabled."""
        wanted = select(func.count()).where(
            person.c.password_hash.is_not(None), person.c.disabled_at.is_(None), person.c.role == Role.OFFICE
        )
        with self._database.reading() as link:
            return bool(link.execute(wanted).scalar_one())

    def add(self, name: str, role: Role) -> str:
        """Put a person down and return the one-use code by which they set their password.

        Raises:
            InputError: the name is empty, too long or taken.
        """
        with self._database.transaction() as link:
            ident = _added(link, name, role, self._clock())
            return self._code_for(link, ident)

    def first_code(self) -> str:
        """Return a code by which the first person of the office names themselves; older ones no longer hold."""
        with self._database.transaction() as link:
            link.execute(delete(sign_in_code).where(sign_in_code.c.person_id.is_(None)))
            return self._code_for(link, None)

    def new_code(self, ident: str) -> str:
        """Return a new code for somebody who forgot their password; older codes no longer hold.

        Raises:
            NotThereError: there is no such person.
        """
        with self._database.transaction() as link:
            _there(link, ident)
            return self._code_for(link, ident)

    def _code_for(self, link: Connection, ident: str | None) -> str:
        letters = "".join(secrets.choice(_CODE_LETTERS) for _ in range(_CODE_LENGTH))
        if ident is not None:
            link.execute(delete(sign_in_code).where(sign_in_code.c.person_id == ident))
        expires_at = stamp(self._clock() + CODE_LASTS)
        link.execute(
            insert(sign_in_code).values(code_sha256=hash_of(letters), person_id=ident, expires_at=expires_at)
        )
        return "-".join(letters[place : place + 5] for place in range(0, _CODE_LENGTH, 5))

    def use_code(self, code: str, password: str, *, name: str = "") -> Person:
        """Set the password that a code allows, and end every session of that person.

        Args:
            code: as it was handed over; blanks, hyphens and small letters make no difference.
            password: the new one.
            name: of the first person, whose code is not made for a name.

        Raises:
            WrongCodeError: the code is unknown, used or too old.
            PasswordError: the password is not taken; the code still holds.
        """
        wanted = select(sign_in_code).where(sign_in_code.c.code_sha256 == hash_of(_plain(code)))
        # before the slow hash, which whoever guesses codes could else have us make as often as they like
        with self._database.reading() as link:
            self._holding(link.execute(wanted).first())
        check_password(password)
        hashed = _hasher.hash(password)
        with self._database.transaction() as link:
            row = self._holding(link.execute(wanted).first())
            ident = row.person_id or _added(link, name, Role.OFFICE, self._clock())
            link.execute(delete(sign_in_code).where(sign_in_code.c.code_sha256 == row.code_sha256))
            link.execute(
                update(person).where(person.c.id == ident).values(password_hash=hashed, disabled_at=None)
            )
            link.execute(delete(session).where(session.c.person_id == ident))
            return _person(_there(link, ident))

    def _holding(self, row: Any) -> Any:
        if row is None or row.expires_at <= stamp(self._clock()):
            raise WrongCodeError(
                "this code is not known, was used, or is too old.",
                remedy="Ask the office for a new one (plumeline people code NAME).",
            )
        return row

    def of_code(self, code: str) -> Person | None:
        """Return whom a code is for; None for the first person's, an unknown or an old one."""
        wanted = (
            select(person)
            .join(sign_in_code, sign_in_code.c.person_id == person.c.id)
            .where(sign_in_code.c.code_sha256 == hash_of(_plain(code)))
        )
        with self._database.reading() as link:
            row = link.execute(wanted).first()
        return None if row is None else _person(row)

    def disable(self, ident: str) -> None:
        """Keep somebody out from now on: their sessions and codes end.

        Raises:
            NotThereError: there is no such person.
        """
        with self._database.transaction() as link:
            _there(link, ident)
            link.execute(update(person).where(person.c.id == ident).values(disabled_at=stamp(self._clock())))
            link.execute(delete(session).where(session.c.person_id == ident))
            link.execute(delete(sign_in_code).where(sign_in_code.c.person_id == ident))

    def named(self, name: str) -> Person:
        """Return somebody by name.

        Raises:
            NotThereError: there is nobody of that name.
        """
        with self._database.reading() as link:
            row = link.execute(select(person).where(person.c.name_key == _key(name))).first()
        if row is None:
            raise NotThereError(f"there is nobody named '{name[:60]}'.", remedy="See: plumeline people list.")
        return _person(row)

    def sign_in(self, name: str, password: str) -> str | None:
        """Return the token of a new session, or None where name and password do not belong together."""
        with self._database.reading() as link:
            row = link.execute(select(person).where(person.c.name_key == _key(name))).first()
        hashed = row.password_hash if row is not None and row.disabled_at is None else None
        # the slow hash is compared whoever asks; nobody's fits no password
        if not _fits(hashed or _nobody(), password) or row is None:
            return None
        return self.begin_session(row.id)

    def begin_session(self, ident: str) -> str:
        """Return the token of a new session of a person; sessions that are over are taken away."""
        token, now = new_token(), self._clock()
        with self._database.transaction() as link:
            link.execute(delete(session).where(session.c.expires_at <= stamp(now)))
            link.execute(
                insert(session).values(
                    token_sha256=hash_of(token), person_id=ident, created_at=stamp(now),
                    expires_at=stamp(now + SESSION_LASTS),
                )
            )  # fmt: skip
        return token

    def of_session(self, token: str) -> Person | None:
        """Return whose session a token is; None where it is over or was never one."""
        wanted = (
            select(person)
            .join(session, session.c.person_id == person.c.id)
            .where(session.c.token_sha256 == hash_of(token), session.c.expires_at > stamp(self._clock()))
            .where(person.c.disabled_at.is_(None))
        )
        with self._database.reading() as link:
            row = link.execute(wanted).first()
        return None if row is None else _person(row)

    def end_session(self, token: str) -> None:
        """End a session."""
        with self._database.transaction() as link:
            link.execute(delete(session).where(session.c.token_sha256 == hash_of(token)))

    def change_password(self, ident: str, old: str, new: str) -> str:
        """Change a password, end every session of that person and return the token of a new one.

        Raises:
            WrongPasswordError: the old one is wrong.
            PasswordError: the new one is not taken.
        """
        with self._database.reading() as link:
            row = _there(link, ident)
        if not _fits(row.password_hash or _nobody(), old):
            raise WrongPasswordError(
                "the old password is not right.", remedy="Type it again, or ask for a code."
            )
        check_password(new)
        hashed = _hasher.hash(new)
        with self._database.transaction() as link:
            link.execute(update(person).where(person.c.id == ident).values(password_hash=hashed))
            link.execute(delete(session).where(session.c.person_id == ident))
        return self.begin_session(ident)


def _plain(code: str) -> str:
    return "".join(mark for mark in code.upper() if mark.isalnum())


def _key(name: str) -> str:
    return " ".join(name.split()).casefold()


def _added(link: Connection, name: str, role: Role, now: datetime) -> str:
    shown = " ".join(name.split())
    if not shown or len(shown) > LONGEST_NAME:
        raise InputError(f"a name has 1 to {LONGEST_NAME} letters.", remedy="Give one to sign in with.")
    if link.execute(select(person.c.id).where(person.c.name_key == _key(shown))).first() is not None:
        raise InputError(f"there is somebody named '{shown}' already.", remedy="Add a letter or a surname.")
    ident = uuid4().hex
    link.execute(
        insert(person).values(
            id=ident, name=shown, name_key=_key(shown), role=role.value, created_at=stamp(now)
        )
    )
    return ident


def _there(link: Connection, ident: str) -> Any:
    row = link.execute(select(person).where(person.c.id == ident)).first()
    if row is None:
        raise NotThereError("there is no such person.", remedy="See: plumeline people list.")
    return row


@cache
def _nobody() -> str:
    """Return the hash of a password that nobody has: an unknown name takes as long as a known one."""
    return _hasher.hash(secrets.token_hex(16))


def _fits(hashed: str, password: str) -> bool:
    if len(password) > LONGEST_PASSWORD:
        return False
    try:
        return _hasher.verify(hashed, password)
    except (VerificationError, InvalidHashError):
        return False


@read_back
def _person(row: Any) -> Person:
    return Person(
        id=row.id, name=row.name, role=Role(row.role), created_at=datetime.fromisoformat(row.created_at),
        disabled=row.disabled_at is not None, has_password=row.password_hash is not None,
    )  # fmt: skip
