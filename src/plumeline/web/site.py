"""What every handler is given: the store, the results made so far, and the way to a page."""

from __future__ import annotations

from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path
from typing import Any, Literal

from fastapi import Request
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.responses import HTMLResponse, Response

import plumeline
from plumeline.safety import SAFETY_CARD
from plumeline.store import Revision, Store
from plumeline.store.pond_places import PondPlaces
from plumeline.units.showing import System
from plumeline.web.forms import give_token, token_of
from plumeline.web.work import Designs, standing_warnings

FOLDER = Path(str(resources.files("plumeline").joinpath("web")))
UNITS_COOKIE = "plumeline_units"
AUTHOR_COOKIE = "plumeline_author"


def _templates() -> Environment:
    return Environment(
        loader=FileSystemLoader(FOLDER / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


@dataclass
class Site:
    """One server's store and what it has made of it."""

    store: Store
    designs: Designs = field(default_factory=Designs)
    templates: Environment = field(default_factory=_templates)
    pond_places: PondPlaces = field(init=False)

    def __post_init__(self) -> None:
        self.pond_places = PondPlaces(self.store.database)

    def page(self, request: Request, name: str, *, status_number: int = 200, **data: Any) -> Response:
        """Return a page, with the token of its forms."""
        token = token_of(request)
        text = self.templates.get_template(name).render(
            **data,
            token=token,
            units=units_of(request),
            author=author_of(request),
            here=request.url.path,
            version=plumeline.__version__,
            damage=self.store.damage,
            good_backup=self.store.good_backup,
            database=self.store.database.path,
            safety=SAFETY_CARD,
        )
        response = HTMLResponse(text, status_number)
        give_token(response, token)
        return response

    def keep_standing(self, revision: Revision) -> None:
        """Look at a new revision and keep what stands against it, for the list of ponds."""
        warnings = standing_warnings(revision)
        self.store.ponds.stands(revision.pond_id, revision.number, warnings, plumeline.__version__)


def site_of(request: Request) -> Site:
    """Return the site that a request is for."""
    found: Site = request.app.state.site
    return found


def units_of(request: Request) -> System:
    """Return the units that a browser asked for last."""
    asked: Literal["us", "si"] = "si" if request.cookies.get(UNITS_COOKIE) == "si" else "us"
    return asked


def author_of(request: Request) -> str:
    """Return the name that a browser saved under last."""
    from urllib.parse import unquote

    return unquote(request.cookies.get(AUTHOR_COOKIE, ""))[:80]
