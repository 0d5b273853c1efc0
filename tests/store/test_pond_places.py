"""Where ponds lie, for phones: kept with each save, and of older ponds looked through once, to the same."""

from __future__ import annotations

import threading

import pytest
from sqlalchemy import delete, func, insert, select, update

from plumeline.job.document import Diffuser, LocalPoint
from plumeline.store.place_rows import places_of_job
from plumeline.store.pond_places import PondPlaces
from plumeline.store.schema import pond, pond_place


def count(store):
    with store.database.reading() as link:
        return link.execute(select(func.count()).select_from(pond_place)).scalar_one()


def forget(store):
    with store.database.transaction() as link:
        link.execute(delete(pond_place))


def test_what_a_save_keeps_is_what_the_job_in_the_database_says(store, oak):
    """Read from the row or picked out of the job by SQLite's own JSON: the same places, to the last digit."""
    store.ponds.add(oak, author="", reason="")
    assert count(store) == 1
    kept = PondPlaces(store.database).all(10)
    assert kept[0].stations
    forget(store)
    assert PondPlaces(store.database).all(10) == kept
    assert count(store) == 1, "and it is kept again"


def test_a_save_replaces_what_was_kept(store, oak):
    """After the next revision the row is that revision's; a pond has one."""
    made = store.ponds.add(oak, author="", reason="")
    job = made.job.model_copy(update={"pond": made.job.pond.model_copy(update={"max_depth_m": 9.25})})
    store.ponds.save_job(made.pond_id, job, expected_number=1, author="", reason="deeper")
    (found,) = PondPlaces(store.database).all(10)
    assert (found.number, found.max_depth_m, count(store)) == (2, 9.25, 1)


def test_ponds_of_an_older_program_are_looked_through_beside_the_work(store, oak):
    """Rows that are missing, of an older revision or made in another way are made anew; then nothing is left to do."""
    for _ in range(3):
        store.ponds.add(oak, author="", reason="")
    wanted = PondPlaces(store.database).all(10)
    idents = [one.id for one in wanted]
    with store.database.transaction() as link:
        link.execute(delete(pond_place).where(pond_place.c.pond_id == idents[0]))
        link.execute(update(pond_place).where(pond_place.c.pond_id == idents[1]).values(number=0))
        link.execute(update(pond_place).where(pond_place.c.pond_id == idents[2]).values(content="[0]"))
    PondPlaces(store.database).keep_missing(threading.Event())
    with store.database.reading() as link:
        numbers = {row.pond_id: row.number for row in link.execute(select(pond_place))}
    assert numbers == dict.fromkeys(idents, 1)
    assert PondPlaces(store.database).all(10) == wanted


def test_a_pond_taken_away_meanwhile_gets_no_row(store, oak):
    """The looking is done outside the transaction: what was erased in between stays erased."""
    made = store.ponds.add(oak, author="", reason="")
    places = PondPlaces(store.database)
    forget(store)
    looked = places._looked

    def erased_meanwhile(ident, number):
        found = looked(ident, number)
        store.bin.put(ident, "office")
        store.bin.erase(ident, made.job.name)
        return found

    places._looked = erased_meanwhile
    places.keep_missing(threading.Event())
    assert count(store) == 0


def test_erasing_a_pond_erases_its_places(store, oak):
    """Nothing of where it lies is left."""
    made = store.ponds.add(oak, author="", reason="")
    store.bin.put(made.pond_id, "office")
    assert PondPlaces(store.database).all(10) == ()
    store.bin.erase(made.pond_id, made.job.name)
    assert count(store) == 0


def test_five_thousand_are_listed_within_three_seconds_of_work(store, oak):
    """The bar of the page at the water; the work of this process is counted, not that of others on the machine."""
    import time

    made = store.ponds.add(oak, author="", reason="")
    with store.database.transaction() as link:
        row = dict(link.execute(select(pond)).mappings().one())
        kept = dict(link.execute(select(pond_place)).mappings().one())
        ids = [f"{made.pond_id}-{n:04d}" for n in range(4999)]
        link.execute(insert(pond), [{**row, "id": one, "name": one} for one in ids])
        link.execute(insert(pond_place), [{**kept, "pond_id": one} for one in ids])
    began_s = time.process_time()
    assert len(PondPlaces(store.database).all(5000)) == 5000
    assert time.process_time() - began_s < 3.0


def test_looking_through_stops_where_the_server_ends(store, oak):
    """It was over before it began: nothing is looked at."""
    store.ponds.add(oak, author="", reason="")
    forget(store)
    over = threading.Event()
    over.set()
    PondPlaces(store.database).keep_missing(over)
    assert count(store) == 0


def test_places_in_metres_are_turned_into_degrees(store, oak):
    """A diffuser 100 m north of the pond's place: 0.0009 of a degree of latitude (111.2 km each)."""
    made = store.ponds.add(oak, author="", reason="")
    north = Diffuser(name="N", place=LocalPoint(x_m=0.0, y_m=100.0))
    air = made.job.air.model_copy(update={"diffusers": (north,)})
    job = made.job.model_copy(update={"air": air, "as_built": None, "as_designed": None})
    place = next(one for one in places_of_job(job).stations if one.name == "N").place
    assert place.latitude_deg - job.site.latitude_deg == pytest.approx(100.0 / 111_200.0, rel=0.01)
    assert place.longitude_deg == pytest.approx(job.site.longitude_deg, abs=1e-9)
