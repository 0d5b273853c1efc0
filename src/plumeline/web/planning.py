"""The plan page: things dragged, nudged or typed, worked through at once, saved with a version check."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import asdict
from typing import Annotated, Any
from urllib.parse import quote

import numpy as np
from fastapi import APIRouter, Body, Request
from pydantic import ValidationError
from starlette.responses import JSONResponse, RedirectResponse, Response

from plumeline.drawing import frame_of, svg, water_scene
from plumeline.drawing.plan_view import HEIGHT_MM, KEY_MM, WIDTH_MM
from plumeline.errors import InputError, PlumelineError
from plumeline.files.placed_lines import with_places
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import MOST_BENDS, Job
from plumeline.store import Folder, Revision
from plumeline.store.errors import ConflictError
from plumeline.store.ponds import look_at
from plumeline.units.showing import System
from plumeline.web.aerial import under_plan
from plumeline.web.field_faults import FieldFault, fields_of
from plumeline.web.forms import Sent
from plumeline.web.laid_tiles import PondPlane, under_frame
from plumeline.web.pages import Form, Here
from plumeline.web.showing import drawing
from plumeline.web.site import Site, units_of
from plumeline.web.sketch import (
    Sketch,
    answer,
    laid_over,
    place_said,
    plane_name,
    read_typed,
    same_text,
    sketch_of,
)
from plumeline.web.typed_places import NUDGES, places_words
from plumeline.web.visitors import keep_author
from plumeline.web.work import Design

router = APIRouter()


@router.get("/ponds/{pond_id}/plan")
def plan_page(request: Request, site: Here, pond_id: str) -> Response:
    """Show the plan with everything that can be moved."""
    revision = site.store.ponds.revision(pond_id)
    design = site.designs.of(revision)
    return _shown(request, site, revision, design, sketch_of(design, revision.number))


def _shown(
    request: Request, site: Site, revision: Revision, design: Design, sketch: dict[str, Any], *, wrong: str = "",
    fields: Sequence[FieldFault] = (), reason: str = "", status_number: int = 200,
) -> Response:  # fmt: skip
    units = units_of(request)
    frame = frame_of(design.survey, design.layout)
    start: dict[str, Any] | None
    try:
        made = Sketch.model_validate(sketch)
        start = answer(site.sketches.of(design, revision.pond_id, made), units)
    except PlumelineError as error:
        start, wrong = None, wrong or ("" if fields else str(error))
    key = (revision.pond_id, revision.number, "plan", units)
    ground = site.drawn.of(key, lambda: drawing("ground", svg(water_scene(design, units)), ""))
    rows = [
        {"name": row.get("name", "manifold"), "east": row.get("east"), "north": row.get("north")}
        | {"through": _through(row, units)}
        | {
            key: text
            for key, text in place_said(row["x_m"], row["y_m"], units).items()
            if row.get(key) is None
        }
        for row in (sketch["manifold"], *sketch["diffusers"])
    ]
    by_name = {row["name"]: row for row in start["diffusers"]} if start else {}
    data = {
        "pond": revision.pond_id, "number": revision.number, "plane": plane_name(design.survey.plane),
        "sketch": sketch, "answer": start, "changed": bool(wrong or fields),
        "deepest": _deepest(design), "key_mm": KEY_MM, "most_bends": MOST_BENDS,
        "aerial": under_plan(
            site.store.ponds.folder(revision.pond_id, revision.number).files,
            f"/ponds/{quote(revision.pond_id)}", revision.number, frame, design.survey.plane,
        ),
        "tiles": under_frame(
            site.tiles, frame, PondPlane(design.survey.plane), WIDTH_MM - KEY_MM, HEIGHT_MM
        ),
        "frame": asdict(frame),
    }  # fmt: skip
    return site.page(
        request, "plan.html", status_number=status_number, pond=revision, ground=ground,
        rows=rows, by_name=by_name, start=start, wrong=wrong, reason=reason,
        fields=[(one.id, one.label, one.words) for one in fields], nudges=NUDGES[units], data=same_text(data),
    )  # fmt: skip


def _through(row: dict[str, Any], units: System) -> str | None:
    """Return what the row of a diffuser says of its line's bends: as typed where it was, None for the manifold."""
    if "name" not in row:
        return None
    places = [(bend["x_m"], bend["y_m"]) for bend in row.get("bends", ())]
    typed = row.get("through")
    return places_words(places, units) if typed is None else str(typed)


