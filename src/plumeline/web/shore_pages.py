"""The page of the shore: corners and soundings drawn, typed or brought in as a file; saved with a version check."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import asdict
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Body, Request
from markupsafe import Markup
from pydantic import ValidationError
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, RedirectResponse, Response

from plumeline.drawing.plan_view import HEIGHT_MM, KEY_MM, WIDTH_MM, Frame
from plumeline.errors import InputError, PlumelineError
from plumeline.files.geojson import FILE as OUTLINE
from plumeline.files.kept_rows import with_keep_rows
from plumeline.files.known_places import WALLS
from plumeline.files.shore_lines import with_shore, with_soundings
from plumeline.files.soundings import FILE as SOUNDINGS
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import Job, Point
from plumeline.stages.survey import Survey
from plumeline.stages.survey import survey as survey_stage
from plumeline.stages.survey.plane import LocalPlane, plane_of
from plumeline.store import Folder, Revision
from plumeline.store.errors import ConflictError
from plumeline.store.ponds import look_at
from plumeline.units import show
from plumeline.units.showing import System
from plumeline.web.aerial import under_plan
from plumeline.web.field_faults import FieldFault, FieldsError, fields_of, told
from plumeline.web.forms import Sent
from plumeline.web.known_saving import answers_of
from plumeline.web.laid_tiles import PondPlane, under_frame
from plumeline.web.pages import Form, Here
from plumeline.web.shore import (
    ShoreSketch,
    frame_over,
    ground_of,
    is_fixed,
    laid_out,
    saved_sketch,
    shore_answer,
    shored,
    sketched_job,
    surveyed,
)
from plumeline.web.site import Site, units_of
from plumeline.web.sketch import over_planes, same_text
from plumeline.web.typed_places import NUDGES, lines_of, read_spot, rows_of
from plumeline.web.visitors import keep_author
from plumeline.web.walls_shown import changes_walls_alone, wall_rows, walls_changed, walls_drawn
from plumeline.web.work import asked_of

router = APIRouter()
FIELD_OF = {
    "corners": ("corner-lines", "Corners of the shore"),
    "soundings": ("sounding-lines", "Soundings"),
    "file": ("outline", "A shore from a file"),
}
"""Id and name of the fields of the page."""


def basin_of_revision(site: Site, revision: Revision) -> Survey:
    """Return the basin of a saved revision."""

    def surveyed() -> Survey:
        asked = asked_of(revision)
        return survey_stage(asked.job, asked.seed)

    return site.basins.of((revision.pond_id, revision.number), surveyed)


@router.get("/ponds/{pond_id}/shore")
def shore_page(request: Request, site: Here, pond_id: str, after: str = "") -> Response:
    """Show shore and soundings, to be drawn or moved; and what the revision changed that a form of walls just made."""
    revision = site.store.ponds.revision(pond_id)
    told = _walls_told(site, revision, units_of(request)) if after == str(revision.number) else ""
    return shown(request, site, revision, saved_sketch(revision.job, revision.number), walls_told=told)


def shown(
    request: Request, site: Site, revision: Revision, sketch: dict[str, Any], *, wrong: str = "",
    fields: Sequence[FieldFault] = (), texts: tuple[str, str] | None = None, status_number: int = 200,
    walls_typed: str | None = None, walls_told: str = "",
) -> Response:  # fmt: skip
    """Return the page of the shore.

    Args:
        request: what is answered.
        site: the server's.
        revision: what is saved.
        sketch: what is drawn.
        wrong: what is wrong with the page as a whole.
        fields: what is wrong in its fields.
        texts: corners and soundings as typed, where they could not be read.
        status_number: of the answer.
        walls_typed: walls as typed, where they were not kept: what is wrong then is of them.
        walls_told: what the revision changed of the walls.
    """
    units = units_of(request)
    job = asked_of(revision).job
    basin, plane = basin_of_revision(site, revision), plane_of(job)
    frame = frame_over(basin)
    saved = saved_sketch(job, revision.number)

    def worked_through() -> tuple[dict[str, Any], str]:
        worked = shored(job, ShoreSketch.model_validate(sketch), revision.job.seed)
        return shore_answer(worked, units), ground_of(worked.survey, frame, plane, units)

    answer, unsaved = None, bool(wrong or fields) and walls_typed is None
    try:
        # what is saved is worked through once; what was drawn, each time
        key = (revision.pond_id, revision.number, "shore", units)
        answer, ground = site.drawn.of(key, worked_through) if sketch == saved else worked_through()
    except PlumelineError as error:
        wrong, ground = wrong or str(error), ground_of(basin, frame, plane, units)
    wall_lines = answers_of(site, revision, units)[WALLS]
    data = {
        "pond": revision.pond_id, "number": revision.number, "sketch": sketch, "answer": answer,
        "saved": saved, "changed": unsaved, "typed": texts is not None, "units": units, "wall_lines": wall_lines,
        **_drawn_under(site, revision, job, frame),
    }  # fmt: skip
    corner_lines, sounding_lines = texts or (lines_of(sketch[key], units) for key in ("corners", "soundings"))
    return site.page(
        request, "shore.html", status_number=status_number, pond=revision, ground=Markup(ground), start=answer,
        wrong=wrong, fields=[(one.id, one.label, one.words) for one in fields],
        nudges=NUDGES[units], data=same_text(data), corner_lines=corner_lines,
        sounding_lines=sounding_lines, wall_lines=wall_lines if walls_typed is None else walls_typed,
        wall_rows=wall_rows(job, plane, units), walls_told=walls_told, walls_unsaved=walls_typed is not None,
        assumed=basin.outline_assumed, fixed_count=len(data["fixed"]), unsaved=unsaved,
    )  # fmt: skip


def _drawn_under(site: Site, revision: Revision, job: Job, frame: Frame) -> dict[str, Any]:
    """Return what the script draws under corners and soundings that can be moved, in metres of the plane."""
    plane = plane_of(job)
    fixed = plane.many_to_xy(tuple(item.place for item in job.pond.soundings)) if is_fixed(job) else ()
    return {
        "fixed": [[round(float(x_m), 2), round(float(y_m), 2)] for x_m, y_m in fixed],
        "islands": [
            [[round(float(v), 2) for v in xy] for xy in plane.many_to_xy(ring)] for ring in job.pond.outline[1:]
        ],
        "aerial": under_plan(
            site.store.ponds.folder(revision.pond_id, revision.number).files,
            f"/ponds/{quote(revision.pond_id)}", revision.number, frame, plane,
        ),
        "walls": walls_drawn(job, plane),
        "tiles": under_frame(site.tiles, frame, PondPlane(plane), WIDTH_MM - KEY_MM, HEIGHT_MM),
        "frame": asdict(frame),
    }  # fmt: skip


def _walls_told(site: Site, revision: Revision, units: System) -> str:
    """Return what a revision changed that changed walls alone, and the water with it; empty for any other."""
    if revision.number < 2:
        return ""
    before = site.store.ponds.revision(revision.pond_id, revision.number - 1)
    if not changes_walls_alone(before.job, revision.job):
        return ""
    words = walls_changed(before.job, revision.job, units)
    try:
        was, now = (show(basin_of_revision(site, one).volume_m3, "m3", units) for one in (before, revision))
    except PlumelineError:
        return words  # the page itself says why there is no basin
    return f"{words} Water: {now} now, {was} before."


@router.post("/ponds/{pond_id}/shore/sketch")
def shore_sketch(
    request: Request, site: Here, pond_id: str, asked: Annotated[ShoreSketch, Body()]
) -> Response:
    """Work a sketch of the shore through and keep nothing."""
    began_s = time.perf_counter()
    revision = site.store.ponds.revision(pond_id, asked.revision_number)
    units, job = units_of(request), asked_of(revision).job
    made, seed = read_shore(asked, job, units), revision.job.seed
    key = (pond_id, revision.number, made.model_dump_json(include={"corners", "soundings"}))
    worked = site.shores.of(key, lambda: surveyed(job, made, seed))
    ground = ""
    if asked.draws_ground:
        ground = ground_of(worked.survey, frame_over(basin_of_revision(site, revision)), plane_of(job), units)
    if asked.lays_out:
        worked = laid_out(worked, seed)
    return JSONResponse({
        "sketch": made.model_dump(include={"corners", "soundings"}), "answer": shore_answer(worked, units),
        "ground": ground, "latest_revision_number": site.store.ponds.revision(pond_id).number,
        "server_ms": round(1000.0 * (time.perf_counter() - began_s), 1),
    })  # fmt: skip


def read_shore(asked: ShoreSketch, job: Job, units: System) -> ShoreSketch:
    """Return a sketch with what was typed, place by place or as text, read as metres.

    Raises:
        InputError: with the line or the thing at fault.
    """
    saved = saved_sketch(job, asked.revision_number)
    rows, faults = {}, []
    for key, what, text in (
        ("corners", "corner", asked.corner_lines),
        ("soundings", "sounding", asked.sounding_lines),
    ):
        if text is not None:
            try:
                rows[key] = rows_of(text, saved[key], units, what)
            except InputError as error:
                faults.append(told(error, *FIELD_OF[key]))
            continue
        items = getattr(asked, key)
        rows[key] = [
            read_spot(item.model_dump(exclude_none=True), f"{what} {n}") for n, item in enumerate(items, 1)
        ]
    if faults:
        raise FieldsError(faults)
    try:
        return ShoreSketch.model_validate({"revision_number": asked.revision_number, **rows})
    except ValidationError as error:
        raise InputError("there are more corners or soundings than can be drawn by hand.") from error


@router.post("/ponds/{pond_id}/shore")
def save_shore(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Keep a sketch as the next revision; where that is refused, what was drawn and typed stays."""
    asked, texts = _asked(form)
    revision = site.store.ponds.revision(pond_id, asked.revision_number)
    drawn = asked.model_dump(exclude_none=True, include={"corners", "soundings"})
    try:
        made = read_shore(asked, asked_of(revision).job, units_of(request))
        drawn = made.model_dump(exclude_none=True, include={"corners", "soundings"})
        shored(asked_of(revision).job, made, revision.job.seed)
        saved = _kept(site, revision, made, form)
    except ConflictError as error:
        latest = site.store.ponds.revision(pond_id)
        words = (
            f"{error} What you drew is still here, laid over revision {latest.number}; save again to keep it."
        )
        _laid_over(drawn, plane_of(asked_of(revision).job), plane_of(asked_of(latest).job))
        mine = {"revision_number": latest.number, **drawn}
        return shown(request, site, latest, mine, wrong=words, status_number=409)
    except InputError as error:
        # lines that can't be read stay as text, over what is saved
        mine = _saved(revision) if texts else {"revision_number": asked.revision_number, **drawn}
        fields = _placed(error) if texts else ()
        words = "" if fields else str(error)
        return shown(
            request, site, revision, mine, wrong=words, fields=fields, texts=texts, status_number=422
        )
    return _done(request, site, saved, form)


