"""What the site forbids, or asks for before the first start, on every surface: page, interface, data and paper."""

from __future__ import annotations

import json
import re
from datetime import date
from io import BytesIO

import pytest
from pypdf import PdfReader

from plumeline.job.document import Answer, Outlet, SiteFacts
from plumeline.web import worker

FORBIDDEN = {
    "spawning beds": SiteFacts(spawning_beds=Answer.YES),
    "6 days after a treatment": SiteFacts(herbicide_date=date(2026, 8, 5)),
    "its day is not given": SiteFacts(herbicide=Answer.YES),
}


def asked(browser, small_job, facts):
    """Return the pond with those facts, and its run as the worker left it."""
    site = small_job.site.model_copy(update={"facts": facts})
    pond = browser.store.ponds.add_job(
        small_job.model_copy(update={"site": site}), author="", reason=""
    ).pond_id
    assert browser.post(f"/ponds/{pond}/startup", {"number": "1"}).status_code == 303
    run = browser.store.runs.claim()
    worker.compute(browser.store, run)
    return pond, browser.store.runs.get(run.id)


@pytest.mark.parametrize("reason", FORBIDDEN)
def test_a_forbidden_start_is_refused_on_page_and_interface(browser, small_job, reason):
    """No plan, the reason and the way out: no file of the run either."""
    pond, run = asked(browser, small_job, FORBIDDEN[reason])
    assert run.state.value == "failed"
    page = browser.get(f"/ponds/{pond}/startup").text
    assert "No plan:" in page
    for told in (page, browser.get(f"/api/v1/runs/{run.id}").json()["words"]):
        assert reason in told
        assert "no start-up" in told
    assert browser.store.runs.files(run.id) == [] or not list(browser.store.runs.files(run.id))
    assert browser.get(f"/ponds/{pond}/runs/{run.id}/files/us/plan.pdf").status_code == 404


FACTS = SiteFacts(
    herbicide_date=date(2026, 8, 5), herbicide_reason="fish gasp already", outlet=Outlet.BOTTOM,
    outflow_now=Answer.YES, tell_downstream="the mill below",
)  # fmt: skip
TOLD = ("fish gasp already", "draws bottom water: shut it", "the mill below", "kill what lives below")


def test_a_stated_reason_and_the_outlet_stand_first_on_page_paper_and_data(
    browser, small_job, small_plan, monkeypatch
):
    """The plan is made; what must be done before the first start is no footnote: over the days, on the first sheet."""
    monkeypatch.setattr("plumeline.stages.plan.make_plan", lambda *_, **__: small_plan)
    pond, run = asked(browser, small_job, FACTS)
    assert run.words == ""
    page = browser.get(f"/ponds/{pond}/startup").text
    first = page[: page.index(">Days: by visit")]
    sheet = PdfReader(BytesIO(browser.get(f"/ponds/{pond}/runs/{run.id}/files/us/plan.pdf").content)).pages[0]
    paper = re.sub(r"\s+", " ", sheet.extract_text())
    notices = json.dumps(browser.get(f"/api/v1/runs/{run.id}/files/si/plan.json").json()["notices"])
    for words in TOLD:
        for surface in (first, paper, notices):
            assert words in surface, words
