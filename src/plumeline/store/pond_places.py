"""Where ponds lie and where in them to read: what a phone takes along, without prices, owners or addresses."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import and_, func, select

from plumeline.job.document import LocalPoint, Point
from plumeline.stages.survey.plane import LocalPlane
from plumeline.store.engine import Database
from plumeline.store.ponds import not_binned
from plumeline.store.read_back import read_back
from plumeline.store.schema import pond, revision

PARTS = (
    "$.site", "$.pond.soundings", "$.pond.max_depth_m",
    "$.as_built.diffusers", "$.as_designed.diffusers", "$.air.diffusers",
)  # fmt: skip
"""What is wanted of a job; the diffusers as they were built, else as they were designed, else as they were wished."""


@dataclass(frozen=True)
class Station:
    """A place in a pond with a name: a diffuser, or where it is deepest."""

    name: str
    place: Point


@dataclass(frozen=True)
class PondPlace:
    """A pond as a phone takes it along.

    Attributes:
        id: its id.
        name: its name.
        number: its latest revision.
        place: the site's position.
        stations: places in it.
        max_depth_m: the greatest depth that is known.
    """

    id: str
    name: str
    number: int
    place: Point
    stations: tuple[Station, ...]
    max_depth_m: float | None


class PondPlaces:
    """The ponds of a database as phones take them along; each revision is looked through once."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self._seen: dict[str, PondPlace] = {}

    def all(self, most: int) -> tuple[PondPlace, ...]:
        """Return the ponds by name.

        Args:
            most: how many.
        """
        with self._database.reading() as link:
            rows = link.execute(
                select(pond.c.id, pond.c.name, pond.c.latest_revision)
                .where(not_binned())
                .order_by(pond.c.name, pond.c.id)
                .limit(most)
            ).all()
        found = []
        for row in rows:
            seen = self._seen.get(row.id)
            if seen is None or (seen.number, seen.name) != (row.latest_revision, row.name):
                seen = self._seen[row.id] = self._looked(row.id, row.name, row.latest_revision)
            found.append(seen)
        return tuple(found)

    @read_back
    def _looked(self, ident: str, name: str, number: int) -> PondPlace:
        wanted = and_(revision.c.pond_id == ident, revision.c.number == number)
        with self._database.reading() as link:
            # the database picks these out: a job is long by its weather, and there may be thousands
            parts = link.execute(select(func.json_extract(revision.c.job, *PARTS)).where(wanted)).scalar_one()
        site, soundings, known_depth_m, *diffusers = json.loads(parts)
        soundings = soundings or []
        plane = LocalPlane(site["longitude_deg"], site["latitude_deg"])
        deepest = max(soundings, key=lambda one: one["depth_m"], default=None)
        stations = [] if deepest is None else [Station("deepest sounding", _point(deepest["place"], plane))]
        stations += [
            Station(diffuser["name"], _point(diffuser["place"], plane))
            for diffuser in next(filter(None, diffusers), ())
            if diffuser.get("place")
        ]
        depth_m = known_depth_m or (deepest["depth_m"] if deepest else None)
        place = Point(longitude_deg=site["longitude_deg"], latitude_deg=site["latitude_deg"])
        return PondPlace(ident, name, number, place, tuple(stations), depth_m)


def _point(place: Mapping[str, float], plane: LocalPlane) -> Point:
    if "x_m" in place:
        return plane.to_point(*plane.to_xy(LocalPoint(x_m=place["x_m"], y_m=place["y_m"])))
    return Point(longitude_deg=place["longitude_deg"], latitude_deg=place["latitude_deg"])
