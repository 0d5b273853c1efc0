"""Forms: what was typed, and the token that shows that one of our own pages sent it."""

from __future__ import annotations

import secrets
from collections.abc import AsyncIterator
from dataclasses import dataclass

from fastapi import Request, Response
from starlette.datastructures import FormData, UploadFile

from plumeline.errors import InputError
from plumeline.web.visitors import cookie_name, form_tokens_of, set_cookie, visitor_of

COOKIE = "plumeline_form"
FIELD = "form_token"
TOKEN_LETTERS = 48
LONGEST_FIELD = 2 * 1024 * 1024


@dataclass(frozen=True)
class Sent:
    """A form as it was sent.

    Attributes:
        fields: what it holds.
        signed_by: the name of who signed in; empty where nobody did.
    """

    fields: FormData
    signed_by: str = ""

    def text(self, name: str, default: str = "") -> str:
        """Return a field as it was typed, without blanks around it; the author is who signed in."""
        if name == "author" and self.signed_by:
            return self.signed_by
        found = self.fields.get(name)
        return found.strip() if isinstance(found, str) else default

    def secret(self, name: str) -> str:
        """Return a password as it was typed, blanks and all."""
        found = self.fields.get(name)
        return found if isinstance(found, str) else ""

    def whole(self, name: str) -> str:
        """Return a longer text, with the line ends of a file."""
        found = self.fields.get(name)
        return found.replace("\r\n", "\n") if isinstance(found, str) else ""

    def number(self, name: str) -> int:
        """Return a whole number.

        Raises:
            InputError: it is none.
        """
        text = self.text(name)
        if not text.isascii() or not text.isdigit() or len(text) > 9:
            raise InputError(f"'{text[:40]}' is no number of a revision.", remedy="Load the page again.")
        return int(text)

    async def upload(self, name: str) -> tuple[str, bytes]:
        """Return a file's name and content.

        Raises:
            InputError: none was chosen.
        """
        found = self.fields.get(name)
        if not isinstance(found, UploadFile) or not found.filename:
            raise InputError("no file was chosen.", remedy="Choose one, then send again.")
        return found.filename, await found.read()


class ForeignFormError(Exception):
    """A form without our token: from another site, or from a page that was open for long.

    Attributes:
        fields: what was typed about a pond; empty for other forms, which may hold a secret, and for those with a file.
    """

    def __init__(self, fields: tuple[tuple[str, str], ...] = ()) -> None:
        super().__init__()
        self.fields = fields


async def sent_form(request: Request) -> AsyncIterator[Sent]:
    """Give the form of a request that one of our own pages sent; its files are let go at the end.

    Raises:
        ForeignFormError: its token is not the one of the session, or of the cookie where there is no session.
    """
    async with request.form(max_files=1, max_fields=100, max_part_size=LONGEST_FIELD) as fields:
        token = fields.get(FIELD)
        if not isinstance(token, str) or not any(
            len(kept) >= TOKEN_LETTERS and secrets.compare_digest(token.encode(), kept.encode())
            for kept in _tokens(request)
        ):
            raise ForeignFormError(_typed_about_a_pond(request, fields))
        person = visitor_of(request).person
        request.state.typed = _typed_about_a_pond(request, fields)
        yield Sent(fields, "" if person is None else person.name)


def _tokens(request: Request) -> tuple[str, ...]:
    return form_tokens_of(request) or (request.cookies.get(cookie_name(request, COOKIE), ""),)


def typed_of(request: Request) -> tuple[tuple[str, str], ...]:
    """Return what was typed in the form of a request about a pond, to be offered again where the store fails."""
    found: tuple[tuple[str, str], ...] = getattr(request.state, "typed", ())
    return found


def _typed_about_a_pond(request: Request, fields: FormData) -> tuple[tuple[str, str], ...]:
    return _typed(fields) if request.url.path.startswith("/ponds/") else ()


def _typed(fields: FormData) -> tuple[tuple[str, str], ...]:
    """Return what was typed, so that it can be sent again; nothing of a form with a file."""
    found = tuple(
        (name, text) for name, text in fields.multi_items() if isinstance(text, str) and name != FIELD
    )
    whole = len(found) == len([name for name, _ in fields.multi_items() if name != FIELD])
    return found if whole else ()


def new_form_key() -> str:
    """Return the key of a form that makes something: sent twice, it makes it once."""
    return secrets.token_hex(16)


def token_of(request: Request) -> str:
    """Return the token of a session's forms; without a session the browser's own, or a new one."""
    kept = _tokens(request)[0]
    return kept if len(kept) >= TOKEN_LETTERS and kept.isalnum() else secrets.token_hex(TOKEN_LETTERS // 2)


def give_token(request: Request, response: Response, token: str) -> None:
    """Let the browser keep its token; no script and no other site sees it."""
    set_cookie(request, response, COOKIE, token, strict=True, kept=False)


def local_path(path: str) -> str:
    """Return a path of ours, else the first page: "//elsewhere" and "/\\elsewhere" lead away."""
    plain = path.isprintable() and "\\" not in path
    return path if plain and path.startswith("/") and not path.startswith("//") else "/"
