"""Quotes are kept as they were made; an acceptance names the quote and the plan that the customer saw."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import UTC, datetime, timedelta

import pytest
from pypdf import PdfReader
from tests.web.browsers import PASSWORD, Client

from plumeline.store import open_store
from plumeline.store.people import Role
from plumeline.web.app import make_app


class Clock:
    """A time that moves on by a minute at each look."""

    def __init__(self) -> None:
        self.now = datetime(2026, 8, 11, 18, tzinfo=UTC)

    def __call__(self):
        self.now += timedelta(minutes=1)
        return self.now


@pytest.fixture(scope="module")
def place(tmp_path_factory, small_job):
    """A store with a pond and somebody of the office; its quotes are of the pond as first saved."""
    store = open_store(tmp_path_factory.mktemp("quotes") / "plumeline.sqlite3", clock=Clock())
    store.people.use_code(store.people.add("Ada", Role.OFFICE), PASSWORD)
    yield store
    store.close()


@pytest.fixture
def work(place, small_job, small_files):
    """A pond of its own, the office and a customer's browser, and a way to make its plan."""
    return Work(place, small_job, small_files)


class Work:
    """What an office and a customer do."""

    def __init__(self, store, job, files) -> None:
        self.store, self.pond = store, store.ponds.add_job(job, author="", reason="").pond_id
        self.files = files
        app = make_app(store, sign_in=True)
        self.office, self.customer = Client(app), Client(app)
        assert self.office.sign_in("Ada").status_code == 303

    def make_plan(self):
        run = self.store.runs.ask(self.pond, self.number, "x")
        self.store.runs.finish(self.store.runs.claim().id, self.files)
        return run.id

    @property
    def number(self):
        return self.store.ponds.revision(self.pond).number

    def quote(self):
        sent = {"number": f"{self.number}"}
        page = f"/ponds/{self.pond}/papers"
        return self.office.post(f"/ponds/{self.pond}/quotes", sent, page=page)

    def come_in(self):
        _link, secret = self.store.links.make(self.pond, "Ada")
        assert self.customer.post("/link", {"code": secret}, page="/link").status_code == 303

    def accept(self, quote_number, run_id, name="B. Owner"):
        sent = {"name": name, "number": f"{self.number}", "quote_number": quote_number, "run_id": run_id}
        return self.customer.post("/customer/accept", sent, page="/customer")

    def see(self):
        return self.customer.http.get("/customer").text


