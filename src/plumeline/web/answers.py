"""Pages that answer a form: kept for their reader and led to by a GET; Back and reload send nothing twice."""

from __future__ import annotations

import secrets
import threading
import time
from collections import OrderedDict
from dataclasses import dataclass
from urllib.parse import quote

from fastapi import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Match

from plumeline.web.forms import token_of

FIELD = "answer"
"""Name of the key in an address."""
MOST_KEPT = 64
MOST_KEPT_BYTES = 32 * 1024 * 1024
KEPT_S = 3600.0


@dataclass(frozen=True)
class Answer:
    """A page that a form was answered with.

    Attributes:
        owner: the token of the forms of whoever sent it; nobody else is shown it.
        text: the page.
        status_number: what it was answered with.
        made_s: when, by a clock that only goes forward.
    """

    owner: str
    text: str
    status_number: int
    made_s: float


class Answers:
    """The answers of the last hour, in memory alone."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, Answer] = OrderedDict()
        self._lock = threading.Lock()

    def keep(self, owner: str, text: str, status_number: int) -> str:
        """Keep a page, and return its key."""
        key = secrets.token_urlsafe(12)
        with self._lock:
            self._kept[key] = Answer(owner, text, status_number, time.monotonic())
            while len(self._kept) > 1 and (len(self._kept) > MOST_KEPT or self._size() > MOST_KEPT_BYTES):
                self._kept.popitem(last=False)
        return key

    def _size(self) -> int:
        return sum(len(one.text) for one in self._kept.values())

    def of(self, key: str, owner: str) -> Answer | None:
        """Return the page of a key, for who sent the form; None where it is another's, too old, or not kept."""
        with self._lock:
            found = self._kept.get(key)
        if found is None or time.monotonic() - found.made_s > KEPT_S:
            return None
        return found if secrets.compare_digest(found.owner.encode(), owner.encode()) else None


class AnsweredError(Exception):
    """A request for the answer to a form; not a fault, but the way past the route that it came by.

    Attributes:
        answer: the page.
    """

    def __init__(self, answer: Answer) -> None:
        super().__init__()
        self.answer = answer


def look_up(request: Request) -> None:
    """Show the answer that an address names, where whoever asks sent its form; else the page itself is shown.

    Raises:
        AnsweredError: with the answer.
    """
    key = request.query_params.get(FIELD, "") if request.method == "GET" else ""
    if key and not request.url.path.startswith("/api/"):
        found = request.app.state.site.answers.of(key, token_of(request))
        if found is not None:
            raise AnsweredError(found)


def shown(_request: Request, error: AnsweredError) -> Response:
    """Return the answer as it was."""
    return HTMLResponse(error.answer.text, error.answer.status_number)


def led_to(request: Request, text: str, status_number: int, token: str) -> Response | None:
    """Return the way to an answer by GET; None where no browser's form is answered.

    Args:
        request: what is answered.
        text: the page.
        status_number: what it is answered with.
        token: of the forms of whoever sent it.
    """
    if request.method != "POST" or "text/html" not in request.headers.get("accept", ""):
        return None
    key = request.app.state.site.answers.keep(token, text, status_number)
    return RedirectResponse(f"{quote(page_path(request))}?{FIELD}={key}", 303)


def page_path(request: Request) -> str:
    """Return the path of the page that a request is about: its own, or of a form's target the one above."""
    path = request.url.path
    while path.rstrip("/"):
        scope = {**request.scope, "path": path, "raw_path": None, "method": "GET"}
        if any(route.matches(scope)[0] is Match.FULL for route in request.app.router.routes):
            return path
        path = path.rpartition("/")[0]
    return "/"
