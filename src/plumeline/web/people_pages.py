"""The page of the people who may sign in, for the office."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from plumeline.errors import InputError
from plumeline.store.people import Role
from plumeline.web.field_faults import FieldFault, told
from plumeline.web.pages import Form, Here
from plumeline.web.site import Site
from plumeline.web.visitors import visitor_of

router = APIRouter()


@router.get("/people")
def people(request: Request, site: Here) -> Response:
    """Show who may sign in."""
    return _shown(request, site)


def _shown(
    request: Request, site: Site, *, name: str = "", role: str = "crew", code: str = "", wrong: str = "",
    fields: tuple[FieldFault, ...] = (), status_number: int = 200,
) -> Response:  # fmt: skip
    return site.page(
        request, "people.html", status_number=status_number, people=site.store.people.all(), name=name, code=code,
        role=role, wrong=wrong, fields=[(one.id, one.label, one.words) for one in fields],
    )  # fmt: skip


@router.post("/people")
def add(request: Request, site: Here, form: Form) -> Response:
    """Put somebody down and show the code by which they set their password, once."""
    name, role = form.text("name"), Role.OFFICE if form.text("role") == "office" else Role.CREW
    try:
        code = site.store.people.add(name, role)
    except InputError as error:
        fields = (told(error, "name", "Name"),)
        return _shown(request, site, name=name, role=role.value, fields=fields, status_number=422)
    return _shown(request, site, name=name, code=code)


@router.post("/people/{person_id}/code")
def new_code(request: Request, site: Here, person_id: str, _form: Form) -> Response:
    """Show a new code for somebody, once."""
    code = site.store.people.new_code(person_id)
    name = next(person.name for person in site.store.people.all() if person.id == person_id)
    return _shown(request, site, name=name, code=code)


@router.post("/people/{person_id}/disable")
def disable(request: Request, site: Here, person_id: str, _form: Form) -> Response:
    """Keep somebody out from now on; nobody shuts themselves out."""
    me = visitor_of(request).person
    if me is not None and me.id == person_id:
        return _shown(
            request, site, wrong="You would shut yourself out; ask somebody else.", status_number=422
        )
    site.store.people.disable(person_id)
    return RedirectResponse("/people", 303)
