"""What a customer sees by a link: one pond's papers, and a line to accept them. Nothing else is there for them."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from plumeline.errors import InputError, PlumelineError
from plumeline.store import Revision
from plumeline.store.errors import ConflictError, NotThereError
from plumeline.store.links import Acceptance, CustomerLink, Papers
from plumeline.store.quotes import Quote
from plumeline.store.runs import Run
from plumeline.units.showing import System
from plumeline.web.doors import ASK_THE_OFFICE, LINKS_ARE_OFF, ended_words
from plumeline.web.field_faults import FieldFault, told
from plumeline.web.opening import OpenedPage, Opener, book_of
from plumeline.web.pages import Form, Here, download
from plumeline.web.plan_state import job_age, newest_plan, state_of
from plumeline.web.showing import hero
from plumeline.web.site import Site, site_of, units_of
from plumeline.web.visitors import CUSTOMER, set_cookie, visitor_of

router = APIRouter()
WORKINGS = "/customer/workings"
PLAN = "plan.pdf"
QUOTE = "quote.pdf"
CHANGED = "The papers were changed since this page was shown; nothing was accepted. Look at them again below."


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


@dataclass(frozen=True)
class _Standing:
    """What a customer sees: the revision that stands, with its quote and its plan; as accepted, where it was."""

    revision: Revision
    quote: Quote | None
    plan: Run | None

    @property
    def papers(self) -> Papers:
        return Papers(
            None if self.quote is None else self.quote.quote_number,
            None if self.plan is None else self.plan.id,
        )


def _standing(site: Site, link: CustomerLink) -> _Standing:
    """Return the papers of the revision that stands: those that were accepted of it, else the newest."""
    revision = site.store.ponds.revision(link.pond_id)
    accepted = next((row for row in _accepted(site, link) if row.number == revision.number), None)
    if accepted is None or (accepted.quote_number is None and accepted.run_id is None):
        quote = site.store.quotes.latest(link.pond_id, revision.number)
        return _Standing(revision, quote, newest_plan(site, link.pond_id, revision.number))
    quotes = site.store.quotes.of_pond(link.pond_id)
    quote = next((row for row in quotes if row.quote_number == accepted.quote_number), None)
    plan = None if accepted.run_id is None else site.store.runs.get(accepted.run_id)
    return _Standing(revision, quote, plan)


def _accepted(site: Site, link: CustomerLink) -> list[Acceptance]:
    return [row for row in site.store.links.accepted(link.pond_id) if row.link_id == link.id]


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
    fields: tuple[FieldFault, ...] = (),
    status_number: int = 200,
) -> Response:
    now = _standing(site, link)
    try:
        drawings = _opened(site, now.revision, units_of(request)).shown["drawings"]
    except PlumelineError:
        drawings = []
    age = state_of(site, now.revision, now.plan, None).age if now.plan else job_age(site, now.revision.job)
    return site.page(
        request, "customer.html", status_number=status_number, pond=now.revision, link=link, drawings=drawings,
        quote=now.quote, plan=now.plan, age=age, accepted=_accepted(site, link), name=name, wrong=wrong,
        fields=[(one.id, one.label, one.words) for one in fields],
    )  # fmt: skip


def _opened(site: Site, revision: Revision, units: System) -> OpenedPage:
    """Return the two drawings with the numbers under them as links, and how these came about."""

    def make() -> OpenedPage:
        design = site.designs.of(revision)
        book = book_of(design, "pond", revision.echoes, units)
        opener = Opener(book, WORKINGS)
        drawings = [{**item, "sentence": opener.sentence(item["sentence"])} for item in hero(design, units)]
        return OpenedPage({"drawings": drawings}, book.workings)

    return site.opened.of((revision.pond_id, revision.number, "customer", units), make)


@router.get(WORKINGS)
def all_workings(request: Request, site: Here) -> Response:
    """Show how every number of the customer's page came about."""
    return _workings(request, site, "")


@router.get(WORKINGS + "/{key}")
def one_working(request: Request, site: Here, key: str) -> Response:
    """Show how one number of the customer's page came about."""
    return _workings(request, site, key)


def _workings(request: Request, site: Site, key: str) -> Response:
    revision = site.store.ponds.revision(_link_of(request).pond_id)
    found = _opened(site, revision, units_of(request)).workings
    rows = [found[key]] if key in found else list(found.values())
    if key and key not in found:
        raise NotThereError("no number of your page is called so; the page may have changed since.")
    return site.page(
        request, "workings.html", pond=revision, stage="pond", rows=rows, one=bool(key), base=WORKINGS, tail="",
        back="/customer",
    )  # fmt: skip


@router.get("/customer/papers/{name}")
def paper(request: Request, site: Here, name: str) -> Response:
    """Give a paper of the revision that stands; its number is in the name of the file."""
    link = _link_of(request)
    now = _standing(site, link)
    return _given(request, site, link.pond_id, now.revision.number, now.papers, name)


@router.get("/customer/accepted/{acceptance_id}/{name}")
def accepted_paper(request: Request, site: Here, acceptance_id: str, name: str) -> Response:
    """Give a paper as it was accepted by this link, whatever was made since."""
    link = _link_of(request)
    row = next((one for one in _accepted(site, link) if one.id == acceptance_id), None)
    if row is None:
        raise NotThereError("there is no such page.")
    return _given(request, site, link.pond_id, row.number, Papers(row.quote_number, row.run_id), name)


def _given(request: Request, site: Site, pond_id: str, number: int, of: Papers, name: str) -> Response:
    units = units_of(request)
    if name == QUOTE and of.quote_number is not None:
        data = site.store.quotes.file(pond_id, of.quote_number, units)
    elif name == PLAN and of.run_id is not None:
        data = site.store.runs.file(of.run_id, f"{units}/{name}")
    else:
        raise NotThereError("there is no such paper.")
    return download(data, f"{name.removesuffix('.pdf')}-revision-{number}.pdf", "application/pdf")


@router.post("/customer/accept")
def accept(request: Request, site: Here, form: Form) -> Response:
    """Keep that the customer accepts this revision and the papers that the page showed, under the name they typed."""
    link, name = _link_of(request), form.text("name")
    now = _standing(site, link)
    saw = (form.number("number"), form.text("quote_number"), form.text("run_id"))
    there = (now.revision.number, f"{now.papers.quote_number or ''}", now.papers.run_id or "")
    try:
        if saw != there:
            return _shown(request, site, link, name=name, wrong=CHANGED, status_number=409)
        site.store.links.accept(link.id, now.revision.number, name, now.papers)
    except ConflictError:
        return _shown(request, site, link, name=name, wrong=CHANGED, status_number=409)
    except InputError as error:
        # without a paper there is no field to name it at
        fields = () if now.papers == Papers() else (told(error, "name", "Your name"),)
        words = "" if fields else str(error)
        return _shown(request, site, link, name=name, wrong=words, fields=fields, status_number=422)
    return RedirectResponse("/customer", 303)