def _placed(error: InputError) -> tuple[FieldFault, ...]:
    """Return the faults of typed lines at their fields; a shore that can't be is the fault of its corners."""
    if fields_of(error):
        return fields_of(error)
    is_shore = str(error).startswith("the shore ")
    return (told(error, *FIELD_OF["corners"]),) if is_shore else ()


def _laid_over(drawn: dict[str, Any], before: LocalPlane, after: LocalPlane) -> None:
    """Put what was drawn in one plane into that of another revision, where saved places have other numbers."""
    for row in (*drawn["corners"], *drawn["soundings"]):
        row.pop("index", None)
        row["x_m"], row["y_m"] = over_planes(row["x_m"], row["y_m"], before, after)


def _done(request: Request, site: Site, saved: Revision, form: Sent) -> Response:
    site.saved.set()
    response = RedirectResponse(f"/ponds/{quote(saved.pond_id)}/shore", 303)
    keep_author(request, response, form.text("author"))
    return response


def _asked(form: Sent) -> tuple[ShoreSketch, tuple[str, str] | None]:
    """Return the sketch of a form and its texts: what a script put together, or the lines as typed."""
    try:
        if form.text("sketch"):
            return ShoreSketch.model_validate_json(form.text("sketch")), None
        texts = form.whole("corner_lines"), form.whole("sounding_lines")
        number = form.number("number")
        made = ShoreSketch(
            revision_number=number, corners=[], soundings=[], corner_lines=texts[0], sounding_lines=texts[1]
        )
        return made, texts
    except ValidationError as error:
        raise InputError("what was drawn can't be read.", remedy="Load the page again.") from error


