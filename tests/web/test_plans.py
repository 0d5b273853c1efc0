"""The start-up in the background: shown when made, cancelled while it runs, there after a reload and a restart."""

from __future__ import annotations

import contextlib
import dataclasses
import io
import json
import os
import re
import signal
import subprocess
import sys
import time
import urllib.request

import pypdf
import pytest

from plumeline.stages.startup.words import emergency
from plumeline.web import worker


@pytest.fixture
def made(browser, small_job, small_files):
    """A run that the worker has computed: a real plan, of few simulated ponds."""
    kept = browser.store.ponds.add_job(small_job, author="", reason="")
    answer = browser.post(f"/ponds/{kept.pond_id}/startup", {"number": "1"})
    assert answer.status_code == 303
    run = browser.store.runs.claim()
    browser.store.runs.finish(run.id, small_files)
    return kept.pond_id, run.id


def test_a_plan_is_shown_with_its_risk_drawings_and_paper(made, browser):
    """The odds in words, six drawings, a PDF that opens, JSON in SI; the name's marks are text."""
    pond, run = made
    text = browser.get(f"/ponds/{pond}/startup").text
    words = re.sub(r"<a class=\"opens\"[^>]*>|</a>", "", text)
    assert re.search(r"of \d[\d,]* simulated ponds like this one", words)
    assert text.count("<svg ") == 2 * 6, "each once more, drawn for a phone"
    assert "Pond &lt;1&gt; &amp; #2" in text
    ids = re.findall(r'\sid="([^"]+)"', text)
    assert len(ids) == len(set(ids))
    pdf = browser.get(f"/ponds/{pond}/runs/{run}/files/us/plan.pdf")
    assert pdf.headers["content-type"] == "application/pdf"
    assert len(pypdf.PdfReader(io.BytesIO(pdf.content)).pages) >= 3
    calendar = browser.get(f"/ponds/{pond}/runs/{run}/files/us/start-up.ics")
    assert calendar.headers["content-type"].startswith("text/calendar")
    assert calendar.content.startswith(b"BEGIN:VCALENDAR")
    document = browser.get(f"/api/v1/runs/{run}/files/si/plan.json").json()
    assert document["format"] == "plumeline-plan"
    assert "us/plan.pdf" in browser.get(f"/api/v1/runs/{run}").json()["files"]


def test_a_failing_pond_s_steps_stand_first_on_the_page_and_in_their_order(
    browser, small_job, small_plan, monkeypatch
):
    """Before drawing, plan and paper: people and animals away, then the refuge tonight, then the meter.

    Extension practice for low oxygen, as in stages/startup/words.py; smell and scum as on the safety card.
    """
    kept = browser.store.ponds.add_job(small_job, author="", reason="")
    assert browser.post(f"/ponds/{kept.pond_id}/startup", {"number": "1"}).status_code == 303
    start = dataclasses.replace(small_plan.startup, emergency=emergency(saves=False), already_failing=True)
    failing = dataclasses.replace(small_plan, startup=start)
    monkeypatch.setattr("plumeline.stages.plan.make_plan", lambda job, **_: failing)
    worker.compute(browser.store, browser.store.runs.claim())
    text = re.sub(
        r"<[^>]*>",
        lambda tag: tag[0] if tag[0].startswith("<svg") else "",
        browser.get(f"/ponds/{kept.pond_id}/startup").text,
    )
    order = (
        "First of all: without air this pond is already failing", "keep people, dogs and livestock away",
        "Then, tonight: surface aeration", "Keep the bottom diffusers off", "No feeding", "Read oxygen at",
        "<svg", "The nose goes numb before the gas is safe",
    )  # fmt: skip
    found = [text.find(words) for words in order]
    assert -1 not in found, dict(zip(order, found, strict=True))
    assert found == sorted(found)


def test_what_stands_already_is_shown_beside_each_step_that_follows():
    """The plan and its risk stay on the page while what is asked beside them is worked out."""
    told = []

    class Runs:
        def tell(self, _run_id, doing, _share_fraction):
            told.append(doing)
            return True

    class Kept:
        runs = Runs()

    tell = worker.Teller(Kept(), "run")
    tell("scoring the plan on fresh ponds", 0.9)
    tell.stands("The plan stands: three days.")
    tell("scoring what it is compared with", 0.0)
    tell("writing the files", 0.0)
    assert told[0] == "scoring the plan on fresh ponds"
    assert told[1] == "The plan stands: three days. Now: scoring what it is compared with"
    assert told[2] == "The plan stands: three days. Now: writing the files"