def words_of(answer):
    """Return the words of a PDF."""
    pages = PdfReader(io.BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_a_quote_is_numbered_and_stays_as_it_was_made(work):
    """Made by the office's button, once for one plan; it says its number, revision, time and plan."""
    run_id = work.make_plan()
    assert work.quote().status_code == 303
    assert work.quote().status_code == 303
    (kept,) = work.store.quotes.of_pond(work.pond)
    assert (kept.quote_number, kept.number, kept.run_id, kept.made_by) == (1, 1, run_id, "Ada")
    paper = work.office.http.get(f"/ponds/{work.pond}/quotes/1/us")
    assert f"Quote 1 · revision 1 · made {kept.made_at:%Y-%m-%d}" in words_of(paper)
    assert "goes with the start-up plan made 2026-08-11" in words_of(paper)
    assert "psig" in words_of(paper)
    assert "kPa" in words_of(work.office.http.get(f"/ponds/{work.pond}/quotes/1/si"))
    work.make_plan()
    assert (
        "Quote 1 was made before the start-up plan of this revision"
        in work.office.http.get(f"/ponds/{work.pond}/papers").text
    )
    assert work.quote().status_code == 303
    assert [row.quote_number for row in work.store.quotes.of_pond(work.pond)] == [2, 1]
    assert work.office.http.get(f"/ponds/{work.pond}/quotes/1/us").content == paper.content


def test_an_acceptance_names_what_the_customer_saw_and_keeps_showing_it(work):
    """A plan made anew and a new revision leave it: customer, office, table, JSON and zip show the same papers."""
    first = work.make_plan()
    work.quote()
    work.come_in()
    assert "Quote 1 (PDF)" in work.see()
    assert work.accept("1", first).status_code == 303
    second = work.make_plan()
    assert second != first
    (kept,) = work.store.links.accepted(work.pond)
    assert (kept.number, kept.quote_number, kept.run_id) == (1, 1, first)
    assert kept.plan_made_at == work.store.runs.get(first).ended_at
    assert kept.quote_made_at == work.store.quotes.of_pond(work.pond)[0].made_at
    plan = work.customer.http.get("/customer/papers/plan.pdf")
    assert plan.content == work.store.runs.file(first, "us/plan.pdf")

    job = work.store.ponds.revision(work.pond).job.model_copy(update={"name": "another name"})
    work.store.ponds.save_job(work.pond, job, expected_number=1, author="", reason="")
    page = work.see()
    assert f"quote 1 of {kept.quote_made_at:%Y-%m-%d %H:%M} UTC" in page
    assert "No quote is made of revision 2 yet" in page
    for name in ("quote.pdf", "plan.pdf"):
        theirs = work.customer.http.get(f"/customer/accepted/{kept.id}/{name}")
        ours = work.office.http.get(f"/ponds/{work.pond}/accepted/{kept.id}/{name}")
        assert theirs.content.startswith(b"%PDF-")
        assert theirs.content == ours.content
    assert "start-up plan of 2026-08-11" in work.office.http.get(f"/ponds/{work.pond}/links").text
    (row,) = work.office.http.get(f"/api/v1/ponds/{work.pond}/accepted").json()
    assert (row["revision_number"], row["quote_number"], row["plan_run"]) == (1, 1, first)

    packed = zipfile.ZipFile(io.BytesIO(work.office.http.get(f"/ponds/{work.pond}/accepted.zip").content))
    (line,) = csv.DictReader(io.StringIO(packed.read("accepted.csv").decode()))
    assert (line["name"], line["quote_number"], line["plan_run"]) == ("B. Owner", "1", first)
    assert line["said"] == row["said"] == ""
    assert packed.read(f"{line['folder']}/us/plan.pdf") == plan.content
    assert packed.read(f"{line['folder']}/si/quote.pdf") == work.store.quotes.file(work.pond, 1, "si")


def test_an_acceptance_of_before_papers_were_noted_says_so(work):
    """As migration 0006 left it: no quote, no plan; both pages, JSON, table and zip say that none is named."""
    work.quote()
    work.come_in()
    assert work.accept("1", "").status_code == 303
    with work.store.database.transaction() as link:
        link.exec_driver_sql("UPDATE acceptance SET quote_number = NULL WHERE pond_id = ?", (work.pond,))
    words = "which papers were accepted was not noted"
    page = work.office.http.get(f"/ponds/{work.pond}/links").text
    assert words in page
    assert f"/ponds/{work.pond}/history" in page
    assert words in work.see()
    (row,) = work.office.http.get(f"/api/v1/ponds/{work.pond}/accepted").json()
    assert words in row["said"].lower()
    assert (row["revision_number"], row["quote_number"], row["plan_run"]) == (1, None, None)
    packed = zipfile.ZipFile(io.BytesIO(work.office.http.get(f"/ponds/{work.pond}/accepted.zip").content))
    (line,) = csv.DictReader(io.StringIO(packed.read("accepted.csv").decode()))
    assert words in line["said"].lower()
    assert words in packed.read(f"{line['folder']}/no-papers.txt").decode().lower()


def test_papers_that_changed_under_the_customer_are_not_accepted(work):
    """A quote or a plan made after the page was shown: nothing is kept, and the page shows the new ones."""
    first = work.make_plan()
    work.quote()
    work.come_in()
    second = work.make_plan()
    work.quote()
    for quote_number, run_id in (("1", first), ("2", first), ("1", second)):
        refused = work.accept(quote_number, run_id)
        assert refused.status_code == 409
        assert "nothing was accepted" in refused.text
    assert not work.store.links.accepted(work.pond)
    assert work.accept("2", second).status_code == 303


def test_a_customer_sees_no_paper_of_another_acceptance(work):
    """By the id of what another link accepted, not even of the same pond."""
    run_id = work.make_plan()
    work.quote()
    work.come_in()
    work.accept("1", run_id)
    (kept,) = work.store.links.accepted(work.pond)
    work.customer.http.cookies.clear()
    work.come_in()
    assert work.customer.http.get(f"/customer/accepted/{kept.id}/plan.pdf").status_code == 404


def test_making_a_link_makes_the_quote_that_it_leads_to(work):
    """The customer finds one; the office reads which."""
    answer = work.office.post(f"/ponds/{work.pond}/links", page=f"/ponds/{work.pond}/links")
    assert "The customer sees quote 1" in answer.text
    assert "no start-up plan of this revision is made" in answer.text
    assert work.store.quotes.latest(work.pond, 1).run_id is None


def test_a_quote_without_a_plan_and_of_old_water_says_so(work):
    """In November: on the quote itself stand the days that are over, before all else to bear in mind."""
    work.store.clock.now = datetime(2026, 11, 26, 12, tzinfo=UTC)
    assert work.office.sign_in("Ada").status_code == 303
    work.quote()
    text = words_of(work.office.http.get(f"/ponds/{work.pond}/quotes/1/us"))
    assert "no start-up plan of this revision was made by then" in text
    assert "The job's days are over" in text
    assert "take a new reading and make a new plan" in text


def test_a_draft_says_that_it_is_none(work):
    """Looked at before a quote is made: no number, and marked."""
    text = words_of(work.office.http.get(f"/ponds/{work.pond}/papers/quote.pdf"))
    assert "Draft: no quote of this revision is made yet." in text


def test_an_erased_pond_takes_its_quotes_along(work):
    """No row and no content of them stays."""
    work.quote()
    work.come_in()
    assert work.accept("1", "").status_code == 303
    work.store.bin.put(work.pond, "Ada")
    work.store.bin.erase(work.pond, work.store.bin.all()[0].name)
    assert not work.store.quotes.of_pond(work.pond)
    with work.store.database.reading() as link:
        assert not link.exec_driver_sql("SELECT * FROM quote_file WHERE pond_id = ?", (work.pond,)).all()
        assert link.exec_driver_sql("PRAGMA foreign_key_check").all() == []
