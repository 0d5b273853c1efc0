"""The visit calendar: runs, readings and visits of a start-up plan as iCalendar (RFC 5545), with reminders."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import plumeline
from plumeline.errors import InputError
from plumeline.job.document import Job
from plumeline.pairs import pair, said
from plumeline.stages.column import NEAR_SURFACE_M
from plumeline.stages.startup import RunDay, StartUp
from plumeline.stages.startup.crew import crew_of
from plumeline.units import both
from plumeline.units.showing import System

if TYPE_CHECKING:
    from icalendar import Calendar

WHOLE_DAY_MIN = 1440
READING_MIN = 20
VISIT_BEFORE_MIN = 30
LATER_H = 2
BY_THE_CARD = "By the card: nobody need come to read; what follows is for whoever happens to be there. "
NO_START = ("worse-than-no-air", "keep-off-tonight", "site-no-power")
"""Codes of the notices by which a start-up is not to begin by its card."""
REMIND_MIN = {"start": 30, "stop": 10, "reading": 15, "visit": 12 * 60}


@dataclass(frozen=True)
class Event:
    """One thing to do.

    Attributes:
        kind: start, stop, reading or visit.
        key: makes its identity with the job and the kind: the same day and kind is the same event when the plan
            is made anew.
        begin, end: moments with an offset.
        summary: one line.
        text: what to do.
    """

    kind: str
    key: str
    begin: datetime
    end: datetime
    summary: str
    text: str


def calendar_events(job: Job, plan: StartUp) -> tuple[Event, ...]:
    """Return what is to be done, in order of time.

    A run lasts its minutes by the clock on the wall's own time: over a change of the clock it is neither
    longer nor shorter.

    A plan that says not to start by its card puts no run into anybody's calendar: one reading stands there.

    Args:
        job: the job.
        plan: its start-up plan.
    """
    zone = ZoneInfo(job.site.time_zone)
    if plan.days and any(notice.code in NO_START for notice in plan.notices):
        return (_instead(job, plan, zone),)
    found: list[Event] = []
    for day in plan.days:
        if day.minutes <= 0:
            continue
        if day.start_hour_h is not None:
            found += _run(job, day, zone)
        if day.visit:
            found += _visit(job, plan, day, zone)
    if plan.days:
        found += _proof(job, plan, zone)
    return tuple(sorted(found, key=lambda event: (event.begin, event.kind)))


def _at(day: date, hour_h: float, zone: ZoneInfo) -> datetime:
    """Return a moment of a day by the pond's own clock, as UTC so that what is added to it is real time."""
    whole = timedelta(hours=hour_h)
    return (
        (datetime.combine(day, time(0), zone).replace(tzinfo=None) + whole)
        .replace(tzinfo=zone)
        .astimezone(UTC)
    )


def _run(job: Job, day: RunDay, zone: ZoneInfo) -> list[Event]:
    assert day.start_hour_h is not None
    begin = _at(day.date, day.start_hour_h, zone)
    end = begin + timedelta(minutes=day.minutes)
    which = f"diffusers {', '.join(day.diffusers)}" if day.diffusers else "all diffusers"
    firm = "firm" if day.firm else "provisional: plan anew with the latest reading"
    stays = day.minutes >= WHOLE_DAY_MIN
    start = Event(
        "start",
        day.date.isoformat(),
        begin,
        begin + timedelta(minutes=min(day.minutes, 60)),
        f"{job.name}: air on, day {day.number}",
        f"{which}, {'and the air stays on' if stays else f'for {day.minutes} min'}. Day {day.number} is {firm}. "
        f"{'' if day.visit else BY_THE_CARD}{_stop_words(day)}",
    )
    if stays:
        return [start]
    stop = Event(
        "stop",
        day.date.isoformat(),
        end,
        end + timedelta(minutes=10),
        f"{job.name}: air off, day {day.number}",
        f"Shut off after {day.minutes} min; the valves stay as they are. Read at shut-off where somebody is there.",
    )
    return [start, stop]


def _stop_words(day: RunDay) -> str:
    texts = [
        f"after {item.after_h} h under {item.do_mg_l:.1f}"
        for item in day.stop_by_hour
        if item.do_mg_l is not None
    ]
    low = f"Expected low {day.least_do_mg_l.median:.1f} mg/L about {day.least_hour_h:02d}:00."
    return (
        f"Shut off when oxygen at {both(NEAR_SURFACE_M, 'm')} reads, mg/L: {'; '.join(texts)}. {low}"
        if texts
        else low
    )


