"""How a number of a start-up plan came about: kept with the run, for only the worker had the simulated ponds."""

from __future__ import annotations

import json
from typing import Any
from urllib.parse import quote

from fastapi import APIRouter, Request
from starlette.responses import Response

from plumeline.store.errors import NotThereError
from plumeline.web.pages import Here
from plumeline.web.plans import run_of
from plumeline.web.site import Site, units_of
from plumeline.web.worker import WORKINGS
from plumeline.workings import Kind

router = APIRouter()


@router.get("/ponds/{pond_id}/runs/{run_id}/workings")
def all_run_workings(request: Request, site: Here, pond_id: str, run_id: str) -> Response:
    """Show how every number of a start-up plan's page came about."""
    return _run_page(request, site, pond_id, run_id, "")


@router.get("/ponds/{pond_id}/runs/{run_id}/workings/{key}")
def one_run_working(request: Request, site: Here, pond_id: str, run_id: str, key: str) -> Response:
    """Show how one number of a start-up plan's page came about."""
    return _run_page(request, site, pond_id, run_id, key)


def _run_page(request: Request, site: Site, pond_id: str, run_id: str, key: str) -> Response:
    run = run_of(site, pond_id, run_id)
    units = units_of(request)
    kept: dict[str, dict[str, Any]] = {}
    if f"{units}/{WORKINGS}" in site.store.runs.files(run.id):
        kept = json.loads(site.store.runs.file(run.id, f"{units}/{WORKINGS}"))
    if key and key not in kept:
        raise NotThereError(
            f"no number of this page is called {key!r}; the plan may have been made anew since."
        )
    rows = [kept[key]] if key else list(kept.values())
    home = f"/ponds/{quote(pond_id)}/runs/{quote(run.id)}"
    return site.page(
        request, "workings.html", pond=site.store.ponds.revision(pond_id, run.number), stage="startup",
        rows=[{**row, "kind": Kind(row["kind"])} for row in rows], one=bool(key), base=f"{home}/workings", tail="",
        back=home,
    )  # fmt: skip
