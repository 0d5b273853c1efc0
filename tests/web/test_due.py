"""What is due next, in the list of ponds."""

from __future__ import annotations

import json
import re
from datetime import timedelta
from zoneinfo import ZoneInfo

import plumeline
from plumeline.web.due import DUE


def test_the_hour_is_that_of_the_ponds_own_clock(browser, oak_zip):
    """The list shows the hour of the job's zone and the zone's letters."""
    browser.bring_in(oak_zip)
    store = browser.store
    (row,) = store.ponds.rows()
    pond = store.ponds.revision(row.id)
    begins_at = (store.clock() + timedelta(days=3)).replace(hour=18, minute=30)
    run = store.runs.ask(row.id, pond.number, plumeline.__version__)
    store.runs.claim()
    store.runs.finish(run.id, {DUE: json.dumps([["reading", begins_at.isoformat(), "read it"]]).encode()})
    there = begins_at.astimezone(ZoneInfo(pond.job.site.time_zone))
    assert there.hour != 18
    text = re.sub(r"\s+", " ", browser.get("/").text)
    assert f"{there:%a %Y-%m-%d %H:%M} ({there.tzname()}): reading" in text
