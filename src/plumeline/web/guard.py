"""Before every page: who asks under which name, how much is sent, and what the browser may do with the answer."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from plumeline.store.folder import MOST_ZIP_BYTES
from plumeline.web.problems import problem

HERE = ("127.0.0.1", "localhost", "::1")
"""Names of this machine; another one is a page elsewhere that was pointed at us."""
HERE_ALONE = "This server answers on this machine alone: open it as http://127.0.0.1 with its port."
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
MOST_FORM_BYTES = 4 * 1024 * 1024
MOST_UPLOAD_BYTES = MOST_ZIP_BYTES + 1024 * 1024
"""A file of the largest size, and the form around it."""
UPLOADS = ("/ponds/import", "/api/v1/ponds/import", "/captures/import", "/api/v1/capture/import")
FILE_ENDS = ("/aerial", "/bring")
"""The pages of a pond to which its photo from the air and files of other programs are sent."""

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=(), payment=()",
    "X-Robots-Tag": "noindex, nofollow",
}
POSITION_PATH = "/capture"
"""The one page that may ask a phone where it is."""


Show = Callable[[Scope, int, str], Response]
"""Makes a page of a status and words."""


class TooLargeError(Exception):
    """More was sent than a page takes."""


class Headed:
    """Puts the headers on every answer, that to an error of ours too: it stands around all else."""

    def __init__(self, app: ASGIApp, pictures_of: Callable[[str], str] = lambda _: "") -> None:
        """Stand around an application.

        Args:
            app: the application.
            pictures_of: the one other origin that the page of a path may load pictures from; empty for none.
        """
        self._app = app
        self._pictures_of = pictures_of

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, with the headers."""
        path = scope.get("path", "")
        told = _with_headers(send, path, self._pictures_of(path)) if scope["type"] == "http" else send
        await self._app(scope, receive, told)


class Guard:
    """The first thing that a request meets."""

    def __init__(
        self,
        app: ASGIApp,
        *,
        answers_to: Callable[[str], bool] = HERE.__contains__,
        where_else: str = HERE_ALONE,
        show: Show | None = None,
    ) -> None:
        self._app = app
        self._answers_to = answers_to
        self._where_else = where_else
        self._show = show

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in or not."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refusal = self._refusal(scope, headers)
        if refusal is not None:
            await refusal(scope, receive, send)
            return
        is_upload = scope["path"] in UPLOADS or scope["path"].endswith(FILE_ENDS)
        limit_bytes = MOST_UPLOAD_BYTES if is_upload else MOST_FORM_BYTES
        if _said_bytes(headers) > limit_bytes:
            await self._too_large(scope, limit_bytes)(scope, receive, send)
            return
        began = False

        async def watched(message: Message) -> None:
            nonlocal began
            began = True
            await send(message)

        try:
            await self._app(scope, _counted(receive, limit_bytes), watched)
        except TooLargeError:
            if began:
                raise
            await self._too_large(scope, limit_bytes)(scope, receive, send)

    def _refusal(self, scope: Scope, headers: Headers) -> Response | None:
        host = headers.get("host", "")
        if not self._answers_to(_name(f"//{host}")):
            return self._refused(scope, 421, self._where_else)
        if scope["method"] in SAFE:
            return None
        origin = headers.get("origin")
        foreign = origin is not None and urlsplit(origin).netloc != host
        if foreign or headers.get("sec-fetch-site", "none") not in ("none", "same-origin"):
            return self._refused(scope, 403, "This was sent by a page of another site; nothing was done.")
        return None

    def _too_large(self, scope: Scope, limit_bytes: int) -> Response:
        words = f"That is more than the {limit_bytes // 2**20} MB that are taken at once; nothing was kept."
        return self._refused(scope, 413, words)

    def _refused(self, scope: Scope, status_number: int, words: str) -> Response:
        """Return a refusal: as the JSON API tells all of them, or as a page; under a strange name as a line of text."""
        if scope["path"].startswith("/api/"):
            return problem(status_number, "Not taken", words)
        if self._show is None or status_number == 421:
            return PlainTextResponse(f"{words}\n", status_number)
        return self._show(scope, status_number, words)


def _name(address: str) -> str:
    try:
        return urlsplit(address).hostname or ""
    except ValueError:
        return ""


def _said_bytes(headers: Headers) -> int:
    said = headers.get("content-length", "0")
    return int(said) if said.isdigit() else 0


def _counted(receive: Receive, limit_bytes: int) -> Receive:
    """Return the request's body, broken off where it grows past the limit, whatever its head says."""
    so_far_bytes = 0

    async def counted() -> Message:
        nonlocal so_far_bytes
        message = await receive()
        so_far_bytes += len(message.get("body", b""))
        if so_far_bytes > limit_bytes:
            raise TooLargeError
        return message

    return counted


def _kept_how(path: str, status_number: int) -> str:
    """Return how a browser may keep an answer: pages not at all, our own files until they change.

    Styles and scripts are asked after each time, which costs no more than a line each way; the fonts, of 1.2 MB,
    are the ones that drawings were measured in, and stay for a week.
    """
    if not path.startswith("/static/") or status_number >= 400:
        return "no-store"
    return "public, max-age=604800" if path.startswith("/static/fonts/") else "no-cache"


def _with_headers(send: Send, path: str, pictures: str) -> Send:
    async def told(message: Message) -> None:
        if message["type"] == "http.response.start":
            found = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                found[name] = value
            if pictures:
                found["Content-Security-Policy"] = POLICY.replace(
                    "img-src 'self'", f"img-src 'self' {pictures}"
                )
            if path == POSITION_PATH:
                found["Content-Security-Policy"] = f"{POLICY}; manifest-src 'self'; worker-src 'self'"
                found["Permissions-Policy"] = HEADERS["Permissions-Policy"].replace(
                    "geolocation=()", "geolocation=(self)"
                )
            found.setdefault("Cache-Control", _kept_how(path, message["status"]))
        await send(message)

    return told