def _kept(site: Site, revision: Revision, made: ShoreSketch, form: Sent) -> Revision:
    """Keep shore and soundings in their own files where those then say the same job, else the job anew."""
    pond_id, number = revision.pond_id, revision.number
    told: dict[str, Any] = {
        "author": form.text("author"),
        "reason": form.text("reason") or "shore or soundings drawn",
    }
    job = sketched_job(revision.job, made)
    files = _files(site.store.ponds.folder(pond_id, number).files, revision.job, job, made)
    if files is not None:
        again = look_at(Folder("pond", files), site.store.ponds.today()).job
        if again is not None and _says(again, job) and _with_moved_rows(files, job, again):
            return site.store.ponds.save_files(pond_id, files, expected_number=number, **told)
    return site.store.ponds.save_job(pond_id, job, expected_number=number, **told)


def _with_moved_rows(files: dict[str, bytes], job: Job, again: Job) -> bool:
    """Let the rows that were put back follow their soundings to their new lines; False where they can't be written.

    Args:
        files: of the folder, changed in place.
        job: as sketched, its soundings with the rows that they had.
        again: the same as the files say it.
    """
    pairs = zip(job.pond.soundings, again.pond.soundings, strict=True)
    rows = {new.row for old, new in pairs if old.row > 0 and old.row in job.pond.keep_rows}
    if rows == set(again.pond.keep_rows):
        return True
    written = with_keep_rows(files.get(JOB_FILE, b""), rows)
    if written is None:
        return False
    files[JOB_FILE] = written
    return True


