"""Files of other programs brought in on a page: sent, shown as understood, put right where it is wrong, then taken."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from plumeline.errors import InputError, JobFolderError
from plumeline.files.bring.columns import parse_columns
from plumeline.files.bring.hemisphere import put_right
from plumeline.files.bring.merge import Merge, Wish, merged, staff_m
from plumeline.files.bring.ponds import ponds_of
from plumeline.files.bring.reading import read_foreign
from plumeline.files.bring.taped import EXAMPLE
from plumeline.files.bring.value import Asked, Brought
from plumeline.files.findings import some
from plumeline.files.geojson import FILE as OUTLINE
from plumeline.files.soundings import FILE as SOUNDINGS
from plumeline.store import Revision
from plumeline.store.errors import ConflictError
from plumeline.units import plain
from plumeline.web.pages import Form, Here
from plumeline.web.site import Site
from plumeline.web.visitors import keep_author

router = APIRouter()

COLUMNS = (
    ("lon", "longitude"), ("lat", "latitude"), ("x", "eastings"), ("y", "northings"), ("depth", "depth"),
    ("muck", "soft muck's thickness"), ("firm", "firm bottom's depth"), ("level", "staff gauge"), ("time", "time"),
)  # fmt: skip
"""What a person may name a column of, and its words on the page."""
FIELDS = {
    "file": "The file", "crs": "Reference system", "taped": "A taped distance",
    **{f"col-{role}": f"Column of the {words}" for role, words in COLUMNS},
}  # fmt: skip
"""Names of the page's fields by their ids."""
TAKES = (("both", "shore and depths"), ("outline", "the shore alone"), ("soundings", "the depths alone"))
_FOR_THE_SHELL = (
    (re.compile(r'--columns "(\w+)=([^":]*):ft"(?: \(or :m\))?'), r"name the column '\2' and its unit below"),
    (re.compile(r"Say which ones are: --columns .*"), "Name them below, by heading or by number from 1."),
    (re.compile(r"--crs (EPSG:\d+)"), r"\1 below"),
    (re.compile(r"--(?:columns|crs|pond|add|replace|taped|level): "), ""),
    (re.compile(r" ?\(--[a-z]+[^)]*\)"), ""),
)


@dataclass(frozen=True)
class Told:
    """What a person told about a file, as it was typed.

    Attributes:
        fields: by name.
    """

    fields: dict[str, str] = field(default_factory=dict)

    def asked(self, near_deg: tuple[float, float]) -> Asked:
        """Return it as a reader wants it."""
        parts = []
        for role, _ in COLUMNS:
            heading = self.fields.get(role, "").strip().replace(",", " ")
            if heading:
                unit = self.fields.get("unit", "") if role == "depth" else ""
                parts.append(f"{role}={heading}{f':{unit}' if unit else ''}")
        return Asked(parse_columns(", ".join(parts)), self.fields.get("crs", "").strip(), near_deg)

    def wish(self) -> Wish:
        """Return what shall be done."""
        take = self.fields.get("take", "both")
        kinds = () if take not in ("outline", "soundings") else (take,)
        # the revision before keeps what is replaced
        return Wish(
            kinds, self.fields.get("pond", ""), replaces=True, adds=self.fields.get("depths") == "add",
            level_m=staff_m(self.fields.get("staff", "")),
        )  # fmt: skip


def _told(found: Any) -> Told:
    names = [role for role, _ in COLUMNS] + ["unit", "crs", "pond", "take", "depths", "taped", "staff"]
    return Told({name: str(found.get(name) or "")[:200] for name in names})


def field_of(text: str) -> str:
    """Return the id of the page's field that words of the shell's options speak of; empty for none."""
    option = re.search(r"--(taped|crs|columns)\b", text)
    if option is None:
        return ""
    role = re.search(r'--columns "?(\w+)=', text)
    if role and f"col-{role[1]}" in FIELDS:
        return f"col-{role[1]}"
    return {"columns": "col-lon"}.get(option[1], option[1])


def for_page(text: str) -> str:
    """Return words that speak of the shell's options as a page says them."""
    for pattern, words in _FOR_THE_SHELL:
        text = pattern.sub(words, text)
    return text


@router.get("/ponds/{pond_id}/bring")
def bring_page(request: Request, site: Here, pond_id: str, file: str = "") -> Response:
    """Show a file as it was understood, or ask for one."""
    revision = site.store.ponds.revision(pond_id)
    return _shown(request, site, revision, file, _told(request.query_params))


