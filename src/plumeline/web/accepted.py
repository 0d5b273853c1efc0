"""What customers accepted, to be taken away: a table, and the papers as they were."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import datetime
from typing import Any

from plumeline.store import Store
from plumeline.store.links import Acceptance
from plumeline.units.showing import System

COLUMNS = (
    "accepted_at", "name", "revision_number", "quote_number", "quote_made_at", "plan_run", "plan_made_at", "folder",
    "said",
)  # fmt: skip
NOT_NOTED = (
    "Which papers were accepted was not noted: this acceptance was kept by a version that noted the revision alone. "
    "The files of that revision are in the pond's history."
)
"""Said of an acceptance that names no paper, wherever it is shown."""
SYSTEMS: tuple[System, ...] = ("us", "si")


def row_of(one: Acceptance) -> dict[str, Any]:
    """Return an acceptance as JSON: when, who, which revision, quote and plan; what is missing, in words."""
    return {
        "id": one.id, "accepted_at": one.accepted_at.isoformat(), "name": one.name, "revision_number": one.number,
        "quote_number": one.quote_number, "quote_made_at": _iso(one.quote_made_at), "plan_run": one.run_id,
        "plan_made_at": _iso(one.plan_made_at),
        "said": "" if one.are_papers_noted else NOT_NOTED,
    }  # fmt: skip


def _iso(time: datetime | None) -> str | None:
    return None if time is None else time.isoformat()


def papers_of(store: Store, one: Acceptance, units: System) -> dict[str, bytes]:
    """Return the papers that were accepted, by the names of their files."""
    found = {}
    if one.quote_number is not None:
        found["quote.pdf"] = store.quotes.file(one.pond_id, one.quote_number, units)
    if one.run_id is not None:
        found["plan.pdf"] = store.runs.file(one.run_id, f"{units}/plan.pdf")
    return found


def accepted_zip(store: Store, pond_id: str) -> bytes:
    """Return a zip of accepted.csv and a folder of papers for each acceptance, the latest first."""
    table, out = io.StringIO(newline=""), io.BytesIO()
    writer = csv.DictWriter(table, COLUMNS, extrasaction="ignore")
    writer.writeheader()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for one in store.links.accepted(pond_id):
            folder = f"{one.accepted_at:%Y-%m-%dT%H-%M-%S}-{one.id[:8]}"
            # a name that begins with a sign would be a formula to a spreadsheet
            name = f"'{one.name}" if one.name[:1] in "=+-@" else one.name
            writer.writerow({**row_of(one), "name": name, "folder": folder})
            if not one.are_papers_noted:
                packed.writestr(f"{folder}/no-papers.txt", f"{NOT_NOTED}\n")
            for units in SYSTEMS:
                for path, data in papers_of(store, one, units).items():
                    packed.writestr(f"{folder}/{units}/{path}", data)
        packed.writestr("accepted.csv", table.getvalue())
    return out.getvalue()
