"""A sketch of shore and soundings: drawn on the page, worked through by the survey as a saved job is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from pydantic import BaseModel, ConfigDict, Field
from shapely import Polygon
from shapely.validation import explain_validity

from plumeline.drawing import ground_scene, svg
from plumeline.drawing.plan_view import HEIGHT_MM, KEY_MM, MARGIN_MM, WIDTH_MM, Frame
from plumeline.errors import InputError, PlumelineError
from plumeline.job.document import Job, LocalPoint, Place, Point, Sounding
from plumeline.stages.plan import all_notices
from plumeline.stages.sizing import Agreed, agreed
from plumeline.stages.survey import Survey
from plumeline.stages.survey import survey as survey_stage
from plumeline.stages.survey.plane import LocalPlane, plane_of
from plumeline.units import show
from plumeline.units.showing import System
from plumeline.web.showing import notice_lines
from plumeline.web.typed_places import Metres, Typed

MOST_CORNERS = 2000
MOST_SOUNDINGS = 1000
"""Soundings that can be moved one by one; where there are more, they stay and others can be added."""
FEWEST_CORNERS = 3


class Spot(BaseModel):
    """A place in metres east and north of the plane's middle, or typed; ``index`` tells which saved one it is."""

    model_config = ConfigDict(extra="forbid")
    x_m: Metres
    y_m: Metres
    east: Typed | None = None
    north: Typed | None = None
    index: int | None = Field(default=None, ge=0)


class Depth(Spot):
    """A sounding."""

    depth_m: float = Field(default=0.0, ge=0.0, le=200.0)
    depth: Typed | None = None


class ShoreSketch(BaseModel):
    """Shore and soundings as drawn on a revision; ``corner_lines`` and ``sounding_lines`` are the same as text.

    Under a hand the basin is asked for first, without its drawing or without layout and air, and the rest after it.
    """

    model_config = ConfigDict(extra="forbid")
    revision_number: int = Field(ge=1, le=10**9)
    corners: list[Spot] = Field(max_length=MOST_CORNERS)
    soundings: list[Depth] = Field(max_length=2 * MOST_SOUNDINGS)
    corner_lines: str | None = Field(default=None, max_length=200_000)
    sounding_lines: str | None = Field(default=None, max_length=200_000)
    draws_ground: bool = True
    lays_out: bool = True


@dataclass(frozen=True)
class Shored:
    """A sketch worked through.

    Attributes:
        job: what it stands for.
        survey: its basin.
        found: layout and air on it; None where they can't be made, or were not asked for.
        trouble: why not.
    """

    job: Job
    survey: Survey
    found: Agreed | None
    trouble: str


def is_fixed(job: Job) -> bool:
    """Return whether there are so many soundings that those of the file stay as they are."""
    return len(job.pond.soundings) > MOST_SOUNDINGS


def shore_of(job: Job) -> tuple[Place, ...]:
    """Return the corners of the shore, the closing one left out.

    Raises:
        InputError: there are more than can be moved one by one.
    """
    ring = job.pond.outline[0] if job.pond.outline else ()
    ring = ring[:-1] if len(ring) > 1 and ring[0] == ring[-1] else ring
    if len(ring) > MOST_CORNERS:
        raise InputError(
            f"the shore has {len(ring)} corners, more than the {MOST_CORNERS} that can be moved one by one.",
            remedy="Thin it out where it was drawn, and put the file in its place on the page of the files.",
        )
    return ring


def saved_sketch(job: Job, number: int) -> dict[str, Any]:
    """Return the sketch that says what a saved job says."""
    plane = plane_of(job)

    def spot(place: Place, index: int) -> dict[str, Any]:
        x_m, y_m = plane.to_xy(place)
        return {"x_m": round(x_m, 3), "y_m": round(y_m, 3), "index": index}

    soundings = () if is_fixed(job) else job.pond.soundings
    return {
        "revision_number": number,
        "corners": [spot(place, index) for index, place in enumerate(shore_of(job))],
        "soundings": [
            spot(item.place, index) | {"depth_m": item.depth_m} for index, item in enumerate(soundings)
        ],
    }


def surveyed(job: Job, sketch: ShoreSketch, seed: int) -> Shored:
    """Return a sketch worked through by the survey alone.

    Raises:
        InputError: the shore crosses itself or has too few corners.
        PlumelineError: from the survey.
    """
    drawn = sketched_job(job, sketch)
    return Shored(drawn, survey_stage(drawn, seed, suggests=False), None, "")


def laid_out(found: Shored, seed: int) -> Shored:
    """Return a surveyed sketch with layout and air, as far as they can follow."""
    try:
        return replace(found, found=agreed(found.job, found.survey, seed=seed))
    except PlumelineError as error:
        return replace(found, trouble=str(error))


def shored(job: Job, sketch: ShoreSketch, seed: int) -> Shored:
    """Return a sketch worked through by the survey, and by layout and air as far as they can follow.

    Raises:
        PlumelineError: as in `surveyed`.
    """
    return laid_out(surveyed(job, sketch, seed), seed)


