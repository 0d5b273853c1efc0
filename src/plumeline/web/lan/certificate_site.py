"""The listener over plain http that gives away the authority's certificate and the steps to trust it, nothing else.

A phone can't come over https before it trusts the authority. Whoever sits on the way could hand out a certificate of
his own here: so the page tells to compare the fingerprint with the office's paper.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from plumeline.web.guard import HEADERS
from plumeline.web.lan.key_files import Certificates
from plumeline.web.lan.reach import Reach
from plumeline.web.site import FOLDER, page_templates

KIND = "application/x-x509-ca-cert"
DER, PEM = "/plumeline-authority.crt", "/plumeline-authority.pem"


def _style() -> str:
    """Return the style sheet of the pages without the fonts of drawings, of which there are none here."""
    sheet = (FOLDER / "static" / "plumeline.css").read_text(encoding="utf-8")
    return "".join(line for line in sheet.splitlines(keepends=True) if not line.startswith("@font-face"))


def make_certificate_app(reach: Reach, held: Certificates) -> Starlette:
    """Return the application that gives the certificate.

    Args:
        reach: how the server is reached.
        held: its certificates; only the public one is taken.
    """
    # inside the page, for nothing else is to be fetched from here
    style = _style()
    page = page_templates().get_template("certificate.html").render(reach=reach, style=style)
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    policy = "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    policy = f"{policy}; style-src 'sha256-{digest}'"
    # of no use over plain http, and browsers complain of it there
    usual = {name: value for name, value in HEADERS.items() if name != "Cross-Origin-Opener-Policy"}
    headers = {**usual, "Content-Security-Policy": policy, "Cache-Control": "no-store"}

    def gives(data: str | bytes, kind: str, name: str = "") -> Callable[[Request], Response]:
        saved = {"Content-Disposition": f'attachment; filename="{name}"'} if name else {}
        return lambda _request: Response(data, media_type=kind, headers=headers | saved)

    def nothing(_request: Request, _error: Exception) -> Response:
        words = "Only the certificate and the steps to trust it are given here.\n"
        return PlainTextResponse(words, 404, headers=headers)

    routes = [
        Route("/", gives(page, "text/html")),
        # no "attachment": phones offer to install what they may open
        Route(DER, gives(held.authority_der, KIND)),
        Route(PEM, gives(held.authority_pem, "application/x-pem-file", PEM[1:])),
    ]
    return Starlette(routes=routes, exception_handlers={404: nothing, 405: nothing})
