"""Who asks: the office at its own machine, or somebody by the session that a cookie names."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from urllib.parse import quote

from fastapi import Request, Response

from plumeline.store.links import CustomerLink
from plumeline.store.people import SESSION_LASTS, Person
from plumeline.web.rights import Who

SESSION = "plumeline_session"
CUSTOMER = "plumeline_customer"
AUTHOR = "plumeline_author"
YEAR_S = 365 * 86400


@dataclass(frozen=True)
class Visitor:
    """Who asks.

    Attributes:
        who: what they are to us.
        person: who signed in; None for others.
        link: a customer's link; None for others.
        secret: the session's, by which they are known; empty for others.
        beside: of the other session that the browser has, where a route is open to both.
    """

    who: Who
    person: Person | None = None
    link: CustomerLink | None = None
    secret: str = field(default="", repr=False)
    beside: str = field(default="", repr=False)


AT_HOME = Visitor("office")
"""Where nobody has to sign in, who sits at the machine is the office."""
STRANGER = Visitor("nobody")


def visitor_of(request: Request) -> Visitor:
    """Return who asks, as the doors found; before them, what the server is open to."""
    found: Visitor | None = getattr(request.state, "visitor", None)
    if found is not None:
        return found
    return STRANGER if request.app.state.site.sign_in else AT_HOME


def cookie_name(request: Request, name: str) -> str:
    """Return a cookie's name: over https with the prefix that binds it to this host (RFC 6265bis, 4.1.3.2)."""
    return f"__Host-{name}" if request.url.scheme == "https" else name


def set_cookie(
    request: Request, response: Response, name: str, value: str, *, strict: bool, kept: bool
) -> None:
    """Let the browser keep a secret that no script and no other site sees.

    Args:
        request: what is answered.
        response: the answer.
        name: without the prefix.
        value: the secret.
        strict: not sent where another site's link leads here.
        kept: after the browser is closed, as long as a session lasts.
    """
    response.set_cookie(
        cookie_name(request, name),
        value,
        httponly=True,
        secure=request.url.scheme == "https",
        samesite="strict" if strict else "lax",
        path="/",
        max_age=int(SESSION_LASTS.total_seconds()) if kept else None,
    )


def keep_choice(request: Request, response: Response, name: str, value: str) -> None:
    """Let the browser keep what its reader chose or typed last, for a year; over https it is sent over https alone."""
    secure = request.url.scheme == "https"
    response.set_cookie(
        name, value, httponly=True, secure=secure, samesite="strict", path="/", max_age=YEAR_S
    )


def keep_author(request: Request, response: Response, name: str) -> None:
    """Let the browser keep the name that was typed last, for the next form; an empty one changes nothing."""
    if name:
        keep_choice(request, response, AUTHOR, quote(name[:80]))


def drop_cookie(request: Request, response: Response, name: str) -> None:
    """Let the browser forget a secret."""
    response.delete_cookie(
        cookie_name(request, name), path="/", httponly=True, secure=request.url.scheme == "https"
    )


def form_tokens_of(request: Request) -> tuple[str, ...]:
    """Return the tokens of forms, made from the secrets of sessions, the visitor's first; none without a session."""
    visitor = visitor_of(request)
    secrets = (visitor.secret, visitor.beside)
    return tuple(hashlib.sha256(f"form {secret}".encode()).hexdigest()[:48] for secret in secrets if secret)
