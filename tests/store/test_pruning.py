"""Which backups stay: 14 days and 8 weeks of them, whatever the hours at which they were taken."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plumeline.store.backups import AUTO, SUM, all_backups, prune, taken_at, write_backup
from plumeline.store.pruning import DAYS, WEEKS, to_keep

NOW = datetime(2026, 8, 12, 15, 30, tzinfo=UTC)
HOURS = st.integers(min_value=0, max_value=24 * 500)


def hourly(days, every=1):
    return [NOW - timedelta(hours=h) for h in range(0, days * 24, every)]


def test_of_a_year_of_hours_fourteen_days_and_eight_weeks_stay():
    """By hand: today and 13 days before it by their last hour, five more Sundays, the last three hours."""
    kept = sorted(to_keep(hourly(365), UTC), reverse=True)
    assert kept[:3] == [NOW - timedelta(hours=h) for h in range(3)]
    days = [time for time in kept if time.hour == 23]
    newest = datetime(2026, 8, 11, 23, 30, tzinfo=UTC)
    # weeks end on Sundays: 9 August and 2 August are among the 14 days, so that 26 July to 28 June remain of 8
    sundays = [datetime(2026, 7, 26, 23, 30, tzinfo=UTC) - timedelta(weeks=w) for w in range(5)]
    assert days == [newest - timedelta(days=d) for d in range(DAYS - 1)] + sundays
    assert len(kept) == 3 + len(days)


def test_a_shop_closed_for_a_winter_keeps_its_days_of_before():
    """Days without a backup do not count."""
    before = [NOW - timedelta(days=200 + day) for day in range(DAYS - 1)]
    assert to_keep([NOW, *before], UTC) == {NOW, *before}


def test_a_day_is_the_shops_day():
    """23:30 and 00:30 in the zone are two days, though one in UTC."""
    zone = ZoneInfo("America/Chicago")
    late = datetime(2026, 8, 11, 23, 30, tzinfo=zone)
    old = [late - timedelta(days=d) for d in range(1, 6)]
    assert late in to_keep([late + timedelta(hours=h) for h in (0, 1, 2, 3, 4)] + old, zone)


@given(st.sets(HOURS, min_size=1, max_size=300))
def test_the_newest_stays_and_pruning_twice_takes_no_more(ages):
    """Of any set: the newest is kept, what is kept stays kept, and no more than 3 + 14 + 8."""
    times = [NOW - timedelta(hours=age) for age in ages]
    kept = to_keep(times, UTC)
    assert max(times) in kept
    assert to_keep(kept, UTC) == kept
    assert len(kept) <= 3 + DAYS + WEEKS
    assert len({time.date() for time in kept}) >= min(DAYS, len({time.date() for time in times}))


def test_pruned_each_hour_the_days_and_weeks_are_still_there():
    """Half a year of hours, pruned after each as the server does: the same as pruned once at its end."""
    kept = frozenset()
    every = sorted(hourly(180))
    for time in every:
        kept = to_keep({*kept, time}, UTC)
    assert kept == to_keep(every, UTC)


@pytest.fixture
def written(store, oak, path):
    """Forty days of backups, one made by hand among them."""
    store.ponds.add(oak, author="", reason="")
    made = write_backup(path, now=NOW, by_itself=True).path
    data, words = made.read_bytes(), made.with_name(made.name + SUM).read_text()
    for day in range(1, 40):
        time = NOW - timedelta(days=day)
        tail = "" if day == 30 else AUTO
        other = made.with_name(f"{path.stem}-{time:%Y%m%dT%H%M%S%f}Z{tail}.sqlite3")
        other.write_bytes(data)
        other.with_name(other.name + SUM).write_text(words)
    return made


def test_pruning_leaves_what_a_person_asked_for_and_what_is_good(written, path):
    """Of 40: 14 days, weeks beyond them, the one made by hand; each taken away with its checksum."""
    oldest = all_backups(path)[-1]
    gone = prune(path, oldest)
    left = all_backups(path)
    assert oldest in left
    assert written in left
    assert [one for one in left if not one.stem.endswith(AUTO)] == [
        one for one in left if taken_at(one) == NOW - timedelta(days=30)
    ]
    assert len(gone) + len(left) == 40
    assert 14 < len(left) < 22
    assert not any(one.exists() or one.with_name(one.name + SUM).exists() for one in gone)
