"""Order and local day are right whatever a phone's clock says, and saving again moves no time."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import select
from tests.capture_items import DEVICE, item, text

from plumeline.files.field_times import placed
from plumeline.store import Folder, open_store
from plumeline.store.capture_tables import device
from plumeline.store.captures import Told
from plumeline.store.taking import Asked

EDT, EST = timezone(timedelta(hours=-4)), timezone(timedelta(hours=-5))
EAST, WEST = timezone(timedelta(hours=14)), timezone(timedelta(hours=-12))
ROWS = {"rows": [{"depth": "2", "temperature": "80", "oxygen": "7.7"}]}
TWO_ROWS = {"rows": [*ROWS["rows"], {"depth": "9", "temperature": "60", "oxygen": "0.2"}]}


class Now:
    """A clock that stands where it is put."""

    def __init__(self):
        self.time = datetime(2026, 8, 12, 16, tzinfo=UTC)

    def __call__(self):
        return self.time


@pytest.fixture
def now():
    return Now()


@pytest.fixture
def store(path, now):
    found = open_store(path, clock=now)
    yield found
    found.close()


@pytest.fixture
def pond(store, oak):
    files = {
        name: data
        for name, data in oak.files.items()
        if name not in ("weather.csv", "profiles.csv", "bottle.csv")
    }
    return store.ponds.add(Folder("oak", files), author="", reason="").pond_id


def made(pond, number, true, *, ahead=timedelta(0), told=True, **more):
    """A reading made at a true time on a phone whose clock is ahead."""
    skew = -ahead.total_seconds() if told else None
    said = {"made_at": (true + ahead).isoformat(), "clock_skew_s": skew, "body": ROWS, **more}
    return item("profile", number, pond_id=pond, **said)


def in_the_job(store, pond, *items):
    """Take items and return the times of their profiles by the number of the item."""
    numbers = [store.captures.receive(text(one)).sequence_number for one in items]
    done = store.taking.take(numbers, Asked(pond, store.ponds.revision(pond).number, ""))
    assert done.left == ()
    by_id = {one.id: one.time for one in done.saved.job.profiles}
    return [by_id[f"field-{one['id']}"] for one in items]


@pytest.mark.parametrize("hours", [-2, -1, 0, 1, 2])
def test_a_clock_two_hours_off_moves_neither_the_day_nor_the_order(store, pond, hours):
    """A reading at 22:45 stays on its day though the phone's clock says tomorrow, and before one of 23:10."""
    first = datetime(2026, 8, 11, 22, 45, tzinfo=EDT)
    second = datetime(2026, 8, 11, 23, 10, tzinfo=EDT)
    times = in_the_job(store, pond, made(pond, 1, first, ahead=timedelta(hours=hours)), made(pond, 2, second))
    assert times == [first, second]
    assert [time.date().isoformat() for time in times] == ["2026-08-11", "2026-08-11"]
    assert [row.sequence_number for row in store.taking.list.items()] == [1, 2]


def test_order_is_that_of_the_hand_over_and_of_no_clock(store, pond):
    """Readings handed over later stand later, though their phones' clocks are days before."""
    for number in range(5):
        store.captures.receive(text(made(pond, number, datetime(2026, 8, 11 - number, 9, tzinfo=EDT))))
    assert [row.item.counter for row in store.taking.list.items()] == [0, 1, 2, 3, 4]


def test_a_skew_measured_later_mends_what_was_made_before_any_contact(store, pond):
    """The phone never spoke to the server when it made the item; its first words tell its clock."""
    true = datetime(2026, 8, 11, 9, tzinfo=EDT)
    store.captures.heard(Told(DEVICE, skew_s=-7200.0))
    assert in_the_job(store, pond, made(pond, 1, true, ahead=timedelta(hours=2), told=False)) == [true]


def test_the_night_when_clocks_go_back_has_two_of_one_hour(store, pond, now):
    """01:30 twice, an hour apart, in order and on the right day; also through a re-save of the file."""
    now.time = datetime(2026, 11, 1, 12, tzinfo=UTC)
    first, second = datetime(2026, 11, 1, 1, 30, tzinfo=EDT), datetime(2026, 11, 1, 1, 30, tzinfo=EST)
    items = [made(pond, number, time, body=TWO_ROWS) for number, time in ((1, first), (2, second))]
    times = in_the_job(store, pond, *items)
    assert times == [first, second]
    # long after the job's date: among the profiles, for readings.csv is of one start-up
    assert store.taking.list.one(1).taken_path == "profiles.csv"
    assert [time.isoformat() for time in times] == ["2026-11-01T01:30:00-04:00", "2026-11-01T01:30:00-05:00"]
    shown = [row.made_at.isoformat() for row in store.taking.list.items()]
    assert shown == ["2026-11-01T01:30:00-04:00", "2026-11-01T01:30:00-05:00"]


