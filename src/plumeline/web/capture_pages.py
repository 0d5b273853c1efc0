"""The pages of what came from the field: all of it by phone, and that of one pond, to be taken into its job."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Depends, Path, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from plumeline.errors import InputError
from plumeline.files.field_items import SHA256
from plumeline.files.pictures import KIND, preview
from plumeline.store.capture_list import ItemRow
from plumeline.store.captures import State
from plumeline.store.errors import ConflictError
from plumeline.store.taking import OPEN, Asked
from plumeline.web.capture_import import bring_in, read_file
from plumeline.web.capture_shown import device_shown, item_shown, secchi_shown
from plumeline.web.forms import Sent, sent_form
from plumeline.web.pages import Form, Here, download
from plumeline.web.site import AUTHOR_COOKIE, Site, site_of
from plumeline.web.visit_fit import ports_known
from plumeline.web.visitors import keep_choice

router = APIRouter()
PAGE_ROWS = 100
MOST_NAMES = 1000
"""So many names are offered where one is typed."""
Sequence = Annotated[int, Path(ge=1, le=2**53)]


@router.get("/captures")
def all_items(
    request: Request, site: Here, state: State | None = None, device: Annotated[str, Query(max_length=40)] = "",
    before: Annotated[int | None, Query(ge=1, le=2**53)] = None,
) -> Response:  # fmt: skip
    """Show what phones handed over, the latest first, and which of them hold readings still."""
    return _all(request, site, state, device, before)


def _all(
    request: Request, site: Site, state: State | None = None, device: str = "", before: int | None = None,
    words: str = "", refused: tuple[str, ...] = (), status_number: int = 200,
) -> Response:  # fmt: skip
    taking = site.store.taking
    rows = taking.list.items(
        states=(state,) if state else (), device_id=device, before=before, most=PAGE_ROWS + 1, latest_first=True
    )  # fmt: skip
    now = site.store.clock()
    named = {row.pond_id for row in rows if row.pond_id}
    names = site.store.ponds.names(MOST_NAMES, besides=named)
    more = ""
    if len(rows) > PAGE_ROWS:
        more = f"/captures?before={rows[PAGE_ROWS - 1].sequence_number}&device={quote(device)}"
        more += f"&state={quote(state)}" if state else ""
    return site.page(
        request, "captures.html", status_number=status_number, words=words, refused=refused, ponds=names,
        devices=[device_shown(one, now) for one in taking.list.devices()], counts=taking.list.counts(),
        rows=[item_shown(one, now) for one in rows[:PAGE_ROWS]], state=state, device=device, more=more,
    )  # fmt: skip


@router.post("/captures/import")
async def import_file(
    request: Request, site: Annotated[Site, Depends(site_of)], form: Annotated[Sent, Depends(sent_form)]
) -> Response:
    """Keep the items and photos of a file that a phone or a field sheet wrote."""
    name, data = await form.upload("file")

    def keep() -> Response:
        brought = bring_in(site.store, read_file(data))
        count = len(brought.receipts)
        words = f"{name[:80]}: {count} item{'' if count == 1 else 's'} held, {brought.new_count} of them new."
        refused = [f"item {one.index + 1}: {one.words}" for one in brought.refused]
        refused += [f"photo {one.sha256[:12]}: {one.words}" for one in brought.refused_photos]
        return _all(request, site, words=words, refused=tuple(refused))

    return await run_in_threadpool(keep)


@router.get("/captures/{sequence}/item.json")
def raw_item(site: Here, sequence: Sequence) -> Response:
    """Give the very bytes that a phone sent."""
    return download(site.store.taking.list.content(sequence), f"item-{sequence}.json", "application/json")


@router.get("/captures/photos/{sha256}.jpg")
def photo(
    site: Here, sha256: Annotated[str, Path(pattern=SHA256)], small: bool = False
) -> Response:  # fmt: skip
    """Show a photo as it was written anew."""
    return Response(site.store.photos.picture(sha256, preview if small else None), media_type=KIND)


@router.get("/ponds/{pond_id}/captures")
def of_pond(request: Request, site: Here, pond_id: str) -> Response:
    """Show what came from the field for a pond."""
    return _of_pond(request, site, pond_id)


def _of_pond(
    request: Request, site: Site, pond_id: str, *, words: str = "", status_number: int = 200
) -> Response:
    pond = site.store.ponds.revision(pond_id)
    items = site.store.taking.list.items
    waiting = items(pond_id=pond_id, states=OPEN)
    past = {
        name: items(pond_id=pond_id, states=(state,), most=PAGE_ROWS, latest_first=True)
        for name, state in (("taken", State.TAKEN), ("aside", State.ASIDE))
    }
    now = site.store.clock()
    everything = (*waiting, *past["taken"], *past["aside"])
    ports = ports_known(site, pond) if any(one.item.kind == "gauge" for one in waiting) else ()
    groups = {name: [item_shown(one, now, everything) for one in rows] for name, rows in past.items()}
    shown = [item_shown(one, now, everything, ports) for one in waiting]
    edited = {one.item.supersedes for one in waiting}
    heads = [one for one in waiting if one.item.id not in edited]
    return site.page(
        request, "pond_captures.html", status_number=status_number, pond=pond, words=words, **groups,
        undecided=shown, counts=site.store.taking.list.counts(pond_id),
        secchi=secchi_shown(pond.job.pond.secchi_depth_m, pond.number, heads), most=PAGE_ROWS,
        all_new=len(_heads(waiting)), last=waiting[-1].sequence_number if waiting else 0,
    )  # fmt: skip


def _heads(rows: tuple[ItemRow, ...]) -> list[int]:
    """Return the items that nobody has looked at and that no later edit replaces."""
    edited = {one.item.supersedes for one in rows if one.live}
    return [one.sequence_number for one in rows if one.state is State.NEW and one.item.id not in edited]


@router.post("/ponds/{pond_id}/captures/take")
def take(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Take one item or all new ones into the job; what can't be taken stays on the page with its reason."""
    action = form.text("action")
    if action == "all":
        upto = form.number("last")
        shown = site.store.taking.list.items(pond_id=pond_id, states=OPEN)
        wanted = _heads(tuple(one for one in shown if one.sequence_number <= upto))
    else:
        wanted = [form.number("item")]
    asked = Asked(
        pond_id, form.number("number"), form.text("author"), form.text("note")[:500],
        picked=action in ("pick", "readings"), leave_secchi=action == "readings",
    )  # fmt: skip
    kinds = set()
    for number in wanted:
        row = site.store.taking.list.one(number)
        kinds.add(row.item.kind)
        if row.pond_id != pond_id:
            raise InputError(f"item no. {number} belongs to another pond.", remedy="Load the page again.")
    if "gauge" in kinds:
        asked = replace(asked, ports=ports_known(site, site.store.ponds.revision(pond_id)))
    try:
        done = site.store.taking.take(wanted, asked)
    except ConflictError as error:
        return _of_pond(request, site, pond_id, words=str(error), status_number=409)
    if done.saved is not None:
        site.saved.set()
    if done.left:
        words = "Not taken: " + " ".join(f"no. {one.sequence_number}: {one.words}" for one in done.left[:10])
        return _of_pond(request, site, pond_id, words=words, status_number=422)
    return _back(request, f"/ponds/{quote(pond_id)}/captures", form)


