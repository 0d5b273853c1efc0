"""Where a pond lies and where in it to read, worked out when it is saved and kept beside its newest revision."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection
from sqlalchemy.dialects.sqlite import insert as put

from plumeline.job.document import Job, LocalPoint, Point
from plumeline.stages.survey.plane import LocalPlane
from plumeline.store.schema import pond_place

MADE_IN_WAY = 1
"""Raise it when something else is kept: rows made in another way are made anew."""
WANTED: dict[str, Any] = {
    "site": True, "pond": {"soundings", "max_depth_m"},
    "as_built": {"diffusers"}, "as_designed": {"diffusers"}, "air": {"diffusers"},
}  # fmt: skip
PARTS = (
    "$.site", "$.pond.soundings", "$.pond.max_depth_m",
    "$.as_built.diffusers", "$.as_designed.diffusers", "$.air.diffusers",
)  # fmt: skip
"""The same as the database finds it; the diffusers as they were built, else as they were designed, else as wished."""


@dataclass(frozen=True)
class Station:
    """A place in a pond with a name: a diffuser, or where it is deepest."""

    name: str
    place: Point


@dataclass(frozen=True)
class Places:
    """What is kept of a pond.

    Attributes:
        place: the site's position.
        stations: places in it.
        max_depth_m: the greatest depth that is known.
    """

    place: Point
    stations: tuple[Station, ...]
    max_depth_m: float | None


def keep_places(link: Connection, pond_id: str, number: int, found: Places) -> None:
    """Keep the places of a pond's newest revision."""
    row = {"pond_id": pond_id, "number": number, "content": _text(found)}
    link.execute(put(pond_place).values(**row).on_conflict_do_update(index_elements=["pond_id"], set_=row))


def places_of_job(job: Job) -> Places:
    """Return the places of a job."""
    found = job.model_dump(mode="json", include=WANTED)
    lines = [(found[name] or {}).get("diffusers") for name in ("as_built", "as_designed", "air")]
    return places_of(found["site"], found["pond"]["soundings"], found["pond"]["max_depth_m"], lines)


def places_of(
    site: Mapping[str, float],
    soundings: Sequence[Mapping[str, Any]] | None,
    known_depth_m: float | None,
    lines: Sequence[Sequence[Mapping[str, Any]] | None],
) -> Places:
    """Return the places of a job by its parts.

    Args:
        site: where it lies.
        soundings: those that were made.
        known_depth_m: the greatest depth, where it was told.
        lines: diffusers, the best known first.
    """
    plane = LocalPlane(site["longitude_deg"], site["latitude_deg"])
    deepest = max(soundings or (), key=lambda one: float(one["depth_m"]), default=None)
    stations = [] if deepest is None else [Station("deepest sounding", _point(deepest["place"], plane))]
    stations += [
        Station(diffuser["name"], _point(diffuser["place"], plane))
        for diffuser in next(filter(None, lines), ())
        if diffuser.get("place")
    ]
    depth_m = known_depth_m or (deepest["depth_m"] if deepest else None)
    place = Point(longitude_deg=site["longitude_deg"], latitude_deg=site["latitude_deg"])
    return Places(place, tuple(stations), depth_m)


def _point(place: Mapping[str, float], plane: LocalPlane) -> Point:
    if "x_m" in place:
        return plane.to_point(*plane.to_xy(LocalPoint(x_m=place["x_m"], y_m=place["y_m"])))
    return Point(longitude_deg=place["longitude_deg"], latitude_deg=place["latitude_deg"])


def _text(found: Places) -> str:
    stations = [[one.name, one.place.longitude_deg, one.place.latitude_deg] for one in found.stations]
    place = [found.place.longitude_deg, found.place.latitude_deg]
    return json.dumps([MADE_IN_WAY, *place, found.max_depth_m, stations], ensure_ascii=False)


def read_places(text: str | None) -> Places | None:
    """Return what is kept; None where nothing is, or it was made in another way."""
    found: list[Any] = json.loads(text) if text else []
    if not found or found[0] != MADE_IN_WAY:
        return None
    _, longitude_deg, latitude_deg, depth_m, stations = found
    return Places(
        Point(longitude_deg=longitude_deg, latitude_deg=latitude_deg),
        tuple(Station(name, Point(longitude_deg=east, latitude_deg=north)) for name, east, north in stations),
        depth_m,
    )
