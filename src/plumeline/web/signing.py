"""Signing in and out, the first code, and changing one's password."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from plumeline.errors import InputError
from plumeline.store.people import PasswordError, WrongCodeError, WrongPasswordError
from plumeline.web.forms import Sent, local_path, sent_form
from plumeline.web.pages import Form, Here
from plumeline.web.site import Site, site_of
from plumeline.web.visitors import CUSTOMER, SESSION, cookie_name, drop_cookie, set_cookie, visitor_of

router = APIRouter()
AsyncForm = Annotated[Sent, Depends(sent_form)]
BY_CODE = "by code"
WRONG = "Name and password do not belong together."


@router.get("/signin")
def sign_in_form(request: Request, site: Here, back: str = "/") -> Response:
    """Ask for name and password."""
    if visitor_of(request).who in ("crew", "office"):
        return RedirectResponse(local_path(back), 303)
    return site.page(request, "signin.html", back=local_path(back), name="", wrong="")


@router.post("/signin")
async def sign_in(request: Request, form: AsyncForm) -> Response:
    """Begin a session where name and password belong together; after ten wrong tries a second passes first."""
    site = site_of(request)
    name, password, back = form.text("name"), form.secret("password"), local_path(form.text("back", "/"))
    address = _address(request)
    async with site.tries.turn(name, address):
        token = await run_in_threadpool(site.store.people.sign_in, name, password)
        if token is None:
            site.tries.was_wrong(name, address)
    if token is None:
        return site.page(request, "signin.html", status_number=401, back=back, name=name, wrong=WRONG)
    return await run_in_threadpool(_begun, request, token, back)


def _begun(request: Request, token: str, back: str) -> Response:
    """Let the browser keep a new session; the one that it had is over."""
    before = request.cookies.get(cookie_name(request, SESSION), "")
    if before:
        site_of(request).store.people.end_session(before)
    response = RedirectResponse(back, 303)
    set_cookie(request, response, SESSION, token, strict=False, kept=True)
    return response


def _address(request: Request) -> str:
    return request.client.host if request.client else "here"


@router.get("/welcome")
def welcome_form(request: Request, site: Here) -> Response:
    """Ask for the code that the office handed over, and for a password."""
    return _welcome(request, site, "", "", "")


def _welcome(
    request: Request, site: Site, code: str, name: str, wrong: str, status_number: int = 200
) -> Response:
    return site.page(request, "welcome.html", status_number=status_number, code=code, name=name, wrong=wrong)


@router.post("/welcome")
async def welcome(request: Request, form: AsyncForm) -> Response:
    """Set a password by a code, and begin a session."""
    site = site_of(request)
    code, name, password = form.text("code"), form.text("name"), form.secret("password")
    address = _address(request)

    def kept() -> tuple[str, str, int]:
        try:
            person = site.store.people.use_code(code, password, name=name)
        except WrongCodeError as error:
            return "", str(error), 401
        except InputError as error:
            return "", str(error), 422
        return site.store.people.begin_session(person.id), "", 303

    async with site.tries.turn(BY_CODE, address):
        token, wrong, status_number = await run_in_threadpool(kept)
        if status_number == 401:
            site.tries.was_wrong(BY_CODE, address)
    if wrong:
        return _welcome(request, site, code, name, wrong, status_number)
    return await run_in_threadpool(_begun, request, token, "/")


@router.get("/signout")
def sign_out_form(request: Request, site: Here) -> Response:
    """Ask before signing out: what a phone has not handed over yet stays on it."""
    return site.page(request, "signout.html")


@router.post("/signout")
def sign_out(request: Request, site: Here, form: Form) -> Response:
    """End the sessions of this browser, a customer's too; it lets go of kept pages, unless readings wait on it."""
    response = RedirectResponse("/signin" if site.sign_in else "/", 303)
    for name in (SESSION, CUSTOMER):
        secret = request.cookies.get(cookie_name(request, name), "")
        if secret:
            site.store.people.end_session(secret)
        drop_cookie(request, response, name)
    if form.text("unsent_count") == "0":
        response.headers["Clear-Site-Data"] = '"cache"'
    return response


@router.get("/password")
def password_form(request: Request, site: Here) -> Response:
    """Ask for the old password and a new one."""
    return site.page(request, "password.html", wrong="")


@router.post("/password")
async def password(request: Request, form: AsyncForm) -> Response:
    """Change one's password; every other session of theirs ends. Wrong old ones count as wrong sign-ins."""
    site, person, address = site_of(request), visitor_of(request).person, _address(request)
    if person is None:
        raise InputError(
            "nobody signs in on this machine.", remedy="A password is for a server on the network."
        )
    old, new, token, wrong = form.secret("old"), form.secret("new"), "", ""
    async with site.tries.turn(person.name, address):
        try:
            token = await run_in_threadpool(site.store.people.change_password, person.id, old, new)
        except PasswordError as error:
            wrong = str(error)
            if isinstance(error, WrongPasswordError):
                site.tries.was_wrong(person.name, address)
    if wrong:
        return site.page(request, "password.html", status_number=422, wrong=wrong)
    response = RedirectResponse("/", 303)
    set_cookie(request, response, SESSION, token, strict=False, kept=True)
    return response