def _says(again: Job, job: Job) -> bool:
    """Return whether two jobs have one shore and the same soundings, whatever rows they stand in."""
    return again.pond.outline == job.pond.outline and [
        (item.place, item.depth_m) for item in again.pond.soundings
    ] == [(item.place, item.depth_m) for item in job.pond.soundings]


def _files(files: Any, before: Job, job: Job, made: ShoreSketch) -> dict[str, bytes] | None:
    """Return the folder's files with the sketch in them, or None where they can't take it."""
    changed = dict(files)
    if job.pond.outline != before.pond.outline:
        rings = [[place for place in ring if isinstance(place, Point)] for ring in job.pond.outline]
        if [len(ring) for ring in rings] != [len(ring) for ring in job.pond.outline]:
            return None
        changed[OUTLINE] = with_shore(files.get(OUTLINE), rings)
    if job.pond.soundings != before.pond.soundings:
        count = len(before.pond.soundings)
        stays = set(range(count)) if is_fixed(before) else {item.index for item in made.soundings}
        gone = [index for index in range(count) if index not in stays]
        added = job.pond.soundings[count - len(gone) :]
        written = with_soundings(files.get(SOUNDINGS), gone, added)
        if written is None:
            return None
        changed[SOUNDINGS] = written
    return changed


@router.post("/ponds/{pond_id}/shore/file")
async def shore_file(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Keep an outline file as it is; its faults are told one by one and nothing is changed."""
    number = form.number("number")
    revision = site.store.ponds.revision(pond_id, number)

    def keep(name: str, data: bytes) -> Response:
        files = {**site.store.ponds.folder(pond_id, number).files, OUTLINE: data}
        told: dict[str, Any] = {"author": form.text("author"), "reason": f"shore from {name[:80]}"}
        try:
            if not data.strip():
                raise InputError("the file is empty.")
            saved = site.store.ponds.save_files(pond_id, files, expected_number=number, **told)
            return _done(request, site, saved, form)
        except ConflictError as error:
            latest = site.store.ponds.revision(pond_id)
            return shown(request, site, latest, _saved(latest), wrong=str(error), status_number=409)
        except InputError as error:
            return _not_taken(request, site, revision, error)

    try:
        name, data = await form.upload("outline")
    except InputError as error:
        why = error
        return await run_in_threadpool(lambda: _not_taken(request, site, revision, why))
    return await run_in_threadpool(keep, name, data)


def _not_taken(request: Request, site: Site, revision: Revision, error: InputError) -> Response:
    """Say at the field of the file what is wrong with it; nothing was changed."""
    faults = getattr(error, "faults", ())
    fields = [FieldFault(*FIELD_OF["file"], str(fault)) for fault in faults] or [
        told(error, *FIELD_OF["file"])
    ]
    return shown(request, site, revision, _saved(revision), fields=fields, status_number=422)


def _saved(revision: Revision) -> dict[str, Any]:
    return saved_sketch(revision.job, revision.number)
