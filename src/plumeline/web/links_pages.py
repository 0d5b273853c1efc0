"""The page of a pond's customer links, for the office: made, handed over once, ended by one tap."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from plumeline.store.errors import NotThereError
from plumeline.web.accepted import accepted_zip, papers_of
from plumeline.web.doors import HOW_LINKS_GO_ON, LINKS_ARE_OFF
from plumeline.web.lan.reach import How
from plumeline.web.pages import Form, Here, download
from plumeline.web.plan_state import newest_plan
from plumeline.web.quoting import quote_or_why
from plumeline.web.site import Site, author_of, units_of

router = APIRouter()


@router.get("/ponds/{pond_id}/links")
def links(request: Request, site: Here, pond_id: str) -> Response:
    """Show the links of a pond and what was accepted by them."""
    return _shown(request, site, pond_id, "")


def _shown(
    request: Request, site: Site, pond_id: str, address: str, *, wrong: str = "", no_quote: str = "",
    status_number: int = 200,
) -> Response:  # fmt: skip
    pond = site.store.ponds.revision(pond_id)
    return site.page(
        request, "links.html", status_number=status_number, pond=pond, no_quote=no_quote,
        quote=site.store.quotes.latest(pond_id, pond.number), plan=newest_plan(site, pond_id, pond.number),
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
    # the customer is to find a quote there; where none can be made, the office hears why
    _quote, why = quote_or_why(site, site.store.ponds.revision(pond_id), author_of(request))
    return _shown(request, site, pond_id, f"{base}link#{token}", no_quote=why)


@router.get("/ponds/{pond_id}/accepted.zip")
def all_accepted(site: Here, pond_id: str) -> Response:
    """Give what was accepted of a pond as a table, with its papers as they were."""
    site.store.ponds.must_be_there(pond_id)
    return download(accepted_zip(site.store, pond_id), f"{pond_id}-accepted.zip", "application/zip")


@router.get("/ponds/{pond_id}/accepted/{acceptance_id}/{name}")
def one_accepted(request: Request, site: Here, pond_id: str, acceptance_id: str, name: str) -> Response:
    """Give a paper as a customer accepted it."""
    row = next((one for one in site.store.links.accepted(pond_id) if one.id == acceptance_id), None)
    data = None if row is None else papers_of(site.store, row, units_of(request)).get(name)
    if data is None:
        raise NotThereError("there is no such accepted paper.")
    return download(data, f"{pond_id}-accepted-{name}", "application/pdf")


@router.post("/ponds/{pond_id}/links/{link_id}/revoke")
def revoke(site: Here, pond_id: str, link_id: str, _form: Form) -> Response:
    """End a link."""
    site.store.links.revoke(pond_id, link_id)
    return RedirectResponse(f"/ponds/{quote(pond_id)}/links", 303)
