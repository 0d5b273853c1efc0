"""Before every route: who asks, and whether they may."""

from __future__ import annotations

from dataclasses import replace
from urllib.parse import quote

from fastapi import Request

from plumeline.errors import PlumelineError
from plumeline.web.rights import PUBLIC, RIGHTS, Who, key_of
from plumeline.web.site import site_of
from plumeline.web.visitors import AT_HOME, CUSTOMER, SESSION, STRANGER, Visitor, cookie_name

HEADER = "x-plumeline"
"""Programs that come with a cookie send it, with any value: another site's page can't."""


class NotAllowedError(PlumelineError):
    """Somebody asked for what they may not.

    Attributes:
        status_number: 401 who is it?, 403 not you, 404 not there for you.
        back: where a sign-in leads back to; empty where it would not help.
    """

    def __init__(self, status_number: int, said: str, remedy: str = "", back: str = "") -> None:
        super().__init__(said, remedy=remedy)
        self.status_number = status_number
        self.back = back


def allowed(request: Request) -> None:
    """Let a request through to its route, or not.

    Raises:
        NotAllowedError: who asks may not do this.
    """
    site = site_of(request)
    may = RIGHTS.get(key_of(request.scope["endpoint"]), frozenset())
    visitor = _found(request, may) if site.sign_in else AT_HOME
    request.state.visitor = visitor
    if visitor.who not in may:
        raise _refusal(request, visitor)
    over_api = site.sign_in and _is_change(request) and request.url.path.startswith("/api/")
    if over_api and HEADER not in request.headers:
        words = "a change over the API needs the header X-Plumeline; nothing was done."
        raise NotAllowedError(403, words, "Send X-Plumeline: 1.")


def _is_change(request: Request) -> bool:
    return request.method not in ("GET", "HEAD", "OPTIONS")


def may_still(request: Request) -> bool:
    """Tell whether whoever asks may go on, for answers that last: their session may be over by now."""
    try:
        allowed(request)
    except NotAllowedError:
        return False
    return True


def _found(request: Request, may: frozenset[Who]) -> Visitor:
    """Return who asks. A browser may have a session of ours and a customer's: the one that may comes first."""
    store = site_of(request).store
    found = []
    secret = request.cookies.get(cookie_name(request, SESSION), "")
    person = store.people.of_session(secret) if secret else None
    if person is not None:
        found.append(Visitor("crew" if person.role == "crew" else "office", person=person, secret=secret))
    secret = request.cookies.get(cookie_name(request, CUSTOMER), "")
    link = (
        store.links.of_session(secret)
        if secret and (not found or found[0].who not in may or may == PUBLIC)
        else None
    )
    if link is not None:
        found.append(Visitor("link", link=link, secret=secret))
    if not found:
        return STRANGER
    first = next((visitor for visitor in found if visitor.who in may), found[0])
    beside = next((visitor.secret for visitor in found if visitor is not first), "")
    return replace(first, beside=beside if may == PUBLIC else "")


def _refusal(request: Request, visitor: Visitor) -> NotAllowedError:
    if visitor.who == "nobody":
        path = request.url.path
        back = (
            "" if path.startswith("/api/") or _is_change(request) else f"/signin?back={quote(path, safe='')}"
        )
        return NotAllowedError(
            401, "sign in first; nothing was done.", "Open /signin in this browser, then try again.", back
        )
    if visitor.who == "link":
        return NotAllowedError(404, "there is no such page.")
    return NotAllowedError(
        403, "this is for the office; nothing was done.", "Ask somebody of the office to do it."
    )
