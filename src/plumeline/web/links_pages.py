"""The page of a pond's customer links, for the office: made, handed over once, ended by one tap."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from plumeline.web.doors import HOW_LINKS_GO_ON, LINKS_ARE_OFF
from plumeline.web.lan.reach import How
from plumeline.web.pages import Form, Here
from plumeline.web.site import Site, author_of

router = APIRouter()


@router.get("/ponds/{pond_id}/links")
def links(request: Request, site: Here, pond_id: str) -> Response:
    """Show the links of a pond and what was accepted by them."""
    return _shown(request, site, pond_id, "")


def _shown(
    request: Request, site: Site, pond_id: str, address: str, *, wrong: str = "", status_number: int = 200
) -> Response:
    return site.page(
        request, "links.html", status_number=status_number, pond=site.store.ponds.revision(pond_id),
        rows=site.store.links.of_pond(pond_id), accepted=site.store.links.accepted(pond_id), address=address,
        wrong=wrong, off=(LINKS_ARE_OFF, HOW_LINKS_GO_ON), is_here_alone=site.reach.how is How.HERE,
    )  # fmt: skip


@router.post("/ponds/{pond_id}/links")
def make(request: Request, site: Here, pond_id: str, _form: Form) -> Response:
    """Make a link and show it, once: its secret stands behind the #, which browsers send to no server."""
    if not site.sign_in:
        return _shown(request, site, pond_id, "", wrong="No link was made.", status_number=409)
    _link, token = site.store.links.make(pond_id, author_of(request))
    # the office may have opened these pages by a name that leads the customer nowhere
    base = f"{request.url.scheme}://{request.url.netloc}/"
    if site.reach.how is not How.HERE:
        base = site.reach.address
    return _shown(request, site, pond_id, f"{base}link#{token}")


@router.post("/ponds/{pond_id}/links/{link_id}/revoke")
def revoke(site: Here, pond_id: str, link_id: str, _form: Form) -> Response:
    """End a link."""
    site.store.links.revoke(pond_id, link_id)
    return RedirectResponse(f"/ponds/{quote(pond_id)}/links", 303)