def _shown(
    request: Request, site: Site, revision: Revision, key: str, told: Told, *, wrong: str = "", at: str = "",
    faults: tuple[str, ...] = (), status_number: int = 200,
) -> Response:  # fmt: skip
    look: dict[str, Any] = {"name": "", "rows": (), "taken": (), "cautions": (), "ponds": (), "ready": False}
    if key:
        try:
            look |= _look(site, revision, key, told)
        except InputError as error:
            wrong = wrong or for_page(str(error))
            key, status_number = "", 410
    words, at = wrong or look.get("wrong", ""), at or look.get("at", "")
    return site.page(
        request, "bring.html", status_number=status_number, pond=revision, key=key, told=told.fields, look=look,
        wrong="" if at else words, fields=[(at, FIELDS[at], words)] if at and words else [],
        faults=faults, columns=COLUMNS, takes=TAKES,
        taped_example=EXAMPLE,
    )  # fmt: skip


def _look(site: Site, revision: Revision, key: str, told: Told) -> dict[str, Any]:
    """Return what a page shows of a file; what is wrong with it stands in it as words.

    Raises:
        InputError: the file is not kept any more.
    """
    path = site.parked.get(revision.pond_id, key)
    found: dict[str, Any] = {"name": path.name, "wrong": ""}
    try:
        brought, ponds = _read(revision, path, told)
        found |= {"rows": _rows(brought), "ponds": ponds}
        merge = _merge(site, revision, brought, told)
    except InputError as error:
        return found | {"wrong": for_page(str(error)), "at": field_of(str(error))}
    cautions = [for_page(words) for words in merge.cautions]
    return found | {"taken": [*merge.words], "cautions": cautions, "ready": True}


def _read(revision: Revision, path: Any, told: Told) -> tuple[Brought, tuple[str, ...]]:
    """Return a file read, and its ponds in words where there are several."""
    place = revision.job.site
    brought = read_foreign(path, told.asked((place.longitude_deg, place.latitude_deg)))
    ponds = ponds_of(put_right([brought], place)[0]) if len(brought.areas) > 1 else ()
    return brought, tuple(pond.said for pond in ponds) if len(ponds) > 1 else ()


def _merge(site: Site, revision: Revision, brought: Brought, told: Told) -> Merge:
    files = site.store.ponds.folder(revision.pond_id, revision.number).files
    return merged(files, [brought], revision.job.site, told.wish())


def _rows(one: Brought) -> list[tuple[str, str]]:
    left = [
        ("left out", f"{plain(len(aside.rows), 0)}: {aside.why} ({some(aside.rows)})") for aside in one.asides
    ]
    return [("kind of file", one.kind), ("reference system", one.crs), *one.understood, *left]


@router.post("/ponds/{pond_id}/bring")
async def send_file(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Take a file in to be looked at; nothing of the pond is changed."""
    revision = site.store.ponds.revision(pond_id)
    try:
        name, data = await form.upload("file")
        key = await run_in_threadpool(site.parked.put, pond_id, name, data)
    except InputError as error:
        words = str(error)
        return await run_in_threadpool(
            lambda: _shown(request, site, revision, "", Told(), wrong=words, at="file", status_number=422)
        )
    return RedirectResponse(f"/ponds/{quote(pond_id)}/bring?file={key}", 303)


@router.post("/ponds/{pond_id}/bring/take")
def take_file(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Keep what was understood as the next revision; where that is refused, what was told stays."""
    key, told, number = form.text("file"), _told(form.fields), form.number("number")
    revision = site.store.ponds.revision(pond_id, number)
    try:
        path = site.parked.get(pond_id, key)
        brought, _ = _read(revision, path, told)
        merge = _merge(site, revision, brought, told)
        changed = {name: data for name, data in merge.files.items() if name in (OUTLINE, SOUNDINGS)}
        files = {**site.store.ponds.folder(pond_id, number).files, **changed}
        site.store.ponds.save_files(
            pond_id, files, expected_number=number, author=form.text("author"),
            reason=form.text("reason") or f"brought in: {path.name}",
        )  # fmt: skip
    except ConflictError as error:
        latest = site.store.ponds.revision(pond_id)
        words = f"{error} The file is still here, held against revision {latest.number}; take it again."
        return _shown(request, site, latest, key, told, wrong=words, status_number=409)
    except InputError as error:
        faults = tuple(map(str, error.faults)) if isinstance(error, JobFolderError) else ()
        words = "It was not taken; nothing was changed." if faults else for_page(str(error))
        at = "" if faults else field_of(str(error))
        return _shown(
            request, site, revision, key, told, wrong=words, at=at, faults=faults, status_number=422
        )
    site.saved.set()
    response = RedirectResponse(f"/ponds/{quote(pond_id)}/shore", 303)
    keep_author(request, response, form.text("author"))
    return response
