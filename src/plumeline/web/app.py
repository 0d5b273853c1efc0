"""The application: pages, the JSON API, what is said when something is wrong."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fastapi import APIRouter, Depends, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp

import plumeline
from plumeline.errors import DepthError, JobFolderError, PlumelineError
from plumeline.files.json_values import json_value
from plumeline.store import Revision, Store
from plumeline.store.errors import ConflictError, NotThereError, StoreError
from plumeline.web import (
    aerial_pages,
    answers,
    api,
    bin_pages,
    bring_pages,
    capture_api,
    capture_correct,
    capture_pages,
    capture_phone,
    costs_pages,
    customer,
    editing,
    front_pages,
    known_pages,
    links_pages,
    pages,
    paper_pages,
    people_pages,
    planning,
    plans,
    run_workings_pages,
    shore_pages,
    signing,
    survey_pages,
    visit_gauges,
    visits,
    wall_pages,
    workings_pages,
)
from plumeline.web.doors import NotAllowedError, allowed
from plumeline.web.doorstep import Doorstep
from plumeline.web.forms import ForeignFormError, typed_of
from plumeline.web.guard import Guard, Headed
from plumeline.web.lan import pairing_page
from plumeline.web.lan.reach import ON_THIS_MACHINE, How, Reach
from plumeline.web.problems import REFUSALS, problem
from plumeline.web.rights import without_rights
from plumeline.web.site import FOLDER, Site, site_of
from plumeline.web.tiles import Tiles, pictures_of
from plumeline.web.tries import TooManyTriesError

API = "/api/"
ABOUT = (
    "The same ponds and stages as the pages. Numbers are SI, and each key carries its unit. A change names the "
    "revision it was made on and is refused (409) if another was saved in between. What is wrong comes as problem+json "
    "(RFC 9457), with every fault."
)


ROUTERS: tuple[tuple[APIRouter, str], ...] = (
    (api.router, "/api/v1"),
    (capture_api.router, "/api/v1/capture"),
    (signing.router, ""),
    (people_pages.router, ""),
    (links_pages.router, ""),
    (customer.router, ""),
    (bin_pages.router, ""),
    (editing.router, ""),
    (known_pages.router, ""),
    (planning.router, ""),
    (front_pages.router, ""),
    (costs_pages.router, ""),
    (shore_pages.router, ""),
    (wall_pages.router, ""),
    (survey_pages.router, ""),
    (bring_pages.router, ""),
    (aerial_pages.router, ""),
    (plans.router, ""),
    (visits.router, ""),
    (visit_gauges.router, ""),
    (paper_pages.router, ""),
    (capture_phone.router, ""),
    (capture_pages.router, ""),
    (capture_correct.router, ""),
    (pairing_page.router, ""),
    (workings_pages.router, ""),
    (run_workings_pages.router, ""),
    (pages.router, ""),
)
"""Every route; what is named stands before what is any."""


class _App(FastAPI):
    """FastAPI with our headers around all it answers, errors of ours too."""

    def build_middleware_stack(self) -> ASGIApp:
        """Return the layers, ours outermost: Starlette puts its answer to an error around what is added to it."""
        site: Site = self.state.site
        return Headed(super().build_middleware_stack(), pictures_of(site.tiles))


def make_app(
    store: Store, *, reach: Reach = ON_THIS_MACHINE, changed: Sequence[str] = (), sign_in: bool = False,
    tiles: Tiles | None = None,
) -> FastAPI:  # fmt: skip
    """Return the application over a store.

    Args:
        store: the open database.
        reach: who can reach it, under which names.
        changed: what phones must be told since the last start.
        sign_in: whether people must sign in on this machine too; without it whoever asks has the rights of the
            office. Where others can reach it, they must in any case.
        tiles: where map tiles come from; without it no page asks for anything elsewhere.

    Raises:
        RuntimeError: a route has no row in the table of rights.
    """
    loose = without_rights(route.endpoint for router, _ in ROUTERS for route in router.routes)  # type: ignore[attr-defined]
    if loose:
        raise RuntimeError(f"routes without a row in web/rights.py: {', '.join(loose)}")
    app = _App(
        title="Plumeline",
        version=plumeline.__version__,
        description=ABOUT,
        openapi_url=None,
        docs_url=None,
        redoc_url=None,
        dependencies=[Depends(allowed), Depends(answers.look_up)],
    )
    app.state.site = Site(
        store, reach, tuple(changed), sign_in=sign_in or reach.how is not How.HERE, tiles=tiles
    )
    # the one font of drawings, charts and papers: what was measured in it is shown in it
    app.mount("/static/fonts", StaticFiles(directory=FOLDER.parent / "paper" / "fonts"), name="fonts")
    app.mount("/static", StaticFiles(directory=FOLDER / "static"), name="static")
    for router, prefix in ROUTERS:
        if prefix:
            app.include_router(router, prefix=prefix, responses=REFUSALS)
        else:
            app.include_router(router, include_in_schema=False)
    ways = [(prefix, route) for router, prefix in ROUTERS for route in router.routes]
    app.add_middleware(Doorstep, ways=ways, refuse=_not_allowed)
    app.add_middleware(
        Guard, answers_to=reach.answers_to, where_else=reach.where_else, show=app.state.site.refusal
    )
    app.add_exception_handler(NotAllowedError, _not_allowed)
    app.add_exception_handler(answers.AnsweredError, answers.shown)  # type: ignore[arg-type]
    app.add_exception_handler(PlumelineError, _known)
    app.add_exception_handler(HTTPException, _plain)
    app.add_exception_handler(RequestValidationError, _not_valid)
    app.add_exception_handler(ForeignFormError, _foreign)
    app.add_exception_handler(Exception, _unknown)
    return app


def status_of(error: PlumelineError) -> int:
    """Return the HTTP status that says what kind of error it is."""
    if isinstance(error, NotThereError):
        return 404
    if isinstance(error, ConflictError):
        return 409
    if isinstance(error, TooManyTriesError):
        return 429
    return 503 if isinstance(error, StoreError) else 422


def _not_allowed(request: Request, error: Any) -> Response:
    if error.back:
        return RedirectResponse(error.back, 303)
    if error.by_link:
        # whoever held a link is not led to a sign-in that is not for them
        return customer.link_page(request, str(error), error.status_number)
    heading = {401: "Not signed in", 403: "Not for you", 404: "Not there"}[error.status_number]
    return _answer(request, error.status_number, heading, str(error))


def _known(request: Request, error: Any) -> Response:
    typed = typed_of(request) if isinstance(error, StoreError) else ()
    faults = error.faults if isinstance(error, JobFolderError) else ()
    heading = {404: "Not there", 409: "Saved in between", 503: "The database"}.get(
        status_of(error), "Not possible"
    )
    # one wrong sounding does this: the way to it stands beside the refusal
    too_deep = request.path_params.get("pond_id", "") if isinstance(error, DepthError) else ""
    return _answer(request, status_of(error), heading, str(error), json_value(faults), typed, too_deep)


def _plain(request: Request, error: Any) -> Response:
    words = {
        400: "What was sent can't be read: send JSON in UTF-8, or the fields of the form.",
        404: "There is no such page.",
        405: "That can't be done here.",
    }
    text = words.get(error.status_code, str(error.detail))
    return _answer(
        request, error.status_code, "Not there" if error.status_code == 404 else "Not possible", text
    )


def _not_valid(request: Request, error: Any) -> Response:
    if request.method == "GET" and all(item.get("loc", ("",))[0] == "path" for item in error.errors()):
        return _plain(request, HTTPException(404))
    # what was sent is left out of the answer: it may hold what JSON can't
    faults = [
        {
            "file": "",
            "where": ".".join(str(part) for part in item.get("loc", ())),
            "problem": str(item.get("msg", "")),
            "remedy": "",
        }
        for item in error.errors()[:50]
    ]
    return _answer(request, 422, "Not possible", "What was sent is not what this takes.", faults)


def _foreign(request: Request, error: Any) -> Response:
    text = "The form is too old, or another site sent it; nothing was saved."
    text += " What it holds stands below." if error.fields else " Load the page again, then send."
    return _answer(request, 403, "Not sent", text, again=error.fields)


def _unknown(request: Request, error: Any) -> Response:
    text = (
        f"Something went wrong that should not ({type(error).__name__}); nothing was saved. Please report it."
    )
    return _answer(request, 500, "An error of ours", text)


def _pond_of(site: Site, request: Request, status_number: int) -> Revision | None:
    """Return the pond whose page can't be shown, so that the way to its other pages and files stays; None for none."""
    pond_id = request.path_params.get("pond_id", "")
    if status_number != 422 or not pond_id:
        return None
    try:
        return site.store.ponds.revision(pond_id)
    except PlumelineError:
        return None


def _answer(
    request: Request, status_number: int, heading: str, text: str, faults: Any = (), again: Any = (),
    too_deep: str = "",
) -> Response:  # fmt: skip
    if request.url.path.startswith(API) or request.headers.get("accept") == "application/json":
        return problem(status_number, heading, text, faults)
    site = site_of(request)
    return site.page(
        request,
        "wrong.html",
        pond=_pond_of(site, request, status_number),
        status_number=status_number,
        heading=heading,
        text=text,
        faults=faults,
        sent_to=request.url.path,
        again=again,
        too_deep=too_deep,
    )
