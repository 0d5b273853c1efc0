"""Quotes and what customers accept: each of its own pond, revision and plan, and never changed."""

from __future__ import annotations

from datetime import timedelta

import pytest

from plumeline.errors import InputError
from plumeline.store.errors import ConflictError, NotThereError
from plumeline.store.links import Papers
from plumeline.store.quotes import NumberTakenError

FILES = {"us": b"psig", "si": b"kPa"}


@pytest.fixture
def ponds(store, oak):
    """Two ponds, each with a plan of its first revision that is done; (pond, run)."""
    found = []
    for _ in range(2):
        pond = store.ponds.add(oak, author="", reason="").pond_id
        run = store.runs.ask(pond, 1, "x").id
        store.runs.claim()
        store.runs.finish(run, {"us/plan.pdf": b"%PDF"})
        found.append((pond, run))
    return found


def test_quotes_are_numbered_by_pond_and_read_back(store, ponds):
    """The number after the last; the latest first; each system of units its own file."""
    (pond, run), (other, _) = ponds
    assert store.quotes.next_number(pond) == 1
    first = store.quotes.keep(pond, 1, 1, run, "Ada" * 40, FILES)
    assert first.made_by == ("Ada" * 40)[:80]
    assert (store.quotes.next_number(pond), store.quotes.next_number(other)) == (2, 1)
    store.quotes.keep(other, 1, 1, None, "Bo", {"us": b"another's"})
    second = store.quotes.keep(pond, 2, 1, run, "Ada", {"us": b"again", "si": b"again in si"})
    assert store.quotes.of_pond(pond) == [second, first]
    assert store.quotes.latest(pond, 1) == second
    assert store.quotes.latest(pond, 2) is None
    assert [store.quotes.file(pond, 1, units) for units in ("us", "si")] == [b"psig", b"kPa"]
    assert store.quotes.file(pond, 2, "us") == b"again"
    assert store.quotes.file(other, 1, "us") == b"another's"
    for asked in ((pond, 3, "us"), (other, 1, "si"), (other, 2, "us")):
        with pytest.raises(NotThereError, match="no quote"):
            store.quotes.file(*asked)


def test_a_number_is_given_once_and_a_plan_must_be_the_revision_s_own(store, ponds):
    """Of two that make quote 1 the later is told; another pond's, another revision's, an unfinished plan is none."""
    (pond, run), (other, others) = ponds
    store.quotes.keep(pond, 1, 1, run, "Ada", FILES)
    with pytest.raises(NumberTakenError, match="quote 1"):
        store.quotes.keep(pond, 1, 1, run, "Bo", {"us": b"later"})
    assert store.quotes.file(pond, 1, "us") == b"psig"
    waiting = store.runs.ask(other, 1, "x").id
    for number, plan in ((1, others), (2, run), (1, waiting), (1, "none")):
        with pytest.raises(NotThereError, match="no such plan"):
            store.quotes.keep(pond, 2, number, plan, "Ada", FILES)
    with pytest.raises(NotThereError):
        store.quotes.keep("no-pond", 1, 1, None, "Ada", FILES)
    assert len(store.quotes.of_pond(pond)) == 1


def test_only_papers_of_the_pond_and_of_the_revision_that_stands_are_accepted(store, ponds):
    """By an open link, with a name; sent twice it is one, under another name another."""
    (pond, run), (other, others) = ponds
    store.quotes.keep(pond, 1, 1, run, "Ada", FILES)
    store.quotes.keep(other, 2, 1, others, "Ada", FILES)
    link, _ = store.links.make(pond, "Ada")
    for papers in (Papers(2, run), Papers(1, others), Papers(9, None), Papers(None, "none")):
        with pytest.raises(NotThereError, match="no such paper"):
            store.links.accept(link.id, 1, "An Owner", papers)
    for name in ("", "  ", "x" * 121):
        with pytest.raises(InputError, match="no name"):
            store.links.accept(link.id, 1, name, Papers(1, run))
    with pytest.raises(InputError, match="no paper"):
        store.links.accept(link.id, 1, "An Owner", Papers())
    with pytest.raises(ConflictError):
        store.links.accept(link.id, 2, "An Owner", Papers(1, run))
    kept = store.links.accept(link.id, 1, " An   Owner ", Papers(1, run))
    assert (kept.name, kept.quote_number, kept.run_id) == ("An Owner", 1, run)
    assert kept.quote_made_at == store.quotes.of_pond(pond)[0].made_at
    assert kept.plan_made_at == store.runs.get(run).ended_at
    assert store.links.accept(link.id, 1, "An Owner", Papers(1, run)) == kept
    alone = store.links.accept(link.id, 1, "An Owner", Papers(1, None))
    assert (alone.plan_made_at, alone.quote_made_at) == (None, kept.quote_made_at)
    again = store.links.accept(link.id, 1, "x" * 120, Papers(1, run))
    assert [one.id for one in store.links.accepted(pond)] == [again.id, alone.id, kept.id]
    assert store.links.accepted(other) == []


def test_a_link_that_is_over_leads_nowhere_and_is_known_as_over(store, clock, ponds):
    """Revoked, expired, or its pond taken away: closed by token and by session; another pond's link is not revoked."""
    (pond, run), (other, _) = ponds
    store.quotes.keep(pond, 1, 1, run, "Ada", FILES)
    link, secret = store.links.make(pond, "A" * 90)
    assert link.made_by == "A" * 80
    session = store.links.enter(secret)
    assert store.links.of_session(session).id == link.id
    assert store.links.ended_of_session(session) is None
    assert store.links.ended_of_token(secret) is None
    with pytest.raises(NotThereError, match="no such link"):
        store.links.revoke(other, link.id)
    assert store.links.of_session(session) is not None
    store.bin.put(pond, "Ada")
    assert store.links.enter(secret) is None
    assert store.links.ended_of_token(secret).id == link.id
    store.bin.take_back(pond)
    later, second = store.links.make(pond, "Ada")
    store.links.revoke(pond, link.id)
    revoked_at = store.links.ended_of_session(session).revoked_at
    store.links.revoke(pond, link.id)
    assert store.links.ended_of_session(session).revoked_at == revoked_at
    with pytest.raises(NotThereError, match="over"):
        store.links.accept(link.id, 1, "An Owner", Papers(1, run))
    assert [one.id for one in store.links.of_pond(pond)] == [later.id, link.id]
    assert [one.open for one in store.links.of_pond(pond)] == [True, False]
    clock.time += timedelta(days=31)
    assert store.links.of_pond(pond)[0].is_expired
    assert store.links.enter(second) is None
    assert store.links.ended_of_token("nobody's") is None
