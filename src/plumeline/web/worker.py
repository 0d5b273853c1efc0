"""The one process that works out start-up plans and alternatives; what it does is kept, so a reload shows it."""

from __future__ import annotations

import dataclasses
import json
import os
import signal
import threading
import time
from collections.abc import Callable, Iterable
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TYPE_CHECKING, Any

import plumeline
from plumeline.errors import PlumelineError
from plumeline.store import Run, RunKind, RunState, Store, open_store
from plumeline.store.locks import held

if TYPE_CHECKING:
    from plumeline.stages.plan import Plan
    from plumeline.units.showing import System

WORKINGS = "workings.json"
"""Of a run: how each number of its page came about, by key."""
CALENDAR = "start-up.ics"
"""Of a run: its runs, readings and visits for a phone's own calendar."""
GAP_S = 1.0
"""A running plan writes how far it is no more often than this."""
IDLE_S = 0.5
PATIENCE_S = 1.0


class StoppedError(Exception):
    """Somebody cancelled the run."""


class Teller:
    """Progress of one run, kept at most once a second; stops the run where it was cancelled.

    Args:
        store: the store.
        run_id: the run.
        between: what is done each time before the run goes on.
    """

    def __init__(self, store: Store, run_id: str, between: Callable[[], None] | None = None) -> None:
        self._store = store
        self._run_id = run_id
        self._between = between
        self._last_s = -GAP_S
        self._doing = ""
        self._stands = ""

    def __call__(self, doing: str, share_fraction: float) -> None:
        """Keep what is being done.

        Raises:
            StoppedError: the run was cancelled.
        """
        now_s = time.monotonic()
        if doing == self._doing and now_s - self._last_s < GAP_S:
            return
        self._last_s, self._doing = now_s, doing
        if not self._store.runs.tell(self._run_id, f"{self._stands}{doing}", share_fraction):
            raise StoppedError
        if self._between is not None:
            self._between()

    def stands(self, words: str) -> None:
        """Show a result that stands before all of the work is done beside each step that follows."""
        self._stands = f"{words} Now: "


def work(path: str, parent: Connection | None = None) -> None:
    """Compute what is asked for until the server is gone.

    Args:
        path: the database.
        parent: an end of a pipe whose other end the server holds; it closes when the server ends, however it does.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server, which then ends this too
    database = Path(path)
    with held(database, "worker"):
        store = open_store(database)
        try:
            store.runs.take_over()
            while not _gone(parent):
                run = store.runs.claim()
                if run is None:
                    time.sleep(IDLE_S)
                else:
                    compute(store, run, parent)
        finally:
            store.close()


def _gone(parent: Connection | None) -> bool:
    """Return whether the server has ended: the pipe is at its end."""
    return parent is not None and parent.poll()


def compute(store: Store, run: Run, parent: Connection | None = None) -> None:
    """Compute one run and keep its files, or why it failed."""
    over = threading.Event()
    threading.Thread(target=_watch, args=(store, run.id, over, parent), daemon=True).start()
    try:
        if run.kind == RunKind.START_UP:
            _made(store, run, plan_of, lambda: _what_takes_seconds(store))
        else:
            _made(store, run, alternatives_of)
    finally:
        over.set()


def _what_takes_seconds(store: Store) -> None:
    """Work out alternatives that were asked for while a plan of minutes is under way."""
    while (run := store.runs.claim(RunKind.ALTERNATIVES)) is not None:
        _made(store, run, alternatives_of)


def _made(
    store: Store, run: Run, make: Callable[[Store, Run, Any], dict[str, bytes]],
    between: Callable[[], None] | None = None,
) -> None:  # fmt: skip
    """Make a run's files and keep them, or why it failed."""
    try:
        files = make(store, run, Teller(store, run.id, between))
    except StoppedError:
        store.runs.stopped(run.id)
    except PlumelineError as error:
        store.runs.fail(run.id, str(error))
    except Exception as error:
        store.runs.fail(run.id, f"Something went wrong that should not: {type(error).__name__}: {error}")
    else:
        store.runs.finish(run.id, files)


def _watch(store: Store, run_id: str, over: threading.Event, parent: Connection | None) -> None:
    """End this process where the run was cancelled or the server is gone: some steps tell nothing for half a minute.

    A cancelled run first gets a moment to stop by itself. The server starts another worker.
    """
    while not over.wait(IDLE_S):
        if _gone(parent):
            # the run stays as it is, and the next worker takes it over
            os._exit(0)
        if store.runs.get(run_id).state == RunState.STOPPING and not over.wait(PATIENCE_S):
            store.runs.stopped(run_id)
            os._exit(0)


def alternatives_of(store: Store, run: Run, tell: Any) -> dict[str, bytes]:
    """Return every file of a pond's alternatives, in both systems of units."""
    # slow to load, and not wanted before the first run
    from plumeline.web.front_made import front_files

    return front_files(store.ponds.revision(run.pond_id, run.number), tell)


def plan_of(store: Store, run: Run, tell: Any) -> dict[str, bytes]:
    """Return every file of a start-up plan, in both systems of units, and its page as data."""
    # slow to load, and not wanted before the first run
    from dataclasses import replace

    from plumeline.files.calendar import calendar_bytes
    from plumeline.paper.output import plan_files
    from plumeline.stages.plan import all_notices, make_plan
    from plumeline.web.due import DUE, due_of
    from plumeline.web.work import asked_of

    revision = store.ponds.revision(run.pond_id, run.number)
    asked = asked_of(revision)
    made = make_plan(asked.job, seed=asked.seed, progress=tell, stands=tell.stands)
    made = replace(made, notices=all_notices(asked.notices, made.notices))
    files: dict[str, bytes] = {DUE: due_of(made)}
    systems: tuple[System, ...] = ("us", "si")
    files |= {f"{units}/{CALENDAR}": calendar_bytes(made.job, made.startup, units) for units in systems}
    for units in systems:
        tell("writing the files", 0.0 if units == "us" else 0.5)
        files |= {f"{units}/{name}": data for name, data in plan_files(made, units, asked.day).items()}
        files |= _page_of(made, units, revision.echoes)
    return files


def _page_of(made: Plan, units: System, echoes: Iterable[str]) -> dict[str, bytes]:
    """Return a plan's page as data, and how each of its numbers came about."""
    # slow to load, and not wanted before the first run
    from plumeline.web.opening import KeptOpener, book_or_empty
    from plumeline.web.showing import startup_document
    from plumeline.workings.files import Files
    from plumeline.workings.startup_book import startup_book

    # a plan that took minutes is shown though its numbers can't open
    book = book_or_empty(lambda: startup_book(made, Files(made.job, tuple(echoes)), units), units)
    page = startup_document(made, units, KeptOpener(book, ""))
    found = {
        "page.json": {**page, "program": plumeline.__version__},
        WORKINGS: {key: dataclasses.asdict(one) for key, one in book.workings.items()},
    }
    return {f"{units}/{name}": json.dumps(what, ensure_ascii=False).encode() for name, what in found.items()}
