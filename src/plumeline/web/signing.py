"""Signing in and out, the first code, and changing one's password."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from plumeline.errors import InputError
from plumeline.store.people import PasswordError, WrongCodeError
from plumeline.web.forms import Sent, local_path, sent_form
from plumeline.web.pages import Form, Here
from plumeline.web.site import Site, site_of
from plumeline.web.visitors import SESSION, drop_cookie, secret_of, set_cookie, visitor_of

router = APIRouter()
AsyncForm = Annotated[Sent, Depends(sent_form)]
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
    await site.tries.wait(name, address)
    token = await run_in_threadpool(site.store.people.sign_in, name, password)
    if token is None:
        site.tries.was_wrong(name, address)
        return site.page(request, "signin.html", status_number=401, back=back, name=name, wrong=WRONG)
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
    await site.tries.wait("by code", address)

    def kept() -> tuple[str, str, int]:
        try:
            person = site.store.people.use_code(code, password, name=name)
        except WrongCodeError as error:
            return "", str(error), 401
        except InputError as error:
            return "", str(error), 422
        return site.store.people.begin_session(person.id), "", 303

    token, wrong, status_number = await run_in_threadpool(kept)
    if wrong:
        if status_number == 401:
            site.tries.was_wrong("by code", address)
        return _welcome(request, site, code, name, wrong, status_number)
    response = RedirectResponse("/", 303)
    set_cookie(request, response, SESSION, token, strict=False, kept=True)
    return response


@router.get("/signout")
def sign_out_form(request: Request, site: Here) -> Response:
    """Ask before signing out: what a phone has not handed over yet stays on it."""
    return site.page(request, "signout.html")


@router.post("/signout")
def sign_out(request: Request, site: Here, form: Form) -> Response:
    """End the session; the browser also lets go of pages it kept, unless readings wait on it."""
    secret = secret_of(request)
    if secret:
        site.store.people.end_session(secret)
    response = RedirectResponse("/signin" if site.sign_in else "/", 303)
    drop_cookie(request, response, SESSION)
    if form.text("unsent_count") == "0":
        response.headers["Clear-Site-Data"] = '"cache"'
    return response


@router.get("/password")
def password_form(request: Request, site: Here) -> Response:
    """Ask for the old password and a new one."""
    return site.page(request, "password.html", wrong="")


@router.post("/password")
def password(request: Request, site: Here, form: Form) -> Response:
    """Change one's password; every other session of theirs ends."""
    person = visitor_of(request).person
    if person is None:
        raise InputError(
            "nobody signs in on this machine.", remedy="A password is for a server on the network."
        )
    try:
        token = site.store.people.change_password(person.id, form.secret("old"), form.secret("new"))
    except PasswordError as error:
        return site.page(request, "password.html", status_number=422, wrong=str(error))
    response = RedirectResponse("/", 303)
    set_cookie(request, response, SESSION, token, strict=False, kept=True)
    return response
