"""Where ponds lie and where in them to read: what a phone takes along, without prices, owners or addresses."""

from __future__ import annotations

import json
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Select, and_, func, or_, select

from plumeline.job.document import Point
from plumeline.store.engine import Database
from plumeline.store.place_rows import PARTS, Places, Station, keep_places, places_of, read_places
from plumeline.store.ponds import not_binned
from plumeline.store.read_back import read_back
from plumeline.store.schema import pond, pond_place, revision

AT_ONCE = 20
"""So many ponds saved by an older program are looked through between two pauses."""
BETWEEN_S = 0.2


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
    """The ponds of a database as phones take them along: kept at each save, and looked up here."""

    def __init__(self, database: Database) -> None:
        self._database = database

    @read_back
    def all(self, most: int) -> tuple[PondPlace, ...]:
        """Return the ponds by name; one that an older program saved is looked through now, and then kept.

        Args:
            most: how many.
        """
        with self._database.reading() as link:
            rows = link.execute(_newest().order_by(pond.c.name, pond.c.id).limit(most)).all()
        kept = {row.id: read_places(row.content) for row in rows}
        new = self._looked_through([row for row in rows if kept[row.id] is None])
        found = []
        for row in rows:
            places = kept[row.id] or new[row.id]
            told = (places.place, places.stations, places.max_depth_m)
            found.append(PondPlace(row.id, row.name, row.latest_revision, *told))
        return tuple(found)

    def keep_missing(self, over: threading.Event) -> None:
        """Look through the ponds that an older program saved, some at a time, until none is left or it is over."""
        while not over.is_set():
            with self._database.reading() as link:
                rows = link.execute(_newest().where(pond_place.c.content.is_(None)).limit(AT_ONCE)).all()
            if not rows:
                return
            self._looked_through(rows)
            over.wait(BETWEEN_S)

    def _looked_through(self, rows: Sequence[Any]) -> dict[str, Places]:
        found = {row.id: self._looked(row.id, row.latest_revision) for row in rows}
        if found and not self._database.read_only:
            self._keep({row.id: row.latest_revision for row in rows}, found)
        return found

    def _keep(self, numbers: dict[str, int], found: dict[str, Places]) -> None:
        with self._database.transaction() as link:
            # what was saved or taken away meanwhile has its own
            pairs = [
                and_(pond.c.id == key, pond.c.latest_revision == number) for key, number in numbers.items()
            ]
            for at in range(0, len(pairs), AT_ONCE):
                for ident in link.execute(select(pond.c.id).where(or_(*pairs[at : at + AT_ONCE]))).scalars():
                    keep_places(link, ident, numbers[ident], found[ident])

    def _looked(self, ident: str, number: int) -> Places:
        wanted = and_(revision.c.pond_id == ident, revision.c.number == number)
        with self._database.reading() as link:
            # the database picks these out: a job is long by its weather, and there may be thousands
            parts = link.execute(select(func.json_extract(revision.c.job, *PARTS)).where(wanted)).scalar_one()
        site, soundings, known_depth_m, *lines = json.loads(parts)
        return places_of(site, soundings, known_depth_m, lines)


def _newest() -> Select[Any]:
    """Return the choice of ponds with what is kept of their newest revision."""
    kept = and_(pond_place.c.pond_id == pond.c.id, pond_place.c.number == pond.c.latest_revision)
    columns = (pond.c.id, pond.c.name, pond.c.latest_revision, pond_place.c.content)
    return select(*columns).outerjoin(pond_place, kept).where(not_binned())