@pytest.mark.parametrize(
    "clock",
    [
        "1970-01-01T00:03:00+00:00",
        "0001-01-01T00:00:00+14:00",
        "2041-03-04T05:06:07-04:00",
        "9999-12-31T23:59:59-12:00",
    ],
)
def test_a_clock_that_was_never_set_is_told_and_the_reading_placed_by_its_receipt(store, pond, now, clock):
    """Flagged with what it said; by the satellites' time where there was a fix."""
    fix = "2026-08-12T13:00:00.000Z"
    one = item("profile", 1, pond_id=pond, made_at=clock, clock_skew_s=None, body=ROWS)
    two = item("profile", 2, pond_id=pond, made_at=clock, clock_skew_s=None, gps_at=fix, body=ROWS)
    assert in_the_job(store, pond, one, two) == [now.time, datetime(2026, 8, 12, 13, tzinfo=UTC)]
    rows = store.taking.list.items()
    assert [row.placed_by for row in rows] == ["server", "gps"]
    assert all(clock[:4] in row.clock_words for row in rows)


def test_a_clock_at_1970_that_was_measured_is_right(store, pond, now):
    """The skew of 56 years counts: the reading is where it was made, and nothing is flagged."""
    true = datetime(2026, 8, 12, 9, tzinfo=EDT)
    ahead = datetime(1970, 1, 1, tzinfo=UTC) - true
    assert in_the_job(store, pond, made(pond, 1, true, ahead=ahead)) == [true]
    assert store.taking.list.one(1).clock_words == ""


def test_ten_saves_again_move_no_time(store, pond, now):
    """Ten edits on the phone, each later by its clock, then ten saves in the office: the time of the first stays."""
    true = datetime(2026, 8, 11, 7, 12, 31, tzinfo=EDT)
    first = made(pond, 0, true)
    [time] = in_the_job(store, pond, first)
    assert time == true
    before = first
    for number in range(1, 11):
        edit = made(
            pond, number, true + timedelta(minutes=40 * number), supersedes=before["id"], base_number=1
        )
        now.time += timedelta(hours=1)
        sequence = store.captures.receive(text(edit)).sequence_number
        done = store.taking.take([sequence], Asked(pond, store.ponds.revision(pond).number, ""))
        assert done.left == ()
        before = edit
    for _ in range(10):
        current = store.ponds.revision(pond)
        store.ponds.save_files(
            pond, store.ponds.folder(pond).files, expected_number=current.number, author="", reason=""
        )
    # and through a document of the API, which writes the files anew
    current = store.ponds.revision(pond)
    job = store.ponds.save_job(pond, current.job, expected_number=current.number, author="", reason="").job
    assert [one.time.isoformat() for one in job.profiles] == ["2026-08-11T07:12:31-04:00"]


@given(
    made_at=st.datetimes(timezones=st.sampled_from([UTC, EDT, EAST, WEST])),
    skew=st.none() | st.floats(-1e12, 1e12),
    fix=st.none() | st.datetimes(timezones=st.just(UTC)),
)  # fmt: skip
def test_any_clock_gives_a_moment_that_can_be(made_at, skew, fix):
    """Never after the receipt but for the way of a message, never more than a season and a half before; no error."""
    server_at = datetime(2026, 8, 12, 16, tzinfo=UTC)
    found = placed(made_at, server_at, clock_skew_s=skew, gps_at=fix)
    assert server_at - timedelta(days=400) <= found.time <= server_at + timedelta(minutes=5)
    assert (found.by == "device") == (found.words == "")


def test_a_clock_further_off_than_any_age_is_not_believed(store, pond):
    """Four thousand years behind: what was measured before stands, and nothing is moved by it."""
    store.captures.receive(text(item("note", 0, pond_id=pond, clock_skew_s=120.0)))
    store.captures.receive(text(item("note", 1, pond_id=pond, clock_skew_s=2e11)))
    with store.database.reading() as link:
        assert link.execute(select(device.c.skew_s)).scalar_one() == 120.0
