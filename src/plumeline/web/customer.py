"""What a customer sees by a link: one pond's papers, and a line to accept them. Nothing else is there for them."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from plumeline.errors import InputError, PlumelineError
from plumeline.store import RunState
from plumeline.store.errors import ConflictError, NotThereError
from plumeline.store.links import CustomerLink
from plumeline.store.runs import Run
from plumeline.web.doors import ASK_THE_OFFICE, LINKS_ARE_OFF, ended_words
from plumeline.web.pages import Form, Here, download
from plumeline.web.paper_pages import PAPERS, made_paper
from plumeline.web.showing import hero
from plumeline.web.site import Site, site_of, units_of
from plumeline.web.visitors import CUSTOMER, set_cookie, visitor_of

router = APIRouter()
PLAN = "plan.pdf"
QUOTE = "quote.pdf"
TITLES = {QUOTE: PAPERS[QUOTE][0], PLAN: "Start-up plan"}
"""Papers that a customer reads."""


@router.get("/link")
def link_form(request: Request, site: Here) -> Response:
    """Take the code of a link: a script moves it here from behind the #, or it is typed."""
    return link_page(request, "" if site.sign_in else f"{LINKS_ARE_OFF} {ASK_THE_OFFICE}")


def link_page(request: Request, wrong: str, status_number: int = 200) -> Response:
    """Return the page that takes a link, with what is wrong with the one before: nothing of any pond."""
    site = site_of(request)
    return site.page(request, "link.html", status_number=status_number, wrong=wrong)


@router.post("/link")
def enter(request: Request, site: Here, form: Form) -> Response:
    """Trade a link's code for a cookie of this browser."""
    if not site.sign_in:
        return link_page(request, f"{LINKS_ARE_OFF} {ASK_THE_OFFICE}", 409)
    code = form.text("code").rpartition("#")[2]
    token = site.store.links.enter(code)
    if token is None:
        ended = site.store.links.ended_of_token(code)
        if ended is not None:
            return link_page(request, " ".join(ended_words(ended)), 410)
        return link_page(request, f"This link leads nowhere: it is not whole. {ASK_THE_OFFICE}", 404)
    response = RedirectResponse("/customer", 303)
    set_cookie(request, response, CUSTOMER, token, strict=False, kept=False)
    return response


def _link_of(request: Request) -> CustomerLink:
    link = visitor_of(request).link
    if link is None:
        raise NotThereError("there is no such page.")
    return link


def _plan(site: Site, link: CustomerLink) -> Run | None:
    """Return the plan of the revision that stands; one of an older revision is not shown as this one's."""
    number = site.store.ponds.revision(link.pond_id).number
    runs = site.store.runs.of_pond(link.pond_id)
    return next((run for run in runs if run.state == RunState.DONE and run.number == number), None)


@router.get("/customer")
def papers(request: Request, site: Here) -> Response:
    """Show the pond, its papers and what was accepted."""
    return _shown(request, site, _link_of(request))


def _shown(
    request: Request,
    site: Site,
    link: CustomerLink,
    *,
    name: str = "",
    wrong: str = "",
    status_number: int = 200,
) -> Response:
    revision = site.store.ponds.revision(link.pond_id)
    plan = _plan(site, link)
    there = [PLAN] if plan else []
    try:
        drawings = hero(site.designs.of(revision), units_of(request))
        there = [QUOTE, *there]
    except PlumelineError:
        drawings = []
    accepted = [row for row in site.store.links.accepted(link.pond_id) if row.link_id == link.id]
    return site.page(
        request, "customer.html", status_number=status_number, pond=revision, link=link, drawings=drawings,
        papers=[(name, TITLES[name]) for name in there], accepted=accepted, name=name, wrong=wrong,
    )  # fmt: skip


@router.get("/customer/papers/{name}")
def paper(request: Request, site: Here, name: str) -> Response:
    """Give a paper of the revision that stands; its number is in the name of the file."""
    link, units = _link_of(request), units_of(request)
    revision, plan = site.store.ponds.revision(link.pond_id), _plan(site, link)
    if name == QUOTE:
        data = made_paper(site, revision, name, units)
    elif name == PLAN and plan is not None:
        data = site.store.runs.file(plan.id, f"{units}/{name}")
    else:
        raise NotThereError("there is no such paper.")
    kept_as = f"{name.removesuffix('.pdf')}-revision-{revision.number}.pdf"
    return download(data, kept_as, "application/pdf")


@router.post("/customer/accept")
def accept(request: Request, site: Here, form: Form) -> Response:
    """Keep that the customer accepts this revision under the name they typed."""
    link, name = _link_of(request), form.text("name")
    try:
        site.store.links.accept(link.id, form.number("number"), name)
    except ConflictError:
        words = "The papers were changed since this page was shown; nothing was accepted. Look at them again below."
        return _shown(request, site, link, name=name, wrong=words, status_number=409)
    except InputError as error:
        return _shown(request, site, link, name=name, wrong=str(error), status_number=422)
    return RedirectResponse("/customer", 303)
