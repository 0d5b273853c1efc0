"""Where and when a photo was taken is kept only where an item of its own wants that."""

from __future__ import annotations

import pytest
from tests.capture_items import item, jpeg, named, sha, text

PLACE = (35.86525, -79.56305)


def places(store):
    """Return the latitude that is kept of each photo, by the first letters of the phone's hash."""
    with store.database.reading() as link:
        return dict(link.exec_driver_sql("SELECT sha256, latitude_deg FROM capture_photo").all())


def test_one_photo_s_wish_has_no_say_in_another_s_place(store):
    """Both photos came before their items; one item wants the place kept, the other does not."""
    kept, other = jpeg(1, place=PLACE), jpeg(2, place=PLACE)
    for data in (kept, other):
        store.photos.put_whole(sha(data), data)
    store.captures.receive(text(item("photo", 1, photos=[named(kept, keep_place=True)])))
    store.captures.receive(text(item("photo", 2, photos=[named(other)])))
    assert places(store) == {sha(kept): pytest.approx(PLACE[0], abs=1e-5), sha(other): None}


def test_a_second_item_that_does_not_want_the_place_does_not_take_it_from_the_first(store):
    """One photo, two items: it stays while one of them wants it, whichever came first."""
    data = jpeg(1, place=PLACE)
    store.captures.receive(text(item("photo", 1, photos=[named(data, keep_place=True)])))
    store.photos.put_whole(sha(data), data)
    store.captures.receive(text(item("photo", 2, photos=[named(data)])))
    assert places(store) == {sha(data): pytest.approx(PLACE[0], abs=1e-5)}


def test_of_each_photo_it_is_said_whether_it_is_there_and_how_large(store):
    """One is held, one is no photo and says why, one has not come: neither held nor refused."""
    held, bad, coming = jpeg(1, (64, 48), place=PLACE), b"no photo at all", jpeg(2)
    photos = [named(held, keep_place=True), named(bad), named(coming)]
    number = store.captures.receive(text(item("photo", 1, photos=photos))).sequence_number
    for data in (held, bad):
        store.photos.put_whole(sha(data), data)
    rows = {row.sha256: row for row in store.taking.list.one(number).photos}
    there, none, later = (rows[sha(data)] for data in (held, bad, coming))
    assert (there.held, there.refused, there.size) == (True, "", "64 by 48")
    assert (there.taken_at, there.place) == ("2026-08-11T10:29:00-04:00", "35.86525, -79.56305")
    assert not none.held
    assert none.refused
    assert (later.held, later.refused, later.size, later.place) == (False, "", "", "")