def _visit(job: Job, plan: StartUp, day: RunDay, zone: ZoneInfo) -> list[Event]:
    hour = day.start_hour_h if day.start_hour_h is not None else 9.0
    begin = _at(day.date, hour, zone)
    watched_h = max(crew_of(job.attendance).watched_hours(hour), 1)
    leaves = begin + timedelta(minutes=min(day.minutes, 60 * watched_h))
    visit = Event(
        "visit",
        day.date.isoformat(),
        begin - timedelta(minutes=VISIT_BEFORE_MIN),
        leaves,
        f"{job.name}: visit, day {day.number}",
        " ".join(plan.stop_words),
    )
    depths = (
        ", ".join(both(z, "m") for z in plan.measures[0].depth_m)
        if plan.measures
        else f"{both(NEAR_SURFACE_M, 'm')} and the bottom"
    )
    moments = [("before", begin - timedelta(minutes=VISIT_BEFORE_MIN))]
    if day.minutes <= 60 * watched_h:
        moments += [("shut-off", leaves), ("later", leaves + timedelta(hours=LATER_H))]
    else:
        # the air stays on when the crew goes: there is no shut-off to read at
        moments.append(("later", leaves))
    readings = [
        Event(
            "reading", f"{day.date.isoformat()}-{when}", moment, moment + timedelta(minutes=READING_MIN),
            f"{job.name}: read the water ({when})",
            f"Temperature, oxygen and smell at {depths}, two depths away from the boils. Write it into readings.csv "
            f"with when = {when}.",
        )
        for when, moment in moments
    ]  # fmt: skip
    return [visit, *readings]


def _proof(job: Job, plan: StartUp, zone: ZoneInfo) -> list[Event]:
    """Return the two dawns that prove the job: the second is a visit."""
    last = plan.days[-1].date
    dawns = [item for item in plan.measures if item.when == "dawn"]
    hour_h = _clock_h(dawns[0].time) if dawns else 6.0
    found: list[Event] = []
    for back, words in ((1, "first"), (0, "second")):
        begin = _at(last - timedelta(days=back), hour_h, zone)
        found.append(
            Event(
                "reading", f"proof-{words}", begin, begin + timedelta(minutes=READING_MIN),
                f"{job.name}: read at dawn ({words} of two)",
                f"Top and bottom within {pair('1.8 °F', '1 °C')} and oxygen at the bottom over the limit, on two dawns "
                "running, prove that it is mixed. Provisional: the plan says which dawns.",
            )
        )  # fmt: skip
    begin = found[1].begin
    found.append(
        Event("visit", "proof", begin, begin + timedelta(hours=1), f"{job.name}: visit, to prove it is mixed",
              "The second of two dawns; then set the running time that keeps it mixed.")
    )  # fmt: skip
    return found


def _instead(job: Job, plan: StartUp, zone: ZoneInfo) -> Event:
    """Return what is to be done instead of the runs of a plan that must not be started."""
    dawns = [item for item in plan.measures if item.when == "dawn"]
    begin = _at(plan.days[0].date, _clock_h(dawns[0].time) if dawns else 6.0, zone)
    words = next(notice.text for notice in plan.notices if notice.code in NO_START)
    return Event(
        "reading", "instead-of-the-start", begin, begin + timedelta(minutes=READING_MIN),
        f"{job.name}: no air by this plan; read the water and plan anew", words,
    )  # fmt: skip


def _clock_h(text: str) -> float:
    """Return the clock hour at the end of a text like "Wed 12 Aug 06:00"."""
    hours, minutes = text.rsplit(" ", 1)[-1].split(":")
    return int(hours) + int(minutes) / 60.0


def calendar_bytes(job: Job, plan: StartUp, units: System = "us") -> bytes:
    """Return the calendar as an iCalendar document; the same plan gives the same bytes.

    Times stand in UTC, which needs no table of a zone's changes and is right in every calendar program.
    """
    from icalendar import Alarm, Calendar, vText
    from icalendar import Event as Entry

    calendar: Calendar = Calendar()
    calendar.add("prodid", f"-//plumeline//start-up {plumeline.__version__}//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", f"{job.name}: start-up")
    calendar.add("x-wr-timezone", job.site.time_zone)
    stamp = datetime.combine(job.date, time(0), UTC)
    for event in calendar_events(job, plan):
        entry = Entry()
        entry.add("uid", f"{job.id}-{event.kind}-{event.key}@start-up.plumeline")
        entry.add("dtstamp", stamp)
        entry.add("dtstart", event.begin.astimezone(UTC))
        entry.add("dtend", event.end.astimezone(UTC))
        entry.add("summary", event.summary)
        entry.add("description", said(event.text, units))
        entry.add("categories", [event.kind])
        entry["location"] = vText(job.name)
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", event.summary)
        alarm.add("trigger", timedelta(minutes=-REMIND_MIN[event.kind]))
        entry.add_component(alarm)
        calendar.add_component(entry)
    return bytes(calendar.to_ical())


def write_calendar(out: Path, job: Job, plan: StartUp, units: System = "us") -> None:
    """Write the calendar of a plan.

    Raises:
        InputError: the place can't be written, or holds something else than a calendar.
    """
    if out.exists() and (out.is_dir() or not out.read_bytes().startswith(b"BEGIN:VCALENDAR")):
        raise InputError(
            "something that is not a calendar is there.", remedy="Name another file.", place=str(out)
        )
    try:
        out.write_bytes(calendar_bytes(job, plan, units))
    except OSError as error:
        raise InputError(
            f"the calendar can't be written: {error.strerror}.",
            remedy="Name a place that is there.",
            place=str(out),
        ) from None


__all__ = ["Event", "calendar_bytes", "calendar_events", "write_calendar"]
