"""The visit calendar: standard iCalendar (RFC 5545), right over a change of the clock, the same when made anew."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from icalendar import Calendar

from plumeline.errors import InputError
from plumeline.files.calendar import NO_START, calendar_bytes, calendar_events, write_calendar
from plumeline.notices import danger


@pytest.fixture(scope="module")
def plan(small_plan):
    """Return the start-up plan of the small pond, as one that may be started: of so few ponds it may say not to."""
    start = small_plan.startup
    return replace(start, notices=tuple(item for item in start.notices if item.code not in NO_START))


@pytest.fixture(scope="module")
def job(small_job):
    """Return the small pond's job: eastern time."""
    return small_job


def entries_of(data):
    """Return the entries of a calendar as another program's library reads them."""
    return list(Calendar.from_ical(data).walk("VEVENT"))


def test_every_entry_has_what_the_standard_asks_for_and_a_reminder(job, plan):
    """UID, DTSTAMP, DTSTART, DTEND after it, and one alarm before the start (RFC 5545, 3.6.1 and 3.6.6)."""
    entries = entries_of(calendar_bytes(job, plan))
    assert entries
    for entry in entries:
        assert entry["uid"]
        assert entry.decoded("dtend") > entry.decoded("dtstart")
        assert entry.decoded("dtstart").utcoffset() == timedelta(0)
        (alarm,) = entry.walk("VALARM")
        assert alarm.decoded("trigger") < timedelta(0)
    assert len({str(entry["uid"]) for entry in entries}) == len(entries)


def test_lines_are_folded_and_end_as_the_standard_says(job, plan):
    """No line of more than 75 octets, each ended by CR LF (RFC 5545, 3.1)."""
    data = calendar_bytes(job, plan)
    lines = data.split(b"\r\n")
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert lines[-1] == b""
    assert max(len(line) for line in lines) <= 75
    assert b"\n" not in b"".join(lines)


def test_the_same_plan_gives_the_same_bytes(job, plan):
    """The only clock is the job's date."""
    assert calendar_bytes(job, plan) == calendar_bytes(job, plan)


def test_runs_start_and_stop_at_the_plans_hours(job, plan):
    """On the pond's clock each start is at its hour, and a timed run's stop is its minutes later."""
    days = [day for day in plan.days if day.start_hour_h is not None and day.minutes > 0]
    starts = [event for event in calendar_events(job, plan) if event.kind == "start"]
    stops = {event.key: event for event in calendar_events(job, plan) if event.kind == "stop"}
    assert len(starts) == len(days)
    # eastern summer time is four hours behind UTC
    for event, day in zip(starts, days, strict=True):
        assert event.begin == datetime(day.date.year, day.date.month, day.date.day, tzinfo=UTC) + timedelta(
            hours=4 + day.start_hour_h
        )
        if day.minutes < 1440:
            assert stops[event.key].begin - event.begin == timedelta(minutes=day.minutes)


@pytest.mark.parametrize(
    ("day", "before", "after"),
    [(date(2026, 3, 8), 5, 4), (date(2026, 11, 1), 4, 5)],
)
def test_over_a_change_of_the_clock_a_run_is_neither_longer_nor_shorter(job, plan, day, before, after):
    """Eastern time changes at 2:00 on 8 March and 1 November 2026 (US rule): a run of 8 h from 22:00 lasts 8 h."""
    eve = day - timedelta(days=1)
    one = replace(plan.days[0], date=eve, start_hour_h=22.0, minutes=480, visit=False)
    next_day = replace(plan.days[0], number=2, date=day, start_hour_h=10.0, minutes=60, visit=False)
    events = calendar_events(job, replace(plan, days=(one, next_day)))
    start, stop = (
        next(e for e in events if e.kind == kind and e.key == eve.isoformat()) for kind in ("start", "stop")
    )
    assert start.begin == datetime(eve.year, eve.month, eve.day, tzinfo=UTC) + timedelta(hours=22 + before)
    assert stop.begin - start.begin == timedelta(hours=8)
    second = next(e for e in events if e.kind == "start" and e.key == day.isoformat())
    assert second.begin == datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(hours=10 + after)


def test_a_plan_made_anew_moves_its_entries_and_doubles_none(job, plan):
    """The same day and kind keep their UID when the hour changes, so that a calendar program moves them."""
    moved = replace(
        plan,
        days=tuple(
            d if d.start_hour_h is None else replace(d, start_hour_h=d.start_hour_h - 1) for d in plan.days
        ),
    )
    first = {str(e["uid"]): e for e in entries_of(calendar_bytes(job, plan))}
    second = {str(e["uid"]): e for e in entries_of(calendar_bytes(job, moved))}
    assert first.keys() == second.keys()
    assert any(first[uid].decoded("dtstart") != second[uid].decoded("dtstart") for uid in first)


def test_a_day_by_the_card_says_that_nobody_need_come(job, plan):
    """Its stop readings are for whoever is there; on a day with a visit they are what the visit is for."""
    one = replace(plan.days[0], start_hour_h=10.0, minutes=120, visit=False)
    texts = {
        visit: next(e.text for e in calendar_events(job, replace(plan, days=(replace(one, visit=visit),)))
                    if e.kind == "start")
        for visit in (True, False)
    }  # fmt: skip
    assert "nobody need come" in texts[False]
    assert "nobody need come" not in texts[True]
    (stop,) = [e for e in calendar_events(job, replace(plan, days=(one,))) if e.kind == "stop"]
    assert stop.text.startswith("Shut off after 120 min; the valves stay")


def test_a_plan_that_must_not_be_started_puts_no_run_into_a_calendar(job, plan):
    """Somebody's phone would ring for a start that the plan itself forbids: one reading and its reason instead."""
    off = danger("worse-than-no-air", "Do not start by this card: it loses more.")
    (event,) = calendar_events(job, replace(plan, notices=(*plan.notices, off)))
    assert event.kind == "reading"
    assert "no air by this plan" in event.summary
    assert event.text.startswith("Do not start by this card")
    assert len(entries_of(calendar_bytes(job, replace(plan, notices=(off,))))) == 1


def test_a_calendar_never_takes_the_place_of_another_file(job, plan, tmp_path):
    """A file that is no calendar is left alone; an older calendar is replaced."""
    notes = tmp_path / "notes.txt"
    notes.write_text("mine")
    with pytest.raises(InputError, match="not a calendar"):
        write_calendar(notes, job, plan)
    assert notes.read_text() == "mine"
    out = tmp_path / "visits.ics"
    write_calendar(out, job, plan)
    write_calendar(out, job, plan)
    assert entries_of(out.read_bytes())
    with pytest.raises(InputError, match="can't be written"):
        write_calendar(tmp_path / "none" / "visits.ics", job, plan)
