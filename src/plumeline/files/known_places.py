"""Typed places that count from the shore, a corner of it or its middle, as the places that job.toml keeps."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from plumeline.errors import Fault, InputError
from plumeline.files.outline_checks import NEAR_M
from plumeline.files.place_text import WALL_PARTS, place_of, typed_place, walls_typed
from plumeline.files.power_place import shore_m
from plumeline.files.toml_values import JOB_FILE
from plumeline.job.document import Job, LocalPoint, Place
from plumeline.units import far_away

WALLS, COMPRESSOR = "walls", "compressor_place"
KEYS = {WALLS: "pond.walls", COMPRESSOR: "power.place"}
"""Answers that hold places, with their keys."""
_CORNER = re.compile(r"corner\s*(?:no\.?\s*)?(?P<number>\d{1,9})", re.IGNORECASE)


def has_places(changes: Mapping[str, str]) -> bool:
    """Return whether one of the answers is a place, or a wall between two."""
    return bool(KEYS.keys() & changes.keys())


def as_kept(changes: Mapping[str, str], job: Job | None) -> dict[str, str]:
    """Return answers with each place as it is kept: a corner that is moved later leaves it where it is.

    Args:
        changes: what was typed, by the name of its question.
        job: as it is before; None where it can't be read.

    Raises:
        InputError: a corner is named that the shore has not; its place is the key of the answer.
    """
    found = dict(changes)
    if WALLS in found:
        found[WALLS] = "\n".join(_wall(text, job) for text in walls_typed(found[WALLS]))
    if COMPRESSOR in found:
        found[COMPRESSOR] = _place(found[COMPRESSOR], job, COMPRESSOR)
    return found


def _wall(text: str, job: Job | None) -> str:
    parts = [part.strip() for part in text.split(";")]
    if len(parts) != WALL_PARTS:
        return text
    return "; ".join([*(_place(part, job, WALLS) for part in parts[:2]), parts[2]])


def _place(text: str, job: Job | None, name: str) -> str:
    """Return a place as it is kept; what is none is left to be told where the file is read."""
    if corner := _CORNER.fullmatch(text.strip()):
        return typed_place(_corner(int(corner["number"]), job, name))
    if job is None:
        return text
    try:
        place = place_of(text)
    except InputError:
        return text
    return _from_the_middle(place, text, job)


def corners_of(job: Job) -> tuple[Place, ...]:
    """Return the corners of the drawn shore in turn, the first not repeated; none where there is no shore."""
    ring = job.pond.outline[0] if job.pond.outline else ()
    return ring[:-1] if len(ring) > 1 and ring[0] == ring[-1] else ring


def _corner(number: int, job: Job | None, name: str) -> Place:
    corners = corners_of(job) if job else ()
    if 1 <= number <= len(corners):
        return corners[number - 1]
    there = f"the shore has {len(corners)} corners" if corners else "no shore is drawn"
    raise InputError(
        f"corner {number}: {there}.",
        remedy=f"Give one from 1 to {len(corners)}, or latitude, longitude."
        if corners
        else "Give latitude, longitude, or draw the shore first.",
        place=KEYS[name],
    )


def _from_the_middle(place: Place, text: str, job: Job) -> str:
    """Return a place that was typed by feet or metres; they count from the middle that the drawings count from."""
    from plumeline.stages.survey.plane import plane_of

    plane = plane_of(job)
    at_site = (plane.longitude_deg, plane.latitude_deg) == (job.site.longitude_deg, job.site.latitude_deg)
    if not isinstance(place, LocalPoint) or at_site:
        return text
    return typed_place(plane.to_point(place.x_m, place.y_m))


def far_faults(job: Job, changes: Mapping[str, str]) -> tuple[Fault, ...]:
    """Return what is wrong with places that were typed anew: off the shore, or far from the pond.

    Args:
        job: as the answers make it.
        changes: what was typed anew.
    """
    looks: dict[str, Callable[[Job], None]] = {WALLS: _look_at_walls, COMPRESSOR: _look_at_compressor}
    found = []
    for name, look in looks.items():
        if name not in changes or not changes[name].strip():
            continue
        try:
            look(job)
        except InputError as error:
            found.append(Fault(JOB_FILE, KEYS[name], error.message, error.remedy))
    return tuple(found)


def _look_at_walls(job: Job) -> None:
    """Raise an ``InputError`` where a wall is no stretch of the shore that is drawn."""
    from plumeline.stages.survey.edge import edge_of
    from plumeline.stages.survey.outline import outline_of
    from plumeline.stages.survey.plane import plane_of

    if job.pond.outline:
        plane = plane_of(job)
        edge_of(job.pond, outline_of(job, plane).polygon, plane)


def _look_at_compressor(job: Job) -> None:
    """Raise an ``InputError`` where the compressor stands farther off than any air line is long."""
    place = job.power.place
    found = shore_m(job.pond, place, job.site) if place else None
    if found is not None and found[0] > NEAR_M:
        raise InputError(
            f"it lies {far_away(found[0])} from the pond, and no air line is as long.",
            remedy="Latitude comes first, then longitude; check that no sign is lost.",
        )
