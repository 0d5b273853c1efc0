"""What stands against each pond, for the list of ponds: looked at beside the answers, one pond at a time.

A save does not wait for it: until a pond's newest revision was looked at, the list says "not looked at yet".
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

import plumeline
from plumeline.errors import PlumelineError
from plumeline.notices import Notice, caution
from plumeline.store import Revision, Store
from plumeline.store.errors import NotThereError, StoreError
from plumeline.store.pond_places import PondPlaces
from plumeline.web.warming import AFTER_S
from plumeline.web.work import Designs, warnings_as_read

AGAIN_S = 60.0
"""How long the looking waits where nothing was saved, or where a disk was full."""
LAST_S = 2.0
"""How long a server that ends waits; a pond under way is looked at after the next start."""
BETWEEN_S = 0.3
"""Pages come first where many ponds wait, as after an import or a new version of the program."""


def standing_warnings(revision: Revision, designs: Designs) -> tuple[Notice, ...]:
    """Return the dangers and cautions that stand against a pond, the gravest first.

    Where no design can be made: why, and what stands against the pond as surveyed and read.
    """
    try:
        return designs.of(revision).warnings()
    except PlumelineError as error:
        lacking = caution("no-answer", str(error))
    return (*warnings_without_design(revision), lacking)


def warnings_without_design(revision: Revision) -> tuple[Notice, ...]:
    """Return what stands against a pond as surveyed and read; nothing where that can't be done either."""
    try:
        return warnings_as_read(revision)
    except PlumelineError:
        return ()


def look_at_all(store: Store, designs: Designs, over: threading.Event | None = None) -> int:
    """Look at every pond whose newest revision was not looked at by this program; return how many.

    Args:
        store: the open database.
        designs: results made so far; a page that is asked for meanwhile finds them there.
        over: set where it is to end before all are done.
    """
    count = 0
    while not (over and over.is_set()):
        pond_id = store.ponds.not_looked_at(plumeline.__version__)
        if pond_id is None:
            break
        try:
            revision = store.ponds.revision(pond_id)
        except NotThereError:  # taken away meanwhile
            continue
        warnings = standing_warnings(revision, designs)
        if over and over.is_set():
            break
        store.ponds.stands(pond_id, revision.number, warnings, plumeline.__version__)
        count += 1
        if over:
            over.wait(BETWEEN_S)
    return count


@contextmanager
def looking(store: Store, designs: Designs, saved: threading.Event) -> Iterator[None]:
    """Look at what is saved by a thread of its own while the block runs; first at places that nobody kept yet.

    Args:
        store: the open database.
        designs: results made so far.
        saved: set whenever something was saved.
    """
    if store.damage:
        yield
        return
    over = threading.Event()

    def keep_looking() -> None:
        over.wait(AFTER_S)
        while not over.is_set():
            saved.clear()
            try:
                PondPlaces(store.database).keep_missing(over)
                look_at_all(store, designs, over)
            except StoreError:  # a full disk: the list says "not yet", and a save says why
                over.wait(AGAIN_S)
            saved.wait(AGAIN_S)

    thread = threading.Thread(target=keep_looking, name="standing", daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        saved.set()
        thread.join(LAST_S)