def test_events_end_with_the_run(made, browser):
    """One event tells that it is done, and the stream is over."""
    pond, run = made
    answer = browser.get(f"/ponds/{pond}/runs/{run}/events")
    assert answer.headers["content-type"].startswith("text/event-stream")
    events = [json.loads(line[6:]) for line in answer.text.splitlines() if line.startswith("data: ")]
    assert [event["state"] for event in events] == ["done"]


def test_a_run_is_not_shown_under_another_pond(made, browser, oak_zip):
    """Neither page nor file nor button."""
    _, run = made
    browser.bring_in(oak_zip)
    for path in (f"/ponds/hollow-oak/runs/{run}", f"/ponds/hollow-oak/runs/{run}/files/us/plan.pdf"):
        assert browser.get(path).status_code == 404
    assert browser.post(f"/ponds/hollow-oak/runs/{run}/stop").status_code == 404


def test_a_run_that_can_not_be_done_says_why(browser, small_job, monkeypatch):
    """The page shows the reason and the way to try again."""
    from plumeline.errors import ModelError

    kept = browser.store.ponds.add_job(small_job, author="", reason="")
    browser.store.runs.ask(kept.pond_id, 1, "x")

    def broken(*_, **__):
        raise ModelError("no operating point.", remedy="Take a larger compressor.")

    monkeypatch.setattr("plumeline.stages.plan.make_plan", broken)
    worker.compute(browser.store, browser.store.runs.claim())
    text = browser.get(f"/ponds/{kept.pond_id}/startup").text
    assert "no operating point. Take a larger compressor." in text
    assert "Make the start-up plan" in text


@contextlib.contextmanager
def serving(path):
    """Run the real server on a free port, and give its address."""
    words = [sys.executable, "-m", "plumeline", "serve", "--port", "0", "--database", str(path)]
    child = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    try:
        yield re.search(r"http://\S+?(?=/ )", child.stdout.readline())[0], child
    finally:
        child.send_signal(signal.SIGINT)
        try:
            child.wait(30)
        except subprocess.TimeoutExpired:
            child.kill()
            child.wait()
        child.stdout.close()


def asked(address, method="GET", data=None):
    kind = {"content-type": "application/json"} if data else {}
    request = urllib.request.Request(address, data, kind, method=method)
    with urllib.request.urlopen(request, timeout=60) as answer:
        return json.load(answer)


def wait_for(address, states, limit_s=120):
    begin_s = time.monotonic()
    while (run := asked(address))["state"] not in states:
        assert time.monotonic() - begin_s < limit_s, run
        time.sleep(0.1)
    return run, time.monotonic() - begin_s


def test_the_real_server_cancels_in_seconds_and_takes_a_run_over_after_a_kill(tmp_path, small_job):
    """Cancelled within 5 s of the click; a run under a killed server runs again under the next."""
    path = tmp_path / "plumeline.sqlite3"
    with serving(path) as (address, child):
        pond = asked(f"{address}/api/v1/ponds", "POST", small_job.model_dump_json().encode())["id"]
        body = json.dumps({"revision_number": 1}).encode()
        run = asked(f"{address}/api/v1/ponds/{pond}/runs", "POST", body)["id"]
        wait_for(f"{address}/api/v1/runs/{run}", {"running"})
        time.sleep(2.0)
        asked(f"{address}/api/v1/runs/{run}", "DELETE")
        _, took_s = wait_for(f"{address}/api/v1/runs/{run}", {"cancelled"})
        assert took_s < 5.0
        again = asked(f"{address}/api/v1/ponds/{pond}/runs", "POST", body)["id"]
        wait_for(f"{address}/api/v1/runs/{again}", {"running"})
        os.kill(child.pid, signal.SIGKILL)
        child.wait()
    with serving(path) as (address, _):
        run, _ = wait_for(f"{address}/api/v1/runs/{again}", {"running", "done"})
        assert run["words"] == ""
        assert [row["name"] for row in asked(f"{address}/api/v1/ponds")] == [small_job.name]


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.168.1.5", "pond.example"])
def test_listening_beyond_this_machine_is_refused_in_words(host, capsys, tmp_path):
    """Exit code 2, with the reason; no database is made."""
    from plumeline.cli import main

    assert main(["serve", "--host", host, "--database", str(tmp_path / "x.sqlite3")]) == 2
    assert "over http, where anybody" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []
