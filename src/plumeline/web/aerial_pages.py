"""The page of the aerial photo: brought in, laid by known points, taken away."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, Request
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from plumeline.errors import InputError
from plumeline.files.pictures import KIND, shrunk, written_anew
from plumeline.stages.survey.plane import plane_of
from plumeline.store import Revision
from plumeline.store.errors import ConflictError, NotThereError
from plumeline.units import both
from plumeline.web.aerial import FILE, PICTURE, Aerial, aerial_of, fit_of, marks_of, under_plan, written
from plumeline.web.pages import Form, Here, Number
from plumeline.web.shore import frame_over, ground_of
from plumeline.web.shore_pages import basin_of_revision
from plumeline.web.site import Site, units_of
from plumeline.web.sketch import same_text
from plumeline.web.typed_places import length_words
from plumeline.web.visitors import keep_author
from plumeline.web.work import asked_of

router = APIRouter()
FIELDS = {"photo-file": "A photo", "points": "Known points"}
"""Names of the page's fields by their ids."""
MOST_PHOTO_BYTES = 20 * 1024 * 1024


@router.get("/ponds/{pond_id}/aerial")
def aerial_page(request: Request, site: Here, pond_id: str) -> Response:
    """Show the photo and how it lies."""
    return _shown(request, site, site.store.ponds.revision(pond_id))


@router.get("/ponds/{pond_id}/aerial.jpg")
def aerial_picture(site: Here, pond_id: str, number: Number = None) -> Response:
    """Give the photo of a revision."""
    files = site.store.ponds.folder(pond_id, number).files
    if aerial_of(files) is None:
        raise NotThereError("there is no aerial photo.")
    return Response(files[PICTURE], media_type=KIND)


def _shown(
    request: Request, site: Site, revision: Revision, *, wrong: str = "", at: str = "", points: str | None = None,
    status_number: int = 200,
) -> Response:  # fmt: skip
    units, job = units_of(request), asked_of(revision).job
    files = site.store.ponds.folder(revision.pond_id, revision.number).files
    aerial = aerial_of(files)
    plane, basin = plane_of(job), basin_of_revision(site, revision)
    frame = frame_over(basin)
    lines, lies = [], ""
    if aerial is not None:
        for mark in aerial.points:
            x_m, y_m = plane.to_xy(_point(mark))
            east, north = (length_words(value, units) for value in (x_m, y_m))
            lines.append(f"{mark.across_px:g}, {mark.down_px:g}, {east}, {north}")
        lies = _lies(aerial, plane)
    data = {
        "units": units,
        "frame": asdict(frame),
        "aerial": under_plan(files, f"/ponds/{quote(revision.pond_id)}", revision.number, frame, plane),
    }  # fmt: skip
    return site.page(
        request, "aerial.html", status_number=status_number, pond=revision, aerial=aerial, lies=lies,
        wrong=wrong if not at else "", fields=[(at, FIELDS[at], wrong)] if at and wrong else [],
        points="\n".join(lines) if points is None else points, data=same_text(data),
        ground=Markup(ground_of(basin, frame, plane, units)),
    )  # fmt: skip


def _point(mark: Any) -> Any:
    from plumeline.job.document import Point

    return Point(longitude_deg=mark.longitude_deg, latitude_deg=mark.latitude_deg)


def _lies(aerial: Aerial, plane: Any) -> str:
    """Return in words how the photo lies."""
    try:
        fit = fit_of(aerial, plane)
    except InputError as error:
        return f"The photo does not lie under the plan: {error}"
    if fit is None:
        return "The photo does not lie under the plan yet: two known points are needed, four tell how well it lies."
    if fit.residual_m is None:
        return f"The photo is {fit.kind}; no point is left over to tell how well it lies. A fourth would."
    return f"The photo is {fit.kind}; at the points {both(fit.residual_m, 'm')} are left (root mean square)."


@router.post("/ponds/{pond_id}/aerial")
async def bring_aerial(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Keep a photo, written anew and without its place; points of the one before are dropped."""
    number = form.number("number")
    revision = site.store.ponds.revision(pond_id, number)

    def keep(data: bytes) -> Response:
        if len(data) > MOST_PHOTO_BYTES:
            raise InputError("the photo is larger than 20 MB.", remedy="Save it smaller, then again.")
        picture, width_px, height_px = shrunk(written_anew(data).data)
        aerial = Aerial(width_px=width_px, height_px=height_px)
        return _kept(request, site, revision, {PICTURE: picture, FILE: written(aerial)}, form, "aerial photo")

    try:
        _, data = await form.upload("photo")
        return await run_in_threadpool(keep, data)
    except (InputError, ConflictError) as error:
        words, code = str(error), 409 if isinstance(error, ConflictError) else 422
        latest = site.store.ponds.revision(pond_id)
        at = "" if code == 409 else "photo-file"
        return await run_in_threadpool(
            lambda: _shown(request, site, latest, wrong=words, at=at, status_number=code)
        )


@router.post("/ponds/{pond_id}/aerial/points")
def lay_aerial(request: Request, site: Here, pond_id: str, form: Form) -> Response:
    """Keep the points by which the photo lies, or take the photo away; what was typed stays where it is refused."""
    number, text = form.number("number"), form.whole("points")
    revision = site.store.ponds.revision(pond_id, number)
    try:
        if form.text("action") == "away":
            return _kept(
                request, site, revision, {PICTURE: None, FILE: None}, form, "aerial photo taken away"
            )
        aerial = aerial_of(site.store.ponds.folder(pond_id, number).files)
        if aerial is None:
            raise InputError("there is no aerial photo yet.", remedy="Bring one in first.")
        plane = plane_of(asked_of(revision).job)
        laid = aerial.model_copy(update={"points": marks_of(text, aerial, plane)})
        fit_of(laid, plane)
        return _kept(request, site, revision, {FILE: written(laid)}, form, "aerial photo laid")
    except ConflictError as error:
        latest = site.store.ponds.revision(pond_id)
        return _shown(request, site, latest, wrong=str(error), points=text, status_number=409)
    except InputError as error:
        return _shown(request, site, revision, wrong=str(error), at="points", points=text, status_number=422)


def _kept(
    request: Request, site: Site, revision: Revision, changed: dict[str, bytes | None], form: Any, reason: str
) -> Response:
    before = site.store.ponds.folder(revision.pond_id, revision.number).files
    files = {path: data for path, data in {**before, **changed}.items() if data is not None}
    site.store.ponds.save_files(
        revision.pond_id, files, expected_number=revision.number, author=form.text("author"), reason=reason
    )
    site.saved.set()
    response = RedirectResponse(f"/ponds/{quote(revision.pond_id)}/aerial", 303)
    keep_author(request, response, form.text("author"))
    return response
