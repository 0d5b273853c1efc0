"""Looking changes nothing: every GET route asked, with a finished run, and every row compared."""

from __future__ import annotations

import hashlib

import pytest
from tests.web.browsers import FILLED, HOST, PASSWORD, ROUTES, Client
from tests.web.conftest import make_alternatives
from tests.web.opened_pages import Page, figures_in

from plumeline.store import open_store
from plumeline.store.links import Papers
from plumeline.store.people import Role
from plumeline.web.app import make_app
from plumeline.web.quoting import make_quote


@pytest.fixture(scope="module")
def looked_at(tmp_path_factory, small_job, small_files):
    """A store with a pond whose plan the worker made, somebody of the office, and a customer's link."""
    store = open_store(tmp_path_factory.mktemp("looking") / "plumeline.sqlite3")
    pond = store.ponds.add_job(small_job, author="", reason="")
    run = store.runs.ask(pond.pond_id, 1, "x")
    store.runs.finish(store.runs.claim().id, small_files)
    make_alternatives(store, pond.pond_id)
    store.people.use_code(store.people.add("Ada", Role.OFFICE), PASSWORD)
    make_quote(make_app(store).state.site, store.ponds.revision(pond.pond_id), "Ada")
    link, _secret = store.links.make(pond.pond_id, "Ada")
    store.links.accept(link.id, 1, "An Owner", Papers(1, run.id))
    yield store, pond.pond_id, run.id
    store.close()


def contents(store):
    """Return the hash of every row of every table."""
    with store.database.reading() as link:
        tables = link.exec_driver_sql("SELECT name FROM sqlite_schema WHERE type='table'").scalars().all()
        return {
            name: hashlib.sha256(
                repr(sorted(map(repr, link.exec_driver_sql(f"SELECT * FROM {name}")))).encode()
            ).hexdigest()
            for name in tables
        }


@pytest.fixture(scope="module")
def looked(looked_at):
    """The contents before and after, and what every GET route answered, by the office and by a customer."""
    store, pond_id, run_id = looked_at
    app = make_app(store, sign_in=True)
    app.state.site.page_wait_s = 600.0
    office, customer = Client(app), Client(app)
    assert office.sign_in("Ada").status_code == 303
    _link, secret = store.links.make(pond_id, "Ada")
    assert customer.post("/link", {"code": f"{HOST}/link#{secret}"}, page="/link").status_code == 303
    before = contents(store)
    answers = {}
    for method, path, key in ROUTES:
        if method != "GET":
            continue
        name = "quote.pdf" if key == "paper_pages.paper" else "plan.pdf"
        given = {"pond_id": pond_id, "run_id": run_id, "name": name}
        given["acceptance_id"] = store.links.accepted(pond_id)[0].id
        filled = path.format(**{**FILLED, **given})
        is_theirs = key.startswith("customer.") and key != "customer.link_form"
        client = customer if is_theirs else office
        answers[key] = client.http.get(
            filled, params={"path": "job.toml"} if key == "editing.edit_form" else {}
        )
    return before, contents(store), answers, office


def test_looking_changes_nothing(looked_at, looked):
    """Every GET route, by the office and by a customer; most are answered in full, the papers as PDF."""
    store, _pond_id, _run_id = looked_at
    before, after, answers, office = looked
    assert after == before
    not_there = {key for key, answer in answers.items() if answer.status_code != 200}
    # no phone handed anything over, the demo pond has no photo from above, and who is signed in is led on
    # another link's acceptance is not there for this customer, nor is a number that their page does not show
    nothing_there = {
        "customer.accepted_paper",
        "capture_correct.correct_page",
        "capture_pages.raw_item",
        "capture_pages.photo",
        "aerial_pages.aerial_picture",
    }
    assert not_there == {*nothing_there, "signing.sign_in_form"}
    for key in ("plans.run_file", "api.run_file", "customer.paper", "paper_pages.paper"):
        assert answers[key].content.startswith(b"%PDF-"), key
    office.http.post("/units", data={"form_token": office.token("/"), "units": "si"})
    assert contents(store) == before
    store.people.add("Cy", Role.CREW)
    assert contents(store) != before, "the comparison sees a row"


NO_RESULTS = {
    "planning.plan_page": "worked out anew at each move of the hand; once saved, they open on layout and air",
    "shore_pages.shore_page": "corners and soundings as typed, to be moved; the survey's numbers open on its page",
    "editing.edit_form": "a file of the job as text",
    "known_pages.known_page": "answers as typed, with what each would change; the numbers open on the stages' pages",
    "editing.files": "sizes of files",
    "links_pages.links": "how long a link lasts, by the rules of the house",
    "bin_pages.all_binned": "how long a pond stays, by the rules of the house",
    "capture_phone.capture": "what is typed at the water, and the safety card",
    "capture_pages.all_items": "how many items wait",
    "capture_pages.of_pond": "how many items wait, and readings as they were typed",
    "pages.all_ponds": "a list of ponds: what it shows opens on each pond's own page",
    "pages.about_api": "how the interface is asked",
    "pages.history": "who saved what when",
}
"""Pages whose numbers are no results of the program, each with its reason."""
OWN_WORKINGS = {"workings_pages", "run_workings_pages"}
"""A working shows what was put in, each number a link to its own where it has one."""


def test_no_page_leaves_a_number_closed(looked):
    """Every page there is, the new ones too: outside of forms each number opens, but where it is no result."""
    pages = {
        key: answer.text
        for key, answer in looked[2].items()
        if answer.status_code == 200 and answer.headers["content-type"].startswith("text/html")
    }
    assert set(NO_RESULTS) <= set(pages)
    left = {}
    for key, text in pages.items():
        if (
            key in NO_RESULTS
            or key.partition(".")[0] in OWN_WORKINGS
            or key.endswith(("_workings", "_working"))
        ):
            continue
        loose = [(words, found) for words in Page(text).loose if (found := figures_in(words))]
        if loose:
            left[key] = loose
    assert not left, left
    assert len(Page(pages["front_pages.front_page"]).links) > 20


def test_the_customer_reads_the_comparison_for_the_quote_of_the_revision_that_stands(looked_at):
    """Its revision is in the file's name and on the page; an acceptance names the same one."""
    store, pond_id, run_id = looked_at
    customer = Client(make_app(store, sign_in=True))
    _link, secret = store.links.make(pond_id, "Ada")
    customer.post("/link", {"code": secret}, page="/link")
    page = customer.http.get("/customer").text
    assert 'href="/customer/papers/quote.pdf"' in page
    assert "as of revision 1" in page
    paper = customer.http.get("/customer/papers/quote.pdf")
    assert paper.content.startswith(b"%PDF-")
    assert "quote-revision-1.pdf" in paper.headers["content-disposition"]
    assert customer.http.get("/customer/papers/gauges.pdf").status_code == 404
    sent = {"name": "B. Owner", "number": "1", "quote_number": "1", "run_id": run_id}
    assert customer.post("/customer/accept", sent, page="/customer").status_code == 303
    kept = store.links.accepted(pond_id)[0]
    assert (kept.name, kept.number, kept.quote_number, kept.run_id) == ("B. Owner", 1, 1, run_id)
