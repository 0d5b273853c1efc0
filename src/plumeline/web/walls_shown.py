"""The walls of a job on the page of the shore: where they run, what they are called, and what a revision changed."""

from __future__ import annotations

from dataclasses import dataclass

from plumeline.errors import InputError
from plumeline.files.known_places import corners_of
from plumeline.files.place_text import typed_place
from plumeline.job.document import Job, LocalPoint, Place, Wall
from plumeline.stages.survey.edge import Stretch, edge_of
from plumeline.stages.survey.outline import outline_of
from plumeline.stages.survey.plane import LocalPlane, plane_of
from plumeline.units import show
from plumeline.units.showing import System

SAME_M = 0.05
"""An end of a wall this near to a corner stands at it: files keep places to a centimetre."""


@dataclass(frozen=True)
class WallRow:
    """A wall that is kept.

    Attributes:
        number: in the order of the job, from 1.
        ends: "from corner 2 to corner 9".
        words: the same with its length and the depth at its foot.
    """

    number: int
    ends: str
    words: str


def walls_drawn(job: Job, plane: LocalPlane) -> list[list[dict[str, float]]]:
    """Return the walls that the job tells of, each as places along the shore; none where they can't be laid on it."""
    return [
        [{"x_m": round(x, 2), "y_m": round(y, 2)} for x, y in wall.line.coords] for wall in _laid(job, plane)
    ]


def _laid(job: Job, plane: LocalPlane) -> tuple[Stretch, ...]:
    if not job.pond.outline or not job.pond.walls:
        return ()
    try:
        return edge_of(job.pond, outline_of(job, plane).polygon, plane).walls
    except InputError:
        return ()  # the survey says which wall is wrong


def wall_rows(job: Job, plane: LocalPlane, units: System) -> list[WallRow]:
    """Return the walls of a job in words; their length only where they can be laid on the shore."""
    laid = _laid(job, plane)
    found = []
    for n, wall in enumerate(job.pond.walls):
        ends = f"from {_end(wall.start, job, plane, units)} to {_end(wall.end, job, plane, units)}"
        along = f", {show(laid[n].line.length, 'm', units)} of shore" if laid else ""
        found.append(
            WallRow(n + 1, ends, f"{ends}{along}, {show(wall.depth_m, 'm', units)} deep at its foot")
        )
    return found


def _end(place: Place, job: Job, plane: LocalPlane, units: System) -> str:
    """Return the end of a wall: the number of its corner where it stands at one, else its place."""
    x_m, y_m = plane.to_xy(place)
    for n, corner in enumerate(corners_of(job), start=1):
        u_m, v_m = plane.to_xy(corner)
        if abs(u_m - x_m) <= SAME_M and abs(v_m - y_m) <= SAME_M:
            return f"corner {n}"
    if isinstance(place, LocalPoint):
        return (
            f"{show(place.x_m, 'm', units)} east, {show(place.y_m, 'm', units)} north of the site's position"
        )
    return typed_place(place)


def changes_walls_alone(before: Job, after: Job) -> bool:
    """Return whether two jobs say the same but for their walls."""
    pond = before.pond.model_copy(update={"walls": after.pond.walls})
    return before.pond.walls != after.pond.walls and before.model_copy(update={"pond": pond}) == after


def walls_changed(before: Job, after: Job, units: System) -> str:
    """Return which walls were marked and which were taken out, as sentences.

    Args:
        before: the job of the revision before.
        after: the job, with the same shore.
        units: of the page.
    """
    said = [
        f"{verb} the wall {row.words}."
        for verb, job, other in (("Taken out:", before, after), ("Marked:", after, before))
        for row, wall in zip(wall_rows(job, plane_of(job), units), job.pond.walls, strict=True)
        if _missing(wall, other)
    ]
    return " ".join(said)


def _missing(wall: Wall, job: Job) -> bool:
    return wall not in job.pond.walls
