"""The page on which the office corrects what a phone sent; that stays beside the correction, to the byte."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Path, Request
from starlette.responses import RedirectResponse, Response

from plumeline.errors import InputError, JobFolderError, PlumelineError
from plumeline.store.capture_list import ItemRow
from plumeline.store.correcting import correct as keep_correction
from plumeline.store.correcting import typed_values
from plumeline.web.capture_shown import item_shown
from plumeline.web.pages import Form, Here
from plumeline.web.site import AUTHOR_COOKIE, Site
from plumeline.web.visit_fit import ports_known
from plumeline.web.visitors import keep_choice

router = APIRouter()
AUTHOR = "author"
"""Id of the field of the name."""
Number = Annotated[int, Path(ge=1, le=2**53)]


@router.get("/captures/{sequence}/correct")
def correct_page(request: Request, site: Here, sequence: Number) -> Response:
    """Show an item's typed values, to be corrected."""
    row = site.store.taking.list.one(sequence)
    return _shown(request, site, row, {key: text for key, (_, text) in _values(row).items()})


def _values(row: ItemRow) -> dict[str, tuple[str, str]]:
    return typed_values(row.item.parsed, row.item.kind)


def _ports(site: Site, row: ItemRow) -> tuple[str, ...]:
    if row.item.kind != "gauge" or row.pond_id is None:
        return ()
    try:
        return ports_known(site, site.store.ponds.revision(row.pond_id))
    except PlumelineError:
        return ()


def _shown(
    request: Request, site: Site, row: ItemRow, given: dict[str, str], *, faults: tuple[tuple[str, str], ...] = (),
    status_number: int = 200,
) -> Response:  # fmt: skip
    fields = [
        {"key": key, "label": label, "sent": sent, "value": given[key], "id": f"value-{number}"}
        for number, (key, (label, sent)) in enumerate(_values(row).items())
    ]
    # a fault names its field in words, as the field's label does
    for one in fields:
        one["wrong"] = " ".join(
            words for where, words in faults if where and where in (one["label"], one["key"])
        )
    placed = {where for where, _ in faults} & {str(one["label"]) for one in fields} | {AUTHOR}
    unnamed = [(AUTHOR, "Your name", words) for where, words in faults if where == AUTHOR]
    return site.page(
        request, "correct.html", status_number=status_number, one=item_shown(row, site.store.clock()), fields=fields,
        ports=_ports(site, row), loose=[f"{where} {words}".strip() for where, words in faults if where not in placed],
        places=[(one["id"], one["label"], one["wrong"]) for one in fields if one["wrong"]] + unnamed,
    )  # fmt: skip


@router.post("/captures/{sequence}/correct")
def correct(request: Request, site: Here, sequence: Number, form: Form) -> Response:
    """Keep a correction beside what was sent; what is wrong is said at its field and stays there."""
    row = site.store.taking.list.one(sequence)
    given = {key: form.text(f"value:{key}", text) for key, (_, text) in _values(row).items()}
    author = form.text("author")
    try:
        if not author:
            raise InputError("nobody is named.", remedy="Type your name: it stands beside the correction.")
        done = keep_correction(
            site.store.captures, site.store.taking.list, sequence, given, author, _ports(site, row)
        )
    except JobFolderError as error:
        told = tuple((fault.where, f"{fault.problem} {fault.remedy}".strip()) for fault in error.faults)
        return _shown(request, site, row, given, faults=told, status_number=422)
    except InputError as error:
        where = "" if author else AUTHOR
        return _shown(request, site, row, given, faults=((where, str(error)),), status_number=422)
    where = f"/ponds/{quote(row.pond_id)}/captures" if row.pond_id else "/captures"
    response = RedirectResponse(f"{where}#item-{done.sequence_number}", 303)
    keep_choice(request, response, AUTHOR_COOKIE, quote(author[:80]))
    return response
