"""Before every route: who asks, and whether they may."""

from __future__ import annotations

from dataclasses import replace
from urllib.parse import quote

from fastapi import Request

from plumeline.errors import PlumelineError
from plumeline.store.links import LINK_LASTS, CustomerLink
from plumeline.web.rights import CUSTOMER as FOR_CUSTOMERS
from plumeline.web.rights import PUBLIC, RIGHTS, Who, key_of
from plumeline.web.site import site_of
from plumeline.web.visitors import AT_HOME, CUSTOMER, SESSION, STRANGER, Visitor, cookie_name

LINKS_ARE_OFF = "Links for customers are off: this server runs without sign-in, and no link opens there."
HOW_LINKS_GO_ON = (
    "Stop it and start it with: plumeline serve --lan, for customers on the same network, or with --behind-proxy "
    "under a real name, for customers anywhere: with both, people sign in, and the first start prints a code for the "
    "first of them. With --sign-in alone people sign in too, but it answers on this machine only."
)
ASK_THE_OFFICE = "Ask the office that sent it to you for a new one."
HEADER = "x-plumeline"
"""Programs that come with a cookie send it, with any value: another site's page can't."""


class NotAllowedError(PlumelineError):
    """Somebody asked for what they may not.

    Attributes:
        status_number: 401 who is it?, 403 not you, 404 not there for you, 410 a customer's link that has ended.
        back: where a sign-in leads back to; empty where it would not help.
        by_link: whoever asks needs a customer's link, no sign-in.
    """

    def __init__(
        self, status_number: int, said: str, remedy: str = "", back: str = "", *, by_link: bool = False
    ) -> None:
        super().__init__(said, remedy=remedy)
        self.status_number = status_number
        self.back = back
        self.by_link = by_link


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
        raise _refusal(request, visitor, may)
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


def _refusal(request: Request, visitor: Visitor, may: frozenset[Who]) -> NotAllowedError:
    if may == FOR_CUSTOMERS and not site_of(request).sign_in:
        return NotAllowedError(403, LINKS_ARE_OFF, ASK_THE_OFFICE, by_link=True)
    if may == FOR_CUSTOMERS and visitor.who != "link":
        secret = request.cookies.get(cookie_name(request, CUSTOMER), "")
        return _no_link(secret, site_of(request).store.links.ended_of_session(secret) if secret else None)
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


def _no_link(secret: str, ended: CustomerLink | None) -> NotAllowedError:
    """Return what is said on a customer's page to a browser that no link let in: nothing of any pond."""
    if not secret:
        words = "This page opens by the link that the office sent you."
        return NotAllowedError(401, words, "Open that link, or paste it below.", by_link=True)
    said, remedy = ended_words(ended) if ended is not None else ("This link has ended.", ASK_THE_OFFICE)
    return NotAllowedError(410, said, remedy, by_link=True)


def ended_words(link: CustomerLink) -> tuple[str, str]:
    """Return since when a link leads nowhere, and whom to ask: who made it, and nothing of the pond."""
    how = "This link has ended."
    if link.revoked_at is not None:
        how = f"This link was ended by the office on {link.revoked_at:%Y-%m-%d}."
    elif link.is_expired:
        how = f"This link ended by itself on {link.expires_at:%Y-%m-%d}, as all do after {LINK_LASTS.days} days."
    return how, f"Ask {link.made_by}, who made it, for a new one." if link.made_by else ASK_THE_OFFICE
