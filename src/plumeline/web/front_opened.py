"""The alternatives of a pond as a run left them: numbers as links, and how each came about."""

from __future__ import annotations

import json
from typing import Any

import plumeline
from plumeline.store import Revision, Run, RunKind, RunState
from plumeline.store.errors import NotThereError
from plumeline.units.showing import System
from plumeline.web.opening import OpenedPage, address, kept_workings, linked
from plumeline.web.site import Site
from plumeline.web.worker import WORKINGS

COUNTS = "counts.json"
"""Of a run: the numbers of diffusers that can be taken, and the one that is planned."""
PAGE = "page.json"


def front_run(site: Site, revision: Revision) -> Run | None:
    """Return the run of a revision's alternatives: under way, else done, else the last; None where none was asked for.

    One that another version of the program made counts as none: its numbers may be others now.
    """
    runs = site.store.runs.of_pond(revision.pond_id, kind=RunKind.ALTERNATIVES)
    own = [run for run in runs if run.number == revision.number and run.program == plumeline.__version__]
    going = next((run for run in own if not run.state.ended), None)
    return going or next((run for run in own if run.state == RunState.DONE), own[0] if own else None)


def made_front(site: Site, revision: Revision) -> Run:
    """Return the run that worked out the alternatives of a revision.

    Raises:
        NotThereError: none did.
    """
    run = front_run(site, revision)
    if run is None or run.state != RunState.DONE:
        raise NotThereError(
            f"the alternatives of revision {revision.number} are not worked out.",
            remedy="Ask for them first, on the page of the alternatives or as a run of that kind.",
        )
    return run


def kept_front(site: Site, run: Run, name: str) -> Any:
    """Return a file of a run as data."""
    return json.loads(site.store.runs.file(run.id, name))


def opened_front(site: Site, revision: Revision, units: System, number: int | None = None) -> OpenedPage:
    """Return the page of the alternatives with its numbers as links.

    Args:
        site: the server.
        revision: the pond.
        units: the system of units.
        number: the revision that was asked for by number, so that links stay in it; None for the latest.

    Raises:
        NotThereError: nobody had them worked out.
    """
    run = made_front(site, revision)

    def make() -> OpenedPage:
        tail = f"?revision={number}" if number else ""
        shown = linked(kept_front(site, run, f"{units}/{PAGE}"), address(revision.pond_id, "front"), tail)
        return OpenedPage(shown, kept_workings(kept_front(site, run, f"{units}/{WORKINGS}")))

    return site.opened.of((revision.pond_id, run.id, "front", units, number), make)
