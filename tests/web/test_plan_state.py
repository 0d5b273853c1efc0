"""Papers and plans say so where they simulate another line than the job has, or lie too far back."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from io import BytesIO

import pytest
from pypdf import PdfReader
from tests.web.browsers import Client

from plumeline.demo import demo_folder
from plumeline.files.calendar import NO_START
from plumeline.job.document import Compressor, ProfilePoint
from plumeline.notices import danger
from plumeline.store import open_store, read_folder
from plumeline.web import worker
from plumeline.web.app import make_app
from plumeline.web.plan_state import age_words

READ = datetime(2026, 8, 11, 18, tzinfo=UTC)


class Clock:
    """A time that a test sets."""

    def __init__(self) -> None:
        self.now = READ

    def __call__(self):
        return self.now


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def pond(tmp_path, clock, small_job):
    """A store with a pond that has no plan."""
    store = open_store(tmp_path / "plumeline.sqlite3", clock=clock)
    yield store, store.ponds.add_job(small_job, author="", reason="").pond_id
    store.close()


@pytest.fixture
def place(pond, small_files):
    """The pond with a plan that was made in August, by the worker."""
    store, pond_id = pond
    store.runs.ask(pond_id, 1, "x")
    store.runs.finish(store.runs.claim().id, small_files)
    return store, pond_id


def pages(store, pond_id):
    """Return the page of the papers and that of the start-up."""
    office = Client(make_app(store))
    return [office.http.get(f"/ponds/{pond_id}/{name}") for name in ("papers", "startup")]


def test_a_plan_of_today_carries_no_caution(place):
    """Made of the revision that stands, of yesterday's water: nothing is said of its age or its line."""
    for page in pages(*place):
        assert page.status_code == 200
        assert "days are over" not in page.text
        assert "latest reading is of" not in page.text
        assert "another line" not in page.text


def test_a_plan_of_august_says_in_november_that_its_days_are_over(place, clock):
    """On its own page and in the list of papers, the quote's own entry too: with its dates and what to do."""
    store, pond_id = place
    clock.now = datetime(2026, 11, 26, 12, tzinfo=UTC)
    papers, startup = pages(store, pond_id)
    for page in (papers, startup):
        assert "days are over: from 2026-08-1" in page.text
        assert "today is 2026-11-26" in page.text
        assert "its latest reading is of 2026-08-11" in page.text
        assert "take a new reading and make a new plan" in page.text
    assert papers.text.count("days are over") == 2
    assert "Make the start-up plan" in startup.text


def plan_again(store, pond_id, monkeypatch, plan, *notices):
    """Make another plan of the pond: with these notices, and none of those that forbid a start."""
    kept = tuple(item for item in plan.notices if item.code not in NO_START)
    start = replace(plan.startup, notices=notices)
    other = replace(plan, startup=start, notices=(*kept, *notices))
    monkeypatch.setattr("plumeline.stages.plan.make_plan", lambda job, **_: other)
    run = store.runs.ask(pond_id, 1, "another")
    worker.compute(store, store.runs.claim())
    assert store.runs.get(run.id).words == ""


def test_the_run_of_today_stands_before_the_tables_and_charts(pond, clock, small_plan, monkeypatch):
    """At six in the morning on the bank: which day it is, the run, its stop readings; days that are over show none."""
    store, pond_id = pond
    plan_again(store, pond_id, monkeypatch, small_plan)
    days = small_plan.startup.days
    for ahead_d, title in ((-3, "The first day, "), (0, "Today, "), (1, "Today, "), (60, "")):
        clock.now = datetime.combine(days[0].date, time(10), tzinfo=UTC) + timedelta(days=ahead_d)
        text = pages(store, pond_id)[1].text
        section = re.search(r'<section class="today"><h2>([^<]*)</h2>(.*?)</section>', text, re.S)
        if not title:
            assert section is None
            continue
        shown = days[max(ahead_d, 0)]
        assert section[1].startswith(f"{title}{shown.date:%a %b} {shown.date.day}: day {shown.number}")
        words = re.sub(r"<[^>]+>", " ", section[2])
        assert shown.start_hour_h is None or f"{shown.start_hour_h:02.0f}:00" in words
        for item in shown.stop_by_hour:
            assert item.do_mg_l is None or f"{item.do_mg_l:.1f}" in words
        days_at = text.index(">Days: by visit")
        assert section.start() < days_at < text.index("<figure")
        assert days_at < text.index(">Main figures</h2>")
        assert ahead_d > 0 or "Due next" in text


def test_what_decides_whether_to_start_stands_over_the_days(pond, monkeypatch, small_plan):
    """A danger at the foot of a long page is read after the compressor runs; no run of a forbidden day is shown."""
    store, pond_id = pond
    off = danger("worse-than-no-air", "Do not start by this card: it loses more.")
    plan_again(store, pond_id, monkeypatch, small_plan, off)
    text = Client(make_app(store)).http.get(f"/ponds/{pond_id}/startup").text
    assert text.count("Do not start by this card") == 1
    assert text.index("Do not start by this card") < text.index(">Days: by visit")
    assert 'class="today"' not in text
    assert "no air by this plan" in text


