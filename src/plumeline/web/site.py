"""What every handler is given: the store, the results made so far, and the way to a page."""

from __future__ import annotations

from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path
from threading import Event
from typing import Any, Literal

from fastapi import Request
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.responses import HTMLResponse, Response
from starlette.types import Scope

import plumeline
from plumeline.files.trade_words import in_trade_words
from plumeline.safety import safety_card
from plumeline.stages.choice import ChoiceResult
from plumeline.stages.survey import Survey
from plumeline.store import Store
from plumeline.store.pond_places import PondPlaces
from plumeline.units.showing import System
from plumeline.web.answers import Answers, led_to, page_path
from plumeline.web.asked import named_field, notice_field
from plumeline.web.forms import give_token, token_of, typed_of
from plumeline.web.guard import HERE
from plumeline.web.lan.reach import ON_THIS_MACHINE, Reach
from plumeline.web.opening import OpenedPage
from plumeline.web.parked import Parked
from plumeline.web.recent import Recent
from plumeline.web.shore import Shored
from plumeline.web.sketch import Sketches
from plumeline.web.tiles import Tiles
from plumeline.web.tries import Tries
from plumeline.web.under_way import UnderWay
from plumeline.web.visitors import AUTHOR, visitor_of
from plumeline.web.work import Designs

FOLDER = Path(str(resources.files("plumeline").joinpath("web")))
UNITS_COOKIE = "plumeline_units"
AUTHOR_COOKIE = AUTHOR


def page_templates() -> Environment:
    """Return our templates: whatever a person typed is shown as text."""
    found = Environment(
        loader=FileSystemLoader(FOLDER / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found.filters |= {"known_field": notice_field, "named_field": named_field, "spoken": in_trade_words}
    return found


RevisionKey = tuple[str, int]
"""A pond's id and the number of a revision."""
PaperKey = tuple[str, int, str, System]
"""The same with a paper's name and units."""


@dataclass
class Site:
    """One server's store and what it has made of it.

    Attributes:
        store: the open database.
        reach: who can reach it, under which names.
        changed: what phones must be told since the last start.
        sign_in: whether people sign in; else who sits at this machine is the office.
        tiles: where map tiles come from; None for nowhere.
        designs: results made so far.
        choices: comparisons for the quote.
        basins: the surveys alone, of revisions whose shore is drawn.
        drawn: grounds and first answers of the plan's and the shore's page, as they stand before anything is moved.
        opened: pages whose numbers open.
        papers: PDFs, by pond, revision, name and units.
        sketches: places moved on plan pages, worked through.
        shores: shores under a hand, surveyed: layout and drawing ask for the same one after its numbers.
        templates: the pages' templates.
        tries: wrong passwords of late.
        parked: files that were sent and not taken yet.
        answers: pages that forms were answered with.
        pond_places: places of ponds, for phones.
        under_way: pages that take seconds the first time, being worked out.
        page_wait_s: how long such a page waits before it says that it is being worked out.
        saved: set when a revision was saved: what stands against it is looked at beside the answers.
    """

    store: Store
    reach: Reach = ON_THIS_MACHINE
    changed: tuple[str, ...] = ()
    sign_in: bool = False
    tiles: Tiles | None = None
    designs: Designs = field(default_factory=Designs)
    choices: Recent[RevisionKey, ChoiceResult] = field(default_factory=lambda: Recent(16))
    basins: Recent[RevisionKey, Survey] = field(default_factory=lambda: Recent(16))
    drawn: Recent[tuple[Any, ...], Any] = field(default_factory=lambda: Recent(32))
    opened: Recent[tuple[Any, ...], OpenedPage] = field(default_factory=lambda: Recent(24))
    papers: Recent[PaperKey, bytes] = field(default_factory=lambda: Recent(32))
    sketches: Sketches = field(default_factory=Sketches)
    shores: Recent[tuple[Any, ...], Shored] = field(default_factory=lambda: Recent(8))
    templates: Environment = field(default_factory=page_templates)
    tries: Tries = field(default_factory=Tries)
    parked: Parked = field(default_factory=Parked)
    answers: Answers = field(default_factory=Answers)
    pond_places: PondPlaces = field(init=False)
    under_way: UnderWay[tuple[Any, ...], OpenedPage] = field(default_factory=UnderWay)
    page_wait_s: float = 0.5
    saved: Event = field(default_factory=Event)

    def __post_init__(self) -> None:
        self.pond_places = PondPlaces(self.store.database)

    def page(self, request: Request, template: str, /, *, status_number: int = 200, **data: Any) -> Response:
        """Return a page, with the token of its forms."""
        token = token_of(request)
        text = self.templates.get_template(template).render(
            **data,
            token=token,
            units=units_of(request),
            author=dict(typed_of(request)).get("author") or author_of(request),
            here=page_path(request),
            version=plumeline.__version__,
            damage=self.store.damage,
            good_backup=self.store.good_backup,
            database=self.store.database.path,
            safety=safety_card(units_of(request)),
            visitor=visitor_of(request),
            sign_in=self.sign_in,
            reach=self.reach,
            tiles=self.tiles,
            is_secure_context_expected=is_secure_context_expected(request),
        )
        response = led_to(request, text, status_number, token) or HTMLResponse(text, status_number)
        give_token(request, response, token)
        return response

    def bare_page(self, status_number: int, heading: str, words: str) -> Response:
        """Return a page of words alone: no token and no cookie, for what another site may have sent."""
        text = self.templates.get_template("bare.html").render(heading=heading, words=words)
        return HTMLResponse(text, status_number)

    def refusal(self, _scope: Scope, status_number: int, words: str) -> Response:
        """Return the page of what is refused before it is looked at."""
        return self.bare_page(status_number, "Too large" if status_number == 413 else "Not taken", words)


def site_of(request: Request) -> Site:
    """Return the site that a request is for."""
    found: Site = request.app.state.site
    return found


def is_secure_context_expected(request: Request) -> bool:
    """Return whether a browser gives this page installation, keeping without a signal and position.

    It does over https, and on the machine itself.
    """
    return request.url.scheme == "https" or request.url.hostname in HERE


def units_of(request: Request) -> System:
    """Return the units that a browser asked for last."""
    asked: Literal["us", "si"] = "si" if request.cookies.get(UNITS_COOKIE) == "si" else "us"
    return asked


def author_of(request: Request) -> str:
    """Return the name of who signed in, else the one that a browser saved under last."""
    from urllib.parse import unquote

    person = visitor_of(request).person
    if person is not None:
        return person.name
    return unquote(request.cookies.get(AUTHOR_COOKIE, ""))[:80]