def _deepest(design: Design) -> dict[str, float]:
    """Return where the water is deepest: a new diffuser begins there."""
    grid = design.survey.grid
    row, column = np.unravel_index(int(np.nanargmax(grid.depth_m)), grid.depth_m.shape)
    return {"x_m": round(float(grid.x_m[column]), 2), "y_m": round(float(grid.y_m[row]), 2)}


@router.post("/ponds/{pond_id}/sketch")
def sketch(request: Request, site: Here, pond_id: str, asked: Annotated[Sketch, Body()]) -> Response:
    """Work a sketch through and keep nothing; numbers are those of the stages for the job saved so."""
    began_s = time.perf_counter()
    revision = site.store.ponds.revision(pond_id, asked.revision_number)
    design = site.designs.of(revision)
    made = read_typed(asked)
    found = answer(site.sketches.of(design, pond_id, made), units_of(request))
    latest = site.store.ponds.revision(pond_id).number
    took_ms = 1000.0 * (time.perf_counter() - began_s)
    return JSONResponse({
        "sketch": made.model_dump(exclude_none=True), "answer": found, "latest_revision_number": latest,
        "server_ms": round(took_ms, 1),
    })  # fmt: skip


@router.post("/ponds/{pond_id}/plan")
def save(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Keep a sketch as the next revision; where somebody saved in between, both are shown and nothing is lost."""
    asked = _asked(form)
    revision = site.store.ponds.revision(pond_id, asked.revision_number)
    design = site.designs.of(revision)
    try:
        made = read_typed(asked)
        worked = site.sketches.of(design, pond_id, made)
        _kept(site, pond_id, worked.job, made, form)
    except ConflictError as error:
        latest = site.store.ponds.revision(pond_id)
        words = f"{error} What you placed is still here, laid over revision {latest.number}; save again to keep it."
        there = site.designs.of(latest)
        mine = laid_over(made, design.survey.plane, there.survey.plane, latest.number)
        return _shown(
            request, site, latest, there, mine, wrong=words, reason=form.text("reason"), status_number=409
        )
    except InputError as error:
        mine = asked.model_dump(exclude_none=True)
        fields = fields_of(error)
        return _shown(
            request, site, revision, design, mine, wrong="" if fields else str(error), fields=fields,
            reason=form.text("reason"), status_number=422,
        )  # fmt: skip
    site.saved.set()
    response = RedirectResponse(f"/ponds/{quote(pond_id)}/plan", 303)
    keep_author(request, response, form.text("author"))
    return response


def _asked(form: Sent) -> Sketch:
    """Return the sketch of a form: what a script put together, or the fields as typed."""
    try:
        if form.text("sketch"):
            return Sketch.model_validate_json(form.text("sketch"))
        count = form.number("count")
        places = [
            {"x_m": 0.0, "y_m": 0.0, **{key: form.text(f"{key}{n}") for key in ("name", "east", "north")}}
            for n in range(min(count, 41))
        ]  # fmt: skip
        manifold, *diffusers = places
        manifold.pop("name")
        for n, diffuser in enumerate(diffusers, start=1):
            diffuser["through"] = form.text(f"through{n}")
        return Sketch.model_validate(
            {"revision_number": form.number("number"), "manifold": manifold, "diffusers": diffusers}
        )
    except (ValidationError, ValueError) as error:
        raise InputError("the places can't be read.", remedy="Load the page again.") from error


def _kept(site: Site, pond_id: str, job: Job, made: Sketch, form: Sent) -> Revision:
    """Keep the job in its own lines of job.toml where that says the same job, else the file is written anew."""
    author, reason = form.text("author"), form.text("reason") or "places moved on the plan"
    before = site.store.ponds.folder(pond_id, made.revision_number)
    places = {item.name: item.place for item in job.air.diffusers if item.place is not None}
    led = {item.name: item.branch_through for item in job.air.diffusers}
    written = with_places(before.files.get(JOB_FILE, b""), job.air.manifold, places, led)
    if written is not None:
        files = {**before.files, JOB_FILE: written}
        again = look_at(Folder("pond", files), site.store.ponds.today()).job
        if again is not None and again.air == job.air:
            return site.store.ponds.save_files(
                pond_id, files, expected_number=made.revision_number, author=author, reason=reason
            )
    kept = site.store.ponds.revision(pond_id, made.revision_number).job.model_copy(update={"air": job.air})
    return site.store.ponds.save_job(
        pond_id, kept, expected_number=made.revision_number, author=author, reason=reason
    )
