"""The page that pairs a phone: address, codes, fingerprint, steps; made to be printed."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import Response

from plumeline.store.pairings import Pairing
from plumeline.web.lan.addresses import default_host_name
from plumeline.web.lan.reach import How, Reach, phones
from plumeline.web.site import Site, site_of

router = APIRouter()
Here = Annotated[Site, Depends(site_of)]


@router.get("/pair")
def pair(request: Request, site: Here) -> Response:
    """Show how a phone comes to these pages."""
    running = site.reach.how is not How.HERE
    before = site.store.pairings.latest()
    shown = site.reach if running else _as_paired(before)
    certificate = shown.certificate_address if shown else ""
    return site.page(
        request, "pair.html", shown=shown, running=running, changed=site.changed, default_name=default_host_name(),
        start=_start(before), certificate=certificate,
        certificate_code=code(certificate, "Code of the certificate's address") if certificate else "",
        address_code=code(shown.address, "Code of the pages' address") if shown else "",
        phones=phones(site.store),
    )  # fmt: skip


def code(address: str, title: str) -> str:
    """Return the code of an address as SVG, at the level that bears a quarter of it blotted."""
    import segno

    made = segno.make(address, error="q", boost_error=False, micro=False)
    return made.svg_inline(
        omitsize=True, border=4, dark="#000", light="#fff", title=title, svgclass="code", lineclass=None
    )


def _as_paired(before: Pairing | None) -> Reach | None:
    """Return how phones reached the server when it last ran for them."""
    if before is None:
        return None
    if before.scheme == "http":
        how = How.PLAIN
    else:
        how = How.SECURE if before.authority_print else How.PROXY
    return Reach(
        how, port_number=before.port_number, host_name=before.host_name, addresses=before.addresses,
        authority_print=before.authority_print,
    )  # fmt: skip


def _start(before: Pairing | None) -> str:
    if before is None or before.authority_print:
        return "serve --lan"
    return "serve --lan --plain-http" if before.scheme == "http" else "serve --behind-proxy"
