"""Customers' links that lead nowhere say so: ended, over, of a pond taken away, or on a server without sign-in."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from tests.web.browsers import HOST, PASSWORD, Client

from plumeline.demo import demo_folder
from plumeline.store import open_store, read_folder
from plumeline.store.people import Role
from plumeline.web.app import make_app
from plumeline.web.lan.reach import How, Reach

NAME = "Hollow Oak"


class Clock:
    """A time that a test sets."""

    def __init__(self) -> None:
        self.now = datetime(2026, 11, 26, 12, tzinfo=UTC)

    def __call__(self):
        return self.now


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def oaks(tmp_path, clock):
    """A store with the demo pond and somebody of the office."""
    store = open_store(tmp_path / "plumeline.sqlite3", clock=clock)
    store.ponds.add(read_folder(demo_folder()), author="", reason="")
    store.people.use_code(store.people.add("Ada", Role.OFFICE), PASSWORD)
    yield store
    store.close()


@pytest.fixture
def app(oaks):
    return make_app(oaks, sign_in=True)


def came_in(app, oaks):
    """Return a customer's browser that came in by a new link, the link and its token."""
    made, secret = oaks.links.make("hollow-oak", "Ada")
    client = Client(app)
    assert client.post("/link", {"code": secret}, page="/link").status_code == 303
    return client, made, secret


def revoke(oaks, _clock, made):
    oaks.links.revoke("hollow-oak", made.id)


def grow_old(_oaks, clock, _made):
    clock.now += timedelta(days=31)


def bin_it(oaks, _clock, _made):
    oaks.bin.put("hollow-oak", "Ada")


ENDS = {
    "was ended by the office on 2026-11-26": revoke,
    "ended by itself on 2026-12-26": grow_old,
    "This link has ended.": bin_it,
}


@pytest.mark.parametrize("said", ENDS)
def test_an_ended_link_says_so_and_whom_to_ask(app, oaks, clock, said):
    """By the browser that came in before and by the link itself: when it ended, who made it, nothing of the pond."""
    client, made, secret = came_in(app, oaks)
    ENDS[said](oaks, clock, made)
    answers = [
        client.http.get("/customer"),
        client.http.get("/customer/papers/plan.pdf"),
        client.http.post("/customer/accept", data={"name": "B", "number": "1"}),
        client.post("/link", {"code": secret}, page="/link"),
    ]
    for answer in answers:
        assert answer.status_code == 410
        assert said in answer.text
        assert "Ask Ada, who made it, for a new one." in answer.text
        assert 'role="alert"' in answer.text
        assert NAME not in answer.text
        assert "hollow-oak" not in answer.text
        assert secret not in answer.text
    assert not oaks.links.accepted("hollow-oak")


def test_a_pond_that_comes_back_brings_its_link_back(app, oaks, clock):
    """Taken away by mistake: the customer's page is there again."""
    client, made, _secret = came_in(app, oaks)
    bin_it(oaks, clock, made)
    assert client.http.get("/customer").status_code == 410
    oaks.bin.take_back("hollow-oak")
    assert client.http.get("/customer").status_code == 200


def test_a_session_that_is_gone_says_that_the_link_has_ended(app, oaks):
    """A cookie that nothing is known of any more: whoever holds it came by a link once."""
    client, _made, _secret = came_in(app, oaks)
    name, value = next((c.name, c.value) for c in client.http.cookies.jar if "customer" in c.name)
    oaks.people.end_session(value)
    client.http.cookies.set(name, value, domain="127.0.0.1")
    answer = client.http.get("/customer")
    assert answer.status_code == 410
    assert "This link has ended. Ask the office that sent it to you for a new one." in answer.text


def test_a_stranger_on_a_customers_page_is_told_of_the_link(app):
    """Never held one: not led to a sign-in that is not for customers."""
    answer = Client(app).http.get("/customer")
    assert answer.status_code == 401
    assert "opens by the link that the office sent you" in answer.text


def test_without_sign_in_no_link_is_made_and_how_it_goes_on_is_said(oaks):
    """The page says before the button what is missing; a form sent all the same is refused; nothing is kept."""
    office = Client(make_app(oaks))
    page = office.http.get("/ponds/hollow-oak/links")
    assert "Links for customers are off" in page.text
    assert "plumeline serve --lan" in page.text
    assert "Make a link" not in page.text
    refused = office.post("/ponds/hollow-oak/links", page="/ponds/hollow-oak/links")
    assert refused.status_code == 409
    assert "No link was made." in refused.text
    assert not oaks.links.of_pond("hollow-oak")


def test_a_link_opened_on_a_server_without_sign_in_says_why_it_does_not_open(oaks):
    """Made while people signed in, opened after a start without: words, and no form that leads nowhere."""
    _made, secret = oaks.links.make("hollow-oak", "Ada")
    client = Client(make_app(oaks))
    for answer in (
        client.http.get("/link"),
        client.post("/link", {"code": secret}, page="/"),
        client.http.get("/customer"),
    ):
        assert "Links for customers are off" in answer.text
        assert "for the office" not in answer.text
        assert NAME not in answer.text


def test_on_the_network_a_link_leads_to_the_name_that_others_can_open(oaks):
    """However the office itself opened the page."""
    app = make_app(oaks, reach=Reach(How.PROXY, port_number=8621, host_name="ponds.test", proxy="127.0.0.1"))
    office = Client(app)
    office.http.base_url = "https://ponds.test"
    assert office.sign_in("Ada").status_code == 303
    page = office.post("/ponds/hollow-oak/links", page="/ponds/hollow-oak/links")
    assert "https://ponds.test/link#" in page.text
    assert f"{HOST}/link#" not in page.text


def test_an_acceptance_without_a_name_is_told_at_its_field(app, oaks):
    """422; a link above leads to the field, nothing is accepted."""
    run = oaks.runs.ask("hollow-oak", 1, "x")
    oaks.runs.finish(oaks.runs.claim().id, {"us/plan.pdf": b"%PDF"})
    client, _made, _secret = came_in(app, oaks)
    sent = {"name": " ", "number": "1", "quote_number": "", "run_id": run.id}
    answer = client.post("/customer/accept", sent, page="/customer")
    assert answer.status_code == 422
    assert '<a href="#name">' in answer.text
    assert 'id="name-wrong">no name was typed.' in answer.text
    assert not oaks.links.accepted("hollow-oak")