def test_a_pond_without_a_plan_says_so_too(tmp_path, clock):
    """The demo pond, read in August, looked at in November: its start lies behind; the quote says so."""
    clock.now = datetime(2026, 11, 26, 12, tzinfo=UTC)
    store = open_store(tmp_path / "plumeline.sqlite3", clock=clock)
    store.ponds.add(read_folder(demo_folder()), author="", reason="")
    papers, startup = pages(store, "hollow-oak")
    assert "The job&#39;s days are over: from 2026-08-12 to 2026-08-26" in papers.text
    assert "The job&#39;s days are over" in startup.text
    assert "No start-up plan is made of revision 1" in papers.text
    assert (
        "rocking-piston, 1/2 hp class (invented curve); trunk steel-3/4 and pe-3/4; diffusers A, B, C."
        in papers.text
    )
    store.close()


@pytest.mark.parametrize(("days", "said"), [(14, 0), (15, 1)])
def test_a_reading_is_too_old_from_the_fifteenth_day_before_the_start(small_job, days, said):
    """Two weeks before the start pass, a day more does not."""
    first = date(2026, 8, 11) + timedelta(days=days)
    found = age_words(small_job, date(2026, 8, 12), first, first + timedelta(days=5))
    assert len(found) == said
    assert all("more than two weeks before the start" in text for text in found)


@pytest.mark.parametrize(("today", "said"), [(date(2026, 8, 20), 0), (date(2026, 8, 21), 1)])
def test_days_are_over_the_day_after_the_last(small_job, today, said):
    """On the last day there is still something to do."""
    found = age_words(small_job, today, date(2026, 8, 12), date(2026, 8, 20))
    assert len(found) == said


def test_a_plan_of_another_machine_than_the_job_has_now_is_named(place):
    """Both machines stand on the page of the papers; the quote of the new revision is warned of."""
    store, pond_id = place
    pond = store.ponds.revision(pond_id)
    line = pond.job.air.model_copy(update={"compressor": Compressor(name="rocking-piston 3/4 hp class")})
    job = pond.job.model_copy(update={"air": line})
    store.ponds.save_job(pond_id, job, expected_number=1, author="", reason="")
    for page in pages(store, pond_id):
        assert "This plan was made of revision 1; revision 2 stands now." in page.text
        assert "compressor: " in page.text
        assert "rocking-piston compressor, 3/4 hp in the job" in page.text
    assert "No start-up plan is made of revision 2; the plan of revision 1 simulates" in page_of(
        store, pond_id
    )


def page_of(store, pond_id):
    return pages(store, pond_id)[0].text


def test_the_quote_names_the_machine_that_the_plan_simulated(place):
    """The same words in plan.json, on the air page and in the quote."""
    store, pond_id = place
    run = store.runs.of_pond(pond_id)[0]
    simulated = json.loads(store.runs.file(run.id, "si/plan.json"))["air"]["compressor_words"]
    office = Client(make_app(store))
    paper = office.http.get(f"/ponds/{pond_id}/papers/quote.pdf")
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(paper.content)).pages).split())
    assert f"This design, the one that the start-up plan is made for: {simulated}" in text
    assert f"this design: {simulated}" in text.replace("- ", "-")
    air = office.http.get(f"/api/v1/ponds/{pond_id}/stages/air").json()
    assert air["air"]["compressor_words"] == simulated


def test_a_quote_of_another_line_than_its_own_plan_is_refused(place, monkeypatch):
    """A plan of the same revision by a program that chose another machine: no quote until the plan is made anew."""
    store, pond_id = place
    run = store.runs.of_pond(pond_id)[0]
    document = json.loads(store.runs.file(run.id, "si/plan.json"))
    document["air"]["compressor_words"] = "another machine"
    kept = store.runs.file
    changed = json.dumps(document).encode()
    monkeypatch.setattr(
        store.runs, "file", lambda ident, path: changed if path == "si/plan.json" else kept(ident, path)
    )
    office = Client(make_app(store))
    refused = office.http.get(f"/ponds/{pond_id}/papers/quote.pdf")
    assert refused.status_code == 422
    assert "another machine in the plan" in refused.text
    assert "Make the start-up plan anew, then the quote." in refused.text
    page = office.http.get(f"/ponds/{pond_id}/papers").text
    assert "Not made:" in page
    assert "papers/quote.pdf" not in page


def test_the_latest_profile_counts(small_job):
    """A second reading in November makes the pond readable again, though the first is of August."""
    later = small_job.profiles[0].model_copy(
        update={
            "id": "p2", "time": datetime(2026, 11, 20, 15, tzinfo=UTC),
            "points": (ProfilePoint(depth_m=0.0, temperature_degc=9.0, do_mg_l=9.0),),
        }
    )  # fmt: skip
    job = small_job.model_copy(update={"observations": (*small_job.observations, later)})
    assert not age_words(job, date(2026, 11, 21), date(2026, 11, 22), date(2026, 12, 1))