def sketched_job(job: Job, sketch: ShoreSketch) -> Job:
    """Return the job that a sketch stands for; what was not moved keeps its place to the last digit.

    Raises:
        InputError: as in `surveyed`.
    """
    plane = plane_of(job)
    pond = job.pond.model_copy(
        update={"outline": _outline(job, plane, sketch), "soundings": _soundings(job, plane, sketch)}
    )
    return job.model_copy(update={"pond": pond})


def _outline(job: Job, plane: LocalPlane, sketch: ShoreSketch) -> tuple[tuple[Place, ...], ...]:
    before = shore_of(job)
    if [item.index for item in sketch.corners] == list(range(len(before))):
        return job.pond.outline
    if len(sketch.corners) < FEWEST_CORNERS:
        raise InputError(
            f"the shore has {len(sketch.corners)} corners; {FEWEST_CORNERS} are needed.",
            remedy="Tap the next corner of the shore.",
        )
    ring = tuple(_kept(before, plane, item) for item in sketch.corners)
    islands = job.pond.outline[1:]
    shape = Polygon(plane.many_to_xy(ring), [plane.many_to_xy(island) for island in islands])
    if not shape.is_valid:
        raise InputError(
            f"the shore crosses itself or an island ({explain_validity(shape).split('[')[0].lower()}).",
            remedy="Move the corners so that its lines do not cross.",
        )
    return (ring, *islands)


def _kept(before: tuple[Place, ...], plane: LocalPlane, item: Spot) -> Place:
    """Return the saved place of a spot that was not moved, else a new one to a centimetre."""
    if item.index is not None and item.index < len(before):
        return before[item.index]
    found = plane.to_point(item.x_m, item.y_m)
    return Point(longitude_deg=round(found.longitude_deg, 7), latitude_deg=round(found.latitude_deg, 7))


def _soundings(job: Job, plane: LocalPlane, sketch: ShoreSketch) -> tuple[Sounding, ...]:
    before = job.pond.soundings
    kept, new = [], []
    local = any(isinstance(item.place, LocalPoint) for item in before)
    for item in sketch.soundings:
        if item.index is not None and item.index < len(before) and not is_fixed(job):
            kept.append(before[item.index])
            continue
        place: Place = _kept((), plane, item)
        if local:
            place = LocalPoint(x_m=round(item.x_m, 2), y_m=round(item.y_m, 2))
        new.append(Sounding(place=place, depth_m=round(item.depth_m, 4)))
    return (*(before if is_fixed(job) else kept), *new)


def frame_over(survey: Survey) -> Frame:
    """Return a frame with room round the shore to draw another; far more where the shore is only assumed."""
    xs, ys = zip(*survey.outline_xy[0], strict=True)
    room = 1.6 if survey.outline_assumed else 1.15
    wide_m, tall_m = (max(max(axis) - min(axis), 1.0) * room for axis in (xs, ys))
    wide_mm, tall_mm = WIDTH_MM - KEY_MM - 2 * MARGIN_MM, HEIGHT_MM - 2 * MARGIN_MM
    return Frame(
        (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2, min(wide_mm / wide_m, tall_mm / tall_m),
        (WIDTH_MM - KEY_MM) / 2, HEIGHT_MM / 2,
    )  # fmt: skip


def ground_of(survey: Survey, frame: Frame, plane: LocalPlane, units: System) -> str:
    """Return depths and shore of a basin as what stands in an SVG, in the frame of a plane; its own moves with it."""
    east_m, north_m = plane.to_xy(survey.plane.to_point(0.0, 0.0))
    moved = replace(frame, middle_x_m=frame.middle_x_m - east_m, middle_y_m=frame.middle_y_m - north_m)
    return svg(ground_scene(survey, moved, units)).partition("</desc>")[2].rpartition("</svg>")[0].strip()


def shore_answer(found: Shored, units: System) -> dict[str, Any]:
    """Return what the page shows of a sketch: numbers in SI, and the same in words of the asked units."""
    basin = found.survey
    low, high = (show(value, "m3", units) for value in (basin.volume_p05_m3, basin.volume_p95_m3))
    sums = [
        ["area of the water", show(basin.area_m2, "m2", units)],
        ["shore line", show(basin.perimeter_m, "m", units)],
        ["water", f"{show(basin.volume_m3, 'm3', units)} (9 of 10: {low} to {high})"],
        ["mean depth", show(basin.mean_depth_m, "m", units)],
        ["greatest depth", show(basin.max_depth_m, "m", units)],
        ["soundings used", f"{basin.sounding_count} ({len(basin.left_out)} left out)"],
    ]
    notices = basin.notices
    if found.found is not None:
        layout = found.found.layout
        said = f"{layout.turnover_per_day:.2f} a day (wanted {layout.wanted_turnover_per_day:.2f})"
        sums += [["diffusers", str(len(layout.diffusers))], ["turnover", said]]
        notices = all_notices(notices, layout.notices)
    rows = [row for row in notice_lines(notices, units) if row["severity"] != "note"]
    if found.trouble:
        words = f"The layout does not follow yet: {found.trouble}"
        rows.append({"code": "layout-behind", "severity": "caution", "text": words})
    return {
        "area_m2": basin.area_m2, "volume_m3": basin.volume_m3, "max_depth_m": basin.max_depth_m,
        "sums": sums, "notices": rows,
    }  # fmt: skip
