"""The bin, for the office: a pond taken away, brought back by one tap, or erased for good by its typed name."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from plumeline.errors import InputError
from plumeline.web.pages import Form, Here
from plumeline.web.site import Site, author_of

router = APIRouter()


@router.get("/bin")
def all_binned(request: Request, site: Here, just: str = "") -> Response:
    """Show the ponds in the bin; the one just taken away first, with its way back."""
    return _shown(request, site, just=just)


def _shown(
    request: Request, site: Site, *, just: str = "", wrong: str = "", wrong_id: str = "", typed: str = "",
    status_number: int = 200,
) -> Response:  # fmt: skip
    rows = site.store.bin.all()
    return site.page(
        request, "bin.html", status_number=status_number, rows=rows, wrong=wrong, wrong_id=wrong_id, typed=typed,
        just=next((row for row in rows if row.id == just), None),
    )  # fmt: skip


@router.post("/ponds/{pond_id}/bin")
def put(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Take a pond away; it can come back for 30 days."""
    site.store.bin.put(pond_id, form.text("author") or author_of(request))
    return RedirectResponse(f"/bin?just={quote(pond_id)}", 303)


@router.post("/bin/{pond_id}/back")
def take_back(site: Here, pond_id: str, _form: Form) -> Response:
    """Bring a pond back."""
    site.store.bin.take_back(pond_id)
    return RedirectResponse(f"/ponds/{quote(pond_id)}", 303)


@router.post("/bin/{pond_id}/erase")
def erase(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Erase a pond for good, where its name was typed."""
    typed = form.text("name")
    try:
        site.store.bin.erase(pond_id, typed)
    except InputError as error:
        return _shown(request, site, wrong=str(error), wrong_id=pond_id, typed=typed, status_number=422)
    return RedirectResponse("/bin", 303)
