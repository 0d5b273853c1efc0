"""Erasing a pond takes all that was its own and nothing else: the tables are as they were before it came."""

from __future__ import annotations

import pytest
from sqlalchemy import select
from tests.capture_items import item, text

from plumeline.store.capture_tables import item as items
from plumeline.store.links import Papers
from plumeline.store.schema import metadata

STAY = {"capture_item", "capture_device"}
"""What a phone was told is held stays held, of no pond."""


def everything(store, oak, number):
    """Make a pond of two revisions with a plan, a quote, a link that was followed and accepted by, and an item."""
    pond = store.ponds.add(oak, author="office", reason="", form_key=f"form {number}")
    store.ponds.save_files(
        pond.pond_id, {**oak.files, "mine.txt": b"of %d" % number}, expected_number=1, author="", reason=""
    )
    run = store.runs.ask(pond.pond_id, 2, "x")
    store.runs.claim()
    store.runs.finish(run.id, {"us/plan.pdf": b"plan of %d" % number})
    files = {"us": b"quote of %d" % number, "si": b"si %d" % number}
    made = store.quotes.keep(pond.pond_id, 1, 2, run.id, "Ada", files)
    link, secret = store.links.make(pond.pond_id, "Ada")
    assert store.links.enter(secret)
    store.links.accept(link.id, 2, "An Owner", Papers(made.quote_number, run.id))
    store.ponds.stands(pond.pond_id, 2, (), "x")
    store.captures.receive(text(item("note", number, pond_id=pond.pond_id)))
    return pond


def rows(store):
    """Return every row of every table, but those that stay."""
    with store.database.reading() as link:
        return {
            table.name: sorted(map(repr, link.execute(select(table))))
            for table in metadata.sorted_tables
            if table.name not in STAY
        }


@pytest.mark.parametrize("how", ["by hand", "by time"])
def test_all_of_one_pond_goes_and_nothing_of_the_other(how, store, oak, clock):
    """Revisions, files, plans, quotes, links, sessions: of two ponds alike in kind one is left whole."""
    everything(store, oak, 1)
    before = rows(store)
    pond = everything(store, oak, 2)
    grown = {name for name, found in rows(store).items() if found != before[name]}
    assert grown >= {
        "pond",
        "revision",
        "revision_file",
        "blob",
        "run",
        "run_file",
        "quote",
        "quote_file",
        "session",
    }
    store.bin.put(pond.pond_id, "office")
    if how == "by hand":
        store.bin.erase(pond.pond_id, pond.job.name)
    else:
        clock.time = store.bin.all()[0].goes_at
        assert store.bin.erase_old() == [pond.job.name]
    assert rows(store) == before
    with store.database.reading() as link:
        assert sorted(map(str, link.execute(select(items.c.pond_id)).scalars())) == ["None", "hollow-oak"]