@router.post("/captures/{sequence}/aside")
def aside(request: Request, site: Here, sequence: Sequence, form: Form) -> Response:
    """Set an item aside; it stays on the page."""
    row = site.store.taking.set_aside(sequence, form.text("author"))
    return _back(request, _page_of(row, form), form)


@router.post("/captures/{sequence}/undo")
def undo(request: Request, site: Here, sequence: Sequence, form: Form) -> Response:
    """Bring back an item that was set aside."""
    return _back(request, _page_of(site.store.taking.undo(sequence), form), form)


@router.post("/captures/{sequence}/assign")
def assign(request: Request, site: Here, sequence: Sequence, form: Form) -> Response:
    """Say to which pond an item belongs, by its name or id."""
    wanted = form.text("pond")
    found = site.store.ponds.rows(search=wanted, most=1000) if wanted else ()
    same = [pond for pond in found if pond.name.casefold() == wanted.casefold()]
    if len(same) > 1:
        raise InputError(
            f"{len(same)} ponds are named '{wanted[:80]}'.",
            remedy=f"Give its id: {', '.join(one.id for one in same[:5])}.",
        )
    pond_id = same[0].id if same else wanted
    site.store.taking.assign(sequence, pond_id)
    return _back(request, f"/ponds/{quote(pond_id)}/captures", form)


def _page_of(row: ItemRow, form: Sent) -> str:
    if form.text("back") == "pond" and row.pond_id:
        return f"/ponds/{quote(row.pond_id)}/captures"
    return "/captures"


def _back(request: Request, address: str, form: Sent) -> Response:
    response = RedirectResponse(address, 303)
    author = form.text("author")[:80]
    if author:
        keep_choice(request, response, AUTHOR_COOKIE, quote(author))
    return response
